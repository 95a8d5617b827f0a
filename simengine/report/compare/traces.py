"""Overlaid traces of a comparison, and what they differ by from those of the first case."""

from collections.abc import Callable
from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from simengine.report.compare.facts import event_rows
from simengine.report.compare.lines import (
    LEFT,
    LINES,
    RIGHT,
    STRIP,
    Across,
    across,
    comparison_sheet,
    drawn_cases,
    phase_strip,
    time_ticks,
)
from simengine.report.envelope.page import PALE_LINE
from simengine.report.flight.panels import GREY, INK, WARNING
from simengine.report.flight.picture import WIDTH
from simengine.report.flight.time_axis import spread
from simengine.results.catalogue import EventKind
from simengine.results.compare_catalogue import DIFFERENCE

LITRE = 1e-3  # m3
ARRIVES = (EventKind.SHIFT_FINISHES, EventKind.RETURN_FINISHES)
LEAVES = (EventKind.SHIFT_BEGINS, EventKind.RETURN_BEGINS)
NAME_ROOM = 14  # letters of a case's name beside a panel
LABEL_ROOM = 0.16  # least distance of two labels beside a panel, as a share of its height

Panel = tuple[float, str, Callable[[Axes, xarray.Dataset, Across], None]]


def traces_picture(dataset: xarray.Dataset) -> Figure:
    """Draw throttle, ENGINE rpm, blade angle, height and fuel of every case over one another."""
    panels: list[Panel] = [
        (0.8, "throttle\n%", draw_throttle),
        (2.2, "ENGINE\nrpm", draw_speed),
        (1.5, "blade angle\ndegrees", draw_angle),
        (1.3, "height\nabove sea\nlevel, m", draw_height),
        (1.3, "fuel used\nL", draw_fuel),
    ]
    subject = (
        "All cases over one another: every phase begins at zero for all, and a line ends where its phase is "
        "over. ○ blades leave a stop, ● reach one."
    )
    return stacked(dataset, subject, panels)


def differences_picture(dataset: xarray.Dataset) -> Figure:
    """Draw how far each case lies from the first, at the same time since the phase began."""
    panels: list[Panel] = [
        (1.7, "ENGINE rpm\ndifference", draw_apart("engine_rpm")),
        (1.4, "blade angle\ndifference\ndegrees", draw_apart("blade_angle")),
        (1.4, "height\ndifference\nm", draw_apart("height")),
        (1.4, "fuel used\ndifference\nL", draw_fuel_apart),
    ]
    subject = (
        "Each case less the first, at the same time since the phase began; a spike where blades move shows "
        "only that they move sooner or later."
    )
    return stacked(dataset, subject, panels)


def stacked(dataset: xarray.Dataset, subject: str, panels: list[Panel]) -> Figure:
    """Panels under one time axis."""
    high = sum(tall for tall, *_ in panels) + STRIP + 0.55
    page, top = comparison_sheet(dataset, subject, high)
    along = across(dataset)
    phase_strip(page.axes(LEFT, top, WIDTH - LEFT - RIGHT, STRIP), dataset, along)
    top += STRIP
    axes = None
    for tall, words, draw in panels:
        axes = page.axes(LEFT, top + 0.05, WIDTH - LEFT - RIGHT, tall - 0.05)
        axes.set_xlim(0.0, 1.0)
        axes.set_xticks([])
        axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
        axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
        draw(axes, dataset, along)
        axes.vlines(
            along.axis.places[1:-1],
            0,
            1,
            transform=axes.get_xaxis_transform(),
            color="#999999",
            linewidth=1.0,
        )
        axes.set_ylabel(words, rotation=0, ha="center", va="center", fontsize=8.5, color=INK)
        axes.yaxis.set_label_coords(-0.1, 0.5)
        top += tall
    assert axes is not None
    time_ticks(axes, along)
    return page.figure


def overlay(axes: Axes, dataset: xarray.Dataset, along: Across, values: np.ndarray, first: int = 0) -> None:
    """A line a case, the first case on top; broken where a phase ends."""
    gaps = np.flatnonzero(np.diff(dataset["sample_phase"].values)) + 1
    places = np.insert(along.places, gaps, np.nan)
    for case in reversed(drawn_cases(dataset)[first:]):
        colour, dashes, width = LINES[case]
        line = np.insert(values[case].astype(float), gaps, np.nan)
        order = 3 + len(LINES) - case
        axes.plot(places, line, color=colour, linestyle=dashes, linewidth=width, zorder=order)


