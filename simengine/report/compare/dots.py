"""Figure by figure: by how many per cent each case moved, and whether that is better or worse."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.compare.facts import Row, figure_rows, told_rows, weight
from simengine.report.compare.lines import LINES, comparison_sheet, drawn_cases
from simengine.report.envelope.page import PALE_LINE, label
from simengine.report.flight.panels import GREY, INK, WARNING
from simengine.results.compare_catalogue import Verdict

ROW = 0.27  # height of one figure [in]
MOST_ROWS = 26
STRAIGHT = 1.0  # per cent to either side of zero that are drawn to scale; beyond, by powers of ten
MARKS = {Verdict.BETTER: "^", Verdict.WORSE: "v", Verdict.NEITHER: "o"}
FARTHEST = 300.0  # per cent


def figures_picture(dataset: xarray.Dataset) -> Figure:
    """Draw every figure that moved, the most moved of each phase included, as one row of marks."""
    rows, left_out = drawn_rows(dataset)
    more = f" {left_out} less moved ones are left to the table." if left_out else ""
    subject = (
        "Figures that moved, in per cent of the first case's value.  ▲ better  ▼ worse  ○ neither  "
        f"× none here  + only here; everything else equal; no mark: same within the solver's error.{more}"
    )
    high = ROW * max(len(rows), 1) + 0.75
    page, top = comparison_sheet(dataset, subject, high)
    axes = page.axes(3.3, top + 0.1, 6.1, high - 0.65)
    draw_rows(axes, dataset, rows)
    return page.figure


def drawn_rows(dataset: xarray.Dataset) -> tuple[list[Row], int]:
    """Rows in which any drawn case moved noticeably, in the table's order; and how many are left out."""
    every, cases = figure_rows(dataset), drawn_cases(dataset)[1:]
    worth = {id(row): row for case in cases for row in told_rows(every, case) if not row.words}
    by_weight = sorted(worth.values(), key=lambda row: -max(weight(row, case) for case in cases))
    kept = {id(row) for row in by_weight[:MOST_ROWS]}
    return [row for row in every if id(row) in kept], max(len(worth) - MOST_ROWS, 0)


def draw_rows(axes: Axes, dataset: xarray.Dataset, rows: list[Row]) -> None:
    """Rows from the top; what cannot be told in per cent stands at the right in words."""
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_xscale("symlog", linthresh=STRAIGHT, linscale=0.6)
    reach = 100.0 * max(
        (abs(row.share(case)) for row in rows for case in drawn_cases(dataset) if isfinite(row.share(case))),
        default=0.01,
    )
    reach = min(max(1.4 * reach, 2.0), FARTHEST)
    axes.set_xlim(-reach, reach)
    ticks = [t for t in (1, 3, 10, 30, 100, 300) if t <= reach]
    every = [-t for t in reversed(ticks)] + [0, *ticks]
    axes.set_xticks(every, [f"{t:+d}" if t else "0" for t in every])
    axes.minorticks_off()
    axes.axvline(0.0, color=INK, linewidth=1.2, zorder=2)
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    for number, row in enumerate(rows):
        draw_row(axes, dataset, number, row, reach)
    axes.set_yticks(range(len(rows)), [row.title for row in rows], fontsize=8.5)
    if not rows:
        axes.text(0.0, -0.1, "no figure moved noticeably", ha="center", fontsize=10, color=INK)
    label(axes, "difference from the first case, % of its value (beyond ±1 % by powers of ten)")


def draw_row(axes: Axes, dataset: xarray.Dataset, number: int, row: Row, reach: float) -> None:
    """Marks of one figure, a little apart so that equal ones are seen; the first case's value beside it."""
    axes.axhline(number, color=PALE_LINE, linewidth=0.7, zorder=1)
    first = row.value_words(0) if isfinite(row.values[0]) else "none"
    across = axes.get_yaxis_transform()
    units = f" {row.units}" if first != "none" else ""
    axes.text(1.012, number, f"{first}{units}", transform=across, va="center", fontsize=8.5, color=GREY)
    cases = drawn_cases(dataset)
    gone = []
    for case in cases[1:]:
        verdict, colour = row.verdicts[case], LINES[case][0]
        share = 100.0 * row.share(case)
        if verdict in MARKS and isfinite(share):
            offset = 0.5 * ((case - 0.5) / (len(cases) - 1) - 0.5)
            axes.plot(
                [float(np.clip(share, -0.97 * reach, 0.97 * reach))],
                [number + offset],
                marker=MARKS[verdict],
                markersize=7,
                markerfacecolor=colour if verdict is not Verdict.NEITHER else "white",
                markeredgecolor=colour,
                linestyle="none",
                zorder=5,
            )
        elif verdict in (Verdict.ONLY_FIRST, Verdict.ONLY_HERE):
            gone.append((case, verdict))
    for place, (case, verdict) in enumerate(gone):
        word = "×" if verdict is Verdict.ONLY_FIRST else "+"
        axes.text(
            0.985 - 0.025 * place,
            number,
            word,
            transform=across,
            ha="center",
            va="center",
            fontsize=11,
            fontweight="bold",
            color=LINES[case][0] if LINES[case][0] != INK else WARNING,
        )
