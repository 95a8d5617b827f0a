"""The picture of one flight: everything under one time axis, with the events marked and listed."""

import textwrap

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from simengine.report.cautions import short_caution
from simengine.report.flight.conclusion import Sentence, conclusion_sentences
from simengine.report.flight.event_marks import event_lines, marked_events
from simengine.report.flight.facts import event_facts
from simengine.report.flight.panels import (
    GREY,
    INK,
    WARNING,
    Drawer,
    View,
    draw_blade_angle,
    draw_fuel,
    draw_height,
    draw_phases,
    draw_pitch_state,
    draw_speed,
    draw_throttle,
    width_of,
)
from simengine.report.flight.time_axis import TimeAxis, time_axis

WIDTH = 11.0  # in
LEFT, RIGHT = 1.25, 1.3  # margins [in]
NARROW_LEFT, NARROW_RIGHT = 1.15, 1.1  # of a sheet for a phone [in]
TICK_ROOM = 0.465  # of a time below the panels [in]
HEAD_LINE, LIST_LINE, FOOT_LINE = 0.19, 0.152, 0.15  # height of one line of text [in]
DOTS_PER_INCH = 120


def flight_picture(dataset: xarray.Dataset, wide: float = WIDTH) -> Figure:
    """Draw a flight.

    Parameters
    ----------
    dataset : xarray.Dataset
        A result of `simengine.fly` or `read_netcdf`.
    wide : float
        Of the sheet [in]; on a narrow one the panels stand as for a phone, and what is written above and
        below them is still that of a wide one.

    Returns
    -------
    matplotlib.figure.Figure
        With a canvas of its own; nothing global is touched.
    """
    axis = time_axis(dataset["phase_start"].values.tolist(), dataset["phase_end"].values.tolist())
    events, unmarked = marked_events(event_facts(dataset))
    view = View(dataset, axis, axis.place(np.asarray(dataset["time"].values)), events)
    header = header_lines(conclusion_sentences(dataset))
    listing = columns_of(event_lines(events))
    footer = footer_lines(dataset)
    panels = panels_of(dataset)
    top = 0.5 + HEAD_LINE * len(header) + 0.15
    above_foot = FOOT_LINE * len(footer) + 0.3
    bottom = 0.7 + LIST_LINE * (len(listing[0]) + 1.5) + above_foot
    height = top + sum(tall for tall, _ in panels) + bottom
    figure = Figure(figsize=(wide, height), dpi=DOTS_PER_INCH, facecolor="white")
    FigureCanvasAgg(figure)
    write_header(figure, str(dataset.attrs.get("title", "")), header)
    axes = draw_panels(figure, view, panels, top)
    label_time(axes[-1], axis)
    write_listing(figure, listing, unmarked, above_foot)
    write_footer(figure, footer)
    return figure


def panels_of(dataset: xarray.Dataset) -> list[tuple[float, Drawer]]:
    """Height [in] and drawer of each panel from the top."""
    panels: list[tuple[float, Drawer]] = [(0.5, draw_phases), (0.85, draw_throttle), (2.3, draw_speed)]
    if str(dataset.attrs["hub_kind"]) == "fixed":
        panels.append((0.7, draw_blade_angle))
    else:
        panels += [(1.9, draw_blade_angle), (0.36, draw_pitch_state)]
    return [*panels, (1.35, draw_height), (1.05, draw_fuel)]


