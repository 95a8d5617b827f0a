"""Equations of motion: a point mass on a wind, the rotor, and one blade about its pitch axis.

    m V'       = T cos e - D - m g sin gamma
    m V gamma' = L + T sin e - m g cos gamma + m V V'/(g tau)
    I Omega'   = reduction * efficiency * Q_engine - Q_propeller
    J beta''   = net moment - friction against the movement - damping * beta'

The last term of the path: when the wing gains speed, the pilot who hangs below lags, the lines tilt and the
wing takes more incidence. It damps the phugoid, does no work, and vanishes in steady flight. Without it a
strong climb (steeper than about 19 deg) would be unstable and loop. The fuel leaves at rest relative to the
aircraft, so its loss puts no force on it.
"""

from math import cos, sin
from typing import NamedTuple

from simengine.balance.aircraft import (
    Aircraft,
    RotorState,
    no_inflow,
    pitch_damping,
    propeller_loads,
    rotor_state_of,
)
from simengine.balance.trim import flight_drag
from simengine.compiled import kernel, kernel_part
from simengine.constants import STANDARD_GRAVITY
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    THROTTLE_TRIM,
    Command,
    Leg,
    Vector,
)
from simengine.models.atmosphere import Air, air_at
from simengine.models.blade import Inflow
from simengine.models.engine import fuel_flow
from simengine.models.friction import REST
from simengine.models.mechanism import GOVERNED, SELECTED, TWO_STOP, net_moment
from simengine.models.momentum import RotorLoads
from simengine.models.wing import wing_coefficients

# How a pilot holds a height by throttle: by the energy height `h + V2/2g`, which the exchange of height and
# speed in the phugoid leaves alone, so that the throttle does not feed it. Estimates, chosen for a calm
# hold of about ten seconds; no figure of a steady cruise depends on them.
THROTTLE_PER_ENERGY_HEIGHT = 0.02  # [1/m]
TRIM_PER_ENERGY_HEIGHT = 0.001  # [1/(m s)]

# Lag of the pendulum: damps the phugoid of a paraglider to about 0.4 of critical, estimate. No figure of a
# steady flight depends on it.
PENDULUM_TIME = 1.5  # [s]

SELECTOR_TIME = 0.1  # a selected hub slows down over this time before its target [s], estimate
GOVERNOR_GAIN = 0.005  # pitch rate for each rad/s of overspeed [1], estimate


class Observation(NamedTuple):
    """Everything that follows from the state at one instant.

    Attributes
    ----------
    throttle : float
        Opening, 0 to 1 [1].
    throttle_trim_rate : float
        Rate of its slow part while holding a height [1/s].
    air : Air
        At the machine's height.
    rotor : RotorState
        Propeller, drive line and moments of one blade.
    axial_speed : float
        Air speed at the disc [m/s].
    mass : float
        All-up [kg].
    lift, drag : float
        Of wing, pilot and machine [N].
    fuel_flow : float
        [kg/s].
    net : float
        Driving pitch moment of one blade, positive toward coarse [N m].
    """

    throttle: float
    throttle_trim_rate: float
    air: Air
    rotor: RotorState
    axial_speed: float
    mass: float
    lift: float
    drag: float
    fuel_flow: float
    net: float


@kernel_part
def throttle_and_trim_rate(command: Command, time: float, state: Vector) -> tuple[float, float]:
    """Throttle opening, 0 to 1 [1], and the rate of its slow part [1/s].

    At a `time` since the start of the flight [s] and a `state`, shape (9,). Own law, see the constants'
    comment.
    """
    if not command.hold_height:
        if command.end <= command.start:
            return command.throttle_end, 0.0
        share = min(max((time - command.start) / (command.end - command.start), 0.0), 1.0)
        return command.throttle_start + share * (command.throttle_end - command.throttle_start), 0.0
    wanted = command.target_height + command.target_speed**2 / (2.0 * STANDARD_GRAVITY)
    error = wanted - state[HEIGHT] - state[AIRSPEED] ** 2 / (2.0 * STANDARD_GRAVITY)
    opening = state[THROTTLE_TRIM] + THROTTLE_PER_ENERGY_HEIGHT * error
    held_open = opening >= 1.0 and error > 0.0
    held_closed = opening <= 0.0 and error < 0.0
    rate = 0.0 if held_open or held_closed else TRIM_PER_ENERGY_HEIGHT * error
    return min(max(opening, 0.0), 1.0), rate


@kernel
def observe(aircraft: Aircraft, command: Command, time: float, state: Vector) -> Observation:
    """Forces, torques and moments at one instant: a `time` [s] and a `state`, shape (9,)."""
    return observe_near(aircraft, command, time, state, no_inflow(aircraft))


@kernel
def observe_near(
    aircraft: Aircraft, command: Command, time: float, state: Vector, inflow: Inflow
) -> Observation:
    """The same, with the `inflow` of an instant near by, shape (turns, WORK_SIZE); leaves that of this one.

    Arguments as for `observe`.
    """
    air = air_at(aircraft.atmosphere, state[HEIGHT])
    loads = loads_at(aircraft, command, state, air, inflow)
    return observe_loads(aircraft, command, time, state, air, loads)


@kernel_part
def speed_through_air(command: Command, state: Vector) -> float:
    """Air speed, or the wind into a machine that is tied down [m/s]; `state` of shape (9,)."""
    return float(state[AIRSPEED]) if command.airborne else command.headwind


