"""Steady flight: speed, path, rotor and pitch at a given throttle, and the throttle for level flight."""

from math import asin, cos, sin, sqrt
from typing import NamedTuple

from simengine.balance.aircraft import (
    Aircraft,
    no_inflow,
    propeller_loads,
    rotor_state,
    rotor_state_of,
    thrust_left,
    wing_drag_coefficient,
)
from simengine.balance.pitch import PitchBalance, movement_at, pitch_balance
from simengine.balance.rotor import highest_searched_speed
from simengine.compiled import kernel, kernel_part
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.drive import drive_line
from simengine.models.friction import REST
from simengine.models.mechanism import GOVERNED, TWO_STOP, net_moment
from simengine.models.wing import wing_coefficients

SPEED_TOLERANCE = 1e-8
THROTTLE_TOLERANCE = 1e-9
PATH_TOLERANCE = 1e-9  # [rad]
THRUST_TOLERANCE = 1e-13  # of the weight
ROTOR_TOLERANCE = 1e-11  # of the rotor speed
RESTING_STEPS = 15  # secant steps before the search of old is taken
RESTING_RANGE, MOVED_RANGE = 0.05, 0.4  # of the rotor speed held before, beyond which it is taken too
PROBE, SLOPE_STEP = 1e-3, 1e-7  # of the rotor speed: first step, and the least that tells a slope
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
    aircraft, air : the machine, and the air about it
    mass : all-up [kg]
    bar : 0 trim to 1 full bar [1]
    throttle : opening, 0 to 1 [1]
    previous_angle : blade angle from which the pitch is reached [rad]
    near : rotor speed to look around, zero for the highest [rad/s]
    """
    resting = resting_flight(aircraft, air, mass, bar, throttle, previous_angle, near, RESTING_RANGE)
    if resting.status == REACHED:
        return resting
    # Blades that move mostly do so to a stop. Whether they do is asked once, and not at every air speed.
    for stop in (aircraft.hub.coarse_stop, aircraft.hub.fine_stop):
        if aircraft.hub.kind != TWO_STOP or stop == previous_angle:
            continue
        resting = resting_flight(aircraft, air, mass, bar, throttle, stop, near, MOVED_RANGE)
        if resting.status == REACHED:
            axial_speed = aircraft.inflow_factor * resting.airspeed
            reached = pitch_balance(aircraft, air, previous_angle, axial_speed, throttle, near)
            off = abs(reached.rotor_speed - resting.rotor_speed)
            if reached.blade_angle == stop and off < SPEED_TOLERANCE * resting.rotor_speed:
                return resting
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
