"""A user's own section inside the kernels: tables over +-180 deg, made by `polar_tables`.

Between angles monotone cubics, between Reynolds numbers straight in the logarithm, outside these held.

The tables are for slow flow. Compressibility stretches the incidence by the Prandtl-Glauert factor, which
raises the lift's slope and leaves the greatest lift what it is, as the families have it; the stretch ends at
the greatest lift and is let go up to 60 deg, where the flow is that of a plate.
"""

from math import log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel, kernel_part

# Columns of `Polar.lines`.
LOG_REYNOLDS, ZERO_LIFT_ANGLE, LIFT_SLOPE, STALL_ABOVE, STALL_BELOW, FIRST_ANGLE, LAST_ANGLE = range(7)
# Columns of `Polar.pieces`: where the piece begins, then four terms of each cubic.
BEGINNING, LIFT, DRAG, MOMENT, PIECE_SIZE = 0, 1, 5, 9, 13
STRETCH_END = pi / 3.0  # rad of attack where nothing is left of the stretch; common practice, no source


class Polar(NamedTuple):
    """Tables of one section; both empty where a blade has none.

    Two arrays and no more: every array that a kernel is handed costs it time, polar or not.

    Attributes
    ----------
    lines : NDArray
        For each Reynolds number, rising, shape (k, 7): its natural logarithm [1], angle of zero lift [rad],
        slope of lift from there half-way to the stall [1/rad], angles of stall above and below [rad], first
        and last angle of what was measured [rad].
    pieces : NDArray
        For each Reynolds number, and piece from -180 deg on, shape (k, m, 13): the angle at which the piece
        begins, the same for all Reynolds numbers [rad], and four terms of lift, of drag and of moment.
    """

    lines: NDArray[np.float64]
    pieces: NDArray[np.float64]


NO_POLAR = Polar(np.empty((0, 7)), np.empty((0, 0, PIECE_SIZE)))


class PolarCoefficients(NamedTuple):
    """Lift `cl`, drag `cd` and moment about the quarter chord `cm`, nose up positive [1]."""

    cl: float
    cd: float
    cm: float


@kernel_part
def polar_place(lines: NDArray[np.float64], reynolds: float) -> float:
    """Row of `Polar.lines` that belongs to a Reynolds number [1], a broken one [1] between two.

    `lines` of shape (k, 7); -1 for no tables, the first or last row outside them.
    """
    last = len(lines) - 1
    if last < 0:
        return -1.0
    x = log(max(reynolds, 1.0))
    if x <= lines[0, LOG_REYNOLDS]:
        return 0.0
    row = 0
    while row < last and lines[row + 1, LOG_REYNOLDS] <= x:
        row += 1
    if row == last:
        return float(last)
    before = lines[row, LOG_REYNOLDS]
    return float(row + (x - before) / (lines[row + 1, LOG_REYNOLDS] - before))


@kernel_part
def polar_line(lines: NDArray[np.float64], place: float, column: int) -> float:
    """A `column` of `Polar.lines`, in the unit of that column, at a `place` between its rows [1].

    `lines` of shape (k, 7), k above 0.
    """
    row = int(place)
    value = lines[row, column]
    if place > row:
        value += (place - row) * (lines[row + 1, column] - value)
    return float(value)


@kernel_part
def stretched(angle: float, zero_lift: float, above: float, below: float, compression: float) -> float:
    """Angle at which the slow tables hold what compressible flow has at `angle` [rad].

    `zero_lift` is the angle of zero lift [rad], `above` and `below` are those of stall in compressible flow
    [rad], `compression` the factor by which the incidence is stretched, 1 or more for Mach number alone [1].
    """
    incidence = min(max(angle - zero_lift, below - zero_lift), above - zero_lift)
    shift = (compression - 1.0) * incidence
    end = above if incidence >= 0.0 else -below
    left = (STRETCH_END - abs(angle)) / max(STRETCH_END - end, 0.1)
    return angle + shift * min(max(left, 0.0), 1.0)


@kernel
def polar_value(pieces: NDArray[np.float64], row: int, piece: int, curve: int, d: float) -> float:
    """One `curve`, LIFT, DRAG or MOMENT [1], at `d` [rad] beyond the beginning of a `piece` of a `row`.

    `pieces` of shape (k, m, 13), see `Polar`.
    """
    value = pieces[row, piece, curve + 2] + d * pieces[row, piece, curve + 3]
    return float(pieces[row, piece, curve] + d * (pieces[row, piece, curve + 1] + d * value))


@kernel_part
def piece_at(pieces: NDArray[np.float64], angle: float) -> int:
    """Piece that holds an `angle` within +-180 deg [rad]; `pieces` of shape (k, m, 13), see `Polar`."""
    low, high = 0, pieces.shape[1]
    while high - low > 1:
        middle = (low + high) // 2
        if pieces[0, middle, BEGINNING] <= angle:
            low = middle
        else:
            high = middle
    return low


@kernel
def polar_coefficients(pieces: NDArray[np.float64], place: float, angle: float) -> PolarCoefficients:
    """Coefficients at a `polar_place`, `place` [1], and an `angle` of attack within +-180 deg [rad].

    `pieces` of shape (k, m, 13), see `Polar`.
    """
    piece = piece_at(pieces, angle)
    d = angle - pieces[0, piece, BEGINNING]
    row = int(place)
    share = place - row
    cl = polar_value(pieces, row, piece, LIFT, d)
    cd = polar_value(pieces, row, piece, DRAG, d)
    cm = polar_value(pieces, row, piece, MOMENT, d)
    if share > 0.0:
        cl += share * (polar_value(pieces, row + 1, piece, LIFT, d) - cl)
        cd += share * (polar_value(pieces, row + 1, piece, DRAG, d) - cd)
        cm += share * (polar_value(pieces, row + 1, piece, MOMENT, d) - cm)
    return PolarCoefficients(cl, cd, cm)
