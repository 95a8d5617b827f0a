"""Steady fidelity: rotor, pitch and path in balance at every instant, the pitch on its own history.

Only distance, height and fuel are integrated (midpoint rule); the blade angle is carried from step to
step, so that hysteresis is kept. Meant for slow changes: what a quick throttle does to the rotor's
speed while the blades move is not in it.
"""

from itertools import groupby
from math import ceil
from typing import NamedTuple

import numpy as np

from simengine.balance.aircraft import Aircraft, no_inflow
from simengine.balance.level import level_flight
from simengine.balance.pitch import pitch_balance
from simengine.balance.trim import steady_flight
from simengine.compiled import kernel, kernel_part
from simengine.flight.dynamics import observe_near, throttle_and_trim_rate
from simengine.flight.events import (
    BREAKS_COARSE,
    BREAKS_FINE,
    EVENT_COUNT,
    MEETS_STOP,
    TURNS,
    event_values,
    fires_both_ways,
    is_terminal,
)
from simengine.flight.record_rows import EVENT_ROW_SIZE, ROW_SIZE, write_event, write_row
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    STATE_SIZE,
    THROTTLE_TRIM,
    Command,
    Leg,
    Vector,
)
from simengine.flight.steady_contacts import FELL, ROSE, at_contact, in_order
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models.atmosphere import air_at
from simengine.models.drive import drive_line
from simengine.models.engine import fuel_flow
from simengine.models.friction import REST, TO_COARSE, TO_FINE
from simengine.models.mechanism import SELECTED

LARGEST_STEP = 10.0  # climbing or descending [s]
LARGEST_LEVEL_STEP = 20.0  # holding a height, where only the fuel changes [s]
# How a height that was missed is made good: in about half a minute, at no more than this climb or sink.
HEIGHT_CORRECTION = 0.03  # [1/s], estimate
LARGEST_CORRECTION = 1.0  # [m/s], estimate
LARGEST_THROTTLE_STEP = 0.005  # of full travel
COARSER = 12.0  # how much larger these are where no event but a leg's end is looked for
ROWS_AT_ONCE, EVENTS_AT_ONCE = 5_000, 500
EVENT_TIME_TOLERANCE = 1e-4  # [s]
SLOW_STATES = (DISTANCE, HEIGHT, FUEL_USED)


class Work(NamedTuple):
    """Arrays of one leg: `state` and `rates` at a step's start, `middle`, `end` and `end_rates`, shape (9,).

    `values` and `end_values` of the watched functions at both ends, shape (15,).
    """

    state: Vector
    rates: Vector
    middle: Vector
    end: Vector
    end_rates: Vector
    values: Vector
    end_values: Vector


class SteadyEnd(NamedTuple):
    """How a leg ended, at `time` [s]; `event` is -1 unless ended by one.

    `row_count` rows and `event_count` events were written, `steps` taken.
    """

    time: float
    event: int
    row_count: int
    event_count: int
    steps: int


@kernel_part
def new_work(state: Vector) -> Work:
    """Work arrays of a leg that begins with a `state`, shape (9,)."""
    return Work(
        state.copy(),
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty(EVENT_COUNT),
        np.empty(EVENT_COUNT),
    )


@kernel_part
def climb_to_height(command: Command, height: float, duration: float) -> float:
    """Climb for a `duration` [s] that makes good what a held height is missed by [m/s], at once for no time.

    What is missed at a `height` [m] dies away exponentially, so that steps of any length end at the same one.
    """
    if not command.hold_height:
        return 0.0
    lapsed = HEIGHT_CORRECTION * duration
    share = HEIGHT_CORRECTION if lapsed < 1e-6 else (1.0 - np.exp(-lapsed)) / duration
    climb = share * (command.target_height - height)
    return min(max(climb, -LARGEST_CORRECTION), LARGEST_CORRECTION)


@kernel
def settle(
    aircraft: Aircraft, command: Command, time: float, state: Vector, rates: Vector, climb: float
) -> None:
    """Put the fast states of `state`, shape (9,), into balance, in place, and write the slow ones' `rates`.

    At a `time` [s]; `rates` of shape (9,), each unit over [s]; `climb` is what a held height asks for [m/s].
    """
    air = air_at(aircraft.atmosphere, state[HEIGHT])
    previous = command.pitch_target if aircraft.hub.kind == SELECTED else state[BLADE_ANGLE]
    throttle, _ = throttle_and_trim_rate(command, time, state)
    rates[:] = 0.0
    if command.airborne:
        mass = aircraft.dry_mass + aircraft.fuel_start - state[FUEL_USED]
        if command.hold_height:
            flight = level_flight(
                aircraft,
                air,
                mass,
                command.bar,
                previous,
                state[ROTOR_SPEED],
                state[THROTTLE_TRIM],
                climb / command.target_speed,
            )
            throttle = flight.throttle
        else:
            flight = steady_flight(aircraft, air, mass, command.bar, throttle, previous, state[ROTOR_SPEED])
        state[AIRSPEED], state[PATH_ANGLE] = flight.airspeed, flight.path_angle
        state[ROTOR_SPEED], state[BLADE_ANGLE] = flight.rotor_speed, flight.blade_angle
        rates[DISTANCE] = flight.airspeed * np.cos(flight.path_angle) + aircraft.tailwind
        rates[HEIGHT] = flight.airspeed * np.sin(flight.path_angle)
    else:
        axial_speed = aircraft.inflow_factor * command.headwind
        balance = pitch_balance(aircraft, air, previous, axial_speed, throttle, state[ROTOR_SPEED])
        state[ROTOR_SPEED], state[BLADE_ANGLE] = balance.rotor_speed, balance.blade_angle
    state[THROTTLE_TRIM] = throttle
    drive = drive_line(aircraft.engine, aircraft.drive, state[ROTOR_SPEED], throttle, air)
    rates[FUEL_USED] = fuel_flow(aircraft.engine, drive.engine_speed, throttle, air)


