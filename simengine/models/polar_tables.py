"""From the points of a polar to tables over +-180 deg, and to sections that hold them.

Beyond the points the section goes over into the flat plate of `sections`, whose normal force is Hoerner's:
what differs at the last point fades over `FADE` of further angle. A plate is what any section becomes when
its flow has left it; how soon it does is not in the points, so this part is flagged with a result.
"""

from math import log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.models.interpolation import pchip, row_below
from simengine.models.polars import LIFT_SLOPE, PIECE_SIZE, ZERO_LIFT_ANGLE, Polar
from simengine.models.section_families import (
    CRITICAL_BELOW_DIVERGENCE,
    KORN_FACTOR,
    MACH_LIMIT,
    linear_sections,
)
from simengine.models.sections import Section, Sections, plate_coefficients, section_at

FADE = pi / 6.0  # rad; as the delay of stall is let go, common practice, no source
STEP = pi / 72.0  # rad, 2.5 deg, between points put in
SAME = 1.0e-9  # rad
FINE, WINDOW = pi / 720.0, pi / 90.0  # rad, 0.25 and 2 deg
LEAST_RISE = 0.3  # 1/rad, a twentieth of thin-aerofoil theory's 2 pi: less is the end of attached flow


class Points(NamedTuple):
    """Points of one Reynolds number, each field of shape (n,).

    Attributes
    ----------
    alpha : NDArray
        Angle of attack, rising [rad].
    cl, cd, cm : NDArray
        Lift, drag and moment about the quarter chord, nose up positive [1].
    """

    alpha: NDArray[np.float64]
    cl: NDArray[np.float64]
    cd: NDArray[np.float64]
    cm: NDArray[np.float64]


def build_polar(
    *, reynolds: ArrayLike, alpha: ArrayLike, cl: ArrayLike, cd: ArrayLike, cm: ArrayLike
) -> Polar:
    """Tables of a section from its points.

    Parameters
    ----------
    reynolds : of every point; points of one number together, numbers rising, shape (n,) [1]
    alpha : angle of attack, rising within one number, -180 to 180 deg, shape (n,) [rad]
    cl, cd, cm : lift, drag and moment about the quarter chord, shape (n,) [1]

    Raises
    ------
    ValueError
        If Reynolds numbers or angles do not rise, a value is not finite, or there is no lift that rises
        through zero.
    """
    numbers = np.asarray(reynolds, dtype=np.float64)
    values = [np.asarray(each, dtype=np.float64) for each in (alpha, cl, cd, cm)]
    starts = np.flatnonzero(np.append(True, np.diff(numbers) != 0.0))
    if not (np.diff(numbers) >= 0.0).all() or not (numbers > 0.0).all():
        raise ValueError("polar: Reynolds numbers must be above zero and rise from block to block")
    blocks = [
        Points(*(each[first:end] for each in values))
        for first, end in zip(starts, [*starts[1:], numbers.size], strict=True)
    ]
    tables = [[pchip(full.alpha, curve, "polar") for curve in full[1:]] for full in map(full_turn, blocks)]
    beginnings = merged([each[0][:, 0] for each in tables])
    return Polar(
        lines=np.array(
            [
                [log(number), *line_of_lift(points), points.alpha[0], points.alpha[-1]]
                for number, points in zip(numbers[starts], blocks, strict=True)
            ]
        ),
        pieces=np.array(
            [np.column_stack([beginnings, *(cut(curve, beginnings) for curve in each)]) for each in tables]
        ).reshape(-1, beginnings.size, PIECE_SIZE),
    )


def zero_lift(points: Points) -> float:
    """Angle of zero lift nearest to 0 [rad]; ValueError if the lift nowhere rises through zero."""
    rows = np.flatnonzero((points.cl[:-1] <= 0.0) & (points.cl[1:] > 0.0))
    if rows.size == 0:
        raise ValueError("polar: lift does not rise through zero: add points below and above zero lift")
    row = rows[np.argmin(np.abs(points.alpha[rows]))]
    share = -points.cl[row] / (points.cl[row + 1] - points.cl[row])
    return float(points.alpha[row] + share * (points.alpha[row + 1] - points.alpha[row]))


