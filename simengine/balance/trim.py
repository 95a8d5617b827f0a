"""Steady flight: speed, path, rotor and pitch at a given throttle."""

from math import asin, cos, sin, sqrt
from typing import NamedTuple

from simengine.balance.aircraft import (
    Aircraft,
    no_inflow,
    propeller_loads,
    rotor_state,
    rotor_state_of,
    wing_drag_coefficient,
)
from simengine.balance.pitch import PitchBalance, movement_at, pitch_balance
from simengine.compiled import kernel, kernel_part
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.friction import REST
from simengine.models.mechanism import GOVERNED, TWO_STOP, net_moment
from simengine.models.wing import wing_coefficients

SPEED_TOLERANCE = 1e-8
ROTOR_TOLERANCE = 1e-11  # of the rotor speed
RESTING_STEPS = 15  # secant steps before the search of old is taken
RESTING_RANGE, MOVED_RANGE = 0.05, 0.4  # of the rotor speed held before, beyond which it is taken too
PROBE, SLOPE_STEP = 1e-3, 1e-7  # of the rotor speed: first step, and the least that tells a slope
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
    """Air speed at which lift and the thrust's lifting part carry the weight across the path [m/s].

    All-up `mass` [kg], `bar` position [1], `thrust` [N], `path_angle`, positive up [rad]. The lift is held at
    a twentieth of the weight at least.
    """
    lift_coefficient, _ = wing_coefficients(aircraft.wing, bar)
    lift = mass * STANDARD_GRAVITY * cos(path_angle) - thrust * sin(aircraft.thrust_tilt)
    lift = max(lift, 0.05 * mass * STANDARD_GRAVITY)
    return sqrt(2.0 * lift / (air.density * aircraft.wing.area * lift_coefficient))


@kernel_part
def flight_drag(aircraft: Aircraft, air: Air, bar: float, airspeed: float) -> float:
    """Drag of wing, pilot, machine and cage [N] at a `bar` position [1] and an airspeed [m/s]."""
    _, drag_coefficient = wing_coefficients(aircraft.wing, bar)
    dynamic_pressure = 0.5 * air.density * airspeed**2
    return dynamic_pressure * aircraft.wing.area * wing_drag_coefficient(aircraft, drag_coefficient)


@kernel_part
def path_angle_for(aircraft: Aircraft, thrust: float, drag: float, mass: float) -> float:
    """Path angle that a `thrust` [N] gives against a `drag` [N] at an all-up `mass` [kg], positive up [rad].

    Its sine is held within +-0.9.
    """
    excess = (thrust * cos(aircraft.thrust_tilt) - drag) / (mass * STANDARD_GRAVITY)
    return asin(min(max(excess, -0.9), 0.9))


@kernel
def resting_flight(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    throttle: float,
    blade_angle: float,
    near: float,
    reach: float,
) -> SteadyFlight:
    """Steady flight within a share of a rotor speed held before, the blades at rest where they are.

    Secant steps on the rotor speed; the air speed that follows from the thrust is brought up to date at each.
    Its status is JUMPS where the blades do not rest at `blade_angle` [rad], where the rotor leaves the share
    `reach` [1] of `near` [rad/s], or where the steps do not arrive. The rest as for `steady_flight`.
    """
    inflow, speed, step, before, slope = no_inflow(aircraft), near, 0.0, 0.0, 0.0
    thrust, drag, path_angle = 0.0, 0.0, 0.0
    airspeed = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
    for i in range(RESTING_STEPS if near > 0.0 and aircraft.hub.kind != GOVERNED else 0):
        axial_speed = aircraft.inflow_factor * airspeed
        loads = propeller_loads(aircraft, blade_angle, speed, axial_speed, air, inflow)
        state = rotor_state_of(aircraft, air, loads, blade_angle, speed, throttle)
        excess = state.drive.rotor_torque - loads.torque
        thrust, drag = state.thrust, flight_drag(aircraft, air, bar, airspeed)
        path_angle = path_angle_for(aircraft, thrust, drag, mass)
        faster = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
        change, airspeed = abs(faster - airspeed), faster
        if i > 1:
            # Close to the root the slope would be noise; that of the steps before serves.
            slope = (excess - before) / step if abs(step) > SLOPE_STEP * speed else slope
            step = -excess / slope
            if abs(step) <= ROTOR_TOLERANCE * speed and change < SPEED_TOLERANCE * airspeed:
                net, friction = net_moment(state.moments), state.moments.friction
                resting = movement_at(aircraft.hub, net, friction, blade_angle) == REST
                status = REACHED if resting else JUMPS
                return SteadyFlight(airspeed, path_angle, speed, blade_angle, thrust, drag, throttle, status)
        elif i == 1:
            step = PROBE * speed
        before = excess
        speed += step
        if slope > 0.0 or abs(speed - near) > reach * near:
            break
    return SteadyFlight(airspeed, path_angle, speed, blade_angle, thrust, drag, throttle, JUMPS)


