"""The panels of a flight's picture: each draws one quantity into its own axes."""

from collections.abc import Callable
from dataclasses import dataclass
from string import ascii_lowercase

import numpy as np
import xarray
from matplotlib.axes import Axes
from numpy.typing import NDArray

from simengine.report.facts import number
from simengine.report.flight.facts import EventFacts
from simengine.report.flight.time_axis import TimeAxis, spread, thinned
from simengine.results.catalogue import EventKind

Array = NDArray[np.float64]

# Okabe and Ito's palette, made for every kind of colour vision (2008, "Color universal design").
BLUE, ORANGE, GREEN, YELLOW, VERMILION = "#0072B2", "#E69F00", "#009E73", "#F0E442", "#D55E00"
INK, GREY, PALE, WARNING = "#222222", "#666666", "#EFEFEF", "#A63D00"
STATES = (  # letter, word, colour, hatch in the order of the stored flag
    ("C", "coarse", BLUE, ""),
    ("S", "shifting", YELLOW, "...."),
    ("H", "hung", VERMILION, "////"),
    ("F", "fine", GREEN, ""),
)
LABEL_PLACE = 0.777  # middle of the labels left of a panel, so far from it [in]
BESIDE = 0.085  # from a panel to the words right of it [in]
LETTER_SPACING = 0.186  # of two event letters [in]
LETTERS_PER_INCH = 12.4  # of a phase's name


@dataclass(frozen=True)
class View:
    """What every panel is drawn from."""

    dataset: xarray.Dataset
    axis: TimeAxis
    place: Array
    events: list[EventFacts]

    def line(self, name: str) -> tuple[Array, Array]:
        """A trace, thinned to what can be seen."""
        return thinned(self.place, np.asarray(self.dataset[name].values, dtype=np.float64))


Drawer = Callable[[Axes, View], None]


def draw_phases(axes: Axes, view: View) -> None:
    """Names of the phases, and the letters of the events led to their places."""
    axes.set_ylim(0.0, 1.0)
    axes.axis("off")
    edges, wide = view.axis.places, width_of(axes)
    axes.broken_barh(
        list(zip(edges[:-1], np.diff(edges), strict=True)),
        (0.58, 0.42),
        facecolors=[PALE if place % 2 else "#DDDDDD" for place in range(edges.size - 1)],
    )
    starts = view.dataset["phase_start"].values
    ends = view.dataset["phase_end"].values
    for name, start, end in zip(view.dataset["phase_name"].values, starts, ends, strict=True):
        left, right = float(view.axis.place(start)), float(view.axis.place(end))
        room = int((right - left) * LETTERS_PER_INCH * wide)
        if room >= 3:
            words = str(name) if len(str(name)) <= room else f"{str(name)[: room - 1].rstrip()}…"
            axes.text((left + right) / 2, 0.78, words, ha="center", va="center", fontsize=9, color=INK)
    marks = view.axis.place(np.array([event.time for event in view.events]))
    spacing = min(LETTER_SPACING / wide, 1.0 / max(marks.size - 1, 1))
    for letter, mark, seat in zip(ascii_lowercase, marks, spread(marks, spacing), strict=False):
        axes.plot([seat, mark], [0.22, -0.13], color=GREY, linewidth=0.6, clip_on=False)
        axes.text(seat, 0.38, letter, ha="center", va="center", fontsize=9, color=INK, fontweight="bold")


def draw_throttle(axes: Axes, view: View) -> None:
    """Throttle in per cent."""
    place, throttle = view.line("throttle")
    axes.fill_between(place, 0.0, 100.0 * throttle, color=GREY, alpha=0.25, linewidth=0)
    axes.plot(place, 100.0 * throttle, color=INK, linewidth=1.2)
    axes.set_ylim(0.0, 108.0)
    axes.set_yticks([0, 50, 100])
    side_label(axes, "throttle\n%")