def draw_panels(figure: Figure, view: View, panels: list[tuple[float, Drawer]], top: float) -> list[Axes]:
    """Stack the panels; returns their axes from the top."""
    wide, tall = figure.get_size_inches()
    left, right = (LEFT, RIGHT) if wide >= WIDTH else (NARROW_LEFT, NARROW_RIGHT)
    gap, drawn = 0.07, []
    below = tall - top
    marks = view.axis.place(np.array([event.time for event in view.events]))
    for height, draw in panels:
        below -= height
        box = (left / wide, below / tall, 1.0 - (left + right) / wide, (height - gap) / tall)
        axes = figure.add_axes(box)
        axes.set_xlim(0.0, 1.0)
        axes.set_xticks([])
        axes.tick_params(labelsize=8, color=GREY, labelcolor=INK)
        for side in axes.spines.values():
            side.set_color("#BBBBBB")
        draw(axes, view)
        if draw is not draw_phases:
            across = axes.get_xaxis_transform()
            axes.vlines(view.axis.places[1:-1], 0, 1, transform=across, color="#999999", linewidth=1.0)
            axes.vlines(marks, 0, 1, transform=across, color=GREY, linewidth=0.6, linestyle=(0, (2, 2)))
        drawn.append(axes)
    return drawn


def label_time(axes: Axes, axis: TimeAxis) -> None:
    """Minutes below the lowest panel."""
    wide = width_of(axes)
    ticks = axis.ticks(TICK_ROOM / wide)
    axes.set_xticks([place for place, _ in ticks], [label for _, label in ticks])
    apart = "  " if wide > WIDTH / 2 else "\n"
    note = f"{apart}(short phases are drawn wider than their time)" if axis.stretched else ""
    axes.set_xlabel(f"time since the start, min{note}", fontsize=9, color=INK)


def header_lines(sentences: list[Sentence]) -> list[tuple[str, bool]]:
    """The conclusion, each sentence from a line of its own; true where it warns."""
    lines = []
    for sentence in sentences:
        mark = "!! " if sentence.warns else ""
        lines += [(line, sentence.warns) for line in textwrap.wrap(mark + sentence.words, 124)]
    return lines


def write_header(figure: Figure, title: str, header: list[tuple[str, bool]]) -> None:
    """Title and what the flight shows."""
    wide, tall = figure.get_size_inches()
    left = 0.25 / wide
    title = textwrap.shorten(title, 88, placeholder=" …")
    figure.text(left, 1 - 0.14 / tall, title, fontsize=14, fontweight="bold", va="top", color=INK)
    for place, (line, warns) in enumerate(header):
        level = 1 - (0.5 + HEAD_LINE * place) / tall
        figure.text(left, level, line, fontsize=10, va="top", color=WARNING if warns else INK)


def columns_of(lines: list[str]) -> tuple[list[str], list[str]]:
    """Two columns, the first not shorter."""
    half = (len(lines) + 1) // 2
    return lines[:half], lines[half:]


def write_listing(
    figure: Figure, listing: tuple[list[str], list[str]], unmarked: int, above_foot: float
) -> None:
    """The list of marked events below the panels."""
    wide, tall = figure.get_size_inches()
    top = (above_foot + LIST_LINE * (len(listing[0]) + 1.5)) / tall
    head = "Events: time, what, ENGINE rpm, height above sea level"
    if unmarked:
        head += f"     ({unmarked} more events are not marked; the result file has them all)"
    figure.text(0.25 / wide, top, head, fontsize=8.5, fontweight="bold", va="top", color=INK)
    for left, lines in zip((0.25, 0.25 + WIDTH / 2), listing, strict=True):
        figure.text(
            left / wide,
            top - 1.3 * LIST_LINE / tall,
            "\n".join(lines),
            family="monospace",
            fontsize=8,
            va="top",
            color=INK,
            linespacing=1.35,
        )


def footer_lines(dataset: xarray.Dataset) -> list[str]:
    """Caution and where the picture comes from."""
    attributes = dataset.attrs
    origin = (
        f"simengine {attributes.get('simengine_version', 'unknown')}, "
        f"scenario {str(attributes.get('simengine_scenario_sha256', 'unknown'))[:12]}, "
        f"{attributes.get('fidelity', 'unknown')} fidelity"
    )
    return [*textwrap.wrap(short_caution(), 165), origin]


def write_footer(figure: Figure, lines: list[str]) -> None:
    """Small print at the foot."""
    wide, tall = figure.get_size_inches()
    figure.text(
        0.25 / wide, 0.1 / tall, "\n".join(lines), fontsize=8, va="bottom", color=GREY, linespacing=1.3
    )
