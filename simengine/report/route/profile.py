"""Height, ground, pitch state, engine rpm and fuel along a route."""

import textwrap

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREY, INK, PALE, STATES, WARNING
from simengine.report.route.page import leg_edges, numbers, stretches
from simengine.report.route.text import OWN, at, possible, problem_sentences, trip_sentence

PANELS = (("height", 2.9), ("blades", 0.35), ("rpm", 1.3), ("fuel", 1.3))
GAP, LEFT, WIDE = 0.16, 1.0, 9.05
NAME_ROOM = 9.05 / 0.085  # letters across the page
ROOMY = 5  # legs; more are named with their fuel alone
CROWDED = 12  # legs; more are numbered only
NUMBERED = 40  # legs; of more, not every edge and number is drawn


def profile_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the way of the scenario's own hub."""
    subject = (
        f"Way of {dataset['hub'].values[OWN]}, {number(dataset, 'start_mass'):.0f} kg at take-off. "
        "Heights above mean sea level; climb and descent are steep lines; rpm is the ENGINE's."
    )
    page = sheet(dataset, subject, profile_caption(dataset), sum(high + GAP for _, high in PANELS) + 0.75)
    edges, top = leg_edges(dataset), 0.35
    drawers = {"height": draw_height, "blades": draw_blades, "rpm": draw_rpm, "fuel": draw_fuel}
    for name, high in PANELS:
        axes = page.axes(LEFT, top, WIDE, high)
        axes.set_xlim(float(edges[0]), float(edges[-1]))
        drawers[name](axes, dataset)
        for edge in edges[1:-1] if dataset.sizes["leg"] <= NUMBERED else ():
            axes.axvline(float(edge), color=GREY, linewidth=0.7, linestyle=(0, (2, 2)), zorder=1)
        if name == "fuel":
            label(axes, "distance along the route, km", "fuel on board, L")
        else:
            axes.set_xticklabels([])
        top += high + GAP
    return page.figure


def profile_caption(dataset: xarray.Dataset) -> Sentence:
    """The answer: what cannot be flown, else fuel and time."""
    problems = problem_sentences(dataset)
    if problems:
        more = f" And {len(problems) - 1} more." if len(problems) > 1 else ""
        return Sentence(problems[0].words + more, True)
    return trip_sentence(dataset)


def draw_height(axes: Axes, dataset: xarray.Dataset) -> None:
    """Path over the ground, coloured by pitch state, legs named on top."""
    path, height = numbers(dataset, "path_distance"), numbers(dataset, "path_height")
    ground, ground_height = numbers(dataset, "ground"), numbers(dataset, "ground_height")
    lowest = min([*height, *ground_height, number(dataset, "site_height")], default=0.0)
    highest = max([*height, *ground_height, *numbers(dataset, "leg_height")], default=1.0)
    room = max(highest - lowest, 100.0)
    axes.set_ylim(lowest - 0.05 * room, highest + 0.42 * room)
    if ground.size:
        axes.fill_between(ground, ground_height, lowest - room, color="#D8D2C6", linewidth=0, zorder=2)
        axes.plot(ground, ground_height, color="#8A7F6A", linewidth=1.0, zorder=2)
        clear = ground_height + number(dataset, "terrain_clearance")
        axes.plot(ground, clear, color="#8A7F6A", linewidth=0.8, linestyle=(0, (1, 2)), zorder=2)
    draw_wanted(axes, dataset)
    for first, second, state in stretches(dataset):
        axes.plot(
            path[[first, second]], height[[first, second]], color=STATES[state][2], linewidth=2.6, zorder=4
        )
    name_legs(axes, dataset)
    axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    words = "height above sea level, m"
    label(axes, "", f"{words}\n(dots: ground + clearance)" if ground.size else words)


def draw_wanted(axes: Axes, dataset: xarray.Dataset) -> None:
    """The height asked for, where the machine does not get there."""
    edges, wanted = leg_edges(dataset), numbers(dataset, "leg_height")
    reached = numbers(dataset, "height_reached")[OWN]
    for leg in np.flatnonzero(~(np.abs(reached - wanted) < 1.0)):
        axes.plot(
            edges[leg : leg + 2], [wanted[leg]] * 2, color=WARNING, linestyle=(0, (3, 2)), linewidth=1.2
        )
    for place, words in enumerate(dataset["problems"].values[OWN]):
        if str(words):
            axes.axvspan(edges[place], edges[place + 1], facecolor="#FBE3D6", linewidth=0, zorder=0)