def draw_speed(axes: Axes, view: View) -> None:
    """Engine rpm with its limit; the propeller's on the right-hand scale."""
    place, speed = view.line("engine_rpm")
    limit, reduction = number(view.dataset, "engine_rpm_limit"), number(view.dataset, "reduction")
    high = max(float(np.max(speed)), limit) * 1.09
    low = 0.9 * float(np.min(speed))
    axes.plot(place, speed, color=BLUE, linewidth=1.5)
    axes.axhline(limit, color=VERMILION, linewidth=1.1, linestyle="--")
    over = speed > limit
    if over.any():
        axes.fill_between(place, limit, speed, where=over.tolist(), color=VERMILION, linewidth=0)
    # Beside the panel, where it can hide neither the line nor what passes it.
    axes.text(
        -LABEL_PLACE / width_of(axes),
        0.16,
        f"– –  limit\n{limit:.0f} rpm",
        transform=axes.transAxes,
        fontsize=8.5,
        color=WARNING,
        ha="center",
    )
    mark_shift(axes, view, lambda event: event.engine_rpm)
    axes.set_ylim(low, high)
    axes.grid(axis="y", color="#E4E4E4", linewidth=0.7)
    side_label(axes, "ENGINE\nrpm")
    right = axes.twinx()
    right.set_ylim(low / reduction, high / reduction)
    right.tick_params(labelsize=8, color=GREY, labelcolor=GREY)
    right.set_ylabel(f"PROPELLER rpm\n(engine ÷ {reduction:g})", fontsize=8.5, color=GREY)
    right.set_xticks([])
    for side in right.spines.values():
        side.set_color("#BBBBBB")


def draw_blade_angle(axes: Axes, view: View) -> None:
    """Blade angle between its stops."""
    place, angle = view.line("blade_angle")
    coarse, fine = number(view.dataset, "coarse_stop"), number(view.dataset, "fine_stop")
    room = max(0.18 * abs(coarse - fine), 0.5)
    axes.plot(place, angle, color=INK, linewidth=1.5)
    axes.set_ylim(min(fine, float(angle.min())) - room, max(coarse, float(angle.max())) + room)
    if str(view.dataset.attrs["hub_kind"]) == "fixed":
        beside(axes, fine, f"fixed\n{fine:.1f}°", INK)
    else:
        for stop, name, colour in ((coarse, "coarse", BLUE), (fine, "fine", GREEN)):
            axes.axhline(stop, color=colour, linewidth=1.1, linestyle="--", zorder=1)
            beside(axes, stop, f"{name} stop\n{stop:.1f}°", colour)
    mark_shift(axes, view, lambda event: event.blade_angle)
    for event in view.events:
        if event.kind is EventKind.SHIFT_HANGS:
            drifts = event.note.startswith("drifts")
            axes.annotate(
                f"drifts from {event.blade_angle:.1f}°" if drifts else f"hangs at {event.blade_angle:.1f}°",
                (float(view.axis.place(event.time)), event.blade_angle),
                xytext=(8, -14) if drifts else (8, 5),
                textcoords="offset points",
                fontsize=9,
                fontweight="bold",
                color=VERMILION,
            )
    axes.grid(axis="y", color="#E4E4E4", linewidth=0.7)
    side_label(axes, "blade angle\ndegrees")


def draw_pitch_state(axes: Axes, view: View) -> None:
    """A band that tells where the blades are, by letter, hatch and colour."""
    state = np.asarray(view.dataset["pitch_state"].values)
    edges = np.concatenate([[0], np.flatnonzero(np.diff(state)) + 1, [state.size]])
    # A row's state holds until the next row.
    places = np.append(view.place, 1.0)
    starts, widths = places[edges[:-1]], np.diff(places[edges])
    kinds = state[edges[:-1]]
    for kind, (letter, _, colour, hatch) in enumerate(STATES):
        runs = [(s, w) for s, w in zip(starts[kinds == kind], widths[kinds == kind], strict=True)]
        axes.broken_barh(runs, (0, 1), facecolors=colour, hatch=hatch, edgecolor="white", linewidth=0)
        for start, width in runs:
            if width > 0.02:
                ink = INK if letter == "S" else "white"
                axes.text(
                    start + width / 2,
                    0.46,
                    letter,
                    ha="center",
                    va="center",
                    fontsize=8.5,
                    color=ink,
                    fontweight="bold",
                    bbox={"facecolor": colour, "edgecolor": "none", "pad": 1.5},
                )
    axes.set_ylim(0, 1)
    axes.set_yticks([])
    side_label(axes, "blades")
    axes.text(
        right_of(axes),
        0.5,
        "C coarse  S shifting\nH hung     F fine",
        transform=axes.transAxes,
        fontsize=7,
        va="center",
        color=GREY,
    )


