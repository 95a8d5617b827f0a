"""Fuel by leg with its bands, and what the hub saves against others with the band of the difference."""

import textwrap

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import GREEN, GREY, INK, WARNING
from simengine.report.route.page import Array, colour_of, numbers
from simengine.report.route.text import at, compared, saving_sentence, signed, trip_sentence
from simengine.results.route_catalogue import VERDICTS

HIGH = 4.3
LEGS_SHOWN = 12  # more: the whole trip only
LEGS_NAMED = 5  # more: by their numbers
NAME_LETTERS = 14
VERDICT_WORDS = {
    "saves": "saves: larger than its uncertainty",
    "burns_more": "burns more than this one",
    "within_uncertainty": "smaller than its uncertainty",
    "not_estimated": "uncertainty not estimated",
    "cannot_be_compared": "cannot fly the whole route",
}


def bars_picture(dataset: xarray.Dataset) -> Figure:
    """Draw fuel by leg and hub, and the savings."""
    many = dataset.sizes["leg"] > LEGS_SHOWN
    left = "the whole trip" if many else "each leg"
    subject = (
        f"Left: fuel of {left}, same heights, take-off mass, airspeed and wind for every hub; whiskers are "
        "95 % bands of one hub's fuel and move together. Right: what this hub saves, with the band of the "
        "DIFFERENCE from the same draws."
    )
    page = sheet(dataset, subject, bars_caption(dataset), HIGH + 1.5)
    across = 5.6 if len(compared(dataset)) else 9.0
    draw_fuel(page.axes(0.85, 0.3, across, HIGH), dataset, whole=many)
    if len(compared(dataset)):
        draw_savings(page.axes(8.1, 0.3, 2.5, HIGH), dataset)
    return page.figure


def bars_caption(dataset: xarray.Dataset) -> Sentence:
    """The saving against the best fixed hub, or whichever other there is."""
    keys = [str(key) for key in dataset["hub_key"].values]
    if len(keys) == 1:
        return trip_sentence(dataset)
    row = keys.index("compromise") if "compromise" in keys else 1
    told, climbs = saving_sentence(dataset, row), [at(dataset, "climb_out_rate", hub) for hub in (0, row)]
    beside = f" Climb after take-off: this hub {climbs[0]:.1f} m/s, the other {climbs[1]:.1f} m/s."
    return Sentence(told.words + beside, told.warns)


def draw_fuel(axes: Axes, dataset: xarray.Dataset, *, whole: bool) -> None:
    """Bars in groups, one bar a hub."""
    hubs = dataset.sizes["hub"]
    wide = 0.8 / hubs
    for row in range(hubs):
        fuel, low, high = fuel_of(dataset, row, whole=whole)
        places = np.arange(fuel.size) + (row - (hubs - 1) / 2.0) * wide
        axes.bar(
            places, fuel, 0.92 * wide, color=colour_of(dataset, row), label=str(dataset["hub"].values[row])
        )
        for place, bottom, top in zip(places, low, high, strict=True):
            axes.plot([place, place], [bottom, top], color=INK, linewidth=1.3, solid_capstyle="butt")
            axes.plot([place - 0.2 * wide, place + 0.2 * wide], [top, top], color=INK, linewidth=1.3)
            axes.plot([place - 0.2 * wide, place + 0.2 * wide], [bottom, bottom], color=INK, linewidth=1.3)
    names = ["whole trip"] if whole else [str(name) for name in dataset["leg"].values]
    shown = [textwrap.shorten(name, NAME_LETTERS, placeholder="…") for name in names]
    if len(names) > LEGS_NAMED:
        shown = [f"leg {number}" for number in range(1, len(names) + 1)]
    axes.set_xticks(range(len(names)), shown)
    axes.tick_params(axis="x", labelsize=9)
    axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.set_ylim(bottom=0.0)
    axes.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, -0.09),
        ncol=2,
        fontsize=8.5,
        frameon=False,
        columnspacing=1.4,
    )
    label(axes, "", "fuel, L (climb, descent and landing included)")


def fuel_of(dataset: xarray.Dataset, row: int, *, whole: bool) -> tuple[Array, Array, Array]:
    """Fuel and its band of one hub: by leg, or of the trip."""
    if whole:
        names = ("trip_fuel", "trip_fuel_low", "trip_fuel_high")
        fuel, low, high = (numbers(dataset, name)[row : row + 1] for name in names)
        return fuel, low, high
    fuel, low, high = (numbers(dataset, name)[row] for name in ("fuel", "fuel_low", "fuel_high"))
    return fuel, low, high


def draw_savings(axes: Axes, dataset: xarray.Dataset) -> None:
    """One line a hub: the saving and its band about nought."""
    rows = list(compared(dataset))
    axes.axvline(0.0, color=INK, linewidth=1.2)
    axes.set_ylim(len(rows) - 0.6, -0.85)
    saving, low, high = (numbers(dataset, name) for name in ("saving", "saving_low", "saving_high"))
    for place, row in enumerate(rows):
        colour = colour_of(dataset, row)
        axes.plot([low[row], high[row]], [place, place], color=colour, linewidth=5, solid_capstyle="butt")
        axes.plot([saving[row]], [place], marker="D", markersize=6, color=INK, zorder=5)
        name_saving(axes, dataset, place, row, float(saving[row]))
    ends = np.concatenate([saving[1:], low[1:], high[1:], [0.0]])
    ends = ends[np.isfinite(ends)]
    span = max(float(np.ptp(ends)), 0.02)
    axes.set_xlim(float(ends.min()) - 0.25 * span, float(ends.max()) + 0.25 * span)
    axes.set_yticks([])
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    label(axes, "← burns more    saved, L, whole trip    saves →", "")
    axes.xaxis.label.set_fontsize(8)


def name_saving(axes: Axes, dataset: xarray.Dataset, place: int, row: int, saving: float) -> None:
    """Hub, saving and verdict above its line."""
    verdict = VERDICTS[int(dataset["verdict"].values[row])]
    share = float(dataset["saving_share"].values[row])
    colours = {"saves": GREEN, "burns_more": WARNING}
    figure = f"{signed(saving)} L, {share:+.1f} %" if saving == saving else ""
    axes.text(
        0.5,
        place - 0.2,
        f"against {dataset['hub'].values[row]}\n{figure}\n{VERDICT_WORDS[verdict]}".replace("\n\n", "\n"),
        transform=axes.get_yaxis_transform(),
        ha="center",
        va="bottom",
        fontsize=8,
        color=colours.get(verdict, GREY),
        linespacing=1.25,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0},
        zorder=6,
    )
