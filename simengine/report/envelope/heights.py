"""Height against engine rpm: where the shift begins and finishes, and what full throttle reaches."""

from math import isfinite

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from simengine.report.envelope.captions import heights_caption
from simengine.report.envelope.facts import Own, handful, own, state_bands
from simengine.report.envelope.page import ABOVE, PALE_LINE, density_scale, label, sheet
from simengine.report.facts import moves_by_itself, number
from simengine.report.flight.panels import BLUE, GREEN, GREY, INK, VERMILION, WARNING
from simengine.report.flight.time_axis import spread
from simengine.results.catalogue import PitchState

HIGH = 6.3  # panel [in]
LABEL_SPACING = 0.105  # of two line names, as a share of the panel's width
SHIFT_LINES = (  # variable, name above the panel, colour, dashes, width
    ("return_finish_rpm", "return\nfinishes", BLUE, (0, (1, 1.5)), 1.4),
    ("return_begin_rpm", "return\nbegins", BLUE, (0, (6, 1.5, 1, 1.5)), 1.4),
    ("shift_begin_rpm", "shift\nbegins", VERMILION, (0, (4, 2)), 1.6),
    ("shift_finish_rpm", "SHIFT\nFINISHES", VERMILION, "-", 2.4),
    ("full_throttle_rpm_coarse", "full throttle,\nif coarse", GREY, "-", 0.8),
    ("full_throttle_rpm_fine", "full throttle,\nif fine", GREY, "-", 0.8),
)
FULL_LINE = ("full_throttle_rpm", "FULL\nTHROTTLE", INK, "-", 2.4)
GROUND_MARKS = (  # variable, mark, colour, filled
    ("ground_return_finish_rpm", "<", BLUE, True),
    ("ground_return_begin_rpm", "<", BLUE, False),
    ("ground_shift_begin_rpm", ">", VERMILION, False),
    ("ground_shift_finish_rpm", ">", VERMILION, True),
    ("ground_full_throttle_rpm", "s", INK, False),
)


def heights_picture(dataset: xarray.Dataset) -> Figure:
    """Draw height against engine rpm for the scenario's own mass, temperature and trim."""
    point = own(dataset)
    moves = "▷ shift begins, ▶ finishes, ◁ return begins, ◀ finishes, " if moves_by_itself(dataset) else ""
    subject = (
        f"Lines: full-throttle climb at every height, {point.place}. Marks: the same standing on the ground, "
        f"{moves}□ full throttle."
    )
    page = sheet(dataset, subject, heights_caption(dataset), HIGH + 1.2)
    axes = page.axes(1.0, 0.6, 9.05, HIGH)
    lines = drawn_lines(dataset)
    set_scales(axes, point, [name for name, *_ in lines])
    if moves_by_itself(dataset):
        mark_unfinished(axes, point)
    for name, _, colour, dashes, width in lines:
        axes.plot(point.line(name), point.height, color=colour, linestyle=dashes, linewidth=width, zorder=4)
    mark_limit(axes, number(dataset, "engine_rpm_limit"))
    mark_ground(axes, point)
    mark_hang_angles(axes, point)
    mark_ceilings(axes, point)
    name_lines(axes, point, lines)
    density_scale(axes, point.height.tolist(), point.line("density_altitude").tolist())
    return page.figure


def drawn_lines(dataset: xarray.Dataset) -> list[tuple[str, str, str, object, float]]:
    """Lines of a hub that shifts by itself; of any other only what full throttle reaches."""
    return [*SHIFT_LINES, FULL_LINE] if moves_by_itself(dataset) else [FULL_LINE]


def set_scales(axes: Axes, point: Own, names: list[str]) -> None:
    """Room for every line, the limit, and the names of the ceilings at the left."""
    limit = number(point.dataset, "engine_rpm_limit")
    grounds = [name for name, *_ in GROUND_MARKS]
    every = np.concatenate([point.line(name) for name in (*names, *grounds)])
    every = np.append(every[np.isfinite(every)], limit)
    low, high = float(every.min()), float(every.max())
    axes.set_xlim(low - 0.27 * (high - low), high + 0.05 * (high - low))
    axes.set_ylim(float(point.height[0]), float(point.height[-1]))
    axes.xaxis.set_major_locator(MaxNLocator(nbins=9, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=11, steps=[1, 2, 2.5, 5, 10]))
    axes.grid(color=PALE_LINE, linewidth=0.7)
    axes.set_axisbelow(True)
    reduction = number(point.dataset, "reduction")
    label(
        axes,
        f"ENGINE rpm  (propeller rpm = engine ÷ {reduction:g})",
        "height above mean sea level (geometric), m",
    )


def mark_unfinished(axes: Axes, point: Own) -> None:
    """Hatch the heights at which the shift does not finish, and say what the blades do there."""
    for low, high, state in state_bands(point):
        if state is PitchState.FINE:
            continue
        axes.axhspan(
            low, high, facecolor="#FBE3D6", edgecolor="#D9480F55", hatch="///", linewidth=0, zorder=0
        )
        words = "SHIFT DOES NOT FINISH:\nblades HANG" if state is PitchState.HUNG else "blades stay COARSE"
        if high - low > 0.06 * (axes.get_ylim()[1] - axes.get_ylim()[0]):
            left, right = axes.get_xlim()
            boxed(axes, left + 0.02 * (right - left), (low + high) / 2.0, words, WARNING, bold=True)


