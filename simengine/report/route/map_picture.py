"""Map of the saving over cruising height and wind from ahead."""

from collections.abc import Iterable
from math import cos, radians

import numpy as np
import xarray
from matplotlib.axes import Axes
from matplotlib.colors import TwoSlopeNorm
from matplotlib.figure import Figure
from matplotlib.text import Text

from simengine.report.envelope.page import label, sheet, white_hatch
from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.panels import INK
from simengine.report.route.page import Array, numbers
from simengine.report.route.text import READING_FLOOR

HIGH = 5.0
LEAST_SPAN = 2.0  # of the colour scale [per cent]
LEGS_NAMED = 4
EDGE = 0.045  # share of the map in which a name would be cut


def map_picture(dataset: xarray.Dataset) -> Figure:
    """Draw the saving of the own hub against the map's other hub."""
    other = str(dataset.attrs["map_other_hub"])
    subject = (
        f"Saving of {dataset['hub'].values[0]} over {other}, % of the other's fuel, on "
        f"{number(dataset, 'map_distance'):.0f} km with the climb to that height; same airspeed for both. "
        "Dots: this route's legs. Hatched: one of the two cannot fly there, or its blades hang."
    )
    page = sheet(dataset, subject, map_caption(dataset), HIGH + 0.95)
    axes = page.axes(1.0, 0.15, 7.9, HIGH)
    colours = page.axes(9.25, 0.15, 0.25, HIGH)
    draw_map(axes, colours, dataset)
    mark_legs(axes, dataset)
    label(
        axes,
        "wind from ahead on the whole way, km/h  (negative: tail wind)",
        "cruising height above sea level, m",
    )
    return page.figure


def map_caption(dataset: xarray.Dataset) -> Sentence:
    """Range of the saving on the map."""
    saving, other = numbers(dataset, "map_saving_share"), str(dataset.attrs["map_other_hub"])
    seen = saving[np.isfinite(saving)]
    if not seen.size:
        return Sentence(f"Nowhere on this map can both this hub and {other} be flown.", True)
    low, high = float(seen.min()), float(seen.max())
    if high <= 0.0:
        fact = f"This hub nowhere saves fuel over {other}: it burns {-high:.1f} to {-low:.1f} % more."
    elif low >= 0.0:
        fact = f"This hub saves {low:.1f} to {high:.1f} % over {other} everywhere on this map."
    else:
        fact = f"Between {-low:.1f} % more and {high:.1f} % less fuel than {other}, by height and wind."
    small = max(abs(low), abs(high)) < READING_FLOOR
    return Sentence(
        fact + (f" All of it is below the {READING_FLOOR:.0f} % that two readings show." if small else "")
    )


def draw_map(axes: Axes, colours: Axes, dataset: xarray.Dataset) -> None:
    """Colours with lines of equal saving; hatched where one of the two cannot fly, or the blades hang."""
    wind, height = 3.6 * numbers(dataset, "map_head_wind"), numbers(dataset, "map_height")
    saving = numbers(dataset, "map_saving_share")
    span = max(LEAST_SPAN, float(np.nanmax(np.abs(saving))) if np.isfinite(saving).any() else 0.0)
    drawn = axes.pcolormesh(
        wind,
        height,
        saving,
        cmap="PuOr",
        norm=TwoSlopeNorm(0.0, -span, span),
        shading="gouraud" if np.isfinite(saving).all() else "nearest",
        rasterized=True,
    )
    bar = axes.figure.colorbar(drawn, cax=colours)
    bar.set_label("saving, %   (orange: burns MORE, violet: saves)", fontsize=9, color=INK)
    colours.tick_params(labelsize=8)
    draw_lines(axes, wind, height, saving)
    refused = ~np.isfinite(saving)
    if refused.any() and not refused.all():
        hatched = axes.contourf(
            wind, height, refused.astype(float), levels=[0.5, 1.5], colors="none", hatches=["////"]
        )
        white_hatch(hatched, "#999999")
    axes.set_xlim(float(wind[0]), float(wind[-1]))
    axes.set_ylim(float(height[0]), float(height[-1]))


def draw_lines(axes: Axes, wind: Array, height: Array, saving: Array) -> None:
    """Lines of equal saving, nought drawn heavily."""
    if np.isfinite(saving).sum() < 4 or float(np.nanmax(saving) - np.nanmin(saving)) < 0.05:
        return
    lines = axes.contour(wind, height, saving, levels=7, colors=INK, linewidths=0.8)
    name_lines(axes, axes.clabel(lines, fmt="%.1f %%", fontsize=8, inline=False))
    if float(np.nanmin(saving)) < 0.0 < float(np.nanmax(saving)):
        axes.contour(wind, height, saving, levels=[0.0], colors=INK, linewidths=2.4)


def name_lines(axes: Axes, names: Iterable[Text]) -> None:
    """Plates under the names of the lines; those that the frame would cut are left out."""
    for name in names:
        name.set_bbox({"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.5})
        across, up = axes.transAxes.inverted().transform(axes.transData.transform(name.get_position()))
        name.set_visible(EDGE < across < 1.0 - EDGE and EDGE < up < 1.0 - EDGE)


def mark_legs(axes: Axes, dataset: xarray.Dataset) -> None:
    """Where the legs of the route are on the map."""
    winds, directions = numbers(dataset, "leg_wind_speed"), numbers(dataset, "leg_wind_from")
    tracks, heights = numbers(dataset, "leg_track"), numbers(dataset, "leg_height")
    ahead = [
        3.6 * speed * cos(radians(origin - track))
        for speed, origin, track in zip(winds, directions, tracks, strict=True)
    ]
    few = dataset.sizes["leg"] <= LEGS_NAMED
    for leg, name in enumerate(dataset["leg"].values):
        axes.plot([ahead[leg]], [heights[leg]], marker="o", color="white", markeredgecolor=INK, markersize=8)
        axes.annotate(
            str(name) if few else "",
            (ahead[leg], heights[leg]),
            xytext=(7, 5),
            textcoords="offset points",
            fontsize=8.5,
            color=INK,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 1.0},
            annotation_clip=True,
        )
