"""What each stop carries against engine rpm."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from simengine.report.envelope.page import PALE_LINE, label, plain, sheet
from simengine.report.facts import number
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, WARNING
from simengine.report.loads.bars import with_caution
from simengine.report.loads.facts import failures
from simengine.report.loads.text import row_named, stop_sentences

Array = NDArray[np.float64]

HIGH = 4.6  # panel [in]


def stops_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the moment on the coarse and on the fine stop."""
    subject = (
        "Moment of ONE blade that its stop carries, blade standing on that stop, no help from friction, at "
        "the air speed of the full-throttle climb. Impact on the stop is not in it."
    )
    page = sheet(dataset, subject, with_caution(*stop_sentences(dataset)), HIGH + 0.95)
    axes = page.axes(0.9, 0.3, 8.6, HIGH)
    rpm = np.asarray(dataset["stop_rpm"].values)
    top = 1.03 * row_named(dataset, "overspeed")["load_engine_rpm"]
    seen = rpm <= top
    coarse, fine = (np.asarray(dataset[f"{stop}_stop_moment"].values) for stop in ("coarse", "fine"))
    axes.plot(rpm, coarse, color=BLUE, linewidth=2.2, linestyle="-", zorder=4)
    axes.plot(rpm, fine, color=GREEN, linewidth=2.2, linestyle=(0, (6, 2)), zorder=4)
    axes.set_xlim(float(rpm[0]), top)
    reach = float(max(coarse[seen].max(), fine[seen].max(), 0.1))
    axes.set_ylim(0.0, 1.18 * reach)
    told = rpm <= row_named(dataset, "overspeed")["load_engine_rpm"] + 0.5
    name_lines(axes, rpm[told], coarse[told], fine[told])
    mark_speeds(axes, dataset)
    force_scale(axes, number(dataset, "pin_radius"))
    axes.grid(color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    label(
        axes,
        f"ENGINE rpm  (propeller rpm = engine ÷ {number(dataset, 'reduction'):g})",
        "moment on the stop, N m, one blade",
    )
    return page.figure


def name_lines(axes: Axes, rpm: Array, coarse: Array, fine: Array) -> None:
    """Names beside the two lines where they are highest."""
    for moment, words, colour in ((coarse, "COARSE STOP", BLUE), (fine, "FINE STOP", GREEN)):
        place = int(np.argmax(moment))
        if moment[place] <= 0.0:
            continue
        side = "left" if place < rpm.size / 2 else "right"
        told = f"  {words}, up to {moment[place]:.1f} N m  "
        at = (float(rpm[place]), float(moment[place]))
        named = axes.text(
            *at, told, ha=side, va="bottom", fontsize=9, fontweight="bold", color=colour, zorder=6
        )
        named.set_bbox({"facecolor": "white", "edgecolor": "none", "pad": 0.5})


def mark_speeds(axes: Axes, dataset: xarray.Dataset) -> None:
    """Shift, limit and overspeed."""
    built = failures(dataset)[0]
    begin, finish = built["failure_shift_begin_rpm"], built["failure_shift_finish_rpm"]
    if isfinite(begin) and isfinite(finish):
        axes.axvspan(begin, finish, color="#EFEFEF", zorder=0)
        middle = 0.5 * (begin + finish)
        words = f"shift\n{begin:.0f} to {finish:.0f}"
        axes.text(
            middle, 0.97, words, transform=axes.get_xaxis_transform(), ha="center", va="top", fontsize=9
        )
    over = row_named(dataset, "overspeed")["load_engine_rpm"]
    for speed, words, colour in (
        (number(dataset, "engine_rpm_limit"), "limit", WARNING),
        (over, "overspeed", WARNING),
        (built["failure_climb_rpm"], "climb", INK),
    ):
        axes.axvline(speed, color=colour, linewidth=1.1, linestyle=(0, (2, 1.5)), zorder=3)
        axes.annotate(
            f"{words} {speed:.0f}",
            (speed, 0.03),
            xycoords=axes.get_xaxis_transform(),
            xytext=(-3, 0),
            textcoords="offset points",
            rotation=90,
            ha="right",
            va="bottom",
            fontsize=8.5,
            color=colour,
        )


def force_scale(axes: Axes, pin_radius: float) -> None:
    """Force on the pin as a second scale."""
    right = axes.twinx()
    plain(right)
    low, high = axes.get_ylim()
    right.set_ylim(low / pin_radius, high / pin_radius)
    right.tick_params(labelsize=8, color=GREY, labelcolor=GREY)
    right.set_ylabel(
        f"force on the pin, N, {1000 * pin_radius:.0f} mm from the pitch axis", fontsize=9, color=GREY
    )
