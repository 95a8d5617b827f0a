"""Steady flight: speed, path, rotor and pitch at a given throttle, and the throttle for level flight."""

from math import asin, cos, sin, sqrt
from typing import NamedTuple

from simengine.balance.aircraft import Aircraft, rotor_state, wing_drag_coefficient
from simengine.balance.pitch import PitchBalance, pitch_balance
from simengine.compiled import kernel
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.wing import wing_coefficients

SPEED_TOLERANCE = 1e-9
THROTTLE_TOLERANCE = 1e-9
REACHED, TOO_LITTLE_POWER, TOO_MUCH_POWER, JUMPS = range(4)


class SteadyFlight(NamedTuple):
    """Steady flight along a straight path.

    Attributes
    ----------
    airspeed, path_angle : float
        [m/s], [rad] positive up.
    rotor_speed, blade_angle : float
        [rad/s], [rad].
    thrust, drag : float
        [N].
    throttle : float
        [1].
    status : int
        REACHED, or why level flight was not.
    """

    airspeed: float
    path_angle: float
    rotor_speed: float
    blade_angle: float
    thrust: float
    drag: float
    throttle: float
    status: int


@kernel
def flight_speed(
    aircraft: Aircraft, air: Air, mass: float, bar: float, thrust: float, path_angle: float
) -> float:
    """Air speed at which lift and the thrust's lifting part carry the weight across the path [m/s]."""
    lift_coefficient, _ = wing_coefficients(aircraft.wing, bar)
    lift = mass * STANDARD_GRAVITY * cos(path_angle) - thrust * sin(aircraft.thrust_tilt)
    lift = max(lift, 0.05 * mass * STANDARD_GRAVITY)
    return sqrt(2.0 * lift / (air.density * aircraft.wing.area * lift_coefficient))


@kernel
def flight_drag(aircraft: Aircraft, air: Air, bar: float, airspeed: float) -> float:
    """Drag of wing, pilot, machine and cage [N]."""
    _, drag_coefficient = wing_coefficients(aircraft.wing, bar)
    dynamic_pressure = 0.5 * air.density * airspeed**2
    return dynamic_pressure * aircraft.wing.area * wing_drag_coefficient(aircraft, drag_coefficient)


@kernel
def steady_flight(
    aircraft: Aircraft, air: Air, mass: float, bar: float, throttle: float, previous_angle: float
) -> SteadyFlight:
    """Climb, level or descent that a throttle gives, with the pitch reached from `previous_angle`."""
    thrust, path_angle = 0.0, 0.0
    airspeed = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
    drag = flight_drag(aircraft, air, bar, airspeed)
    balance = PitchBalance(previous_angle, 0.0, 0.0, 0.0)
    for _ in range(40):
        axial_speed = aircraft.inflow_factor * airspeed
        balance = pitch_balance(aircraft, air, previous_angle, axial_speed, throttle)
        state = rotor_state(
            aircraft, air, balance.blade_angle, balance.rotor_speed, axial_speed, throttle
        )
        thrust = state.thrust
        drag = flight_drag(aircraft, air, bar, airspeed)
        excess = (thrust * cos(aircraft.thrust_tilt) - drag) / (mass * STANDARD_GRAVITY)
        path_angle = asin(min(max(excess, -0.9), 0.9))
        faster = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
        change = abs(faster - airspeed)
        airspeed = faster
        if change < SPEED_TOLERANCE * airspeed:
            break
    return SteadyFlight(
        airspeed, path_angle, balance.rotor_speed, balance.blade_angle, thrust, drag, throttle, REACHED
    )


@kernel
def level_flight(
    aircraft: Aircraft, air: Air, mass: float, bar: float, previous_angle: float
) -> SteadyFlight:
    """Level flight: the throttle at which the path is flat.

    If full throttle does not hold the height, or a closed one still climbs, the flight at that end is
    returned with its status. JUMPS means that no throttle is level: the blades snap between two pitches
    with the level path between them, so that a held height would hunt.
    """
    closed = steady_flight(aircraft, air, mass, bar, 0.0, previous_angle)
    if closed.path_angle >= 0.0:
        return with_status(closed, TOO_MUCH_POWER)
    full = steady_flight(aircraft, air, mass, bar, 1.0, previous_angle)
    if full.path_angle < 0.0:
        return with_status(full, TOO_LITTLE_POWER)
    low, high = closed, full
    for step in range(200):
        if high.throttle - low.throttle < THROTTLE_TOLERANCE:
            break
        share = -low.path_angle / (high.path_angle - low.path_angle)
        if step % 3 == 2:
            share = 0.5
        share = min(max(share, 0.01), 0.99)
        throttle = low.throttle + share * (high.throttle - low.throttle)
        middle = steady_flight(aircraft, air, mass, bar, throttle, previous_angle)
        if abs(middle.path_angle) < 1e-10:
            return middle
        if middle.path_angle < 0.0:
            low = middle
        else:
            high = middle
    return high if high.path_angle - low.path_angle < 1e-4 else with_status(high, JUMPS)


@kernel
def with_status(flight: SteadyFlight, status: int) -> SteadyFlight:
    """The same flight with another status."""
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
