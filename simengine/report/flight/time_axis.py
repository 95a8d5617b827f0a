"""One time axis for a whole flight on which a short ground run stays readable beside a long cruise."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NICE_STEPS = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 240.0, 480.0)  # min
TICK_SPACING = 0.055  # least distance of two labels as a share of the axis


@dataclass(frozen=True)
class TimeAxis:
    """Piecewise straight map from time [s] to a place 0 to 1 along the picture.

    Attributes
    ----------
    times, places : arrays, shape (n_phases + 1,)
        Phase boundaries and where they are drawn.
    stretched : bool
        Some phase is drawn wider than its share of the time.
    """

    times: Array
    places: Array
    stretched: bool

    def place(self, time: Array | float) -> Array:
        """Where a time is drawn."""
        return np.asarray(np.interp(time, self.times, self.places))

    def ticks(self, spacing: float = TICK_SPACING) -> list[tuple[float, str]]:
        """Places and labels in minutes, chosen phase by phase, at least `spacing` apart."""
        ticks: list[tuple[float, str]] = []
        for start, end in zip(self.times[:-1], self.times[1:], strict=True):
            width = float(self.place(end) - self.place(start))
            for minutes in nice_minutes(start / 60.0, end / 60.0, width, spacing):
                place = float(self.place(60.0 * minutes))
                if not ticks or place - ticks[-1][0] >= spacing:
                    ticks.append((place, f"{minutes:g}"))
        return ticks


def time_axis(starts: Sequence[float], ends: Sequence[float]) -> TimeAxis:
    """Lay out the phases; each gets at least a fair part of the width.

    Parameters
    ----------
    starts, ends : sequences of float, shape (n_phases,)
        Times at which the phases begin and end [s]; each begins where the one before ends.
    """
    times = np.unique(np.array([*starts, *ends], dtype=np.float64))
    if times.size < 2:
        times = np.array([times[0], times[0] + 1.0])
    shares = np.diff(times) / (times[-1] - times[0])
    least = 0.22 if shares.size <= 3 else 0.66 / shares.size
    widened = np.maximum(shares, least)
    widened /= widened.sum()
    places = np.concatenate([[0.0], np.cumsum(widened)])
    return TimeAxis(times, places, bool(np.any(shares < least)))


def nice_minutes(start: float, end: float, width: float, spacing: float = TICK_SPACING) -> list[float]:
    """Round times in one phase, as close as the labels allow [min]."""
    room = max(1, int(width / spacing))
    step = next((step for step in NICE_STEPS if (end - start) / step <= room), NICE_STEPS[-1])
    first = int(np.ceil(start / step - 1e-9))
    last = int(np.floor(end / step + 1e-9))
    return [round(count * step, 6) for count in range(first, last + 1)]


def thinned(places: Array, values: Array, buckets: int = 500) -> tuple[Array, Array]:
    """At most two points a bucket, its lowest and its highest, so that no peak is lost.

    Parameters
    ----------
    places, values : arrays, shape (n,)
        A line; places rise from 0 to 1.
    """
    if places.size <= 2 * buckets:
        return places, values
    bucket = np.minimum((places * buckets).astype(np.int64), buckets - 1)
    order = np.lexsort((values, bucket))
    edges = np.flatnonzero(np.diff(bucket[order]))
    lowest = order[np.concatenate([[0], edges + 1])]
    highest = order[np.concatenate([edges, [order.size - 1]])]
    rows = np.unique(np.concatenate([lowest, highest, [0, places.size - 1]]))
    return places[rows], values[rows]


def spread(places: Array, spacing: float) -> Array:
    """Move labels apart to a least spacing, each as little as its neighbours allow.

    Parameters
    ----------
    places : array, shape (n,)
        Wanted places, rising, 0 to 1.
    spacing : float
        Least distance; the labels must fit: `spacing * (n - 1) <= 1`.
    """
    offsets = np.arange(places.size) * spacing
    # Labels that push each other form blocks; a block stands at the mean of its members' wishes.
    blocks: list[tuple[float, int]] = []
    for wish in places - offsets:
        mean, count = float(wish), 1
        while blocks and blocks[-1][0] >= mean:
            other, others = blocks.pop()
            mean = (mean * count + other * others) / (count + others)
            count += others
        blocks.append((mean, count))
    level = np.concatenate([np.full(count, mean) for mean, count in blocks]) if blocks else np.empty(0)
    return np.asarray(np.clip(level, 0.0, 1.0 - (places.size - 1) * spacing) + offsets)
