"""Pictures of a calibration: readings against the fit, correlation, and what to measure next."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from simengine.report.calibrate.facts import (
    ReadingFacts,
    candidate_facts,
    chosen,
    figure,
    parameter_facts,
    reading_facts,
    with_band,
)
from simengine.report.calibrate.text import (
    contradiction_sentences,
    fit_sentence,
    held_sentences,
    next_sentences,
)
from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, VERMILION
from simengine.report.outputs import Drawer, Drawers

ROW = 0.3  # [in]
EDGE = 3.4  # of the panel, in half-widths of a reading's band
CANDIDATES_DRAWN = 14
COST_COLOURS = {"bench": GREEN, "ground run": ORANGE, "flight": BLUE}
COST_HATCHES = {"bench": "", "ground run": "////", "flight": "...."}


def calibration_drawers(dataset: xarray.Dataset) -> Drawers:
    """Every picture by the name that its file gets."""
    drawers: dict[str, Drawer] = {"readings": readings_picture, "correlation": correlation_picture}
    if candidate_facts(dataset):
        drawers["next"] = next_picture
    return drawers


def caption_of(dataset: xarray.Dataset, items: list[ReadingFacts]) -> Sentence:
    """The most important thing: a contradiction, a missed prediction, or what was fitted."""
    return next(iter([*contradiction_sentences(items), *held_sentences(items), fit_sentence(dataset, items)]))


def readings_picture(dataset: xarray.Dataset) -> Figure:
    """Draw every reading against the fitted model, and the rpm readings against height."""
    items = reading_facts(dataset)
    groups = [item for item in items if not item.held], [item for item in items if item.held]
    rows = len(items) + (1 if all(groups) else 0)
    high = max(ROW * rows, 1.5)
    subject = (
        "Left: each reading less what the fitted model says, in half-widths of the reading's own 95 % "
        "band. Grey bar: band of the model. Hollow: the model before the fit. Right: readings of ENGINE rpm "
        "less the model, by height."
    )
    page = sheet(dataset, subject, caption_of(dataset, items), high + 1.0)
    left = page.axes(3.1, 0.3, 3.6, high)
    draw_rows(left, groups)
    right = page.axes(7.7, 0.3, 2.1, high)
    draw_by_height(right, [item for item in items if item.unit == "rpm" and isfinite(item.height)])
    return page.figure


def draw_rows(axes: Axes, groups: tuple[list[ReadingFacts], list[ReadingFacts]]) -> None:
    """Fitted readings above, held-out ones below a line."""
    place, names, places = 0.0, [], []
    for held, items in enumerate(groups):
        if held and items and groups[0]:
            axes.axhline(place, color=INK, linewidth=1.0)
            axes.text(
                -EDGE, place, " held out, predicted", fontsize=8, va="bottom", color=BLUE, fontweight="bold"
            )
            place -= 1.0
        for item in items:
            draw_row(axes, place, item)
            names.append(f"{item.name}\n{with_band(item.value, item.band)} {item.unit}")
            places.append(place)
            place -= 1.0
    axes.set_yticks(places, names, fontsize=7)
    axes.set_ylim(place + 0.4, 0.6)
    axes.set_xlim(-EDGE, EDGE)
    axes.axvspan(-1.0, 1.0, color="#F2F2F2", zorder=0)
    axes.axvline(0.0, color=GREY, linewidth=1.0, zorder=1)
    label(axes, "reading less fitted model, half-widths of the reading's band")


def draw_row(axes: Axes, place: float, item: ReadingFacts) -> None:
    """One reading with its bar, the model's band, and the model before."""
    off = (item.value - item.predicted) / item.band
    colour, mark = (BLUE, "s") if item.held else (INK, "o")
    colour, mark = (VERMILION, "X") if item.set_aside else (colour, mark)
    width = item.predicted_band / item.band
    axes.barh(place, 2.0 * min(width, EDGE), left=-min(width, EDGE), height=0.5, color="#BBBBBB", zorder=2)
    shown = min(max(off, -0.96 * EDGE), 0.96 * EDGE)
    axes.errorbar(
        [shown],
        [place],
        xerr=[1.0],
        fmt=mark,
        color=colour,
        markersize=6,
        capsize=2.5,
        linewidth=1.2,
        zorder=4,
    )
    if shown != off:
        axes.text(
            shown,
            place + 0.3,
            f"{off:+.1f}",
            fontsize=8,
            color=colour,
            ha="center",
            va="bottom",
            fontweight="bold",
        )
    before = (item.before - item.predicted) / item.band
    axes.plot(
        [min(max(before, -EDGE), EDGE)],
        [place],
        marker="o",
        markersize=4,
        markerfacecolor="white",
        markeredgecolor=GREY,
        zorder=3,
        clip_on=False,
    )