def draw_throttle(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Throttle in per cent."""
    overlay(axes, dataset, along, 100.0 * dataset["throttle"].values)
    axes.set_ylim(-4.0, 108.0)
    axes.set_yticks([0, 50, 100])


def draw_speed(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """ENGINE rpm with the limit of each engine, and where blades leave and reach their stops."""
    overlay(axes, dataset, along, dataset["engine_rpm"].values)
    limits: dict[float, list[int]] = {}
    for case in drawn_cases(dataset):
        limits.setdefault(float(dataset["engine_rpm_limit"].values[case]), []).append(case)
    for limit in limits:
        axes.axhline(limit, color=WARNING, linewidth=1.0, linestyle=(0, (2, 1.5)), zorder=2)
    low, high = float(np.nanmin(dataset["engine_rpm"].values)), float(np.nanmax(dataset["engine_rpm"].values))
    axes.set_ylim(0.9 * low, 1.04 * max(high, *limits))
    beside(axes, {limit: f"limit {limit:.0f}{whose(dataset, own)}" for limit, own in limits.items()}, WARNING)
    mark_events(axes, dataset, along, lambda event, case: event.rpm[case])


def draw_angle(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Blade angle with the stops of every hub."""
    overlay(axes, dataset, along, dataset["blade_angle"].values)
    stops: dict[float, str] = {}
    for case in drawn_cases(dataset):
        coarse, fine = (float(dataset[f"{name}_stop"].values[case]) for name in ("coarse", "fine"))
        if abs(coarse - fine) < 1e-6:
            stops.setdefault(round(fine, 3), f"fixed {fine:.1f}°")
        else:
            stops.setdefault(round(coarse, 3), f"coarse {coarse:.1f}°")
            stops.setdefault(round(fine, 3), f"fine {fine:.1f}°")
    room = max(0.12 * (max(stops) - min(stops)), 0.4)
    axes.set_ylim(min(stops) - room, max(stops) + room)
    for stop in stops:
        axes.axhline(stop, color=GREY, linewidth=0.7, linestyle=(0, (4, 3)), zorder=1)
    beside(axes, stops, GREY)
    mark_events(axes, dataset, along, lambda event, case: event.blade_angle[case])


def draw_height(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Height above mean sea level."""
    overlay(axes, dataset, along, dataset["height"].values)


def draw_fuel(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Fuel used since the start, by volume."""
    overlay(axes, dataset, along, litres(dataset, "fuel_used"))


def litres(dataset: xarray.Dataset, name: str) -> np.ndarray:
    """A mass of fuel by volume [L]."""
    return np.asarray(dataset[name].values / dataset["fuel_density"].values[:, None] / LITRE)


def draw_apart(name: str) -> Callable[[Axes, xarray.Dataset, Across], None]:
    """A drawer of one trace's difference from the first case."""

    def draw(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
        zero_line(axes)
        overlay(axes, dataset, along, dataset[name + DIFFERENCE].values, first=1)

    return draw


def draw_fuel_apart(axes: Axes, dataset: xarray.Dataset, along: Across) -> None:
    """Difference of the fuel used since the start, by volume."""
    fuel = litres(dataset, "fuel_used")
    zero_line(axes)
    overlay(axes, dataset, along, fuel - fuel[:1], first=1)


def zero_line(axes: Axes) -> None:
    """The first case."""
    axes.axhline(0.0, color=INK, linewidth=1.2, zorder=2)


def mark_events(axes: Axes, dataset: xarray.Dataset, along: Across, value: Callable[..., float]) -> None:
    """Open dots where blades leave a stop, full ones where they reach one."""
    for event in event_rows(dataset):
        if event.kind not in (*LEAVES, *ARRIVES):
            continue
        for case in drawn_cases(dataset):
            if not isfinite(event.elapsed[case]):
                continue
            colour = LINES[case][0]
            axes.plot(
                [along.place(event.phase, event.elapsed[case])],
                [value(event, case)],
                marker="o",
                markersize=4.5,
                markerfacecolor=colour if event.kind in ARRIVES else "white",
                markeredgecolor=colour,
                linestyle="none",
                zorder=20,
            )


def whose(dataset: xarray.Dataset, cases: list[int]) -> str:
    """Which cases a limit belongs to, if not to all."""
    if len(cases) == len(drawn_cases(dataset)):
        return ""
    names = [str(dataset["case"].values[case]) for case in cases]
    first = names[0] if len(names[0]) <= NAME_ROOM else f"{names[0][: NAME_ROOM - 1]}…"
    return f"\n{first}" + ("\nand others" if len(names) > 1 else "")


def beside(axes: Axes, labels: dict[float, str], colour: str) -> None:
    """Words right of a panel at levels of its scale, moved apart where they would overlap."""
    low, high = axes.get_ylim()
    levels = sorted(labels)
    wanted = np.array([(level - low) / (high - low) for level in levels])
    room = LABEL_ROOM * (1.6 if any("\n" in words for words in labels.values()) else 1.0)
    room = min(room, 1.0 / max(len(levels) - 1, 1))
    for level, place in zip(levels, spread(wanted, room), strict=True):
        axes.text(
            1.006, place, labels[level], transform=axes.transAxes, fontsize=8, color=colour, va="center"
        )
