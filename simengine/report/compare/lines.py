"""Colours, dashes and the time axis that the pictures of a comparison share."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import xarray
from matplotlib.axes import Axes
from numpy.typing import NDArray

from simengine.report.compare.facts import case_names
from simengine.report.compare.text import headline, overall, short_changes
from simengine.report.envelope.page import Sheet, sheet
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, PALE, VERMILION, WARNING
from simengine.report.flight.picture import WIDTH
from simengine.report.flight.time_axis import TICK_SPACING, TimeAxis, nice_minutes, time_axis

Array = NDArray[np.float64]

# The first case in ink; the others in Okabe and Ito's colours, told apart by their dashes too.
LINES: tuple[tuple[str, object, float], ...] = (
    (INK, "-", 2.0),
    (VERMILION, "-", 1.3),
    (BLUE, (0, (5, 1.5)), 1.3),
    (GREEN, (0, (2, 1.2)), 1.5),
    (ORANGE, (0, (6, 1.5, 1, 1.5)), 1.4),
    ("#CC79A7", (0, (1, 1)), 1.6),
    ("#56B4E9", (0, (8, 2)), 1.3),
    (GREY, (0, (3, 1, 1, 1, 1, 1)), 1.3),
)
LEFT, RIGHT = 1.35, 1.25  # margins of the panels [in]
LEGEND_LINE = 0.37  # of one case, two lines of text [in]
NAME_LETTERS, LEGEND_LETTERS = 24, 124
STRIP = 0.26  # of the phases' names [in]


@dataclass(frozen=True)
class Across:
    """Where the samples of each phase stand along a picture.

    Attributes
    ----------
    axis : TimeAxis
        Phases one after the other, each as long as the longest of the cases.
    starts : array, shape (phases,)
        Where each begins [s].
    places : array, shape (samples,)
        0 to 1.
    """

    axis: TimeAxis
    starts: Array
    places: Array

    def place(self, phase: int, elapsed: float) -> float:
        """Where an instant of a phase stands."""
        return float(self.axis.place(self.starts[phase] + elapsed))


def across(dataset: xarray.Dataset) -> Across:
    """Lay out the phases."""
    durations = np.nan_to_num(np.nanmax(dataset["phase_duration"].values, axis=0), nan=1.0)
    ends = np.cumsum(durations)
    starts = np.concatenate([[0.0], ends[:-1]])
    axis = time_axis(starts.tolist(), ends.tolist())
    phase = dataset["sample_phase"].values.astype(np.int64)
    return Across(axis, starts, axis.place(starts[phase] + dataset["elapsed"].values))


def drawn_cases(dataset: xarray.Dataset) -> range:
    """Numbers of the cases that a picture shows: as many as there are lines to tell apart."""
    return range(min(dataset.sizes["case"], len(LINES)))


def comparison_sheet(dataset: xarray.Dataset, subject: str, panels_high: float) -> tuple[Sheet, float]:
    """A sheet with the legend drawn; also how much room the legend takes from the top [in]."""
    cases = drawn_cases(dataset)
    more = dataset.sizes["case"] - len(cases)
    if more:
        subject += f" The first {len(cases)} cases; {more} more are in the result file."
    legend = LEGEND_LINE * len(cases) + 0.12
    page = sheet(dataset, subject, overall(dataset), panels_high + legend)
    draw_legend(page.axes(0.25, 0.0, WIDTH - 0.5, legend - 0.12), dataset, cases)
    return page, legend


def draw_legend(axes: Axes, dataset: xarray.Dataset, cases: range) -> None:
    """For each case its line and name, what was changed, and what came of it."""
    axes.axis("off")
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(len(cases), 0.0)
    names = case_names(dataset)
    for case in cases:
        colour, dashes, width = LINES[case]
        axes.plot([0.0, 0.055], [case + 0.5] * 2, color=colour, linestyle=dashes, linewidth=width + 0.4)
        name = shorten(names[case], NAME_LETTERS)
        axes.text(0.065, case + 0.5, name, va="center", fontsize=9.5, fontweight="bold", color=INK)
        if case == 0:
            words = "what the others are held against"
            axes.text(0.25, case + 0.5, words, va="center", fontsize=8.5, color=GREY)
            continue
        told = headline(dataset, case)
        result = told.words.removeprefix(f"{names[case]}: ")
        lines = ((0.28, short_changes(dataset, case), GREY), (0.72, result, WARNING if told.warns else INK))
        for level, words, ink in lines:
            axes.text(
                0.25, case + level, shorten(words, LEGEND_LETTERS), va="center", fontsize=8.5, color=ink
            )


def shorten(words: str, letters: int) -> str:
    """At most so many letters."""
    return words if len(words) <= letters else f"{words[: letters - 1]}…"


def phase_strip(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Names of the phases above the panels."""
    axes.axis("off")
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.0)
    edges = along.axis.places
    names = [str(name) for name in dataset["phase_name"].values]
    for number, (left, right) in enumerate(pairwise(edges.tolist())):
        axes.axvspan(left, right, color=PALE if number % 2 else "#DDDDDD", linewidth=0)
        room = max(int((right - left) * 100), 3)
        name = names[number] if len(names[number]) <= room else f"{names[number][: room - 1]}…"
        axes.text((left + right) / 2, 0.45, name, ha="center", va="center", fontsize=9, color=INK)


def time_ticks(axes: Axes, along: Across) -> None:
    """Minutes since each phase began, below the lowest panel."""
    ticks: list[tuple[float, str]] = []
    for start, end in pairwise(along.axis.times.tolist()):
        width = float(along.axis.place(end) - along.axis.place(start))
        for minutes in nice_minutes(0.0, (end - start) / 60.0, width):
            place = float(along.axis.place(start + 60.0 * minutes))
            if not ticks or place - ticks[-1][0] >= 0.8 * TICK_SPACING:
                ticks.append((place, f"{minutes:g}"))
    axes.set_xticks([place for place, _ in ticks], [words for _, words in ticks])
    note = "  (short phases are drawn wider than their time)" if along.axis.stretched else ""
    axes.set_xlabel(f"time since each phase began, min{note}", fontsize=9, color=INK)
