"""Pictures of a choice: the shim table for the wall, and the options against each other."""

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.choose.table import cell
from simengine.report.choose.text import choose_sentences, feasible, fitted_words, per_washer
from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, VERMILION
from simengine.report.outputs import Drawer, Drawers
from simengine.report.tolerance.pictures import GOOD_YIELD, yield_colour
from simengine.report.tolerance.text import percent

ROW = 0.34  # height of a row of a table [in]
WIDE = 9.6  # of a table [in]


def choose_drawers(dataset: xarray.Dataset) -> Drawers:
    """The pictures that a choice has."""
    drawers: dict[str, Drawer] = {"options": options_picture}
    if dataset["washers"].size > 1:
        drawers["shims"] = shims_picture
    return drawers


def shims_picture(dataset: xarray.Dataset) -> Figure:
    """The page for the wall: rpm of begin and finish for each number of washers."""
    counts, places = dataset["washers"].values, [str(name) for name in dataset["shim_place"].values]
    subject = (
        "Shim table: ENGINE rpm at which the shift begins / finishes, by washers under each spring, "
        f"own day and mass; {fitted_words(dataset, 0)}"
    )
    caption = Sentence(per_washer(dataset) or "One row only.", warns=False)
    high = ROW * (counts.size + 2) + 0.2
    page = sheet(dataset, subject, caption, high + 0.1)
    axes = page.axes(0.4, 0.05, WIDE, high)
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(counts.size + 2.0, 0.0)
    axes.axis("off")
    draw_headings(axes, places)
    for row, count in enumerate(counts):
        draw_shim_row(axes, dataset, row, int(count), len(places))
    return page.figure


def middle(place: int, places: int) -> float:
    """Middle of a column."""
    return 0.14 + (place + 0.5) * 0.86 / places


def draw_headings(axes: Axes, places: list[str]) -> None:
    """Names of the columns."""
    axes.text(0.05, 1.0, "washers", fontsize=11, fontweight="bold", ha="center", va="center", color=INK)
    for place, name in enumerate(places):
        across = middle(place, len(places))
        axes.text(across, 0.7, name, fontsize=11, fontweight="bold", ha="center", va="center", color=INK)
        axes.text(across, 1.4, "begins / finishes", fontsize=8.5, ha="center", va="center", color=GREY)
    axes.plot([0.0, 1.0], [1.8, 1.8], color=INK, linewidth=1.2)


def draw_shim_row(axes: Axes, dataset: xarray.Dataset, row: int, count: int, places: int) -> None:
    """One number of washers; that of the option is set off, a margin below zero told."""
    down = row + 2.3
    own = count == int(dataset["option_washers"].values[0])
    if own:
        axes.axhspan(down - 0.5, down + 0.5, color=GREEN, alpha=0.22, linewidth=0)
    weight = "bold" if own else "normal"
    axes.text(0.05, down, str(count), fontsize=11, ha="center", va="center", color=INK, fontweight=weight)
    begin, finish, margin = (
        dataset[f"shim_{name}_rpm"].values[row] for name in ("begin", "finish", "margin")
    )
    if np.isnan(begin).all():
        axes.text(
            0.57,
            down,
            "spring loose or solid: cannot be built",
            fontsize=9.5,
            ha="center",
            va="center",
            color=GREY,
        )
    for place in range(places if not np.isnan(begin).all() else 0):
        across = middle(place, places)
        missed = not margin[place] > 0.0
        words = f"{cell(float(begin[place]))} / {cell(float(finish[place]))}"
        if missed:
            words += " !!"
        colour = VERMILION if missed else INK
        axes.text(across, down, words, fontsize=11, ha="center", va="center", color=colour, fontweight=weight)
    axes.plot([0.0, 1.0], [down + 0.5, down + 0.5], color=PALE_LINE, linewidth=0.7)


