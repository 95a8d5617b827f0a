"""One picture: every target a line, how far on its good side each figure came out."""

from collections.abc import Sequence
from pathlib import Path

import matplotlib
from matplotlib.axes import Axes

from measured.figure import Figure
from measured.table import target_told, value_told

MET, MISSED = "#1b7837", "#b2182b"
FARTHEST, SHORTEST = 30.0, 1e-4  # shares drawn; what is better still is drawn as an arrow
ROW = 0.27  # height of a line of the picture [in]


def write_picture(path: Path, figures: Sequence[Figure], heading: str) -> None:
    """Ratio to target on a log axis; discs are met, crosses missed, arrows off the axis."""
    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    drawn = [figure for figure in figures if figure.share is not None]
    height = 1.6 + ROW * (len(drawn) + len({figure.group for figure in drawn}))
    drawing, axes = plt.subplots(figsize=(11.0, height), layout="constrained")
    places, place, group = [], 0.0, ""
    for figure in drawn:
        place += 1.0
        if figure.group != group:
            group = figure.group
            write_group(axes, place, group)
            place += 1.0
        draw_figure(axes, place, figure)
        places.append(place)
    axes.set_yticks(places, [figure.name for figure in drawn], fontsize=8)
    axes.set_ylim(place + 1.0, 0.0)
    dress(axes, min((figure.share or SHORTEST for figure in drawn), default=1.0))
    met = sum(bool(figure.met) for figure in drawn)
    axes.set_title(f"{met} of {len(drawn)} targets met\n{heading}", fontsize=9, loc="left")
    drawing.savefig(path, dpi=130)
    plt.close(drawing)


def write_group(axes: Axes, place: float, group: str) -> None:
    """Heading of a group, in the column of the names."""
    beside = axes.get_yaxis_transform()
    axes.text(-0.005, place, group, transform=beside, ha="right", va="center", weight="bold")


def draw_figure(axes: Axes, place: float, figure: Figure) -> None:
    """One figure: from its target to where it came out, with both in words."""
    share, good = min(figure.share or SHORTEST, FARTHEST), bool(figure.met)
    mark = "X" if not good else ">" if share == FARTHEST else "o"
    colour = MET if good else MISSED
    axes.plot([1.0, share], [place, place], color=colour, linewidth=1.5, alpha=0.6)
    axes.plot([share], [place], mark, color=colour, markersize=8, markeredgecolor="white")
    axes.annotate(
        f"{value_told(figure)}  ({target_told(figure)})",
        (share, place),
        xytext=(9 if good else -9, 0),
        textcoords="offset points",
        ha="left" if good else "right",
        va="center",
        fontsize=8,
    )


def dress(axes: Axes, lowest: float) -> None:
    """Axis, target line and grid."""
    axes.set_xscale("log")
    axes.set_xlim(max(min(0.1, lowest), SHORTEST) / 50.0, 50.0 * FARTHEST)
    axes.axvline(1.0, color="black", linewidth=1.2)
    axes.grid(axis="x", alpha=0.3)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("how many times better than its target   (left of 1: missed, cross; right: met, disc)")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