def name_legs(axes: Axes, dataset: xarray.Dataset) -> None:
    """Name, wind and fuel of each leg above its stretch."""
    edges = leg_edges(dataset)
    low, high = axes.get_ylim()
    top = high - 0.012 * (high - low)  # below the frame
    many = dataset.sizes["leg"] > CROWDED
    step = -(-dataset.sizes["leg"] // NUMBERED)  # of more legs only some are numbered
    for leg, name in enumerate(dataset["leg"].values):
        bad = bool(str(dataset["problems"].values[OWN, leg]))
        if leg % step and not bad:
            continue
        words = (
            str(leg + 1) if many else leg_words(dataset, leg, str(name), float(edges[leg + 1] - edges[leg]))
        )
        axes.text(
            float(edges[leg] + edges[leg + 1]) / 2.0,
            top,
            words,
            ha="center",
            va="top",
            fontsize=8,
            color=WARNING if bad else INK,
            linespacing=1.25,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.5},
            zorder=6,
        )


def leg_words(dataset: xarray.Dataset, leg: int, name: str, long: float) -> str:
    """Name, fuel and time; ground speed and wind."""
    whole = float(dataset["leg_distance"].values.sum())
    room = max(int(NAME_ROOM * long / whole), 3)
    figures = {key: float(dataset[key].values[OWN, leg]) for key in ("fuel", "time", "ground_speed")}
    wind = 3.6 * float(dataset["leg_wind_speed"].values[leg])
    origin = float(dataset["leg_wind_from"].values[leg])
    lines = [
        name,
        f"{figures['fuel']:.2f} L, {figures['time']:.0f} min",
        f"{3.6 * figures['ground_speed']:.0f} km/h over ground",
        f"wind {wind:.0f} km/h from {origin:03.0f}°" if wind > 0.05 else "no wind",
    ]
    if figures["ground_speed"] != figures["ground_speed"]:
        lines[2:3] = ["no cruise"]
        if not figures["fuel"] > 0.0:
            lines[1:3] = ["not flown"]
    if dataset.sizes["leg"] > ROOMY:
        lines = [name, lines[1].partition(",")[0]]
    return "\n".join(textwrap.shorten(line, room, placeholder="…") for line in lines)


def draw_blades(axes: Axes, dataset: xarray.Dataset) -> None:
    """Pitch state as a band, with its letter and the blade angle in words."""
    path, angle = numbers(dataset, "path_distance"), numbers(dataset, "path_blade_angle")
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    axes.set_facecolor(PALE)
    whole = axes.get_xlim()[1] - axes.get_xlim()[0]
    for left, right, state, row in runs(dataset):
        _, word, colour, hatch = STATES[state]
        axes.axvspan(path[left], path[right], facecolor=colour, hatch=hatch, edgecolor="white", linewidth=0)
        if path[right] - path[left] > 0.11 * whole:
            words = f"{word} {angle[row]:.1f}°"
            axes.text(
                (path[left] + path[right]) / 2.0, 0.48, words, ha="center", va="center", fontsize=9,
                fontweight="bold", color=INK if word == "shifting" else "white",
            )  # fmt: skip
    axes.set_ylabel("blades", fontsize=9, color=INK, rotation=0, ha="right", va="center")


def runs(dataset: xarray.Dataset) -> list[tuple[int, int, int, int]]:
    """Stretches of one state put together: first and last row, state, a row in it."""
    found: list[tuple[int, int, int, int]] = []
    for first, second, state in stretches(dataset):
        if found and found[-1][2] == state and found[-1][1] in (first, first - 1):
            found[-1] = (found[-1][0], second, state, second)
        else:
            found.append((first, second, state, second))
    return found


def draw_rpm(axes: Axes, dataset: xarray.Dataset) -> None:
    """Engine rpm with its limit."""
    path, rpm = numbers(dataset, "path_distance"), numbers(dataset, "path_rpm")
    for first, second, _ in stretches(dataset):
        axes.plot([path[first], path[second]], [rpm[second]] * 2, color=INK, linewidth=1.6)
    limit = number(dataset, "engine_rpm_limit")
    axes.axhline(limit, color=WARNING, linewidth=1.2, linestyle=(0, (2, 1.5)))
    axes.text(
        axes.get_xlim()[1], limit, f"limit {limit:.0f} ", ha="right", va="bottom", fontsize=8.5, color=WARNING
    )
    axes.set_ylim(0.0, 1.18 * max([limit, *rpm]))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4))
    axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
    label(axes, "", "ENGINE rpm")


def draw_fuel(axes: Axes, dataset: xarray.Dataset) -> None:
    """Fuel on board with the reserve."""
    path, fuel = numbers(dataset, "path_distance"), numbers(dataset, "path_fuel")
    axes.plot(path, fuel, color=BLUE, linewidth=1.8)
    reserve = at(dataset, "reserve_wanted", OWN)
    axes.axhline(reserve, color=WARNING, linewidth=1.2, linestyle=(0, (2, 1.5)))
    axes.text(
        axes.get_xlim()[0], reserve, f" reserve {reserve:.1f} L", va="bottom", fontsize=8.5, color=WARNING
    )
    axes.set_ylim(min([0.0, *fuel]), 1.1 * max([*fuel, reserve]))
    axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
    if not possible(dataset):
        axes.axhline(0.0, color=WARNING, linewidth=0.8)
