"""Pictures of a tolerance study: histograms with limits, contributions, yield by place, washers."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, VERMILION
from simengine.report.outputs import Drawer, Drawers
from simengine.report.tolerance.text import (
    halving_sentence,
    matters_sentence,
    measured,
    percent,
    places,
    washers_sentence,
    yield_sentence,
)

Array = NDArray[np.float64]

SHOWN = (
    ("shift_begin_rpm", "shift begins", BLUE),
    ("shift_finish_rpm", "shift finishes", ORANGE),
    ("full_throttle_rpm", "full throttle", GREEN),
)
AT_LEAST, AT_MOST = "at least", "at most"
BARS_SHOWN = 80  # bins of a drawn histogram
GOOD_YIELD, FAIR_YIELD = 98.0, 80.0  # per cent, for the colour alone
ROW = 0.34  # height of a bar with its gap [in]
PANEL = 1.55  # height of one histogram [in]


def tolerance_drawers(dataset: xarray.Dataset) -> Drawers:
    """The pictures that a study has."""
    drawers: dict[str, Drawer] = {"histograms": histograms_picture, "yield": yield_picture}
    if np.isfinite(dataset["first_order"].values).any():
        drawers["contributions"] = contributions_picture
    return drawers


def limit_bands(dataset: xarray.Dataset) -> dict[tuple[str, int], list[tuple[str, float]]]:
    """Ends of the limits in rpm by figure and place, each with the side it stands for."""
    found: dict[tuple[str, int], list[tuple[str, float]]] = {}
    names = ("limit_figure", "limit_at_least", "limit_at_most")
    figures, lows, highs = (dataset[name].values for name in names)
    met = dataset["limit_met"].values
    for row, figure in enumerate(figures):
        for place in range(met.shape[1]):
            if np.isfinite(met[row, place]):
                ends = ((AT_LEAST, float(lows[row])), (AT_MOST, float(highs[row])))
                found.setdefault((str(figure), place), []).extend(end for end in ends if isfinite(end[1]))
    return found


def histograms_picture(dataset: xarray.Dataset) -> Figure:
    """Begin, finish and full throttle of all hubs, one panel a place, limits drawn."""
    names = places(dataset)
    subject = (
        f"{int(dataset['hubs_counted']):,} hubs of one drawing: ENGINE rpm at which the shift begins, at "
        "which it finishes, and full throttle. Upward: number of hubs, each figure scaled to its own. Dotted:"
        " the drawing itself. Heavy lines: limits of these figures; the table has all limits"
    )
    if measured(dataset):
        subject = subject.replace("hubs of one drawing", "measured hubs")
    page = sheet(dataset, subject, yield_sentence(dataset), (PANEL + 0.3) * len(names) + 0.6)
    low, high = rpm_range(dataset)
    bands = limit_bands(dataset)
    for row, name in enumerate(names):
        axes = page.axes(1.5, 0.3 + row * (PANEL + 0.3), 8.2, PANEL)
        axes.set_xlim(low, high)
        for figure, words, colour in SHOWN:
            draw_histogram(axes, dataset, figure, row, words, colour)
            draw_limits(axes, bands.get((figure, row), []), colour)
        axes.set_yticks([])
        share = percent(float(dataset["yield"].values[row]))
        place = f"{name}\n{share} inside\nall limits"
        axes.text(
            -0.015, 0.5, place, transform=axes.transAxes, ha="right", va="center", fontsize=9.5, color=INK
        )
        axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
        axes.set_axisbelow(True)
        label(axes, "ENGINE rpm" if row == len(names) - 1 else "")
        if row == 0 and axes.get_legend_handles_labels()[0]:  # no hub may shift at all
            axes.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3, frameon=False, fontsize=9)
    return page.figure


def rpm_range(dataset: xarray.Dataset) -> tuple[float, float]:
    """Ends of a common scale, limits included; figures that no hub has are left out."""
    figures = [name for name, _, _ in SHOWN]
    found = [dataset[f"{name}_{end}"].values for name in figures for end in ("lowest", "highest", "nominal")]
    bands = limit_bands(dataset).items()
    limits = [end for (figure, _), band in bands for _, end in band if figure in figures]
    ends = np.concatenate([*found, np.array(limits)])
    ends = ends[np.isfinite(ends)]
    low, high = (float(ends.min()), float(ends.max())) if ends.size else (0.0, 1.0)
    room = max(0.03 * (high - low), 1.0)
    return low - room, high + room


def draw_histogram(
    axes: Axes, dataset: xarray.Dataset, figure: str, place: int, words: str, colour: str
) -> None:
    """One histogram, scaled to its own height."""
    counts, edges = dataset[f"{figure}_histogram"].values[place], dataset[f"{figure}_edges"].values[place]
    step = max(counts.size // BARS_SHOWN, 1)
    counts = counts.reshape(-1, step).sum(axis=1)
    edges = edges[::step]
    if counts.max() > 0.0:
        axes.stairs(
            counts / counts.max(), edges, fill=True, color=colour, alpha=0.75, label=words, linewidth=0
        )
    nominal = float(dataset[f"{figure}_nominal"].values[place])
    if isfinite(nominal):
        axes.axvline(nominal, color=INK, linewidth=1.0, linestyle=":")
    axes.set_ylim(0.0, 1.18)


def draw_limits(axes: Axes, ends: list[tuple[str, float]], colour: str) -> None:
    """Limits of a figure as heavy lines in its colour with a dark edge, told on the side that is allowed."""
    for side, end in ends:
        axes.axvline(end, color=INK, linewidth=3.4)
        axes.axvline(end, color=colour, linewidth=1.8)
        towards = "left" if side == AT_LEAST else "right"
        words = f" {side} {end:.0f} "
        told = axes.text(end, 1.03, words, fontsize=8, color=INK, ha=towards, va="bottom", clip_on=True)
        told.set_bbox({"facecolor": "white", "alpha": 0.8, "linewidth": 0.0, "pad": 0.5})


def yield_picture(dataset: xarray.Dataset) -> Figure:
    """Yield by place and together with its band, and what washers do."""
    names = [*places(dataset), "everywhere"]
    subject = "Share of hubs inside all limits, with its 95 % band (Clopper and Pearson); "
    subject += f"green: {GOOD_YIELD:.0f} % and more, orange: {FAIR_YIELD:.0f} % and more"
    if int(dataset["own_washers"]) >= 0:
        subject += "; right: washers that bring each hub in"
    caption = washers_sentence(dataset) or yield_sentence(dataset)
    page = sheet(dataset, subject, caption, ROW * len(names) + 1.9)
    axes = page.axes(1.5, 0.15, 4.2, ROW * len(names) + 1.0)
    shares = 100.0 * np.append(dataset["yield"].values, dataset["yield_together"].values)
    lows = 100.0 * np.append(dataset["yield_low"].values, dataset["yield_together_low"].values)
    highs = 100.0 * np.append(dataset["yield_high"].values, dataset["yield_together_high"].values)
    rows = np.arange(len(names))[::-1]
    axes.barh(rows, shares, height=0.6, color=[yield_colour(share) for share in shares])
    axes.errorbar(shares, rows, xerr=[shares - lows, highs - shares], fmt="none", ecolor=INK, capsize=3)
    for row, share in zip(rows, shares, strict=True):
        axes.text(2.0, row, percent(share / 100.0), va="center", fontsize=9, color=INK, fontweight="bold")
    axes.set_xlim(0.0, 104.0)
    axes.set_yticks(rows, names, fontsize=9)
    label(axes, "hubs inside all limits, %")
    if int(dataset["own_washers"]) >= 0:
        draw_washers(page.axes(6.5, 0.15, 3.2, ROW * len(names) + 1.0), dataset)
    return page.figure


def yield_colour(share: float) -> str:
    """Colour of a yield in per cent."""
    return GREEN if share >= GOOD_YIELD else (ORANGE if share >= FAIR_YIELD else VERMILION)


def draw_washers(axes: Axes, dataset: xarray.Dataset) -> None:
    """Bars of the washers hubs end up with."""
    counts = [int(count) for count in dataset["washers"].values]
    shares = 100.0 * dataset["washers_share"].values
    own, rejects = int(dataset["own_washers"]), 100.0 * float(dataset["reject_share"])
    shown = [place for place, share in enumerate(shares) if share > 0.0] or [counts.index(own)]
    window = range(shown[0], shown[-1] + 1)
    ticks = [f"{counts[place]}" + ("\ndrawing" if counts[place] == own else "") for place in window]
    values = [shares[place] for place in window]
    colours = [GREEN if counts[place] == own else BLUE for place in window]
    if rejects > 0.0:
        ticks, values, colours = [*ticks, "none\nfits"], [*values, rejects], [*colours, VERMILION]
    bars = axes.bar(range(len(values)), values, color=colours, width=0.7)
    for bar, value in zip(bars, values, strict=True):
        words = percent(value / 100.0).removesuffix(" %") if value > 0.0 else ""
        axes.text(bar.get_x() + 0.35, value, words, ha="center", va="bottom", fontsize=8, color=INK)
    axes.set_xticks(range(len(values)), ticks)
    axes.set_ylim(0.0, 1.12 * max([*values, 1.0]))
    label(axes, "washers", "hubs, %")


def contributions_picture(dataset: xarray.Dataset) -> Figure:
    """Share of the variance of begin, finish and return by tolerance, and what halving brings."""
    first = dataset["first_order"].isel(place=0)
    finish = np.nan_to_num(first.sel(ranked_figure="shift_finish_rpm").values, nan=-1.0)
    order = np.argsort(finish)  # the largest at the top of the picture
    subject = (
        f"What each tolerance does ({places(dataset)[0]}): share of the variance by it alone (Sobol' index, "
        "line: 95 % bootstrap band); right: yield in every place if it is halved"
    )
    told = [sentence for sentence in (matters_sentence(dataset), halving_sentence(dataset)) if sentence]
    caption = Sentence(" ".join(sentence.words for sentence in told), warns=False)
    high = 3.2 * ROW * order.size / 2.0 + 0.4
    page = sheet(dataset, subject, caption, high + 0.95)
    axes = page.axes(2.75, 0.3, 4.1, high)
    draw_contributions(axes, dataset, order)
    right = page.axes(7.45, 0.3, 2.35, high)
    draw_halved(right, dataset, order)
    return page.figure


def draw_contributions(axes: Axes, dataset: xarray.Dataset, order: NDArray[np.intp]) -> None:
    """Three bars for each tolerance."""
    told = (
        ("shift_begin_rpm", "shift begins", BLUE),
        ("shift_finish_rpm", "shift finishes", ORANGE),
        ("return_finish_rpm", "return finishes", GREEN),
    )
    rows = np.arange(order.size, dtype=float)
    for number, (figure, words, colour) in enumerate(told):
        parts = [
            100.0 * dataset[name].sel(ranked_figure=figure).isel(place=0).values[order]
            for name in ("first_order", "first_order_low", "first_order_high")
        ]
        share, low, high = (np.maximum(np.nan_to_num(part), 0.0) for part in parts)
        at = rows + 0.26 - 0.26 * number
        axes.barh(at, share, height=0.24, color=colour, label=words)
        axes.errorbar(
            share,
            at,
            xerr=[np.maximum(share - low, 0), np.maximum(high - share, 0)],
            fmt="none",
            ecolor=INK,
            elinewidth=0.9,
            capsize=1.5,
        )
    names = [f"{dataset['input'].values[i]}\n{dataset['input_width_text'].values[i]}" for i in order]
    axes.set_yticks(rows, names, fontsize=8)
    axes.set_xlim(left=0.0)
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.legend(loc="lower right", fontsize=8.5, frameon=False)
    label(axes, "share of the variance, %")


def draw_halved(axes: Axes, dataset: xarray.Dataset, order: NDArray[np.intp]) -> None:
    """Yield with each tolerance halved."""
    own = 100.0 * float(dataset["yield_together_on_first_draws"])
    halved = 100.0 * dataset["halved_yield_together"].values[order]
    rows = np.arange(order.size)
    lowest, highest = min(own, *halved), max(own, *halved)
    reach = max(highest - lowest, 0.5)
    ends = (lowest - 0.12 * reach, highest + 0.55 * reach)
    axes.set_xlim(*ends)
    axes.barh(
        rows, halved - own, left=own, height=0.55, color=[GREEN if h >= own else VERMILION for h in halved]
    )
    axes.axvline(own, color=GREY, linewidth=1.2)
    axes.set_xticks([tick for tick in axes.get_xticks() if ends[0] <= tick <= min(ends[1], 100.0)])
    for row, value in enumerate(halved):
        axes.text(max(value, own) + 0.03 * reach, row, f"{value:.1f} %", va="center", fontsize=8, color=INK)
    axes.set_yticks([])
    axes.text(own, order.size - 0.4, f"as it is {own:.1f} %", fontsize=8, color=GREY, ha="left", va="bottom")
    axes.set_ylim(-0.6, order.size - 0.05)
    label(axes, "yield everywhere, %")
