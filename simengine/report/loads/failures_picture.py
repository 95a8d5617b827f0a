"""What each failure leaves: full-throttle rpm against the limit, climb, and the way to a landing in words."""

import textwrap
from math import isfinite

import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.envelope.page import PALE_LINE, sheet
from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREEN, INK, VERMILION, WARNING
from simengine.report.loads.bars import finish, places, with_caution
from simengine.report.loads.facts import Row, failed, failures, level_held, odd_blade, passes_limit
from simengine.report.loads.text import failure_sentences, landing_words

ROW = 0.7  # height of a failure [in]
LINE = 0.2  # between the three marks of a failure, as a share of its room
MARKS = (  # variable, name, mark, filled
    ("failure_static_rpm", "tied down", "s", False),
    ("failure_climb_rpm", "climb, trim speed", "o", True),
    ("failure_highest_rpm", "highest, with full bar", ">", False),
)


def failures_picture(dataset: xarray.Dataset) -> Figure:
    """Draw every failure as a row."""
    rows = failures(dataset)
    subject = (
        f"At {number(dataset, 'site_height'):.0f} m above the sea, {number(dataset, 'own_mass'):.0f} kg "
        "all-up; throttle opened with the blades coarse. One blade stuck: for rpm and "
        "climb each blade is given its share of a rotor whose blades all stand like it."
    )
    high = ROW * len(rows)
    told = failure_sentences(dataset) or [Sentence("Bolted blades: the hub has no failures to look at.")]
    page = sheet(dataset, subject, with_caution(*told), high + 1.55)
    draw_speeds(page.axes(1.75, 0.35, 3.2, high), dataset, rows)
    draw_climb(page.axes(5.1, 0.35, 1.45, high), rows)
    draw_words(page.axes(6.75, 0.35, 4.05, high), rows)
    return page.figure


def draw_speeds(axes: Axes, dataset: xarray.Dataset, rows: list[Row]) -> None:
    """Full-throttle rpm, and where the shift would begin and finish."""
    limit = number(dataset, "engine_rpm_limit")
    every = [row[name] for row in rows for name, *_ in MARKS]
    spans = [(row["failure_shift_begin_rpm"], row["failure_shift_finish_rpm"]) for row in rows]
    low = min([*every, *(begin for begin, end in spans if isfinite(begin) and isfinite(end))])
    room = 0.08 * (max([*every, limit]) - low)
    axes.set_xlim(low - room, max([*every, limit]) + room)
    for place, (begin, end) in zip(places(rows), spans, strict=True):
        if isfinite(begin) and isfinite(end):
            bar = axes.barh(place, end - begin, left=begin, height=0.34, color="#C9DDEB", zorder=1)
            bar.set_label("shift, begins to finishes" if place == len(rows) - 1 else "")
    for line, (name, words, mark, filled) in enumerate(MARKS):
        axes.plot(
            [row[name] for row in rows],
            [place + LINE * (1 - line) for place in places(rows)],
            linestyle="none",
            marker=mark,
            markersize=7,
            color=BLUE,
            markerfacecolor=BLUE if filled else "white",
            markeredgecolor=INK,
            label=words,
            zorder=4,
        )
    axes.axvline(limit, color=WARNING, linewidth=1.2, linestyle=(0, (2, 1.5)), zorder=3)
    axes.text(
        limit, len(rows) - 0.42, f"limit {limit:.0f}", fontsize=8, color=WARNING, ha="right", va="bottom"
    )
    for place, row in zip(places(rows), rows, strict=True):
        told = WARNING if passes_limit(row) else INK
        at = (row["failure_highest_rpm"], place - LINE)
        axes.annotate(
            f"{at[0]:.0f}",
            at,
            xytext=(-6, 0),
            textcoords="offset points",
            fontsize=8,
            color=told,
            ha="right",
            va="center",
            zorder=5,
        )
    axes.set_yticks(places(rows), [textwrap.fill(failed(row), 18) for row in rows], fontsize=8.5)
    axes.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, -0.5 / (ROW * len(rows))),
        ncols=2,
        fontsize=8,
        frameon=False,
    )
    finish(axes, rows, "ENGINE rpm, full throttle")
    axes.set_xlim(low - room, max([*every, limit]) + room)


def draw_climb(axes: Axes, rows: list[Row]) -> None:
    """Climb at full throttle."""
    rates = [row["failure_climb_rate"] for row in rows]
    reach = max(*(abs(rate) for rate in rates), 0.5)
    for place, rate in zip(places(rows), rates, strict=True):
        colour, hatch = (GREEN, "") if rate > 0.0 else (VERMILION, "////")
        axes.barh(
            place, rate, height=0.5, color=colour, hatch=hatch, edgecolor="white", linewidth=0, zorder=2
        )
        axes.text(max(rate, 0.0), place, f" {rate:+.1f}", va="center", fontsize=8.5, color=INK)
    axes.set_yticks([])
    finish(axes, rows, "climb, m/s")
    axes.set_xlim(min(0.0, *rates) * 1.2, 1.45 * reach)


def draw_words(axes: Axes, rows: list[Row]) -> None:
    """The way to a landing."""
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.axis("off")
    for place, row in zip(places(rows), rows, strict=True):
        bad = passes_limit(row) or odd_blade(row) or not level_held(row)
        words = "\n".join(textwrap.wrap(("!! " if bad else "") + landing_words(row), 62)[:4])
        colour = WARNING if bad else INK
        axes.text(0.0, place, words, va="center", fontsize=8.5, color=colour, linespacing=1.15)
        axes.axhline(place - 0.5, color=PALE_LINE, linewidth=0.7)
