"""From a raw log of rpm and lights to readings of begin and finish, dropouts and contact bounce handled.

A contact bounces when it opens or closes: a state of the lights counts once it has stood for `DEBOUNCE`.
The event lies just before the first flicker, between two rows; half the time between rows, and half of that
until the state has settled, goes into its uncertainty through the rate of the rpm.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simengine.constants import RPM
from simengine.scenario.raw_log import LIGHTS, LOST, RawLog
from simengine.scenario.reading_kinds import KINDS
from simengine.scenario.readings import Reading

Array = NDArray[np.float64]
DEBOUNCE = 0.15  # a state of the lights shorter than that is bounce [s] (common practice, no source)
WINDOW = 0.5  # rpm is read off two straight lines through this time to either side of an event [s]
FEWEST = 3  # rows for each of them
SPIKE = 0.15  # rpm this share off its neighbours' median is a false pulse
NEIGHBOURS = 3  # to either side of a row, for that median
TACHOMETER = 10.0 * RPM  # least standard deviation of a reading: resolution and lag of a tachometer
COARSE, OFF, FINE = range(3)
EVENTS = {
    (COARSE, OFF): ("shift_begin_rpm", 1),
    (OFF, FINE): ("shift_finish_rpm", 1),
    (FINE, OFF): ("return_begin_rpm", -1),
    (OFF, COARSE): ("return_finish_rpm", -1),
    # A blade that snaps across within the time of a bounce: where it left is a balance, where it came is not.
    (COARSE, FINE): ("shift_begin_rpm", 1),
    (FINE, COARSE): ("return_begin_rpm", -1),
}


@dataclass(frozen=True)
class Change:
    """A settled change of the lights.

    `first` and `settled` are the times of the first flicker and of the first row of the settled state [s].
    """

    before: int
    after: int
    first: float
    settled: float
    row: int


def without_spikes(speed: Array) -> Array:
    """Engine speed with false pulses turned into dropouts, shape (n,)."""
    cleaned = speed.copy()
    for row in range(speed.size):
        near = speed[max(row - NEIGHBOURS, 0) : row + NEIGHBOURS + 1]
        near = near[np.isfinite(near)]
        if near.size and abs(speed[row] / np.median(near) - 1.0) > SPIKE:
            cleaned[row] = np.nan
    return cleaned


def runs_of(log: RawLog) -> list[tuple[int, int, int]]:
    """Stretches of one state of the lights: state, first row, row after the last; lost rows keep it."""
    light = log.light.copy()
    for row in range(1, light.size):
        if light[row] == LOST:
            light[row] = light[row - 1]
    edges = [0, *(np.flatnonzero(np.diff(light)) + 1).tolist(), light.size]
    return [(int(light[a]), a, b) for a, b in pairwise(edges) if light[a] != LOST]


def changes_of(log: RawLog) -> list[Change]:
    """Settled changes of the lights in the order of time; bounce between them is passed over."""
    found: list[Change] = []
    settled: int | None = None
    flicker: float | None = None
    for state, start, end in runs_of(log):
        until = log.time[end] if end < log.time.size else np.inf
        if until - log.time[start] < DEBOUNCE:
            flicker = float(log.time[start]) if flicker is None else flicker
            continue
        begin = float(log.time[start])
        if settled is not None and state != settled:
            found.append(Change(settled, state, begin if flicker is None else flicker, begin, start))
        settled, flicker = state, None
    return found


def kink_at(log: RawLog, speed: Array, moment: float) -> tuple[float, float, float] | None:
    """Engine speed at a `moment` [s], the steeper of its rates to either side, and the value's deviation, SI.

    `speed` of the engine on the rows of the log, shape (n,) [rad/s]. Two straight lines that meet at the
    moment: the rpm runs at another rate once the blade moves. None if too few rows are good.
    """
    for reach in (WINDOW, 4.0 * WINDOW):
        when = log.time - moment
        inside = (np.abs(when) <= reach) & np.isfinite(speed)
        before = np.minimum(when[inside], 0.0)
        after = np.maximum(when[inside], 0.0)
        if min((before < 0.0).sum(), (after > 0.0).sum()) >= FEWEST:
            break
    else:
        return None
    basis = np.column_stack([np.ones(before.size), before, after])
    found, *_ = np.linalg.lstsq(basis, speed[inside], rcond=None)
    left = speed[inside] - basis @ found
    variance = (left @ left) / max(before.size - 3, 1)
    deviation = float(np.sqrt(variance * np.linalg.inv(basis.T @ basis)[0, 0]))
    rate = max(found[1:], key=abs)
    return float(found[0]), float(rate), deviation


def readings_of_log(log: RawLog) -> tuple[list[Reading], list[str]]:
    """Readings of every shift in a log, and what was odd in words.

    Returns
    -------
    readings : list of Reading
        Bands from the scatter of the rpm, its rate and the time the contact took to settle.
    oddities : list of str
        Changes of the lights that make no reading.
    """
    speed = without_spikes(log.engine_speed)
    interval = float(np.median(np.diff(log.time)))
    readings, oddities = [], []
    lost = int(np.isnan(speed).sum())
    if lost:
        oddities.append(f"{log.file}: {lost} of {speed.size} rows without a believable rpm were passed over")
    for change in changes_of(log):
        read = reading_of(log, speed, interval, change)
        if isinstance(read, str):
            oddities.append(f"{log.file}:{log.rows[change.row]}: {read}")
        else:
            readings.append(read)
    if not readings:
        oddities.append(f"{log.file}: the lights never changed in a way that makes a reading")
    return readings, oddities


def reading_of(log: RawLog, speed: Array, interval: float, change: Change) -> Reading | str:
    """The reading of one change of the lights, or why there is none."""
    words = f"{LIGHTS[change.before]} to {LIGHTS[change.after]} at {change.settled:.2f} s"
    moment = change.first - 0.5 * interval
    kink = kink_at(log, speed, moment)
    if kink is None:
        return f"{words}: too few good rows of rpm around it; not used"
    value, rate, scatter = kink
    name, way = EVENTS[change.before, change.after]
    half = 0.5 * (change.settled - change.first + interval)
    if rate * way < 0.0 and abs(rate) * WINDOW > 30.0 * RPM:
        return f"{words}: the rpm ran the other way; not used"
    deviation = float(np.sqrt(scatter**2 + (rate * half) ** 2 / 3.0 + TACHOMETER**2))
    where = {
        key: float(column[change.row]) for key, column in log.where.items() if np.isfinite(column[change.row])
    }
    note = f"from the log at {change.settled:.2f} s"
    return Reading(
        kind=KINDS[name],
        value=value,
        plus_minus=2.0 * deviation,
        usual=False,
        phase=log.phase[change.row],
        where=where,
        note=note,
        file=log.file,
        row=int(log.rows[change.row]),
    )