@kernel_part
def moved_to_stop(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    throttle: float,
    previous_angle: float,
    near: float,
) -> SteadyFlight:
    """Flight with the blades on the stop to which they move from an angle; status JUMPS if to neither.

    Whether they move there is asked once, and not at every air speed. Arguments as for `steady_flight`.
    """
    hub = aircraft.hub
    for stop in (hub.coarse_stop, hub.fine_stop):
        if hub.kind != TWO_STOP or stop == previous_angle:
            continue
        resting = resting_flight(aircraft, air, mass, bar, throttle, stop, near, MOVED_RANGE)
        if resting.status == REACHED:
            axial_speed = aircraft.inflow_factor * resting.airspeed
            reached = pitch_balance(aircraft, air, previous_angle, axial_speed, throttle, near)
            off = abs(reached.rotor_speed - resting.rotor_speed)
            if reached.blade_angle == stop and off < SPEED_TOLERANCE * resting.rotor_speed:
                return resting
    return SteadyFlight(0.0, 0.0, 0.0, previous_angle, 0.0, 0.0, throttle, JUMPS)


@kernel_part
def searched_flight(
    aircraft: Aircraft,
    air: Air,
    mass: float,
    bar: float,
    throttle: float,
    previous_angle: float,
    near: float,
) -> SteadyFlight:
    """Flight by turns: pitch and rotor at an air speed, then the air speed that their thrust gives.

    Arguments as for `steady_flight`.
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
        path_angle = path_angle_for(aircraft, thrust, drag, mass)
        faster = flight_speed(aircraft, air, mass, bar, thrust, path_angle)
        change = abs(faster - airspeed)
        airspeed = faster
        if change < SPEED_TOLERANCE * airspeed:
            break
    return SteadyFlight(
        airspeed, path_angle, balance.rotor_speed, balance.blade_angle, thrust, drag, throttle, REACHED
    )


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

    Parameters
    ----------
    aircraft : Aircraft
        The machine.
    air : Air
        The air at its height.
    mass : float
        All-up, above zero [kg].
    bar : float
        Position of the speed bar, 0 to 1 [1].
    throttle : float
        Opening, 0 to 1 [1].
    previous_angle : float
        Blade angle from which the pitch is reached; decides on which branch of the hysteresis [rad].
    near : float
        Rotor speed to look around; zero for the highest [rad/s].

    Returns
    -------
    SteadyFlight
        Always with the status REACHED. Nothing is raised; the path is held within +-64 deg.

    Notes
    -----
    The blades at rest are tried first, then on the stop to which they move, then every place in between.
    """
    flight = resting_flight(aircraft, air, mass, bar, throttle, previous_angle, near, RESTING_RANGE)
    if flight.status != REACHED:
        flight = moved_to_stop(aircraft, air, mass, bar, throttle, previous_angle, near)
    if flight.status != REACHED:
        flight = searched_flight(aircraft, air, mass, bar, throttle, previous_angle, near)
    return flight
