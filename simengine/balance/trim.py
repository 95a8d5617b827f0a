"""Steady flight: speed, path, rotor and pitch at a given throttle, and the throttle for level flight."""

from math import asin, cos, sin, sqrt
from typing import NamedTuple

from simengine.balance.aircraft import Aircraft, rotor_state, wing_drag_coefficient
from simengine.balance.pitch import PitchBalance, pitch_balance
from simengine.compiled import kernel, kernel_part
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.wing import wing_coefficients

SPEED_TOLERANCE = 1e-8
THROTTLE_TOLERANCE = 1e-9
PATH_TOLERANCE = 1e-9  # [rad]
FIRST_WIDTH = 0.01  # of throttle, to either side of an opening known to be about level
PATIENCE = 20  # false positions tried before halving: across a snap only halving gets on
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


@kernel_part
def flight_drag(aircraft: Aircraft, air: Air, bar: float, airspeed: float) -> float:
    """Drag of wing, pilot, machine and cage [N]."""
    _, drag_coefficient = wing_coefficients(aircraft.wing, bar)
    dynamic_pressure = 0.5 * air.density * airspeed**2
    return dynamic_pressure * aircraft.wing.area * wing_drag_coefficient(aircraft, drag_coefficient)


@kernel
def steady_flight(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    throttle: float,
    previous_angle: float,
    near: float,
) -> SteadyFlight:
    """Climb, level or descent that a throttle gives.

    The pitch is that reached from `previous_angle` [rad], the rotor speed that found around `near`
    [rad/s]; zero for the highest.
    """
    thrust, path_angle = 0.0, 0.0
    airspeed = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
    drag = flight_drag(aircraft, air, bar, airspeed)
    balance = PitchBalance(previous_angle, near, 0.0, 0.0)
    for _ in range(40):
        axial_speed = aircraft.inflow_factor * airspeed
        balance = pitch_balance(aircraft, air, previous_angle, axial_speed, throttle, balance.rotor_speed)
        state = rotor_state(aircraft, air, balance.blade_angle, balance.rotor_speed, axial_speed, throttle)
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

    If there is none both are the one at the end of the throttle that comes nearest.
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
    """Flight along a given path, level at a `path_angle` of zero: the throttle that gives it.

    `near` [rad/s] and `opening` [1] are a rotor speed and a throttle to look around; zero where none is
    known. If full throttle does not hold the path, or a closed one is still above it, the flight at that end
    is returned with its status. JUMPS means that no throttle gives it: the blades snap between two
    pitches with the path between them, so that a held height would hunt.
    """
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
