"""The picture of a flight that fails: today in full, the baseline behind it, and what is agreed."""

import textwrap
from collections.abc import Callable
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray

from simengine.report.cautions import short_caution
from simengine.report.check.words import headline, moved_lines, verdict_line
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, PALE, VERMILION, WARNING
from simengine.report.flight.time_axis import TimeAxis, thinned, time_axis
from simengine.scenario.expect_records import Expectation
from simengine.studies.check.baseline import Baseline, EventRow
from simengine.studies.check.study import Check

Array = NDArray[np.float64]

WIDTH, PANEL, HEAD_LINE = 11.0, 1.75, 0.17  # [in]
MOST_LINES = 14
PANELS: tuple[tuple[str, str, str, Callable[[EventRow], float] | None], ...] = (
    ("engine_rpm", "ENGINE\nrpm", BLUE, lambda event: event.engine_rpm),
    ("blade_angle", "blade angle\ndegrees", INK, lambda event: event.blade_angle),
    ("height", "height above\nsea level\nm", GREEN, lambda event: event.height),
    ("thrust", "thrust\nN", VERMILION, None),
    ("fuel_flow", "fuel flow\nkg/h", ORANGE, None),
)
# Agreed figures that are a speed to be seen in the panel of the engine's rpm.
SPEEDS = ("begin_rpm", "finish_rpm", "full_throttle_rpm", "highest_engine_rpm")


def check_picture(checked: Check) -> Figure:
    """Draw what was checked.

    Parameters
    ----------
    checked : Check
        With or without a baseline.

    Returns
    -------
    matplotlib.figure.Figure
        With a canvas of its own; nothing global is touched.
    """
    dataset = checked.dataset
    axis = time_axis(dataset["phase_start"].values.tolist(), dataset["phase_end"].values.tolist())
    lines = head_lines(checked)
    top = 0.5 + HEAD_LINE * len(lines) + 0.45
    tall = top + PANEL * len(PANELS) + 1.15
    figure = Figure(figsize=(WIDTH, tall), dpi=110, facecolor="white")
    FigureCanvasAgg(figure)
    write_head(figure, checked, lines)
    for place, (name, label, colour, at_event) in enumerate(PANELS):
        below = 1.0 - (top + PANEL * (place + 1)) / tall
        axes = figure.add_axes((1.45 / WIDTH, below, (WIDTH - 1.75) / WIDTH, (PANEL - 0.12) / tall))
        draw_trace(axes, checked, axis, name, colour, at_event)
        if name == "engine_rpm":
            draw_bounds(axes, checked, axis)
            name_phases(axes, checked, axis)
        axes.set_ylabel(label, rotation=0, ha="center", va="center", fontsize=8.5, color=INK)
        axes.yaxis.set_label_coords(-0.098, 0.5)
    label_time(axes, axis)
    footer = "\n".join(textwrap.wrap(short_caution(), 165))
    figure.text(0.25 / WIDTH, 0.1 / tall, footer, fontsize=8, va="bottom", color=GREY)
    return figure


def head_lines(checked: Check) -> list[tuple[str, bool]]:
    """What fails and what moved, in words; true where it is an agreed figure."""
    lines = [(f"!! {verdict_line(verdict)}", True) for verdict in checked.failed]
    lines += [(line, False) for line in moved_lines(checked)]
    wrapped = [(part, warns) for line, warns in lines for part in textwrap.wrap(line, 150)]
    if len(wrapped) <= MOST_LINES:
        return wrapped
    return [
        *wrapped[:MOST_LINES],
        (f"and {len(wrapped) - MOST_LINES} more lines: see simengine check -v", False),
    ]


def write_head(figure: Figure, checked: Check, lines: list[tuple[str, bool]]) -> None:
    """Conclusion and details."""
    tall = figure.get_size_inches()[1]
    left = 0.25 / WIDTH
    title = textwrap.shorten(f"{checked.scenario.path.name}: {headline(checked)}", 100, placeholder=" …")
    figure.text(left, 1 - 0.12 / tall, title, fontsize=13, fontweight="bold", va="top", color=INK)
    for place, (line, warns) in enumerate(lines):
        level = 1 - (0.46 + HEAD_LINE * place) / tall
        figure.text(left, level, line, fontsize=8.5, va="top", color=WARNING if warns else INK)


