"""The moment budget of one blade: by source against engine rpm on each stop, and against blade angle."""

from dataclasses import dataclass
from math import isfinite, nan

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from simengine.report.envelope.captions import moments_caption
from simengine.report.envelope.page import PALE_LINE, Sheet, label, sheet
from simengine.report.facts import number
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, WARNING
from simengine.report.flight.time_axis import spread

Array = NDArray[np.float64]

PURPLE = "#9C4F86"  # Okabe and Ito's reddish purple, darker to be read as text
SOURCES = (  # name, colour, dashes
    ("spring", BLUE, (0, (6, 2))),
    ("centrifugal", "#B87400", (0, (4, 1.5, 1, 1.5))),
    ("counterweight", GREEN, (0, (2, 2))),
    ("air", PURPLE, (0, (1, 1.2))),
)
STOPS = {  # words at the left of the row, what the shift does there, and does not
    "coarse": ("on the COARSE stop:\ndoes the shift begin?", "begins", "begin"),
    "fine": ("on the FINE stop:\ndoes it finish?", "finishes", "finish"),
}
FRICTION = "#BBBBBB"
WIDE, HIGH = 2.1, 2.45  # small panels [in]
LIMIT_ENDS = 0.89  # of a small panel: the line of the limit ends below the words [1]


@dataclass(frozen=True)
class Budget:
    """Moments of one blade along one scale [N m]."""

    across: Array
    parts: dict[str, Array]
    friction: Array

    @property
    def net(self) -> Array:
        """Sum of every source, friction left out."""
        total: Array = np.sum(list(self.parts.values()), axis=0)
        return total

    def crossing(self, moment: Array) -> float:
        """First place at which a moment falls through zero; NaN if it does not."""
        rows = np.flatnonzero((moment[:-1] > 0.0) & (moment[1:] <= 0.0))
        if not rows.size:
            return nan
        row = rows[0]
        share = moment[row] / (moment[row] - moment[row + 1])
        return float(self.across[row] + share * (self.across[row + 1] - self.across[row]))


def moments_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the moment budget."""
    subject = (
        "Pitch moment of ONE blade by source: above zero holds or returns COARSE, below zero drives FINE; "
        "grey band = what friction can hold. ○ sum is zero, ● sum has overcome friction too; upright dots = "
        "engine rpm limit."
    )
    page = sheet(dataset, subject, moments_caption(dataset), 2 * HIGH + 4.55)
    draw_small_panels(page, dataset)
    below = 2 * HIGH + 1.5
    draw_by_angle(page.axes(1.15, below, 4.3, 2.35), dataset)
    draw_shares(page.axes(7.75, below, 2.85, 2.35), dataset)
    return page.figure


def budget_of(dataset: xarray.Dataset, case: int, stop: int) -> Budget:
    """The budget of one case on one stop against engine rpm."""

    def part(name: str) -> Array:
        chosen = dataset[f"budget_{name}"].transpose("budget_case", "budget_rpm", "budget_stop")
        return np.asarray(chosen.values[case, :, stop], dtype=np.float64)

    across = np.asarray(dataset["budget_rpm"].values, dtype=np.float64)
    return Budget(across, {name: part(name) for name, *_ in SOURCES}, part("friction"))


def draw_small_panels(page: Sheet, dataset: xarray.Dataset) -> None:
    """One panel for each stop and case, all on one scale."""
    cases = [str(case) for case in dataset["budget_case"].values]
    stop_names = [str(stop) for stop in dataset["budget_stop"].values]
    every = [[budget_of(dataset, case, stop) for case in range(len(cases))] for stop in range(2)]
    limit = number(dataset, "engine_rpm_limit")
    low, high = common_scale(every, limit)
    for stop, name in enumerate(stop_names):
        row_words, does, cannot = STOPS[name]
        for case, words in enumerate(cases):
            axes = page.axes(1.15 + case * (WIDE + 0.1), 0.35 + stop * (HIGH + 0.12), WIDE, HIGH)
            axes.set_ylim(low, high)
            draw_lines(axes, every[stop][case])
            mark_crossing(axes, every[stop][case], (does, cannot), limit)
            axes.axvline(limit, ymax=LIMIT_ENDS, color=WARNING, linewidth=1.0, linestyle=(0, (2, 1.5)))
            axes.set_title(words if stop == 0 else "", fontsize=10, color=INK, fontweight="bold")
            axes.xaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 5, 10], prune="lower"))
            label(axes, "ENGINE rpm" if stop else "", f"{row_words}\nN m per blade" if case == 0 else "")
            axes.tick_params(labelleft=case == 0, labelbottom=stop == 1)
        name_sources(page.figure.axes[-1], every[stop][-1])


def common_scale(every: list[list[Budget]], limit: float) -> tuple[float, float]:
    """Moments up to the engine's limit, so that what lies beyond does not flatten the rest."""
    values = []
    for budgets in every:
        for budget in budgets:
            seen = budget.across <= limit
            values += [moment[seen] for moment in (*budget.parts.values(), budget.net) if seen.any()]
    joined = np.concatenate(values)
    low, high = float(np.nanmin(joined)), float(np.nanmax(joined))
    return low - 0.08 * (high - low), high + 0.2 * (high - low)


