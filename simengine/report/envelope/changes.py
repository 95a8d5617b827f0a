"""What one change to the machine does to the shift ceiling, ranked."""

from math import isfinite

import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.envelope.captions import changes_caption
from simengine.report.envelope.facts import Change, lifts_beyond, own, ranked_changes
from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, VERMILION

ROW = 0.36  # height of a bar with its gap [in]


def changes_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the gain of shift ceiling of each change."""
    changes = ranked_changes(dataset)
    point = own(dataset)
    ceiling = point.number("shift_ceiling")
    now = f"now {ceiling:.0f} m" if isfinite(ceiling) else f"now: {point.words('shift_ceiling_words')}"
    subject = f"One change at a time to the machine as it is: what it does to the shift ceiling ({now})"
    high = ROW * len(changes)
    page = sheet(dataset, subject, changes_caption(dataset), high + 0.75)
    draw_bars(page.axes(3.6, 0.05, 6.2, high), changes, bars=not point.finishes.all() or isfinite(ceiling))
    return page.figure


def draw_bars(axes: Axes, changes: list[Change], *, bars: bool) -> None:
    """A bar each; what no number can tell is told in words. No `bars` where there is nothing to gain."""
    gains = [change.gain for change in changes if isfinite(change.gain)]
    reach = max([abs(gain) for gain in gains], default=1.0) or 1.0
    rows = list(range(len(changes)))[::-1]
    low = min([0.0, *gains])
    axes.set_xlim(low - (0.75 if low < 0 else 0.05) * reach, 1.75 * reach)
    axes.set_ylim(-0.7, len(changes) - 0.3)
    axes.axvline(0.0, color=GREY, linewidth=1.0, zorder=3)
    for row, change in zip(rows, changes, strict=True):
        draw_bar(axes, row, change, reach if bars else 0.0)
    axes.set_yticks(rows, [change.name for change in changes], fontsize=9)
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    if not gains:
        axes.set_xticks([])
    label(axes, "change of the shift ceiling, m" if gains else "")


def draw_bar(axes: Axes, row: int, change: Change, reach: float) -> None:
    """One bar with its figures at the end; `reach` is the length of one that leaves the picture."""
    gain = change.gain
    if isfinite(gain):
        colour, hatch = (GREEN, "") if gain >= 0 else (VERMILION, "////")
        axes.barh(row, gain, height=0.62, color=colour, hatch=hatch, edgecolor="white", linewidth=0)
        words = f" {gain:+.0f} m, to {change.ceiling:.0f} m "
    elif lifts_beyond(change):
        axes.barh(row, 1.05 * reach, height=0.62, color=BLUE, hatch="..", edgecolor="white", linewidth=0)
        gain, words = 1.05 * reach, f" {change.words} "
    else:
        gain = 0.0
        words = f" ceiling {change.ceiling:.0f} m " if isfinite(change.ceiling) else f" {unnumbered(change)} "
    side = "right" if gain < 0 else "left"
    axes.text(gain, row, words, va="center", ha=side, fontsize=8.5, color=INK)


def unnumbered(change: Change) -> str:
    """What is known where no ceiling was found."""
    if not isfinite(change.shift_finish_rpm):
        return change.words
    needed = f"{change.shift_finish_rpm:.0f} rpm in the lowest climb"
    return f"{change.words} at full throttle; it would need {needed}"
