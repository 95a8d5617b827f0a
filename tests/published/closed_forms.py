"""Textbook closed forms of range, fuel, climb and spin-down: oracles for the flight tests.

SI throughout. Each is held to a printed or recomputed value in `test_wing_and_range.py`.
"""

from math import exp, log, sqrt


def breguet_range(propeller_efficiency, specific_weight_rate, lift_to_drag, start_weight, end_weight):
    """Range [m] at constant lift coefficient; L. Breguet, in J. D. Anderson, Introduction to Flight, ch. 6.

    `specific_weight_rate` is fuel weight per shaft work [N/J = 1/m].
    """
    return propeller_efficiency / specific_weight_rate * lift_to_drag * log(start_weight / end_weight)


def breguet_endurance(
    propeller_efficiency, specific_weight_rate, power_index, density, area, start_weight, end_weight
):
    """Endurance [s]; `power_index` is CL^1.5/CD. Anderson, Introduction to Flight, ch. 6."""
    roots = 1.0 / sqrt(end_weight) - 1.0 / sqrt(start_weight)
    return propeller_efficiency / specific_weight_rate * power_index * sqrt(2.0 * density * area) * roots


def constant_speed_fuel(start_mass, consumption, speed, time, propeller_efficiency, lift_to_drag):
    """Fuel burnt [kg] at constant speed and lift over drag: the mass decays exponentially.

    `consumption` is brake specific [kg/J]; shaft power is `m g V / (eta L/D)`.
    """
    rate = consumption * 9.80665 * speed / (propeller_efficiency * lift_to_drag)
    return start_mass * (1.0 - exp(-rate * time))


def climb_time_to_ceiling(start_rate, ceiling, height):
    """Time [s] to a height if the rate of climb falls in a straight line to zero at the ceiling."""
    return ceiling / start_rate * log(ceiling / (ceiling - height))


def spin_down_speed(start_speed, torque_factor, inertia, time):
    """Rotor speed [rad/s] of a propeller left alone: `I dO/dt = -k O^2`."""
    return start_speed / (1.0 + start_speed * torque_factor * time / inertia)


def glide_ratio_with_drag_area(glide_ratio, drag_area, weight, dynamic_pressure):
    """Lift over drag after a drag area is added at the same lift."""
    return 1.0 / (1.0 / glide_ratio + drag_area * dynamic_pressure / weight)
