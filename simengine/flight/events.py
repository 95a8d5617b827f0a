"""What is watched while a leg is flown: functions of the state whose zeros are located, not sampled."""

from math import cos

from simengine.balance.aircraft import Aircraft, wing_drag_coefficient
from simengine.compiled import kernel, kernel_part
from simengine.constants import DEGREE, STANDARD_GRAVITY
from simengine.flight.dynamics import Observation
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    Command,
    Leg,
    Vector,
)
from simengine.models.engine import outside_table
from simengine.models.friction import REST, TO_COARSE
from simengine.models.mechanism import FIXED, TWO_STOP, past_coarse_contact, past_fine_contact
from simengine.models.wing import wing_coefficients

(
    BREAKS_FINE,  # a resting blade starts toward fine
    BREAKS_COARSE,
    TURNS,  # a sliding blade comes to rest
    MEETS_STOP,
    COARSE_CONTACT,  # made or lost
    FINE_CONTACT,
    SPEED_LIMIT,  # passed or regained
    HEIGHT_REACHED,
    DISTANCE_REACHED,
    CEILING,
    RESERVE,
    EMPTY,
    GROUND,
    ENGINE_TABLE,  # left or regained
    STEEP,  # the path is steeper than the model holds for
) = range(15)
EVENT_COUNT = 15
STEEPEST_PATH = 60.0 * DEGREE

# A climb that still gives no more than this has reached its ceiling [m/s]; the fuel burnt alone lifts a
# ceiling by about 0.1 m/s.
CEILING_CLIMB_RATE = 0.2
GROUND_MARGIN = 1.0  # [m]


@kernel_part
def is_terminal(event: int) -> bool:
    """Whether an event (a number from BREAKS_FINE to STEEP) ends its leg."""
    return event in (HEIGHT_REACHED, DISTANCE_REACHED, CEILING, EMPTY, GROUND, STEEP)


@kernel_part
def lets_go(event: int) -> bool:
    """Whether a resting blade breaks loose at an event."""
    return BREAKS_FINE <= event <= BREAKS_COARSE


@kernel_part
def fires_both_ways(event: int) -> bool:
    """Whether an event's zero counts in either direction; the others count from positive to negative."""
    return event in (COARSE_CONTACT, FINE_CONTACT, SPEED_LIMIT, ENGINE_TABLE)


@kernel
def event_values(leg: Leg, seen: Observation, time: float, state: Vector, values: Vector) -> None:
    """Write the watched functions to `values`, shape (15,); positive while nothing has happened.

    At a `time` [s] and a `state`, shape (9,); each in the unit of what is watched, such as [N m], [rad], [m].
    """
    values[:] = 1.0
    if leg.aircraft.hub.kind == TWO_STOP:
        fill_stick_events(leg, seen, state, values)
    if leg.aircraft.hub.kind != FIXED:
        fill_contact_events(leg, state, values)
    fill_engine_events(leg, seen, state, values)
    if leg.command.airborne:
        fill_path_events(leg, seen, time, state, values)


@kernel_part
def fill_stick_events(leg: Leg, seen: Observation, state: Vector, values: Vector) -> None:
    """Stick, slide and stop [N m, rad/s, rad]; arguments as for `event_values`."""
    hub = leg.aircraft.hub
    angle = state[BLADE_ANGLE]
    if leg.mode == REST:
        friction = hub.breakaway * seen.rotor.moments.friction
        if angle > hub.fine_stop:
            values[BREAKS_FINE] = seen.net + friction
        if angle < hub.coarse_stop:
            values[BREAKS_COARSE] = friction - seen.net
    else:
        values[TURNS] = leg.mode * state[PITCH_RATE]
        values[MEETS_STOP] = hub.coarse_stop - angle if leg.mode == TO_COARSE else angle - hub.fine_stop


@kernel_part
def fill_contact_events(leg: Leg, state: Vector, values: Vector) -> None:
    """Contact with the stops [rad], as two lights would show it; arguments as for `event_values`."""
    hub = leg.aircraft.hub
    angle = state[BLADE_ANGLE]
    values[COARSE_CONTACT] = past_coarse_contact(hub, angle)
    values[FINE_CONTACT] = past_fine_contact(hub, angle)


@kernel_part
def fill_engine_events(leg: Leg, seen: Observation, state: Vector, values: Vector) -> None:
    """Speed limit [rad/s], edge of the bench curve [1], fuel [kg]; arguments as for `event_values`."""
    aircraft = leg.aircraft
    engine_speed = seen.rotor.drive.engine_speed
    values[SPEED_LIMIT] = aircraft.engine.speed_limit - engine_speed
    values[ENGINE_TABLE] = -1.0 if outside_table(aircraft.engine, engine_speed) else 1.0
    values[RESERVE] = aircraft.fuel_start - aircraft.fuel_reserve - state[FUEL_USED]
    values[EMPTY] = aircraft.fuel_start - state[FUEL_USED]


@kernel_part
def fill_path_events(leg: Leg, seen: Observation, time: float, state: Vector, values: Vector) -> None:
    """Height, distance and ground [m], path [rad], ceiling [m/s]; arguments as for `event_values`."""
    aircraft, command = leg.aircraft, leg.command
    if command.vertical_sense != 0.0:
        values[HEIGHT_REACHED] = command.vertical_sense * (command.target_height - state[HEIGHT])
    values[DISTANCE_REACHED] = command.distance_end - state[DISTANCE]
    values[STEEP] = STEEPEST_PATH - abs(state[PATH_ANGLE])
    values[GROUND] = state[HEIGHT] - command.ground_height + GROUND_MARGIN
    if time >= command.ceiling_from:
        values[CEILING] = steady_climb_rate(aircraft, command, seen, state) - CEILING_CLIMB_RATE


@kernel_part
def steady_climb_rate(aircraft: Aircraft, command: Command, seen: Observation, state: Vector) -> float:
    """Climb rate that the present thrust would keep up [m/s]; `state` of shape (9,).

    With the drag of steady flight and not that of the moment, which swings with the speed in a phugoid.
    """
    lift_coefficient, drag_coefficient = wing_coefficients(aircraft.wing, command.bar)
    weight = seen.mass * STANDARD_GRAVITY
    drag = weight * wing_drag_coefficient(aircraft, drag_coefficient) / lift_coefficient
    surplus = seen.rotor.thrust * cos(aircraft.thrust_tilt) - drag
    return float(surplus * state[AIRSPEED] / weight)
