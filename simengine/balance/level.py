"""The throttle that holds a path, level or not, and the steady flight with it."""

from math import cos, sin

from simengine.balance.aircraft import Aircraft, no_inflow, propeller_loads, thrust_left
from simengine.balance.rotor import highest_searched_speed
from simengine.balance.trim import (
    JUMPS,
    REACHED,
    RESTING_RANGE,
    ROTOR_TOLERANCE,
    TOO_LITTLE_POWER,
    TOO_MUCH_POWER,
    SteadyFlight,
    flight_drag,
    flight_speed,
    resting_flight,
    steady_flight,
)
from simengine.compiled import kernel, kernel_part
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.drive import drive_line

THROTTLE_TOLERANCE = 1e-9
PATH_TOLERANCE = 1e-9  # [rad]
THRUST_TOLERANCE = 1e-13  # of the weight
FIRST_WIDTH = 0.01  # of throttle, to either side of an opening known to be about level
PATIENCE = 20  # false positions tried before halving: across a snap only halving gets on


@kernel_part
def level_bracket(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    previous_angle: float,
    near: float,
    opening: float,
    path_angle: float,
) -> tuple[SteadyFlight, SteadyFlight]:
    """Two flights with the wanted path between them, close around a throttle opening where they can be.

    If there is none, the first is above the path at a closed throttle, or the second below it at full
    throttle. Arguments as for `level_flight`.
    """
    width = FIRST_WIDTH if opening > 0.0 else 1.0
    low_opening, high_opening = max(opening - width, 0.0), min(opening + width, 1.0)
    low = steady_flight(aircraft, air, mass, bar, low_opening, previous_angle, near)
    high = low
    while low.path_angle >= path_angle and low.throttle > 0.0:
        high, width = low, 4.0 * width
        low_opening = max(low_opening - width, 0.0)
        low = steady_flight(aircraft, air, mass, bar, low_opening, previous_angle, near)
    if low.path_angle >= path_angle or high.path_angle >= path_angle:
        return low, high
    high = steady_flight(aircraft, air, mass, bar, high_opening, previous_angle, near)
    while high.path_angle < path_angle and high.throttle < 1.0:
        low, width = high, 4.0 * width
        high_opening = min(high_opening + width, 1.0)
        high = steady_flight(aircraft, air, mass, bar, high_opening, previous_angle, near)
    return low, high


@kernel_part
def thrust_for_path(
    aircraft: Aircraft, air: Air, mass: float, bar: float, path_angle: float
) -> tuple[float, float]:
    """Thrust that holds a path [N] and the air speed on it [m/s]; the propeller is not asked.

    Arguments as for `flight_speed`.
    """
    weight, thrust, airspeed = mass * STANDARD_GRAVITY, 0.0, 0.0
    for _ in range(40):
        airspeed = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
        before = thrust
        drag = flight_drag(aircraft, air, bar, airspeed)
        thrust = (drag + weight * sin(path_angle)) / cos(aircraft.thrust_tilt)
        if abs(thrust - before) < THRUST_TOLERANCE * weight:
            break
    return thrust, airspeed


@kernel_part
def speed_for_thrust(
    aircraft: Aircraft, air: Air, blade_angle: float, axial_speed: float, thrust: float, near: float
) -> tuple[float, float]:
    """Rotor speed [rad/s] at which the propeller gives a `thrust` [N], and its torque [N m] there.

    At a blade angle [rad] and `axial_speed` at the disc [m/s]. Secant steps around `near` [rad/s], zero if it
    is not known; a speed of zero where they do not arrive.
    """
    inflow, top = no_inflow(aircraft), highest_searched_speed(aircraft)
    speed = near if near > 0.0 else 0.5 * top
    step, excess_before = 0.01 * speed, 0.0
    for i in range(20):
        loads = propeller_loads(aircraft, blade_angle, speed, axial_speed, air, inflow)
        excess = thrust_left(aircraft, loads) - thrust
        if i > 0 and excess != excess_before:
            step *= excess / (excess_before - excess)
        if abs(step) <= ROTOR_TOLERANCE * speed or (i > 0 and excess == excess_before):
            return speed, loads.torque
        step = min(max(step, -0.3 * speed), 0.3 * speed)
        excess_before = excess
        speed += step
        if speed > top:
            break
    return 0.0, 0.0