@kernel
def loads_at(aircraft: Aircraft, command: Command, state: Vector, air: Air, inflow: Inflow) -> RotorLoads:
    """Loads of the propeller: nearly all the work of an observation; arguments as for `observe_near`."""
    axial_speed = aircraft.inflow_factor * speed_through_air(command, state)
    return propeller_loads(aircraft, state[BLADE_ANGLE], state[ROTOR_SPEED], axial_speed, air, inflow)


@kernel
def observe_loads(
    aircraft: Aircraft, command: Command, time: float, state: Vector, air: Air, loads: RotorLoads
) -> Observation:
    """Everything at one instant whose air and propeller loads are known; arguments as for `observe`."""
    throttle, trim_rate = throttle_and_trim_rate(command, time, state)
    airspeed = speed_through_air(command, state)
    rotor = rotor_state_of(aircraft, air, loads, state[BLADE_ANGLE], state[ROTOR_SPEED], throttle)
    lift_coefficient, _ = wing_coefficients(aircraft.wing, command.bar)
    lift = 0.5 * air.density * airspeed**2 * aircraft.wing.area * lift_coefficient
    return Observation(
        throttle,
        trim_rate,
        air,
        rotor,
        aircraft.inflow_factor * airspeed,
        aircraft.dry_mass + aircraft.fuel_start - state[FUEL_USED],
        lift,
        flight_drag(aircraft, air, command.bar, airspeed),
        fuel_flow(aircraft.engine, rotor.drive.engine_speed, throttle, air),
        net_moment(rotor.moments),
    )


@kernel_part
def pitch_acceleration(leg: Leg, observation: Observation, state: Vector) -> float:
    """Angular acceleration of a sliding blade about its pitch axis [rad/s2], positive toward coarse.

    `state` of shape (9,), observed as `observation`; the blade's equation in the head of this file.
    """
    hub = leg.aircraft.hub
    damping = pitch_damping(leg.aircraft, state[ROTOR_SPEED], observation.air)
    friction = leg.mode * observation.rotor.moments.friction
    return float((observation.net - friction - damping * state[PITCH_RATE]) / hub.pitch_inertia)


@kernel_part
def driven_pitch_rate(leg: Leg, state: Vector) -> float:
    """Pitch rate of a hub that is driven, selected or by a governor [rad/s]; `state` of shape (9,)."""
    hub = leg.aircraft.hub
    angle = state[BLADE_ANGLE]
    if hub.kind == SELECTED:
        rate = (leg.command.pitch_target - angle) / SELECTOR_TIME
    else:
        rate = GOVERNOR_GAIN * (state[ROTOR_SPEED] - hub.governed_speed)
        rate = min(rate, (hub.coarse_stop - angle) / SELECTOR_TIME)
        rate = max(rate, (hub.fine_stop - angle) / SELECTOR_TIME)
    return float(min(max(rate, -hub.pitch_rate), hub.pitch_rate))


@kernel
def derivatives(leg: Leg, time: float, state: Vector, slope: Vector) -> None:
    """Slope of a `state`, shape (9,), at a `time` [s], written to `slope`, shape (9,), for each second."""
    fill_slope(leg, observe_near(leg.aircraft, leg.command, time, state, leg.inflow), state, slope)


@kernel
def fill_slope(leg: Leg, seen: Observation, state: Vector, slope: Vector) -> None:
    """Slope of a `state` that has been observed, shape (9,), written to `slope`, shape (9,)."""
    aircraft, command = leg.aircraft, leg.command
    for i in range(slope.size):
        slope[i] = 0.0
    inertia = aircraft.rotor_inertia
    if seen.rotor.drive.clutch_slipping > 0.0:
        inertia -= aircraft.drive.reduction**2 * aircraft.engine.inertia
    slope[ROTOR_SPEED] = (seen.rotor.drive.rotor_torque - seen.rotor.loads.torque) / inertia
    slope[FUEL_USED] = seen.fuel_flow
    slope[THROTTLE_TRIM] = seen.throttle_trim_rate
    if command.airborne:
        fill_path_slope(aircraft, seen, state, slope)
    kind = aircraft.hub.kind
    if kind == TWO_STOP and leg.mode != REST:
        slope[BLADE_ANGLE] = state[PITCH_RATE]
        slope[PITCH_RATE] = pitch_acceleration(leg, seen, state)
    elif kind in (SELECTED, GOVERNED):
        slope[BLADE_ANGLE] = driven_pitch_rate(leg, state)


@kernel_part
def fill_path_slope(aircraft: Aircraft, seen: Observation, state: Vector, slope: Vector) -> None:
    """Write the slopes of distance, height, speed and path angle to `slope`; `state` and it of shape (9,).

    The equations are those in the head of this file.
    """
    airspeed, path_angle = state[AIRSPEED], state[PATH_ANGLE]
    thrust = seen.rotor.thrust
    weight = seen.mass * STANDARD_GRAVITY
    slope[DISTANCE] = airspeed * cos(path_angle) + aircraft.tailwind
    slope[HEIGHT] = airspeed * sin(path_angle)
    along = thrust * cos(aircraft.thrust_tilt) - seen.drag - weight * sin(path_angle)
    across = seen.lift + thrust * sin(aircraft.thrust_tilt) - weight * cos(path_angle)
    slope[AIRSPEED] = along / seen.mass
    pendulum = slope[AIRSPEED] / (STANDARD_GRAVITY * PENDULUM_TIME)
    slope[PATH_ANGLE] = across / (seen.mass * airspeed) + pendulum