def draw_by_height(axes: Axes, items: list[ReadingFacts]) -> None:
    """Readings of rpm less the model, against height."""
    for item in items:
        colour, mark = (BLUE, "s") if item.held else (INK, "o")
        colour, mark = (VERMILION, "X") if item.set_aside else (colour, mark)
        axes.errorbar(
            [item.value - item.predicted],
            [item.height],
            xerr=[item.band],
            fmt=mark,
            color=colour,
            markersize=5,
            capsize=2,
            linewidth=1.0,
        )
    axes.axvline(0.0, color=GREY, linewidth=1.0)
    axes.grid(color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    heights = [item.height for item in items] or [0.0]
    room = max(0.1 * (max(heights) - min(heights)), 50.0)
    axes.set_ylim(min(heights) - room, max(heights) + room)
    label(axes, "reading less model, ENGINE rpm", "height above sea level, m")


def correlation_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the correlation of the fitted inputs (below the diagonal) and how alike they act (above)."""
    items = parameter_facts(dataset)
    count = len(items)
    correlation = dataset["correlation"].values
    alike = dataset["collinearity"].values
    shown = np.where(np.tri(count, k=-1, dtype=bool), correlation, alike)
    subject = (
        "Below the diagonal: correlation of the fitted inputs. Above it: how alike two inputs act on these "
        "readings (cosine; blank: hardly seen). Framed: beyond 0.95, the readings do not tell the two apart."
    )
    first = str(dataset.attrs["identifiability"]).splitlines()
    caption = Sentence(next((line for line in first if "but not both" in line), first[0]))
    size = min(0.42 * count + 0.6, 6.2)
    page = sheet(dataset, subject, caption, size + 1.5)
    axes = page.axes(2.6, 0.1, size, size)
    np.fill_diagonal(shown, np.nan)
    axes.imshow(shown, cmap="PuOr", vmin=-1.0, vmax=1.0)
    for i in range(count):
        for j in range(count):
            draw_cell(axes, i, j, float(shown[i, j]))
    names = [item.words for item in items]
    axes.set_xticks(range(count), names, rotation=40, ha="right", fontsize=8)
    axes.set_yticks(range(count), names, fontsize=8)
    return page.figure


def draw_cell(axes: Axes, i: int, j: int, value: float) -> None:
    """One number of the matrix."""
    if not isfinite(value) or abs(value) < 0.005:
        return
    axes.text(
        j, i, f"{value:.2f}", ha="center", va="center", fontsize=7, color="white" if abs(value) > 0.6 else INK
    )
    if abs(value) > 0.95:
        axes.add_patch(square(i, j))


def square(i: int, j: int) -> Rectangle:
    """Frame around a cell."""
    return Rectangle((j - 0.48, i - 0.48), 0.96, 0.96, fill=False, edgecolor=INK, linewidth=1.8)


def next_picture(dataset: xarray.Dataset) -> Figure:
    """Draw what each reading to come would leave of the chosen question's band."""
    question = chosen(dataset)
    items = candidate_facts(dataset)[:CANDIDATES_DRAWN]
    subject = (
        f"What is left of the band of {question.words} (now ± {figure(question.band, question.band)} "
        f"{question.unit}) after one more reading with its usual uncertainty; shorter is better (rpm: ENGINE)"
    )
    sentences = next_sentences(dataset)
    caption = sentences[0] if sentences else Sentence("None of the usual readings narrows this noticeably.")
    high = ROW * 1.1 * len(items)
    page = sheet(dataset, subject, caption, high + 0.8)
    axes = page.axes(4.2, 0.05, 5.4, high)
    for place, item in enumerate(items):
        colour, hatch = COST_COLOURS[item.cost], COST_HATCHES[item.cost]
        length = 100.0 * item.share
        axes.barh(-place, length, height=0.66, color=colour, hatch=hatch, edgecolor="white", linewidth=0)
        left = item.share * question.band
        words = f"  {length:.0f} %: ± {figure(left, left)} {question.unit}"
        axes.text(max(length, 100.0), -place, words, va="center", fontsize=8, color=INK)
    names = [f"{item.name} (± {item.band:.3g} {item.unit})  [{item.cost}]" for item in items]
    axes.set_yticks([-place for place in range(len(items))], names, fontsize=8)
    axes.set_ylim(-len(items) + 0.4, 0.6)
    axes.set_xlim(0.0, 135.0)
    axes.set_xticks([0, 25, 50, 75, 100])
    axes.axvline(100.0, color=GREY, linewidth=1.0)
    label(axes, "band left, % of now")
    return page.figure
