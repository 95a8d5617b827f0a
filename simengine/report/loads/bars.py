"""Pull on one blade and stress at its root, condition by condition."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.envelope.moments import PURPLE
from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import BLUE, GREY, INK, ORANGE, WARNING
from simengine.report.loads.facts import (
    NO_MARGIN,
    STRUCTURE_CAUTION,
    Row,
    conditions,
    root_known,
    strength_known,
)
from simengine.report.loads.text import pull_sentence, root_sentence

ROW = 0.62  # height of a condition [in]
PARTS = (  # variable, name, colour, hatch
    ("load_stress_pull", "pull", BLUE, ""),
    ("load_stress_flat", "flap bending", ORANGE, "////"),
    ("load_stress_edge", "lag bending", PURPLE, "...."),
)


def with_caution(*sentences: Sentence) -> Sentence:
    """What stands under a picture of loads: its sentences, and always the caution on structure."""
    words = " ".join(sentence.words for sentence in sentences)
    return Sentence(f"{words} {STRUCTURE_CAUTION}", warns=True)


def loads_picture(dataset: xarray.Dataset) -> Figure:
    """Draw pull and root stress."""
    rows = conditions(dataset)
    height = f"{number(dataset, 'site_height'):.0f} m above the sea"
    subject = (
        f"Per blade, {number(dataset, 'blades'):.0f} blades; "
        f"{1000 * number(dataset, 'blade_mass'):.0f} g each from the first station out, "
        "no pull of the shank inside it; "
        f"{height}, {number(dataset, 'own_mass'):.0f} kg all-up, trim speed. Blade taken as stiff."
    )
    high = ROW * len(rows)
    page = sheet(dataset, subject, with_caution(pull_sentence(dataset), root_sentence(dataset)), high + 1.15)
    draw_pull(page.axes(2.75, 0.35, 3.3, high), rows)
    draw_stress(page.axes(6.45, 0.35, 4.1, high), dataset, rows)
    return page.figure


def places(rows: list[Row]) -> list[int]:
    """Places of the bars, the first row on top."""
    return list(range(len(rows)))[::-1]


def draw_pull(axes: Axes, rows: list[Row]) -> None:
    """Pull in kilonewtons, told in newtons and kilograms."""
    pulls = [row["load_pull"] / 1000.0 for row in rows]
    axes.barh(places(rows), pulls, height=0.6, color=BLUE, zorder=2)
    axes.set_xlim(0.0, 1.75 * max(pulls))
    for place, row, pull in zip(places(rows), rows, pulls, strict=True):
        words = f" {row['load_pull']:.0f} N, {row['load_pull_kgf']:.0f} kgf"
        axes.text(pull, place, words, va="center", fontsize=8.5, color=INK)
    names = [
        f"{row.name}\n{row['load_engine_rpm']:.0f} engine, {row['load_propeller_rpm']:.0f} prop. rpm"
        for row in rows
    ]
    axes.set_yticks(places(rows), names, fontsize=8.5)
    axes.set_title("PULL OF ONE BLADE", fontsize=10, color=INK, fontweight="bold")
    finish(axes, rows, "pull, kN")


def draw_stress(axes: Axes, dataset: xarray.Dataset, rows: list[Row]) -> None:
    """Stress at the root in its parts, and the strength given; in words where it is not known."""
    radius = 1000 * number(dataset, "root_radius")
    axes.set_title(f"STRESS AT {radius:.0f} mm FROM THE SHAFT", fontsize=10, color=INK, fontweight="bold")
    axes.set_yticks([])
    if not root_known(dataset):
        axes.set_xticks([])
        words = f"root section not given:\n{NO_MARGIN.upper()}\n\nloads.root in the scenario"
        axes.text(0.5, 0.5, words, transform=axes.transAxes, ha="center", va="center", color=WARNING)
        return
    left = np.zeros(len(rows))
    for name, words, colour, hatch in PARTS:
        part = np.array([row[name] for row in rows])
        axes.barh(
            places(rows),
            part,
            left=left,
            height=0.6,
            color=colour,
            hatch=hatch,
            edgecolor="white",
            linewidth=0,
            label=words,
            zorder=2,
        )
        left += part
    strength = number(dataset, "root_strength")
    reach = max(float(left.max()), strength if isfinite(strength) else 0.0)
    axes.set_xlim(0.0, 1.55 * reach)
    for place, row, end in zip(places(rows), rows, left, strict=True):
        if strength_known(dataset):  # right of its line, where no bar ends
            words = f"{end:.0f} MPa \nstrength is {row['load_strength_factor']:.2f} × "
            axes.text(1.55 * reach, place, words, va="center", ha="right", fontsize=8.5, color=INK)
        else:
            axes.text(end, place, f" {end:.0f} MPa", va="center", fontsize=8.5, color=INK)
    if isfinite(strength):
        axes.axvline(strength, color=WARNING, linestyle="--", linewidth=1.3, zorder=3)
        words = f" strength given {strength:.0f} MPa, {NO_MARGIN}"
        plate = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
        at = (strength, len(rows) - 0.46)
        axes.text(*at, words, fontsize=8, color=WARNING, va="top", ha="center", bbox=plate, zorder=5)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.13), ncols=3, fontsize=8.5, frameon=False)
    finish(axes, rows, "stress at the worst corner, MPa")


def finish(axes: Axes, rows: list[Row], unit: str) -> None:
    """Scales of a bar panel."""
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.grid(axis="x", color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0, labelcolor=INK)
    axes.axvline(0.0, color=GREY, linewidth=0.9)
    label(axes, unit)