def draw_height(axes: Axes, view: View) -> None:
    """Height above mean sea level, with the start, and ceilings or heights reached."""
    place, height = view.line("height")
    start = number(view.dataset, "site_height")
    axes.plot(place, height, color=INK, linewidth=1.5)
    low, high = min(start, float(height.min())), float(height.max())
    room = max(0.12 * (high - low), 20.0)
    axes.set_ylim(low - 1.6 * room, high + 1.6 * room)  # a height is told above the line, or below it
    axes.axhline(start, color=GREY, linewidth=0.8, linestyle=":")
    beside(axes, start, f"start\n{start:.0f} m", GREY)
    for event in view.events:
        if event.kind in (EventKind.CEILING, EventKind.HEIGHT_REACHED):
            where = float(view.axis.place(event.time))
            before = np.interp(event.time - 5.0, view.dataset["time"].values, view.dataset["height"].values)
            drop = 3 if before <= event.height else -11
            axes.plot([where], [event.height], marker="o", markersize=4, color=INK)
            axes.annotate(
                f"{'CEILING ' if event.kind is EventKind.CEILING else ''}{event.height:.0f} m",
                (where, event.height),
                xytext=(-5, drop),
                textcoords="offset points",
                ha="right",
                fontsize=8.5,
            )
    axes.grid(axis="y", color="#E4E4E4", linewidth=0.7)
    side_label(axes, "height\nabove sea\nlevel, m")


def draw_fuel(axes: Axes, view: View) -> None:
    """Fuel flow by volume, and what the whole flight used."""
    place, flow = view.line("fuel_flow_volume")
    axes.fill_between(place, 0.0, flow, color=ORANGE, alpha=0.3, linewidth=0)
    axes.plot(place, flow, color=ORANGE, linewidth=1.4)
    axes.set_ylim(0.0, 1.15 * max(float(flow.max()), 0.1))
    axes.grid(axis="y", color="#E4E4E4", linewidth=0.7)
    side_label(axes, "fuel flow\nL/h")
    litres = float(np.sum(view.dataset["phase_fuel_volume"].values))
    axes.text(right_of(axes), 0.5, f"{litres:.2f} L\nused", transform=axes.transAxes, fontsize=9, va="center")


def mark_shift(axes: Axes, view: View, value: Callable[[EventFacts], float]) -> None:
    """Dots on a line where blades leave or reach a stop: open for leaving, full for arriving."""
    leaving = (EventKind.SHIFT_BEGINS, EventKind.RETURN_BEGINS)
    arriving = (EventKind.SHIFT_FINISHES, EventKind.RETURN_FINISHES)
    for kinds, face in ((leaving, "white"), (arriving, INK), ((EventKind.SHIFT_HANGS,), VERMILION)):
        chosen = [event for event in view.events if event.kind in kinds]
        places = view.axis.place(np.array([event.time for event in chosen]))
        axes.plot(
            places,
            [value(event) for event in chosen],
            linestyle="none",
            marker="o",
            markersize=5,
            markerfacecolor=face,
            markeredgecolor=INK,
            zorder=5,
        )


def width_of(axes: Axes) -> float:
    """Width of a panel [in]."""
    return float(axes.get_window_extent().width / axes.figure.dpi)


def right_of(axes: Axes) -> float:
    """Where words right of a panel begin, as a share of its width."""
    return 1.0 + BESIDE / width_of(axes)


def side_label(axes: Axes, words: str) -> None:
    """Quantity and unit left of a panel, upright to read."""
    axes.set_ylabel(words, rotation=0, ha="center", va="center", fontsize=8.5, color=INK)
    axes.yaxis.set_label_coords(-LABEL_PLACE / width_of(axes), 0.5)


def beside(axes: Axes, level: float, words: str, colour: str) -> None:
    """A word right of a panel at a level of its scale."""
    axes.text(
        right_of(axes),
        level,
        words,
        transform=axes.get_yaxis_transform(),
        fontsize=8.5,
        color=colour,
        va="center",
    )