def draw_lines(axes: Axes, budget: Budget) -> None:
    """Every source, their sum, and what friction can hold."""
    axes.grid(axis="y", color=PALE_LINE, linewidth=0.7)
    axes.axhline(0.0, color=GREY, linewidth=0.9)
    across, friction = budget.across, budget.friction
    axes.fill_between(across, -friction, friction, color=FRICTION, alpha=0.6, linewidth=0, zorder=1)
    for name, colour, dashes in SOURCES:
        if acts(budget, name):
            axes.plot(across, budget.parts[name], color=colour, linestyle=dashes, linewidth=1.4)
    axes.plot(across, budget.net, color=INK, linewidth=2.2, zorder=4)
    axes.set_xlim(float(across.min()), float(across.max()))


def acts(budget: Budget, name: str) -> bool:
    """Whether a source is there at all."""
    return bool(np.nanmax(np.abs(budget.parts[name])) > 1e-9)


def mark_crossing(axes: Axes, budget: Budget, verbs: tuple[str, str], limit: float) -> None:
    """Where the sum falls through zero, and where it has overcome friction too."""
    balanced, leaves = budget.crossing(budget.net), budget.crossing(budget.net + budget.friction)
    if isfinite(balanced):
        axes.plot([balanced], [0.0], marker="o", markersize=6, color=INK, markerfacecolor="white", zorder=6)
    if isfinite(leaves):
        level = -float(np.interp(leaves, budget.across, budget.friction))
        axes.plot([leaves], [level], marker="o", markersize=6, color=INK, zorder=6)
    words = f"{verbs[0]} at {leaves:.0f}" if isfinite(leaves) else f"does not {verbs[1]}"
    reached = isfinite(leaves) and leaves <= limit
    axes.text(
        0.5,
        0.965,
        f"{words}: past the limit" if isfinite(leaves) and not reached else words,
        transform=axes.transAxes,
        ha="center",
        va="top",
        fontsize=8.5,
        fontweight="bold",
        color=INK if reached else WARNING,
        zorder=7,
    )


def name_sources(axes: Axes, budget: Budget) -> None:
    """Names right of a panel, each beside the end of its line."""
    low, high = axes.get_ylim()
    ends = [(name, budget.parts[name][-1], colour) for name, colour, _ in SOURCES if acts(budget, name)]
    ends = sorted([*ends, ("NET", budget.net[-1], INK)], key=lambda end: float(end[1]))
    places = np.clip(np.array([(float(level) - low) / (high - low) for _, level, _ in ends]), 0.02, 0.98)
    for seat, (name, _, colour) in zip(spread(places, 0.085), ends, strict=True):
        axes.text(
            1.02,
            seat,
            name,
            transform=axes.transAxes,
            fontsize=8.5,
            color=colour,
            va="center",
            fontweight="bold" if name == "NET" else "normal",
        )


def draw_by_angle(axes: Axes, dataset: xarray.Dataset) -> None:
    """The budget over the travel from coarse to fine at one speed."""
    parts = {name: np.asarray(dataset[f"budget_angle_{name}"].values) for name, *_ in SOURCES}
    across = np.asarray(dataset["budget_angle"].values, dtype=np.float64)
    budget = Budget(across, parts, np.asarray(dataset["budget_angle_friction"].values))
    draw_lines(axes, budget)
    axes.set_xlim(float(across.max()), float(across.min()))
    ground, climb = (str(case) for case in dataset["budget_case"].values[:2])
    words = f"{climb}, over the travel,\nat the rpm that finishes on the {ground}"
    axes.set_title(words, fontsize=10, color=INK, fontweight="bold")
    label(axes, "blade angle, degrees (coarse left, fine right)", "N m per blade")
    name_sources(axes, budget)


def draw_shares(axes: Axes, dataset: xarray.Dataset) -> None:
    """Share of the shifting moment at the finish that the air gives, case by case."""
    cases = [str(case) for case in dataset["budget_case"].values]
    shares = 100.0 * np.asarray(dataset["budget_air_share"].values, dtype=np.float64)
    rows = np.arange(len(cases))[::-1]
    axes.barh(rows, shares, color=PURPLE, height=0.55, hatch="...", edgecolor="white", linewidth=0)
    axes.axvline(0.0, color=GREY, linewidth=0.9)
    told = shares[np.isfinite(shares)]
    reach = max(float(np.max(np.abs(told))) if told.size else 0.0, 5.0)
    axes.set_xlim(min(0.0, float(told.min()) if told.size else 0.0) - 0.45 * reach, reach * 1.5)
    for row, share in zip(rows, shares, strict=True):
        words = f"{share:.0f} %" if isfinite(share) else "no finish"
        place = share if isfinite(share) else 0.0
        side = -1 if place < 0 else 1
        axes.text(
            place + 0.04 * reach * side,
            row,
            words,
            va="center",
            ha="right" if side < 0 else "left",
            fontsize=9,
            color=INK,
        )
    axes.set_yticks(rows, cases)
    axes.set_title("AIR's share of the finishing moment", fontsize=10, color=INK, fontweight="bold")
    label(axes, "% (the rest does not depend on density;\nnegative: the air opposes the shift)")