def end_of_rise(points: Points, zero: float, side: float) -> float:
    """Angle on one side of zero lift from which on lift hardly rises [rad]: there the flow has let go.

    `zero` is the angle of zero lift [rad], `side` +1 above it and -1 below [1]. Told by the rise over a
    window and not by a peak: measurements scatter, and the lift of some sections goes over into that of a
    plate without ever falling. Own rule, no source.
    """
    span = points.alpha[-1] - zero if side > 0.0 else zero - points.alpha[0]
    reach = np.arange(0.0, span, FINE)
    lift = side * np.interp(zero + side * np.append(reach, reach + WINDOW), points.alpha, points.cl)
    rise = lift[reach.size :] - lift[: reach.size]
    ended = np.flatnonzero((rise < LEAST_RISE * WINDOW) & (reach <= span - WINDOW))
    return zero + side * float(reach[ended[0]] + 0.5 * WINDOW if ended.size else span)


def line_of_lift(points: Points) -> tuple[float, float, float, float]:
    """Angle of zero lift [rad], slope [1/rad], angles of stall above and below [rad].

    The slope is that from zero lift half-way to the stall above. ValueError as `zero_lift`.
    """
    zero = zero_lift(points)
    stall_above, stall_below = end_of_rise(points, zero, 1.0), end_of_rise(points, zero, -1.0)
    half = max(0.5 * (stall_above - zero), FINE)
    return zero, float(np.interp(zero + half, points.alpha, points.cl)) / half, stall_above, stall_below


def full_turn(points: Points) -> Points:
    """The points, with those of a flat plate from their ends to +-180 deg."""
    plate = section_at(linear_sections(1, drag_min=float(points.cd.min())), 0, 1.0e6, 0.0)
    low, high = float(points.alpha[0]), float(points.alpha[-1])
    before, after = between(-pi, low)[:-1], between(high, pi)[1:]
    first, last = (np.array([each[row] for each in points[1:]]) for row in (0, -1))
    pieces = [faded(plate, before, low, first), np.array(points), faded(plate, after, high, last)]
    return Points(*np.hstack(pieces))


def between(start: float, end: float) -> NDArray[np.float64]:
    """Angles from `start` to `end` [rad], shape (n,), in steps of about `STEP`; one if both are the same."""
    if end - start < SAME:
        return np.array([start])
    return np.linspace(start, end, max(round((end - start) / STEP), 1) + 1)


def faded(
    plate: Section, angles: NDArray[np.float64], end: float, values: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Angles with the plate's coefficients, shape (4, n), joined to `values` at an `end` [rad].

    `angles` of shape (n,) [rad]; `values` are lift, drag and moment there, shape (3,) [1].
    """
    at_end = np.array(plate_coefficients(plate, end))
    columns = []
    for angle in angles:
        part = min(abs(angle - end) / FADE, 1.0)
        share = 1.0 - part * part * (3.0 - 2.0 * part)
        columns.append([angle, *(np.array(plate_coefficients(plate, angle)) + share * (values - at_end))])
    return np.array(columns).reshape(-1, len(Points._fields)).T


def merged(angles: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """All `angles` of several curves, shape (n,) each, rising, each once [rad], shape (m,)."""
    every = np.sort(np.concatenate(angles))
    return np.asarray(every[np.append(True, np.diff(every) > SAME)])


def cut(curve: NDArray[np.float64], beginnings: NDArray[np.float64]) -> NDArray[np.float64]:
    """A `pchip` `curve`, shape (n, 5), in pieces from `beginnings`, shape (m,) [rad], on; shape (m, 4)."""
    pieces = np.empty((beginnings.size, 4))
    for i, angle in enumerate(beginnings):
        row = curve[row_below(curve[:, 0], angle + SAME)]
        d = angle - row[0]
        pieces[i] = (
            row[1] + d * (row[2] + d * (row[3] + d * row[4])),
            row[2] + d * (2.0 * row[3] + 3.0 * d * row[4]),
            row[3] + 3.0 * d * row[4],
            row[4],
        )
    return pieces


def polar_sections(polar: Polar, thickness: NDArray[np.float64]) -> Sections:
    """Sections of a blade that all have one polar.

    Parameters
    ----------
    polar : the tables
    thickness : of every element, shape (n,), share of the chord, for the drag rise with Mach number [1]
    """
    typical = polar.lines[len(polar.lines) // 2]  # what the damping of the pitch motion takes
    return linear_sections(
        thickness.size, zero_lift_angle=typical[ZERO_LIFT_ANGLE], lift_slope=typical[LIFT_SLOPE]
    )._replace(
        mach_limit=np.full(thickness.size, MACH_LIMIT),
        mach_critical=KORN_FACTOR - thickness - CRITICAL_BELOW_DIVERGENCE,
        polar=polar,
    )
