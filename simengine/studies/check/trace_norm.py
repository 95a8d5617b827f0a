"""Traces of two flights laid over one another event by event, and how far apart they are.

A flight whose shift comes a little later differs a lot at one instant and little in what happens. So traces
are sampled at the same shares of the stretches between events, and compared there.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import xarray

Array = NDArray[np.float64]

COMPARED = (
    "throttle",
    "engine_rpm",
    "blade_angle",
    "height",
    "airspeed",
    "thrust",
    "fuel_flow",
    "spring_moment",
    "centrifugal_moment",
    "air_moment",
)
SHORTEST = 0.2  # stretches between events that are looked at [s]: in shorter ones nothing is left to see
BRIEF = 10.0  # stretches up to this long get few samples [s]
FEW, MANY = 5, 12  # samples of a stretch


@dataclass(frozen=True)
class Samples:
    """A flight at shares of the stretches between its events.

    Attributes
    ----------
    times : array, shape (n,)
        [s].
    values : mapping of str to array, shape (n,)
        In the stored unit of each trace.
    """

    times: Array
    values: Mapping[str, Array]


@dataclass(frozen=True)
class Distance:
    """How far one trace lies from another.

    Attributes
    ----------
    name : str
        Of the trace.
    norm : float
        Mean size of the difference over the samples, over the range of the older trace [1]. The mean and
        not the root mean square: one sample between two rows of the record must not speak for a flight.
    worst, at_time : float
        Largest difference in the trace's unit, and when in the newer flight [s].
    """

    name: str
    norm: float
    worst: float
    at_time: float


def stretches(event_times: Array) -> list[tuple[float, float, int]]:
    """Begin and end of every stretch between events worth looking at [s], and its number of samples.

    `event_times` of shape (n,), rising [s].
    """
    times = np.unique(np.asarray(event_times, dtype=np.float64))
    return [
        (float(begin), float(end), FEW if end - begin <= BRIEF else MANY)
        for begin, end in pairwise(times)
        if end - begin >= SHORTEST
    ]


def sample_times(event_times: Array) -> Array:
    """Times inside the stretches, shape (m,) [s]; never at an event, where a trace may jump.

    `event_times` of shape (n,), rising [s].
    """
    parts = [
        begin + (end - begin) * (np.arange(count) + 0.5) / count
        for begin, end, count in stretches(event_times)
    ]
    return np.concatenate(parts) if parts else np.empty(0)


def sampled(dataset: "xarray.Dataset", times: Array) -> Samples:
    """A flight at given `times`, shape (m,) [s], straight lines between the rows of its record."""
    rows = np.asarray(dataset["time"].values, dtype=np.float64)
    return Samples(times, {name: np.interp(times, rows, dataset[name].values) for name in COMPARED})


def moved_times(times: Array, events_before: Array, events_now: Array) -> Array:
    """Times of the older flight carried to the newer one, so that paired events meet.

    Parameters
    ----------
    times : array, shape (n,)
        Of the older flight [s].
    events_before, events_now : arrays, shape (m,)
        Times of events that belong together [s].
    """
    before, keep = np.unique(events_before, return_index=True)
    return np.asarray(np.interp(times, before, np.asarray(events_now, dtype=np.float64)[keep]))


def distances(before: Samples, now: Samples) -> list[Distance]:
    """How far each trace moved.

    Parameters
    ----------
    before, now : Samples
        Of the same length: each sample of one belongs to that of the other.
    """
    found = []
    for name in COMPARED:
        if before.times.size == 0:
            break
        old, new = before.values[name], now.values[name]
        apart = np.abs(new - old)
        worst = int(np.argmax(apart))
        mean = float(np.mean(apart))
        span = float(np.ptp(old))
        # a trace that stands still, as the blade angle of a fixed hub does, is measured by its own size
        scale = span if span > 1e-6 * float(np.abs(old).max()) else float(np.abs(old).max())
        norm = mean / scale if scale > 0.0 else (0.0 if mean == 0.0 else float("inf"))
        found.append(Distance(name, norm, float(apart[worst]), float(now.times[worst])))
    return found
