"""Rainflow counting: how often, and how far, something moved to and fro.

ASTM E1049-85 (2017), 5.4.4: the method of three points. What stays open at the end counts as halves.
"""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike


class Stroke(NamedTuple):
    """One counted cycle: its `range` and `mean` in the unit of the history, any unit, and `cycles` of it.

    1.0 for a whole one, 0.5 for a half.
    """

    range: float
    mean: float
    cycles: float


def turning_points(history: ArrayLike) -> list[float]:
    """First value, every reversal, last value of a `history` of shape (n,), any unit; plateaus count once."""
    values = np.asarray(history, dtype=np.float64)
    values = values[np.isfinite(values)]
    moved = values[np.append(True, np.diff(values) != 0.0)] if values.size else values
    if moved.size < 3:
        return [float(value) for value in moved]
    steps = np.sign(np.diff(moved))
    kept = np.concatenate([[True], steps[1:] != steps[:-1], [True]])
    return [float(value) for value in moved[kept]]


def rainflow(history: ArrayLike) -> list[Stroke]:
    """Cycles of a history of shape (n,), in the order in which they close.

    Values that are no numbers are left out; a history that never turns is half a cycle.
    """
    found: list[Stroke] = []
    open_points: list[float] = []
    for point in turning_points(history):
        open_points.append(point)
        while len(open_points) >= 3:
            latest = abs(open_points[-1] - open_points[-2])
            before = abs(open_points[-2] - open_points[-3])
            if latest < before:
                break
            if len(open_points) == 3:
                found.append(stroke(open_points[0], open_points[1], 0.5))
                del open_points[0]
            else:
                found.append(stroke(open_points[-3], open_points[-2], 1.0))
                del open_points[-3:-1]
    return [*found, *(stroke(start, end, 0.5) for start, end in pairwise(open_points))]


def stroke(start: float, end: float, cycles: float) -> Stroke:
    """A cycle between turning points `start` and `end`, any unit; `cycles` 1.0 or 0.5 of it [1]."""
    return Stroke(abs(end - start), 0.5 * (start + end), cycles)
