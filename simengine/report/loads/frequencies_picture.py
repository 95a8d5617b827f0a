"""Frequencies of one blade over engine rpm against what shakes it, at three blade angles."""

from math import isfinite
from typing import Any

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simengine.report.envelope.page import PALE_LINE, label, sheet
from simengine.report.facts import number
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, ORANGE, VERMILION, WARNING
from simengine.report.loads.bars import with_caution
from simengine.report.loads.text import frequency_sentence

HIGH = 4.6  # panel [in]
WIDE = 2.95
LINES = (  # setting, colour, dashes, mark
    ("coarse", BLUE, "-", "o"),
    ("half-way", ORANGE, (0, (6, 2)), "s"),
    ("fine", GREEN, (0, (2, 1.2)), "^"),
)
TITLES = {
    "pitch": "PITCH, floating blade",
    "flap": "FLAP, first",
    "lag": "LAG, first",
}


def frequencies_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the frequency diagram, one panel a mode."""
    subject = (
        "Lines: frequency of one blade with the blade held at that angle over rpm; marks: the rpm at which "
        "it stands there (coarse: level flight, half-way: amid the shift, fine: full throttle). Grey rays: "
        "cycles for each PROPELLER turn; red: engine. Pitch: friction left out; flap, lag: uniform blade."
    )
    page = sheet(dataset, subject, with_caution(frequency_sentence(dataset)), HIGH + 1.3)
    top = highest(dataset)
    for place, mode in enumerate(str(mode) for mode in dataset["mode"].values):
        axes = page.axes(0.75 + place * (WIDE + 0.42), 0.3, WIDE, HIGH)
        draw_mode(axes, dataset, place, mode, top)
        label(axes, "ENGINE rpm", "Hz" if place == 0 else "")
    handles, names = page.figure.axes[0].get_legend_handles_labels()
    foot = (page.panels_foot + 0.06) / page.figure.get_size_inches()[1]
    page.figure.legend(
        handles, names, loc="lower center", bbox_to_anchor=(0.5, foot), ncols=3, fontsize=9, frameon=False
    )
    return page.figure


def highest(dataset: xarray.Dataset) -> float:
    """Top of the scale: above every frequency told, and the blade pass at the limit [Hz]."""
    told = np.asarray(dataset["mode_frequency"].values)
    turns = number(dataset, "engine_rpm_limit") / number(dataset, "reduction") / 60.0
    known = float(np.nanmax(told)) if np.isfinite(told).any() else 0.0
    return 1.3 * max(known, number(dataset, "blades") * turns)


def draw_mode(axes: Axes, dataset: xarray.Dataset, place: int, mode: str, top: float) -> None:
    """Rays of excitation, and the lines of one mode."""
    rpm = np.asarray(dataset["campbell_rpm"].values)
    axes.set_xlim(0.0, float(rpm[-1]))
    axes.set_ylim(0.0, top)
    axes.grid(color=PALE_LINE, linewidth=0.5)
    axes.set_axisbelow(True)
    draw_rays(axes, dataset, float(rpm[-1]), top)
    limit = number(dataset, "engine_rpm_limit")
    axes.axvline(limit, color=WARNING, linewidth=1.1, linestyle=(0, (2, 1.5)))
    axes.annotate(
        f"limit {limit:.0f}",
        (limit, 0.015),
        xycoords=axes.get_xaxis_transform(),
        xytext=(-2, 0),
        textcoords="offset points",
        rotation=90,
        ha="right",
        va="bottom",
        fontsize=8,
        color=WARNING,
    )
    axes.set_title(TITLES[mode], fontsize=10, color=INK, fontweight="bold")
    known = bool(np.isfinite(dataset["campbell_frequency"].values[place]).any())
    for row, (setting, colour, dashes, mark) in enumerate(LINES):
        line = np.asarray(dataset["campbell_frequency"].values[place, row])
        axes.plot(rpm, line, color=colour, linestyle=dashes, linewidth=2.0, zorder=4)
        at = float(dataset["setting_rpm"].values[row]), float(dataset["mode_frequency"].values[place, row])
        style: dict[str, Any] = {"marker": mark, "color": colour, "markeredgecolor": INK, "markersize": 8}
        axes.plot(*([value] for value in at), linestyle=dashes, label=f"blade {setting}", zorder=6, **style)
    if not known:
        plate = {"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 3.0}
        axes.text(
            0.5, 0.5, unknown_words(mode), transform=axes.transAxes, ha="center", va="center", fontsize=9.5,
            color=WARNING, bbox=plate, zorder=7,
        )  # fmt: skip


def unknown_words(mode: str) -> str:
    """Why a mode is not drawn."""
    if mode == "pitch":
        return "blade loads do not move\nthe blades of this hub"
    return f"NOT KNOWN: tap the blade,\ngive loads.{mode}_frequency"


def draw_rays(axes: Axes, dataset: xarray.Dataset, last: float, top: float) -> None:
    """Excitation in proportion to rpm, each named where it leaves the panel."""
    reduction = number(dataset, "reduction")
    for name, order in zip(dataset["excitation"].values, dataset["excitation_order"].values, strict=True):
        engine = str(name).startswith("engine")
        colour = VERMILION if engine else GREY
        end = float(order) * last / reduction / 60.0
        axes.plot([0.0, last], [0.0, end], color=colour, linewidth=1.3 if engine else 0.8, zorder=2)
        share = min(1.0, top / end)
        words = str(name).replace(", blade pass", ",\nblades").replace("engine ", "")
        if isfinite(share):
            across, up = 0.93 * share * last, 0.93 * share * end
            plate = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.4}
            axes.text(
                across, up, words, ha="center", va="center", fontsize=7.5, color=colour, zorder=3, bbox=plate
            )