@kernel_part
def steady_step(leg: Leg, time: float, step: float, work: Work) -> None:
    """One midpoint `step` [s] from the settled `work.state` at a `time` [s]; writes all of its end."""
    aircraft, command = leg.aircraft, leg.command
    climb = climb_to_height(command, work.state[HEIGHT], step)
    for i in range(STATE_SIZE):
        work.middle[i] = work.state[i]
    for i in SLOW_STATES:
        work.middle[i] += 0.5 * step * work.rates[i]
    if command.hold_height:
        work.middle[HEIGHT] = work.state[HEIGHT] + 0.5 * step * climb
    settle(aircraft, command, time + 0.5 * step, work.middle, work.end_rates, climb)
    for i in range(STATE_SIZE):
        work.end[i] = work.middle[i]
    for i in SLOW_STATES:
        work.end[i] = work.state[i] + step * work.end_rates[i]
    climb = climb_to_height(command, work.end[HEIGHT], 0.0)
    settle(aircraft, command, time + step, work.end, work.end_rates, climb)
    work.end[PITCH_RATE] = (work.end[BLADE_ANGLE] - work.state[BLADE_ANGLE]) / step
    steady_events(leg, time + step, work.end, work.end_values)


@kernel
def steady_events(leg: Leg, time: float, state: Vector, values: Vector) -> None:
    """Watched functions of a settled `state`, shape (9,), at a `time` [s], written to `values`, shape (15,).

    Stick and slide are inside the balance and so never fire.
    """
    event_values(leg, observe_near(leg.aircraft, leg.command, time, state, leg.inflow), time, state, values)
    for inner in (BREAKS_FINE, BREAKS_COARSE, TURNS, MEETS_STOP):
        values[inner] = 1.0


@kernel_part
def passed(event: int, before: float, after: float) -> bool:
    """Whether an event lies between two values of its watched function, `before` and `after` (any unit)."""
    crossed = before >= 0.0 > after
    regained = fires_both_ways(event) and before < 0.0 <= after
    return crossed or regained or (is_terminal(event) and after < 0.0)


@kernel_part
def least_left(work: Work, all_events: bool) -> float:
    """Smallest of all watched functions over their change in a step [1], negative where an event was passed.

    With `all_events` false those that end a leg are alone in it.
    """
    least = 1.0
    for event in range(EVENT_COUNT):
        if all_events or is_terminal(event):
            before, after = work.values[event], work.end_values[event]
            left = abs(after) / (abs(before) + abs(after) + 1e-30)
            least = min(least, -left - 1e-30 if passed(event, before, after) else left)
    return least


@kernel_part
def shorten_step(leg: Leg, time: float, step: float, work: Work, all_events: bool) -> float:
    """Length [s] of the `step` [s] that ends just past the first event in it; leaves `work` at that end.

    From a `time` [s], of `all_events` or those that end a leg. False position as in
    `integrate.shorten_to_event`, with every other try halved: blades may snap.
    """
    low, high, tried = 0.0, step, step
    weight_low, weight_high, side = 0.5, least_left(work, all_events), 0
    for iteration in range(80):
        if high - low <= EVENT_TIME_TOLERANCE:
            break
        share = weight_low / (weight_low - weight_high) if iteration % 2 == 0 else 0.5
        aim = 0.3 * EVENT_TIME_TOLERANCE
        tried = min(max(low + share * (high - low) + side * aim, low + aim), high - aim)
        steady_step(leg, time, tried, work)
        left = least_left(work, all_events)
        if left < 0.0:
            high, weight_high, side = tried, left, -1
        else:
            low, weight_low, side = tried, left, 1
    if tried != high:
        steady_step(leg, time, high, work)
    return high


@kernel_part
def write_events_passed(
    rows: Vector, count: int, time: float, work: Work, all_events: bool
) -> tuple[int, int]:
    """Append the events passed in a step that ends at `time` [s]; the new count, and which ends, or -1.

    `rows`, shape (many, 12), as for `write_event`, from `count` on; without `all_events` those that end a
    leg.
    """
    ended_by = -1
    for event in range(EVENT_COUNT):
        before, after = work.values[event], work.end_values[event]
        if (all_events or is_terminal(event)) and passed(event, before, after):
            fell = FELL if before >= 0.0 else ROSE
            count = write_event(rows, count, time, event, work.end, fell)
            ended_by = event if is_terminal(event) else ended_by
    return count, ended_by


