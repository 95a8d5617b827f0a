"""The sheet that every picture of an envelope is drawn on: title, panels, one sentence, caution."""

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection
from matplotlib.figure import Figure

from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import GREY, INK, WARNING
from simengine.report.flight.picture import DOTS_PER_INCH, FOOT_LINE, WIDTH, footer_lines, write_footer

TITLE_ROOM, SUBJECT_LINE = 0.56, 0.19  # the title; each line of what the picture shows [in]
CAPTION_LINE = 0.2  # [in]
FRAME = "#BBBBBB"
ABOVE = "above"  # marks names above a panel and their leaders, which a narrow sheet sets in two rows
PALE_LINE = "#E4E4E4"


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper with room for panels; all measures in inches.

    Attributes
    ----------
    panels_high : float
        Height of the room for panels.
    panels_foot : float
        Its lower edge above that of the sheet.
    """

    figure: Figure
    panels_high: float
    panels_foot: float

    def axes(self, left: float, below_top: float, wide: float, high: float) -> Axes:
        """Axes with their upper left corner at a place of the room for panels."""
        across, tall = self.figure.get_size_inches()
        foot = self.panels_foot + self.panels_high - below_top - high
        axes = self.figure.add_axes((left / across, foot / tall, wide / across, high / tall))
        plain(axes)
        return axes


def sheet(dataset: xarray.Dataset, subject: str, caption: Sentence, panels_high: float) -> Sheet:
    """Lay out a sheet: title above, the conclusion and the caution below the room for panels."""
    told = ("!! " if caption.warns else "") + kept_together(caption.words)
    lines, subjects = textwrap.wrap(told, 116), textwrap.wrap(kept_together(subject), 150)
    footer = footer_lines(dataset)
    foot = FOOT_LINE * len(footer) + 0.25
    panels_foot = foot + CAPTION_LINE * len(lines) + 0.15
    tall = TITLE_ROOM + SUBJECT_LINE * len(subjects) + panels_high + panels_foot
    figure = Figure(figsize=(WIDTH, tall), dpi=DOTS_PER_INCH, facecolor="white")
    FigureCanvasAgg(figure)
    title = textwrap.shorten(str(dataset.attrs.get("title", "")), 88, placeholder=" …")
    left = 0.25 / WIDTH
    figure.text(left, 1 - 0.12 / tall, title, fontsize=14, fontweight="bold", va="top", color=INK)
    subject = "\n".join(subjects)
    figure.text(left, 1 - 0.42 / tall, subject, fontsize=9.5, va="top", color=GREY, linespacing=1.3)
    figure.text(
        left,
        (panels_foot - 0.05) / tall,
        "\n".join(lines),
        fontsize=10.5,
        fontweight="bold",
        va="top",
        color=WARNING if caption.warns else INK,
        linespacing=1.3,
    )
    write_footer(figure, footer)
    return Sheet(figure, panels_high, panels_foot)


def kept_together(words: str) -> str:
    """The same with a number and its unit on one line."""
    return re.sub(r"(\d) (m|rpm|%|kg|K|N m)(?!\w)", "\\1\u00a0\\2", words)


def plain(axes: Axes) -> None:
    """Quiet frame and ticks."""
    axes.tick_params(labelsize=8, color=GREY, labelcolor=INK)
    for side in axes.spines.values():
        side.set_color(FRAME)


def label(axes: Axes, across: str = "", up: str = "") -> None:
    """Quantity and unit of both scales."""
    axes.set_xlabel(across, fontsize=9, color=INK)
    axes.set_ylabel(up, fontsize=9, color=INK)


def density_scale(axes: Axes, heights: Sequence[float], densities: Sequence[float]) -> None:
    """Density altitude as a second scale right of a panel whose own scale is height."""
    low, high = axes.get_ylim()
    right = axes.twinx()
    plain(right)
    right.set_ylim(low, high)
    step = next((step for step in (100, 200, 250, 500, 1000) if (high - low) / step <= 11), 2000)
    first, last = densities[0], densities[-1]
    levels = [float(step * k) for k in range(int(first // step), int(last // step) + 2)]
    inside = [
        (level, float(np.interp(level, densities, heights))) for level in levels if first <= level <= last
    ]
    right.set_yticks([place for _, place in inside], [f"{level:.0f}" for level, _ in inside])
    right.tick_params(labelsize=8, color=GREY, labelcolor=GREY)
    right.set_ylabel("density altitude, m", fontsize=9, color=GREY)


def badge(axes: Axes, x: float, y: float, words: str, colour: str, ink: str = "white") -> None:
    """Words on a small coloured plate."""
    axes.text(
        x,
        y,
        words,
        ha="center",
        va="center",
        fontsize=9,
        fontweight="bold",
        color=ink,
        zorder=8,
        bbox={"facecolor": colour, "edgecolor": "none", "pad": 2.0},
    )


def white_hatch(drawn: Collection, colour: str = "white") -> None:
    """Hatch lines in a colour, without an outline."""
    drawn.set_edgecolor(colour)
    drawn.set_linewidth(0.0)
