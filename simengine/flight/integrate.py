"""Integrate one leg with the rotor and the pitch resolved: stick, slide and stops as located events.

The mode of the blades (at rest, sliding either way) is tested before every stretch, so that an event
that has already happened when a stretch begins is never missed. A step in which a watched function
changes sign is taken again, shorter, until the sign change stands at its end.
"""

from math import isfinite
from typing import NamedTuple

import numpy as np

from simengine.balance.aircraft import Aircraft, no_inflow
from simengine.compiled import kernel, kernel_part
from simengine.flight.dynamics import Observation, fill_slope, observe_near
from simengine.flight.events import (
    BREAKS_COARSE,
    BREAKS_FINE,
    EVENT_COUNT,
    MEETS_STOP,
    TURNS,
    event_values,
    fires_both_ways,
    is_terminal,
    lets_go,
)
from simengine.flight.jacobian import fill_jacobian, fill_time_slope
from simengine.flight.record_rows import first_record, record_inside, write_event, write_fast_row, write_row
from simengine.flight.rosenbrock import error_norm, next_step, rosenbrock_step
from simengine.flight.state import (
    ABSOLUTE_TOLERANCE,
    BLADE_ANGLE,
    PITCH_RATE,
    STATE_SIZE,
    Command,
    Leg,
    Vector,
)
from simengine.models.friction import REST, TO_COARSE, TO_FINE, movement_from_rest
from simengine.models.mechanism import TWO_STOP, Hub

REACHED_END, ENDED_BY_EVENT, RECORD_FULL, STEP_TOO_SMALL, TOO_MANY_EVENTS, HAS_ROOM = range(6)

LARGEST_STEP = 60.0  # [s]
ROWS_KEPT_FREE = 100  # a record this near to its end is full
ROWS_PER_STEP = 10  # that a step adds to those of the grid
SMALLEST_STEP = 1e-10  # [s]
STEP_AFTER_EVENT, STEP_AT_REST = 1e-3, 0.02  # first try with the blades moving, and resting [s]
EVENT_TIME_TOLERANCE = 1e-7  # [s]


class LegEnd(NamedTuple):
    """How a stretch ended: at `time` [s], in `mode`, with the next `step` [s]; `event` is -1 for none.

    `status` is one of those above; of rows `row_count`, events `event_count`; `steps`, and those `rejected`.
    """

    time: float
    mode: int
    step: float
    status: int
    event: int
    row_count: int
    event_count: int
    steps: int
    rejected: int


class Work(NamedTuple):
    """Reused arrays: `slope`, `end`, `end_slope`, `error`, `slope_of_time`, shape (9,); `matrix` (9, 9).

    `values` and `end_values` of the watched functions, shape (15,).
    """

    slope: Vector
    end: Vector
    end_slope: Vector
    error: Vector
    matrix: Vector
    slope_of_time: Vector
    values: Vector
    end_values: Vector


@kernel_part
def new_work() -> Work:
    """Fresh work arrays."""
    return Work(
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty(STATE_SIZE),
        np.empty((STATE_SIZE, STATE_SIZE)),
        np.empty(STATE_SIZE),
        np.empty(EVENT_COUNT),
        np.empty(EVENT_COUNT),
    )


@kernel_part
def let_go(hub: Hub, seen: Observation, state: Vector, mode: int) -> int:
    """Mode once blades at rest, `mode` REST, have moved off if nothing holds them; `state` of shape (9,)."""
    if hub.kind != TWO_STOP or mode != REST:
        return mode
    return movement_from_rest(
        seen.net,
        hub.breakaway * seen.rotor.moments.friction,
        state[BLADE_ANGLE] < hub.coarse_stop,
        state[BLADE_ANGLE] > hub.fine_stop,
    )


@kernel_part
def prepare_step(leg: Leg, time: float, state: Vector, seen: Observation, work: Work) -> None:
    """Write slope, derivatives and watched functions of a `state`, shape (9,), at a `time` [s] to `work`."""
    fill_slope(leg, seen, state, work.slope)
    fill_jacobian(leg, time, state, seen, work.slope, work.matrix)
    fill_time_slope(leg, time, state, seen, work.slope, work.slope_of_time)
    event_values(leg, seen, time, state, work.values)


@kernel
def take_step(leg: Leg, time: float, state: Vector, step: float, work: Work) -> None:
    """One `step` [s] from a prepared `state`, shape (9,), at `time` [s]; writes `work.end` and its error."""
    rosenbrock_step(
        leg,
        time,
        state,
        work.slope,
        work.matrix,
        work.slope_of_time,
        step,
        work.end,
        work.error,
    )


@kernel
def look_at_end(leg: Leg, time: float, work: Work) -> Observation:
    """What is seen at the end of a step, at a `time` [s]; writes its watched functions."""
    seen = observe_near(leg.aircraft, leg.command, time, work.end, leg.inflow)
    event_values(leg, seen, time, work.end, work.end_values)
    return seen