@kernel_part
def move_to_end(work: Work) -> None:
    """Make the end of a step the beginning of the next."""
    for i in range(STATE_SIZE):
        work.state[i], work.rates[i] = work.end[i], work.end_rates[i]
    for i in range(EVENT_COUNT):
        work.values[i] = work.end_values[i]


@kernel
def steady_leg(
    aircraft: Aircraft,
    command: Command,
    time: float,
    state: Vector,
    longest: float,
    all_events: bool,
    rows: Vector,
    event_rows: Vector,
) -> SteadyEnd:
    """Fly a command in equal steps, to its end or to the event that ends it.

    Parameters
    ----------
    aircraft : Aircraft
        The machine.
    command : Command
        What the pilot does, and until when.
    time : float
        Start, between those of the command [s].
    state : ndarray, shape (9,)
        State at `time`, SI, in the order of `flight.state`; overwritten by that at the end.
    longest : float
        Length of the steps, above zero; shorter ones end at events and at the end [s].
    all_events : bool
        Whether every event is looked for, or only those that end a leg.
    rows : ndarray, shape (many, 11)
        Record: time [s], state, mode. Full rows end the call early: call again to go on.
    event_rows : ndarray, shape (many, 12)
        Events: time [s], event, state, FELL or ROSE.

    Returns
    -------
    SteadyEnd
        Where and why it ended. Nothing is raised.

    Notes
    -----
    Midpoint rule on distance, height and fuel; all else is in balance at either end and in the middle.
    """
    inflow = no_inflow(aircraft)
    leg, work = Leg(aircraft, command, REST, inflow), new_work(state)
    climb = climb_to_height(command, state[HEIGHT], 0.0)
    settle(aircraft, command, time, work.state, work.rates, climb)
    work.state[PITCH_RATE] = 0.0
    mode = direction_of(work.state[BLADE_ANGLE] - state[BLADE_ANGLE])
    row_count = write_row(rows, 0, time, work.state, mode)
    steady_events(leg, time, work.state, work.values)
    event_count, steps, ended_by = 0, 0, -1
    while ended_by < 0 and time < command.end - 1e-9:
        if row_count > rows.shape[0] - 2 or event_count > event_rows.shape[0] - EVENT_COUNT:
            break
        step = min(longest, command.end - time)
        steady_step(leg, time, step, work)
        if least_left(work, all_events) < 0.0:
            step = shorten_step(leg, time, step, work, all_events)
        time += step
        steps += 1
        mode = direction_of(work.end[BLADE_ANGLE] - work.state[BLADE_ANGLE])
        row_count = write_row(rows, row_count, time, work.end, mode)
        event_count, ended_by = write_events_passed(event_rows, event_count, time, work, all_events)
        move_to_end(work)
    for i in range(STATE_SIZE):
        state[i] = work.state[i]
    return SteadyEnd(time, ended_by, row_count, event_count, steps)


@kernel_part
def direction_of(change: float) -> int:
    """Mode that a `change` of blade angle [rad] over a step stands for."""
    if abs(change) < 1e-12:
        return REST
    return TO_COARSE if change > 0.0 else TO_FINE


def step_length(command: Command, time: float, settings: Settings) -> float:
    """Length of the steps [s] for what is left of a command at a `time` [s]."""
    duration = command.end - time
    throttle_change = 0.0 if command.hold_height else abs(command.throttle_end - command.throttle_start)
    coarse = 1.0 if settings.all_events else COARSER
    longest = coarse * (LARGEST_LEVEL_STEP if command.hold_height else LARGEST_STEP)
    turns = throttle_change / (coarse * LARGEST_THROTTLE_STEP)
    return duration / max(1, ceil(duration / longest), ceil(turns))


def fly_leg(
    aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
) -> LegResult:
    """Fly one command from `state`, which is moved to the leg's end; fills the track."""
    while True:
        rows, event_rows = np.empty((ROWS_AT_ONCE, ROW_SIZE)), np.empty((EVENTS_AT_ONCE, EVENT_ROW_SIZE))
        length = step_length(command, state.time, settings)
        end = steady_leg(
            aircraft, command, state.time, state.vector, length, settings.all_events, rows, event_rows
        )
        track.add_rows(rows[: end.row_count].copy(), command)
        for _, fired in groupby(event_rows[: end.event_count], key=lambda row: float(row[0])):
            for row in in_order(list(fired)):
                add_event(aircraft, command, row, track)
        track.steps += end.steps
        state.time = end.time
        if end.event >= 0:
            return LegResult(event=end.event)
        if state.time >= command.end - 1e-9:
            return LegResult()


def add_event(aircraft: Aircraft, command: Command, row: Vector, track: Track) -> None:
    """Note one event of a leg, a `row` of shape (12,)."""
    time, event, end = float(row[0]), int(row[1]), row[2 : 2 + STATE_SIZE]
    track.add_event(time, event, at_contact(aircraft, command, event, row[-1] == FELL, end), command)
