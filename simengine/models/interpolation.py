"""Curves through table points that never overshoot them, evaluated inside kernels."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.compiled import kernel, kernel_part

COLUMNS = 5  # abscissa and four coefficients


def pchip(x: ArrayLike, y: ArrayLike, name: str = "curve") -> NDArray[np.float64]:
    """Coefficients of the monotone piecewise cubic (PCHIP) through points.

    Own twenty lines and not `scipy.interpolate`, whose import costs every command 0.4 s; a test holds the two
    equal to rounding.

    Parameters
    ----------
    x : shape (n,), rising strictly, any unit; one point gives a constant
    y : shape (n,), any unit
    name : what the curve is, for messages

    Returns
    -------
    shape (n, 5)
        Rows `x_i, c0, c1, c2, c3` of `y = c0 + c1 d + c2 d2 + c3 d3`, `d = x - x_i`. The last row is the
        straight line beyond the last point.

    Raises
    ------
    ValueError
        If `x` does not rise strictly, lengths differ, there is no point, or a value is not finite.

    Notes
    -----
    F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
    """
    points, values = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if points.ndim != 1 or points.shape != values.shape or points.size == 0:
        raise ValueError(f"{name}: needs as many x as y values, got {points.size} and {values.size}")
    if not (np.isfinite(points).all() and np.isfinite(values).all()):
        raise ValueError(f"{name}: needs finite numbers")
    steps = np.diff(points)
    if not (steps > 0.0).all():
        raise ValueError(f"{name}: x values must rise from row to row")
    table = np.zeros((points.size, COLUMNS))
    table[:, 0], table[:, 1] = points, values
    if points.size > 1:
        secants = np.diff(values) / steps
        slopes = pchip_slopes(steps, secants)
        table[:, 2] = slopes
        table[:-1, 3] = (3.0 * secants - 2.0 * slopes[:-1] - slopes[1:]) / steps
        table[:-1, 4] = (slopes[:-1] + slopes[1:] - 2.0 * secants) / steps**2
    return table


def pchip_slopes(steps: NDArray[np.float64], secants: NDArray[np.float64]) -> NDArray[np.float64]:
    """Slopes at n points, shape (n,), n above 1, from `steps` and `secants` between, shape (n - 1,)."""
    if secants.size == 1:
        return np.repeat(secants, 2)
    slopes = np.zeros(secants.size + 1)
    left, right = secants[:-1], secants[1:]
    rising = left * right > 0.0
    weight_left = (2.0 * steps[1:] + steps[:-1])[rising]
    weight_right = (steps[1:] + 2.0 * steps[:-1])[rising]
    left, right = left[rising], right[rising]
    # The weighted harmonic mean without reciprocals, which overflow for the tiniest secants.
    mean = (weight_left + weight_right) * left * right / (weight_left * right + weight_right * left)
    slopes[1:-1][rising] = mean
    slopes[0] = end_slope(steps[0], steps[1], secants[0], secants[1])
    slopes[-1] = end_slope(steps[-1], steps[-2], secants[-1], secants[-2])
    return slopes


def end_slope(step: float, next_step: float, secant: float, next_secant: float) -> float:
    """Three-point slope at an end, in the unit of the secants, cut back where it would overshoot.

    `step` and `secant` slope beside the end, `next_step` and `next_secant` one further: steps in the unit of
    x, secants in that of y over x, any unit each. As `scipy.interpolate` has it.
    """
    slope = ((2.0 * step + next_step) * secant - step * next_secant) / (step + next_step)
    if slope * secant <= 0.0:
        return 0.0
    if secant * next_secant < 0.0 and abs(slope) > 3.0 * abs(secant):
        return 3.0 * secant
    return slope


@kernel
def row_below(points: NDArray[np.float64], x: float) -> int:
    """Index of the last of `points`, shape (n,), rising, that is not above `x` (any unit); 0 if all are."""
    low, high = 0, len(points)
    while high - low > 1:
        middle = (low + high) // 2
        if points[middle] <= x:
            low = middle
        else:
            high = middle
    return low


@kernel
def pchip_value(table: NDArray[np.float64], x: float) -> float:
    """Value, in the unit of y, of a `pchip` table, shape (n, 5), at `x`, in the unit of its x.

    Straight on with the end slope outside the table.
    """
    row = table[row_below(table[:, 0], x)]
    step = x - row[0]
    if step < 0.0:
        return float(row[1] + row[2] * step)
    return float(row[1] + step * (row[2] + step * (row[3] + step * row[4])))


@kernel
def held_inside(table: NDArray[np.float64], x: float) -> float:
    """`x`, in any unit, cut to the range of a `pchip` table, shape (n, 5), for curves not to be extended."""
    return float(min(max(x, table[0, 0]), table[-1, 0]))


@kernel_part
def outside(table: NDArray[np.float64], x: float) -> bool:
    """Whether `x`, in any unit, lies outside the range of a `pchip` table, shape (n, 5)."""
    return bool(x < table[0, 0] or x > table[-1, 0])
