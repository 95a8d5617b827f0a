"""Throttle opened and closed slowly at one height: engine rpm and blade angle with their loop."""

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.path import Path
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray

from simengine.report.envelope.captions import sweep_caption
from simengine.report.envelope.facts import stops
from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.facts import number
from simengine.report.flight.panels import BLUE, GREEN, VERMILION, WARNING, beside

Array = NDArray[np.float64]

BRANCHES = (("opening", VERMILION, "-", 1), ("closing", BLUE, (0, (5, 2)), -1))
LEAST_RPM_RANGE, LEAST_ANGLE_RANGE = 500.0, 0.5  # of the axes [rpm, deg]
HEAD = np.array([[1.0, 0.0], [-0.7, 0.55], [-0.7, -0.55], [1.0, 0.0]])  # an arrow's, tip first, to the right
ARROWS = {1: (0.2, 0.75), -1: (0.25, 0.8)}  # places along a branch, as shares of the throttle


def sweep_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the throttle sweep."""
    height = number(dataset, "sweep_height")
    subject = (
        f"At {height:.0f} m above mean sea level at the speed of the glide, throttle moved slowly: full line "
        f"OPENED (→), dashed line CLOSED (←), between them the loop."
    )
    page = sheet(dataset, subject, sweep_caption(dataset), 6.1)
    throttle = 100.0 * np.asarray(dataset["sweep_throttle"].values, dtype=np.float64)
    upper, lower = page.axes(1.0, 0.1, 8.9, 2.8), page.axes(1.0, 3.05, 8.9, 2.5)
    draw_loop(upper, dataset, throttle, "sweep_rpm", (), LEAST_RPM_RANGE)
    limit = number(dataset, "engine_rpm_limit")
    if limit <= upper.get_ylim()[1]:
        upper.axhline(limit, color=WARNING, linewidth=1.2, linestyle=(0, (2, 1.5)))
        beside(upper, limit, f"limit\n{limit:.0f} rpm", WARNING)
    label(upper, "", "ENGINE rpm")
    upper.set_xticklabels([])
    draw_loop(lower, dataset, throttle, "sweep_blade_angle", stops(dataset), LEAST_ANGLE_RANGE)
    for stop, name, colour in zip(stops(dataset), ("coarse", "fine"), (BLUE, GREEN), strict=True):
        lower.axhline(stop, color=colour, linewidth=1.1, linestyle="--", zorder=1)
        beside(lower, stop, f"{name} stop\n{stop:.1f}°", colour)
    label(lower, "throttle, %", "blade angle, degrees")
    return page.figure


def draw_loop(
    axes: Axes,
    dataset: xarray.Dataset,
    throttle: Array,
    quantity: str,
    shown: tuple[float, ...],
    least: float,
) -> None:
    """Both branches with arrows, the loop between them shaded and hatched.

    The axis holds the values `shown` as well, and spans no less than `least`.
    """
    branch = {
        name: np.asarray(dataset[f"{quantity}_{name}"].values, dtype=np.float64) for name, *_ in BRANCHES
    }
    axes.grid(color=PALE_LINE, linewidth=0.7)
    axes.fill_between(
        throttle,
        branch["opening"],
        branch["closing"],
        facecolor="#F2F2F2",
        edgecolor="#CCCCCC",
        hatch="....",
        linewidth=0,
        zorder=1,
    )
    axes.set_xlim(0.0, 100.0)
    every = np.concatenate([*branch.values(), np.array(shown)])
    low, high = float(np.nanmin(every)), float(np.nanmax(every))
    room = max(0.1 * (high - low), 0.5 * (least - (high - low)))
    axes.set_ylim(low - room, high + room)
    for name, colour, dashes, direction in BRANCHES:
        axes.plot(throttle, branch[name], color=colour, linestyle=dashes, linewidth=1.9, zorder=3)
        draw_arrows(axes, throttle, branch[name], colour, direction)


def draw_arrows(axes: Axes, throttle: Array, values: Array, colour: str, direction: int) -> None:
    """Heads along a line in the direction in which it is run through, one on its steepest piece."""
    rows = [int(share * (values.size - 2)) for share in ARROWS[direction]]
    steps = np.abs(np.diff(values))
    if np.isfinite(steps).any():
        rows.append(int(np.nanargmax(steps)))
    for row in rows:
        ends = np.array([[throttle[row], values[row]], [throttle[row + 1], values[row + 1]]])
        across, up = direction * np.diff(axes.transData.transform(ends), axis=0)[0]
        head = Path(HEAD).transformed(Affine2D().rotate(float(np.arctan2(up, across))))
        middle = ends.mean(axis=0)
        axes.plot(
            middle[:1], middle[1:], marker=head, markersize=11, color=colour, linestyle="none", zorder=5
        )