def boxed(axes: Axes, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
    """Words on white, left-aligned and centred on a height."""
    axes.text(
        x,
        y,
        words,
        fontsize=9,
        color=colour,
        va="center",
        fontweight="bold" if bold else "normal",
        zorder=7,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 1.5},
    )


def mark_limit(axes: Axes, limit: float) -> None:
    """The engine's rpm limit."""
    axes.axvline(limit, color=WARNING, linewidth=1.2, linestyle=(0, (2, 1.5)), zorder=3)
    axes.annotate(
        f"limit {limit:.0f}",
        (limit, 0.02),
        xycoords=axes.get_xaxis_transform(),
        xytext=(3, 0),
        textcoords="offset points",
        rotation=90,
        ha="left",
        va="bottom",
        fontsize=8.5,
        color=WARNING,
    )


def mark_ground(axes: Axes, point: Own) -> None:
    """Figures on the ground, at a handful of heights from which one could start."""
    rows = handful(point.height.size)[:-1]
    for name, mark, colour, filled in GROUND_MARKS:
        axes.plot(
            point.line(name)[rows],
            point.height[rows],
            linestyle="none",
            marker=mark,
            markersize=6,
            markerfacecolor=colour if filled else "white",
            markeredgecolor=colour,
            zorder=5,
            clip_on=False,
        )


def mark_hang_angles(axes: Axes, point: Own) -> None:
    """The angle at which the blades hang, along the full-throttle line."""
    hung = [row for row, state in enumerate(point.state[:-1]) if row and state is PitchState.HUNG]
    if not hung:
        return
    angle, rpm = point.line("full_throttle_blade_angle"), point.line("full_throttle_rpm")
    for row in {hung[place] for place in handful(len(hung), 4)}:
        axes.plot([rpm[row]], [point.height[row]], marker="o", markersize=4, color=INK, zorder=6)
        axes.annotate(
            f"{angle[row]:.1f}°",
            (rpm[row], point.height[row]),
            xytext=(-6, 0),
            textcoords="offset points",
            ha="right",
            va="center",
            fontsize=8.5,
            fontweight="bold",
            color=INK,
            zorder=7,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 0.8},
        )


def mark_ceilings(axes: Axes, point: Own) -> None:
    """Shift ceiling and service ceiling, or where they went."""
    left, right = axes.get_xlim()
    lowest, highest = axes.get_ylim()
    at = left + 0.02 * (right - left)
    shift, service = point.number("shift_ceiling"), point.number("service_ceiling")
    room = 0.022 * (highest - lowest)
    if isfinite(shift) and lowest <= shift <= highest:
        axes.axhline(shift, color=VERMILION, linewidth=2.4, zorder=3)
        words = f"SHIFT CEILING {shift:.0f} m"
        boxed(axes, at, shift - room, words, WARNING, bold=True)
    elif shift > highest:
        boxed(axes, at, highest - 3.0 * room, f"shift ceiling {shift:.0f} m ↑", WARNING, bold=True)
    if not isfinite(service):
        return
    if lowest <= service <= highest:
        axes.axhline(service, color=GREEN, linewidth=1.6, linestyle=(0, (7, 3)), zorder=3)
        above = (service > shift or not isfinite(shift)) and service + 2.0 * room < highest
        boxed(axes, at, service + (room if above else -room), f"service ceiling {service:.0f} m", "#00664B")
    elif service > highest:
        boxed(axes, at, highest - room, f"service ceiling {service:.0f} m ↑", "#00664B")


def name_lines(axes: Axes, point: Own, lines: list[tuple[str, str, str, object, float]]) -> None:
    """The name of each line above the panel, led to where the line leaves it."""
    left, right = axes.get_xlim()
    ends = []
    for name, words, colour, _, width in lines:
        rpm = point.line(name)
        if np.isfinite(rpm).any():
            ends.append((float(rpm[np.isfinite(rpm)][-1]), words, colour, width))
    ends.sort(key=lambda end: end[0])
    places = np.array([(rpm - left) / (right - left) for rpm, *_ in ends])
    across = axes.transAxes
    for place, seat, (_, words, colour, width) in zip(
        places, spread(places, LABEL_SPACING), ends, strict=True
    ):
        (leader,) = axes.plot([seat, place], [1.028, 1.0], transform=across, color=colour, linewidth=0.8)
        leader.set_clip_on(False)
        above = axes.text(
            seat,
            1.034,
            words,
            transform=across,
            ha="center",
            va="bottom",
            fontsize=8.5,
            color=colour,
            fontweight="bold" if width > 2 else "normal",
            linespacing=1.1,
        )
        leader.set_gid(ABOVE)
        above.set_gid(ABOVE)