def options_picture(dataset: xarray.Dataset) -> Figure:
    """Each option: begin, finish and full throttle of the worst place, targets drawn; yield beside."""
    count = dataset["option"].size
    kind = "Options that differ most" if feasible(dataset) else "Nearest misses"
    subject = (
        f"{kind}, ENGINE rpm in the worst of {dataset['place'].size} places: return ends, "
        "shift begins (lowest), finishes (highest), full throttle (highest). Dashed: lowest begin asked "
        "for (the return may end below it), rpm limit"
    )
    page = sheet(dataset, subject, choose_sentences(dataset)[0], 0.52 * count + 1.2)
    axes = page.axes(3.6, 0.35, 4.6, 0.52 * count)
    right = page.axes(8.45, 0.35, 1.4, 0.52 * count)
    rows = np.arange(count)[::-1]
    draw_speeds(axes, dataset, rows)
    shares = 100.0 * dataset["option_yield"].values
    right.barh(rows, shares, height=0.5, color=[yield_colour(share) for share in shares])
    for row, share in zip(rows, shares, strict=True):
        right.text(3.0, row, percent(share / 100.0), va="center", fontsize=8, color=INK)
    right.set_xlim(0.0, 100.0)
    right.set_yticks([])
    right.set_ylim(-0.6, count - 0.4)
    label(right, f"yield, %\n(green: {GOOD_YIELD:.0f} % and more)")
    return page.figure


SPEEDS = (
    ("option_return_rpm", "return ends", GREY, "<"),
    ("option_begin_rpm", "shift begins", BLUE, "o"),
    ("option_finish_rpm", "shift finishes", ORANGE, "s"),
    ("option_fastest_rpm", "full throttle", GREEN, "D"),
)


def draw_speeds(
    axes: Axes, dataset: xarray.Dataset, rows: "np.ndarray[tuple[int], np.dtype[np.int64]]"
) -> None:
    """Four marks an option and the limits asked for."""
    begins, finishes = dataset["option_begin_rpm"].values, dataset["option_finish_rpm"].values
    axes.hlines(rows, begins, finishes, color=GREY, linewidth=2.0, alpha=0.5)
    for name, words, colour, mark in SPEEDS:
        axes.scatter(dataset[name].values, rows, color=colour, marker=mark, s=48, label=words, zorder=3)
    for row, finish, margin in zip(rows, finishes, dataset["option_margin_rpm"].values, strict=True):
        if np.isfinite(margin):
            words = f"  margin {margin:.0f}"
            axes.text(finish, row + 0.2, words, fontsize=7.5, color=GREY, ha="left", va="bottom")
    slack = dataset["option_slack"].values
    asked = (
        ("begin above", "left", begins[0] - slack[0, 0]),
        ("rpm limit", "right", dataset["option_fastest_rpm"].values[0] + slack[0, 3]),
    )
    for words, towards, end in asked:
        if np.isfinite(end) and end < 2e4:
            axes.axvline(end, color=VERMILION, linestyle="--", linewidth=1.4)
            told = f" {words} {end:.0f} "
            axes.text(end, -0.57, told, fontsize=7.5, color=VERMILION, ha=towards, va="bottom")
    names = [option_name(dataset, row) for row in range(rows.size)]
    axes.set_yticks(rows, names, fontsize=8)
    axes.set_ylim(-0.6, rows.size - 0.4)
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.legend(loc="lower center", bbox_to_anchor=(0.4, 1.0), ncols=4, frameon=False, fontsize=8.5)
    label(axes, "ENGINE rpm")


def option_name(dataset: xarray.Dataset, row: int) -> str:
    """An option in two short lines."""
    spring = str(dataset["option_spring"].values[row])
    stops = (
        f"{float(dataset['option_coarse_stop'].values[row]):.1f}/"
        f"{float(dataset['option_fine_stop'].values[row]):.1f} deg"
    )
    weight = float(dataset["option_counterweight"].values[row])
    more = f", {weight:g} g weights" if weight > 0.0 else ""
    return f"{row + 1}: {spring}\n{int(dataset['option_washers'].values[row])} washers, {stops}{more}"
