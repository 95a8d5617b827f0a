"""Rows of a leg's record and of its events, as the integrators write them."""

import numpy as np

from simengine.compiled import kernel_part
from simengine.flight.rosenbrock import hermite
from simengine.flight.state import PITCH_RATE, STATE_SIZE, Command, Vector

ROW_SIZE = STATE_SIZE + 2  # time, state, mode
EVENT_ROW_SIZE = STATE_SIZE + 3  # time, event, state, mode
FAST_PITCH_RATE = 0.02  # a shift worth extra rows [rad/s]
FAST_RECORD_INTERVAL = 0.01  # [s]


@kernel_part
def write_row(rows: Vector, count: int, time: float, state: Vector, mode: int) -> int:
    """Append `time` [s], `state` and `mode` to `rows`, shape (many, 11), at `count`; the count after it."""
    rows[count, 0] = time
    for i in range(STATE_SIZE):
        rows[count, 1 + i] = state[i]
    rows[count, STATE_SIZE + 1] = mode
    return count + 1


@kernel_part
def write_event(rows: Vector, count: int, time: float, event: int, state: Vector, mode: int) -> int:
    """Append `time` [s], `event`, `state`, `mode` to `rows`, shape (many, 12), at `count`; that after it."""
    rows[count, 0] = time
    rows[count, 1] = event
    for i in range(STATE_SIZE):
        rows[count, 2 + i] = state[i]
    rows[count, STATE_SIZE + 2] = mode
    return count + 1


@kernel_part
def first_record(command: Command, time: float, interval: float) -> float:
    """First instant [s] after `time` [s] on the record's grid, every `interval` [s] of the command."""
    return float(command.start + interval * np.floor((time - command.start) / interval + 1.0 + 1e-9))


@kernel_part
def record_inside(
    rows: Vector,
    count: int,
    next_record: float,
    interval: float,
    time: float,
    step: float,
    mode: int,
    state: Vector,
    slope: Vector,
    end: Vector,
    end_slope: Vector,
) -> tuple[int, float]:
    """Rows on the record's grid inside a step, by a cubic; new `count` of `rows` and new `next_record` [s].

    Every `interval` [s]; the step goes from `state`, with its `slope`, to `end`, with `end_slope`, shape (9,)
    each; the other arguments as for `write_row` and as for `take_step`.
    """
    while next_record < time + step and count < rows.shape[0] - 2:
        if next_record >= time:
            inside = hermite((next_record - time) / step, step, state, slope, end, end_slope)
            count = write_row(rows, count, next_record, inside, mode)
        next_record += interval
    return count, next_record


@kernel_part
def write_fast_row(
    rows: Vector, count: int, last_fast: float, time: float, state: Vector, mode: int
) -> tuple[int, float]:
    """A row off the grid while the blades shift; the new count and the time of the last such row [s].

    `last_fast` is that before [s]; the other arguments as for `write_row`.
    """
    if abs(state[PITCH_RATE]) > FAST_PITCH_RATE and time - last_fast > FAST_RECORD_INTERVAL:
        count = write_row(rows, count, time, state, mode)
        last_fast = time
    return count, last_fast
