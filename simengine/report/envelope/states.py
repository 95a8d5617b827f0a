"""Maps of where the blades are: height by all-up mass at full throttle, height by throttle both ways."""

from itertools import pairwise

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from simengine.report.envelope.captions import states_caption
from simengine.report.envelope.facts import STATES as PITCH_STATES
from simengine.report.envelope.facts import Own, bar_words, every_point, own, state_bands, stops
from simengine.report.envelope.page import badge, density_scale, label, plain, sheet, white_hatch
from simengine.report.flight.panels import INK, STATES, WARNING
from simengine.results.catalogue import PitchState

Array = NDArray[np.float64]

HIGH = 5.4  # panels [in]
STUMP = 12  # points below which a line of equal blade angle tells nothing
HEIGHT_WORDS = "height above mean sea level (geometric), m"
HUNG = PITCH_STATES.index(PitchState.HUNG)
SHADES = ["#8FC1DF", "#F6EFA6", "#EFA27B", "#8ACFB5"]  # the palette's four, lighter: maps are large


def states_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the maps by pitch state."""
    point = own(dataset)
    subject = (
        "Where the blades are:   C = on the coarse stop   H = HUNG between the stops, with the blade angle "
        "in degrees   F = on the fine stop"
    )
    page = sheet(dataset, subject, states_caption(dataset), HIGH + 1.6)
    by_mass = page.axes(0.9, 0.35, 3.2, HIGH)
    draw_masses(by_mass, point)
    density_scale(by_mass, point.height.tolist(), point.line("density_altitude").tolist())
    for left, branch in ((5.4, "opening"), (8.2, "closing")):
        draw_throttles(page.axes(left, 0.35, 2.5, HIGH), dataset, branch)
    return page.figure


def draw_masses(axes: Axes, point: Own) -> None:
    """One column a mass, in stretches of one pitch state, with the ceilings across."""
    dataset = point.dataset
    columns = [each for each in every_point(dataset) if (each.offset, each.bar) == (point.offset, point.bar)]
    columns.sort(key=lambda each: each.all_up_mass)
    edges = column_edges(np.array([each.all_up_mass for each in columns]))
    axes.set_xlim(float(edges[0]), float(edges[-1]))
    axes.set_ylim(float(point.height[0]), float(point.height[-1]))
    for each, (left, right) in zip(columns, pairwise(edges), strict=True):
        draw_column(axes, each, float(left), float(right))
    draw_hung_angles(axes, columns, edges)
    draw_ceilings(axes, point)
    masses = [each.all_up_mass for each in columns]
    axes.set_xticks(masses, [f"{mass:.0f}" for mass in masses])
    axes.set_title("full throttle in the climb", fontsize=10, color=INK)
    label(axes, "all-up mass, kg", HEIGHT_WORDS)


def column_edges(masses: Array) -> Array:
    """Half-way between neighbours, and as far outside the first and last."""
    if masses.size == 1:
        return np.array([masses[0] - 5.0, masses[0] + 5.0])
    middles = (masses[1:] + masses[:-1]) / 2.0
    first, last = 2.0 * masses[0] - middles[0], 2.0 * masses[-1] - middles[-1]
    return np.concatenate([[first], middles, [last]])


def draw_column(axes: Axes, point: Own, left: float, right: float) -> None:
    """Stretches of one state with their letters."""
    tall = axes.get_ylim()[1] - axes.get_ylim()[0]
    for low, high, state in state_bands(point):
        kind = PITCH_STATES.index(state)
        letter, _, colour, hatch = STATES[kind]
        axes.add_patch(
            Rectangle(
                (left, low),
                right - left,
                high - low,
                facecolor=SHADES[kind],
                hatch=hatch,
                edgecolor="white",
                linewidth=1.0,
            )
        )
        if high - low > 0.05 * tall:
            badge(axes, left + 0.25 * (right - left), (low + high) / 2.0, letter, colour)


def draw_hung_angles(axes: Axes, columns: list[Own], edges: Array) -> None:
    """Blade angle where hung, written at a few heights of each column."""
    spacing = 0.1 * (axes.get_ylim()[1] - axes.get_ylim()[0])
    for each, (left, right) in zip(columns, pairwise(edges), strict=True):
        angle, written = each.line("full_throttle_blade_angle"), -np.inf
        for row, state in enumerate(each.state):
            level = float(each.height[row])
            inside = level < each.height[-1] - 0.2 * spacing
            if state is PitchState.HUNG and level - written >= spacing and inside:
                written = level
                axes.text(
                    left + 0.7 * (right - left),
                    level,
                    f"{angle[row]:.1f}°",
                    ha="center",
                    va="center",
                    fontsize=8,
                    color=INK,
                    bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.8},
                )


def draw_ceilings(axes: Axes, point: Own) -> None:
    """Shift ceiling over mass, a line for each bar position, and the service ceiling; named below."""
    low, high = axes.get_ylim()
    for place, share in enumerate(point.dataset["bar"].values):
        mine = place == point.bar
        words = f"SHIFT CEILING, {bar_words(float(share))}" if mine else f"at {bar_words(float(share))}"
        across_masses(axes, point, ("shift_ceiling", place), WARNING, "-" if mine else (0, (4, 1.5)), words)
    across_masses(axes, point, ("service_ceiling", point.bar), "#00553F", (0, (1, 1)), "service ceiling")
    axes.set_ylim(low, high)
    axes.legend(
        loc="upper center", bbox_to_anchor=(0.5, -0.085), ncol=2, fontsize=8, frameon=False, handlelength=2.6
    )


def across_masses(
    axes: Axes, point: Own, which: tuple[str, int], colour: str, dashes: object, words: str
) -> None:
    """One ceiling over the masses: a variable and a bar position."""
    name, bar = which
    masses = np.asarray(point.dataset["mass"].values, dtype=np.float64)
    levels = np.asarray(point.dataset[name].values, dtype=np.float64)[point.offset, :, bar]
    order, seen = np.argsort(masses), np.isfinite(levels)
    if not seen.any():
        words += ": none met"
    elif np.all(levels[seen] > axes.get_ylim()[1]):
        words += ": above ↑"
    width = 2.4 if dashes == "-" else 1.6
    axes.plot(
        masses[order],
        levels[order],
        color=colour,
        linestyle=dashes,
        linewidth=width,
        marker="o",
        markersize=4,
        zorder=6,
        label=words,
    )


def draw_throttles(axes: Axes, dataset: xarray.Dataset, branch: str) -> None:
    """Height by throttle, the pitch carried along in one direction."""
    throttle = 100.0 * np.asarray(dataset["map_throttle"].values, dtype=np.float64)
    height = np.asarray(dataset["map_height"].values, dtype=np.float64)
    state = np.asarray(dataset[f"map_pitch_state_{branch}"].values)
    axes.pcolormesh(
        throttle,
        height,
        state,
        cmap=ListedColormap(SHADES),
        norm=BoundaryNorm(np.arange(-0.5, 4.0), 4),
        shading="nearest",
        rasterized=True,
    )
    between = np.isin(state, (HUNG, HUNG - 1))
    if between.any():
        drawn = axes.contourf(
            throttle, height, between.astype(float), levels=[0.5, 1.5], colors="none", hatches=["////"]
        )
        white_hatch(drawn)
        draw_angles(axes, dataset, branch, between)
    name_states(axes, throttle, height, state)
    axes.set_xlim(0.0, 100.0)
    axes.set_xticks([0, 20, 40, 60, 80, 100])
    axes.set_ylim(float(height[0]), float(height[-1]))
    arrow = "throttle OPENED slowly →" if branch == "opening" else "← throttle CLOSED slowly"
    axes.set_title(arrow, fontsize=10, color=INK)
    label(axes, "throttle, %", HEIGHT_WORDS if branch == "opening" else "")
    if branch == "closing":
        axes.set_yticklabels([])
    plain(axes)


def draw_angles(axes: Axes, dataset: xarray.Dataset, branch: str, between: NDArray[np.bool_]) -> None:
    """Lines of equal blade angle where the blades are between the stops."""
    coarse, fine = stops(dataset)
    throttle = 100.0 * np.asarray(dataset["map_throttle"].values, dtype=np.float64)
    angle = np.where(between, np.asarray(dataset[f"map_blade_angle_{branch}"].values), np.nan)
    low, high = float(np.nanmin(angle)), float(np.nanmax(angle))
    step = 1.0 if abs(coarse - fine) > 3.0 else 0.5
    levels = np.arange(np.ceil(low / step) * step, high, step)
    if levels.size and min(angle.shape) > 1:
        height = np.asarray(dataset["map_height"].values, dtype=np.float64)
        drawn = axes.contour(throttle, height, angle, levels=levels)
        drawn.remove()  # only its lines are wanted, without the stumps
        for level, pieces in zip(levels, drawn.allsegs, strict=True):
            lines = [piece for piece in pieces if len(piece) >= STUMP]
            for piece in lines:
                axes.plot(piece[:, 0], piece[:, 1], color=INK, linewidth=0.8)
            if lines:
                name_angle(axes, float(level), max(lines, key=len))


def name_angle(axes: Axes, level: float, piece: Array) -> None:
    """The blade angle at the upper third of its line."""
    x, y = piece[int(0.7 * len(piece))]
    words = f"{level:g}°"
    axes.text(
        float(x),
        float(y),
        words,
        ha="center",
        va="center",
        fontsize=7.5,
        color=INK,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.6},
    )


def name_states(axes: Axes, throttle: Array, height: Array, state: NDArray[np.generic]) -> None:
    """The letter of each state where it has most room around it."""
    for kind, (letter, _, colour, _) in enumerate(STATES):
        room = distance_transform_edt(np.pad(state == kind, 1))[1:-1, 1:-1]
        row, column = np.unravel_index(int(np.argmax(room)), room.shape)
        if room[row, column] >= 2.0:
            ink = INK if letter == "S" else "white"
            badge(axes, float(throttle[column]), float(height[row]), letter, colour, ink)