@kernel_part
def first_fired(work: Work) -> int:
    """The watched function furthest past its zero for the change over the step; -1 for none."""
    fired, worst = -1, 0.0
    for i in range(EVENT_COUNT):
        past = how_far_past(work, i)
        if past < 0.0:
            change = past - abs(work.values[i])
            if fired < 0 or past / change > worst:
                fired, worst = i, past / change
    return fired


@kernel
def how_far_past(work: Work, event: int) -> float:
    """Value, in any unit, of an event's watched function at the step's end, negative if it fired in it."""
    start, end = work.values[event], work.end_values[event]
    if fires_both_ways(event):
        return float(-end if start < 0.0 else end)
    # What ends a leg, or lets a blade go, counts even if it had already happened when the step began.
    if start >= 0.0 or is_terminal(event) or lets_go(event):
        return float(end)
    return 1.0


@kernel_part
def least_margin(work: Work) -> float:
    """The smallest of all watched functions [1] in the sense of `how_far_past`, each over its own change."""
    least = 1.0
    for i in range(EVENT_COUNT):
        past = how_far_past(work, i)
        scale = abs(work.values[i]) + abs(past) + 1e-30
        least = min(least, past / scale)
    return least


@kernel_part
def shorten_to_event(leg: Leg, time: float, state: Vector, step: float, work: Work) -> float:
    """Length [s] of the `step` [s] that ends just past the first event in it; leaves `work` at that end.

    False position with the Illinois weight. It comes up to the root from one side, so it aims a little past
    the root to bring the other side near as well; every fourth try halves. Arguments as for `take_step`.
    """
    low, high, tried = 0.0, step, step
    weight_low, weight_high, side = 0.5, least_margin(work), 0
    for iteration in range(80):
        if high - low <= EVENT_TIME_TOLERANCE:
            break
        share = weight_low / (weight_low - weight_high) if iteration % 4 < 3 else 0.5
        aim = 0.3 * EVENT_TIME_TOLERANCE
        tried = low + share * (high - low) + side * aim
        tried = min(max(tried, low + aim), high - aim)
        take_step(leg, time, state, tried, work)
        look_at_end(leg, time + tried, work)
        margin = least_margin(work)
        if margin < 0.0:
            weight_low = 0.5 * weight_low if side == -1 else weight_low
            high, weight_high, side = tried, margin, -1
        else:
            weight_high = 0.5 * weight_high if side == 1 else weight_high
            low, weight_low, side = tried, margin, 1
    if tried != high:
        take_step(leg, time, state, high, work)
    return high


@kernel_part
def mode_after(hub: Hub, event: int, state: Vector, mode: int) -> int:
    """Mode after an event in a `mode`; `state`, shape (9,), is put onto a stop it met: inelastic."""
    if event == BREAKS_FINE:
        return TO_FINE
    if event == BREAKS_COARSE:
        return TO_COARSE
    if event == MEETS_STOP:
        state[BLADE_ANGLE] = hub.coarse_stop if mode == TO_COARSE else hub.fine_stop
    elif event != TURNS:
        return mode
    state[PITCH_RATE] = 0.0
    return REST


@kernel_part
def accepted_step(
    leg: Leg, time: float, state: Vector, step: float, relative: float, work: Work
) -> tuple[float, float, int]:
    """Shorten the step until its error is good; its length [s], error [1] and rejections; 0 if too small.

    With a `relative` tolerance [1]; the other arguments as for `take_step`, `step` the one to try first.
    """
    rejected, absolute = 0, ABSOLUTE_TOLERANCE * (relative / 1e-4)
    while True:
        take_step(leg, time, state, step, work)
        norm = error_norm(work.error, state, work.end, absolute, relative)
        if isfinite(norm) and norm <= 1.0:
            return step, norm, rejected
        rejected += 1
        step = next_step(step, norm) if isfinite(norm) else 0.2 * step
        if step < SMALLEST_STEP:
            return 0.0, norm, rejected


@kernel_part
def room_left(rows: Vector, row_count: int, event_rows: Vector, event_count: int) -> int:
    """HAS_ROOM, RECORD_FULL or TOO_MANY_EVENTS; arguments as for `integrate_leg` and as in `LegEnd`."""
    if row_count > rows.shape[0] - ROWS_KEPT_FREE:
        return RECORD_FULL
    return TOO_MANY_EVENTS if event_count > event_rows.shape[0] - 2 else HAS_ROOM


@kernel_part
def move_to(state: Vector, end: Vector) -> None:
    """Overwrite a `state` with an `end`, shape (9,) each."""
    for i in range(STATE_SIZE):
        state[i] = end[i]