@kernel_part
def opening_for_torque(aircraft: Aircraft, air: Air, rotor_speed: float, torque: float) -> float:
    """Throttle opening [1] at which the engine turns the propeller with a torque [N m]; -1 for none.

    At a rotor speed [rad/s].
    """
    low, high = 0.0, 1.0
    if drive_line(aircraft.engine, aircraft.drive, rotor_speed, high, air).rotor_torque < torque:
        return -1.0
    if drive_line(aircraft.engine, aircraft.drive, rotor_speed, low, air).rotor_torque > torque:
        return -1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if drive_line(aircraft.engine, aircraft.drive, rotor_speed, middle, air).rotor_torque < torque:
            low = middle
        else:
            high = middle
    return high


@kernel_part
def resting_on_path(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    previous_angle: float,
    blade_angle: float,
    near: float,
    path_angle: float,
) -> SteadyFlight:
    """Flight along a path, its throttle from the thrust it takes, if the blades come to rest at an angle.

    That is `blade_angle` [rad]. Its status is JUMPS where they do not, or where it is not found this way. The
    rest as for `level_flight`.
    """
    thrust, airspeed = thrust_for_path(aircraft, air, mass, bar, path_angle)
    axial_speed = aircraft.inflow_factor * airspeed
    speed, torque = speed_for_thrust(aircraft, air, blade_angle, axial_speed, thrust, near)
    opening = opening_for_torque(aircraft, air, speed, torque) if speed > 0.0 else -1.0
    flight = SteadyFlight(airspeed, path_angle, speed, blade_angle, thrust, 0.0, opening, JUMPS)
    if opening < 0.0:
        return flight
    # These decide: they find out where the blades come to rest, and whether the rotor is stable.
    if blade_angle == previous_angle:
        found = resting_flight(aircraft, air, mass, bar, opening, blade_angle, speed, RESTING_RANGE)
    else:
        found = steady_flight(aircraft, air, mass, bar, opening, previous_angle, speed)
    reached = found.status == REACHED and abs(found.path_angle - path_angle) < PATH_TOLERANCE
    return found if reached else flight


@kernel
def level_flight(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    previous_angle: float,
    near: float,
    opening: float,
    path_angle: float,
) -> SteadyFlight:
    """Flight along a given path, level at a `path_angle` of zero [rad]: the throttle that gives it.

    `near` [rad/s] and `opening` [1] are a rotor speed and a throttle to look around; zero where none is
    known; the rest as for `steady_flight`. If full throttle does not hold the path, or a closed one is still
    above it, the flight at that end is returned with its status. JUMPS means that no throttle gives it: the
    blades snap between two pitches with the path between them, so that a held height would hunt.
    """
    for angle in (previous_angle, aircraft.hub.coarse_stop, aircraft.hub.fine_stop):
        resting = resting_on_path(aircraft, air, mass, bar, previous_angle, angle, near, path_angle)
        if resting.status == REACHED:
            return resting
    low, high = level_bracket(aircraft, air, mass, bar, previous_angle, near, opening, path_angle)
    if low.path_angle >= path_angle:
        return with_status(low, TOO_MUCH_POWER)
    if high.path_angle < path_angle:
        return with_status(high, TOO_LITTLE_POWER)
    weight_low, weight_high, side = low.path_angle - path_angle, high.path_angle - path_angle, 0
    for step in range(100):
        if high.throttle - low.throttle < THROTTLE_TOLERANCE:
            break
        share = -weight_low / (weight_high - weight_low) if step < PATIENCE else 0.5
        throttle = low.throttle + share * (high.throttle - low.throttle)
        middle = steady_flight(aircraft, air, mass, bar, throttle, previous_angle, low.rotor_speed)
        excess = middle.path_angle - path_angle
        if abs(excess) < PATH_TOLERANCE:
            return middle
        if excess < 0.0:
            low, weight_low = middle, excess
            weight_high = 0.5 * weight_high if side == -1 else high.path_angle - path_angle
            side = -1
        else:
            high, weight_high = middle, excess
            weight_low = 0.5 * weight_low if side == 1 else low.path_angle - path_angle
            side = 1
    return high if high.path_angle - low.path_angle < 1e-4 else with_status(high, JUMPS)


@kernel_part
def with_status(flight: SteadyFlight, status: int) -> SteadyFlight:
    """The same flight with another `status`."""
    return SteadyFlight(
        flight.airspeed,
        flight.path_angle,
        flight.rotor_speed,
        flight.blade_angle,
        flight.thrust,
        flight.drag,
        flight.throttle,
        status,
    )