def draw_trace(
    axes: Axes,
    checked: Check,
    axis: TimeAxis,
    name: str,
    colour: str,
    at_event: Callable[[EventRow], float] | None,
) -> None:
    """One trace of today, and the baseline's behind it."""
    dataset = checked.dataset
    place, values = thinned(
        axis.place(np.asarray(dataset["time"].values)), np.asarray(dataset[name].values, dtype=np.float64)
    )
    if checked.baseline is not None:
        times, before = older_trace(checked.baseline, name, at_event)
        shown = times <= axis.times[-1]
        axes.plot(
            axis.place(times[shown]),
            before[shown],
            color=GREY,
            linewidth=2.2,
            linestyle=(0, (2, 1.2)),
            label="baseline (samples)",
        )
    axes.plot(place, values, color=colour, linewidth=1.3, label="now")
    axes.set_xlim(0.0, 1.0)
    axes.set_xticks([])
    axes.margins(y=0.12)
    axes.tick_params(labelsize=8, color=GREY, labelcolor=INK)
    axes.grid(axis="y", color="#E4E4E4", linewidth=0.7)
    axes.vlines(axis.places[1:-1], 0, 1, transform=axes.get_xaxis_transform(), color="#999999", linewidth=1.0)
    if checked.baseline is not None and name == "engine_rpm":
        axes.legend(loc="lower right", fontsize=8, frameon=True, ncols=2)


def older_trace(
    baseline: Baseline, name: str, at_event: Callable[[EventRow], float] | None
) -> tuple[Array, Array]:
    """A trace of the baseline, with the events where they say what it was."""
    times, values = baseline.samples.times, baseline.samples.values[name]
    if at_event is not None:
        times = np.append(times, [event.time for event in baseline.events])
        values = np.append(values, [at_event(event) for event in baseline.events])
    order = np.argsort(times, kind="stable")
    return times[order], values[order]


def draw_bounds(axes: Axes, checked: Check, axis: TimeAxis) -> None:
    """Agreed speeds that are not kept, across their phase."""
    names = [str(name) for name in checked.dataset["phase_name"].values]
    starts, ends = checked.dataset["phase_start"].values, checked.dataset["phase_end"].values
    for item, verdict in zip(checked.scenario.record.expect, checked.verdicts, strict=True):
        if verdict.passed or verdict.where not in names or not item.figure.endswith(SPEEDS):
            continue
        row = names.index(verdict.where)
        left, right = float(axis.place(starts[row])), float(axis.place(ends[row]))
        levels = [level * item.variable.factor for level in edges_of(item)]
        axes.hlines(levels, left, right, color=VERMILION, linewidth=1.6, linestyle="--", zorder=6)
        axes.text(
            (left + right) / 2,
            min(levels),
            f"{item.figure} {verdict.bound}",
            fontsize=8,
            color=WARNING,
            ha="center",
            va="top",
            zorder=7,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0},
        )


def edges_of(item: Expectation) -> list[float]:
    """Values between or beyond which an agreed number must lie, SI; none for a state."""
    if item.value is not None and item.tolerance is not None:
        return [item.value - item.tolerance, item.value + item.tolerance]
    return [bound for bound in (item.at_least, item.at_most) if bound is not None]


def name_phases(axes: Axes, checked: Check, axis: TimeAxis) -> None:
    """Names of the phases above the first panel."""
    names = [str(name) for name in checked.dataset["phase_name"].values]
    places = axis.place(
        np.append(checked.dataset["phase_start"].values, checked.dataset["phase_end"].values[-1])
    )
    for name, (left, right) in zip(names, pairwise(places), strict=True):
        room = max(int((right - left) * 105), 4)
        axes.text(
            float(left + right) / 2,
            1.07,
            textwrap.shorten(name, room, placeholder="…"),
            transform=axes.get_xaxis_transform(),
            ha="center",
            fontsize=9,
            color=INK,
            bbox={"facecolor": PALE, "edgecolor": "none", "pad": 2.0},
        )


def label_time(axes: Axes, axis: TimeAxis) -> None:
    """Minutes below the lowest panel."""
    ticks = axis.ticks()
    axes.set_xticks([place for place, _ in ticks], [label for _, label in ticks])
    note = "  (short phases are drawn wider than their time)" if axis.stretched else ""
    axes.set_xlabel(f"time since the start, min{note}", fontsize=9, color=INK)