@kernel_part
def step_to_try(command: Command, time: float, step: float, rows_left: int, interval: float) -> float:
    """A `step` [s] held to what a command has left at `time` [s], and `rows_left`, `interval` [s] apart."""
    longest = min(LARGEST_STEP, (rows_left - ROWS_PER_STEP) * interval)
    return min(min(step, longest), command.end - time)


@kernel_part
def end_or_event(
    leg: Leg, time: float, state: Vector, step: float, work: Work
) -> tuple[float, Observation, int]:
    """Length [s] of a good step, cut short at the first event in it; what is seen there; the event, or -1.

    Arguments as for `take_step`.
    """
    taken = step
    seen = look_at_end(leg, time + taken, work)
    event = first_fired(work)
    if event >= 0:
        taken = shorten_to_event(leg, time, state, step, work)
        seen = look_at_end(leg, time + taken, work)
        event = first_fired(work)
    return taken, seen, event


@kernel_part
def pass_event(leg: Leg, event: int, time: float, state: Vector) -> tuple[int, Observation]:
    """Mode past an event at a `time` [s], and what is seen; `state`, shape (9,), as for `mode_after`."""
    mode = mode_after(leg.aircraft.hub, event, state, leg.mode)
    seen = observe_near(leg.aircraft, leg.command, time, state, leg.inflow)
    return let_go(leg.aircraft.hub, seen, state, mode), seen


@kernel_part
def step_after_event(event: int, before: int, mode: int, step: float) -> float:
    """Step to try first after an event [s]: begins anew where the mode, `before` and `mode` now, changed."""
    if mode != before or event == TURNS:
        return STEP_AT_REST if mode == REST else STEP_AFTER_EVENT
    return step


@kernel
def integrate_leg(
    aircraft: Aircraft,
    command: Command,
    time: float,
    state: Vector,
    step: float,
    mode: int,
    relative: float,
    record_interval: float,
    rows: Vector,
    event_rows: Vector,
) -> LegEnd:
    """Integrate from `time` to the end of a command or to the first event that ends it.

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
    step : float
        Length to try first, above zero [s].
    mode : int
        Mode of the blades at `time`: REST, TO_COARSE or TO_FINE.
    relative : float
        Relative tolerance of one step, above zero [1].
    record_interval : float
        Distance of the rows, infinite for none but those of events and ends [s].
    rows : ndarray, shape (many, 11)
        Record: time [s], state, mode. A full record ends the call with RECORD_FULL; call again to go on.
    event_rows : ndarray, shape (many, 12)
        Events: time [s], event, state, mode.

    Returns
    -------
    LegEnd
        Where and why it ended. Nothing is raised: STEP_TOO_SMALL says that no step met the tolerance.

    Notes
    -----
    RODAS 4(3) with error control, source in `rosenbrock`.
    """
    work, inflow = new_work(), no_inflow(aircraft)
    seen = observe_near(aircraft, command, time, state, inflow)
    row_count, event_count, steps, rejected = 0, 0, 0, 0
    mode = let_go(aircraft.hub, seen, state, mode)
    next_record, last_fast = first_record(command, time, record_interval), time
    row_count = write_row(rows, row_count, time, state, mode)
    while time < command.end - 1e-9:
        room = room_left(rows, row_count, event_rows, event_count)
        if room != HAS_ROOM:
            return LegEnd(time, mode, step, room, -1, row_count, event_count, steps, rejected)
        leg = Leg(aircraft, command, mode, inflow)
        prepare_step(leg, time, state, seen, work)
        tried = step_to_try(command, time, step, rows.shape[0] - row_count, record_interval)
        step, norm, refused = accepted_step(leg, time, state, tried, relative, work)
        rejected += refused
        if step == 0.0:
            return LegEnd(time, mode, step, STEP_TOO_SMALL, -1, row_count, event_count, steps, rejected)
        steps += 1
        taken, seen, event = end_or_event(leg, time, state, step, work)
        fill_slope(leg, seen, work.end, work.end_slope)
        row_count, next_record = record_inside(
            rows,
            row_count,
            next_record,
            record_interval,
            time,
            taken,
            mode,
            state,
            work.slope,
            work.end,
            work.end_slope,
        )
        time += taken
        move_to(state, work.end)
        row_count, last_fast = write_fast_row(rows, row_count, last_fast, time, state, mode)
        if event < 0:
            step = next_step(step, norm)
            continue
        mode, seen = pass_event(leg, event, time, state)
        event_count = write_event(event_rows, event_count, time, event, state, mode)
        row_count = write_row(rows, row_count, time, state, mode)
        step = step_after_event(event, leg.mode, mode, step)
        if is_terminal(event):
            return LegEnd(time, mode, step, ENDED_BY_EVENT, event, row_count, event_count, steps, rejected)
    row_count = write_row(rows, row_count, time, state, mode)
    return LegEnd(time, mode, step, REACHED_END, -1, row_count, event_count, steps, rejected)
