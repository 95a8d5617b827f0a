"""A picture on a sheet laid out anew for a phone: its panels below one another, as wide as the screen.

Only what comes out well is taken: where letters would touch or a panel become too small, the wide one stays.
"""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.transforms import Bbox

from simengine.report.envelope.page import ABOVE
from simengine.report.flight.time_axis import spread

WIDE = 5.1  # of the narrow sheet [in]: its letters are as large on a phone as those of a wide one
NARROWEST = 2.2  # a panel may become [in]
EDGE, GAP = 0.08, 0.22  # room at the sides; between panels [in]
SCALE_OF_COLOURS = 0.4  # what is no wider is one, and stays beside its panel [in]
MOST_PANELS = 6  # more are a table of panels that share their headings
TOUCH = 1.5  # two words may share a corner so large [1/72 in]
TICK_GAP = 4.0  # between two numbers below a panel [1/72 in]
NAME_LETTERS, SCALE_LETTERS = 24, 48  # of a line of the names left of bars; of what a scale tells
LINE, LINE_GAP = 1.25, 0.08  # a line of them over its letters; between two names [in]
MOST_IN_A_ROW, LEGEND_ROOM = 3, 0.4  # signs explained in a row; room below the last panel for that [in]
TRIES = 6  # to find the range within which the words at the ends of bars have room
ROW_SPACING, ROW_STEP = 0.16, 0.36  # of names above a panel, share of its width; of their two rows [in]


@dataclass(frozen=True)
class Panel:
    """Axes that lie on one another, and where they stand on the wide sheet [in].

    `own` is their frame, `tight` all that belongs to them.
    """

    axes: list[Axes]
    own: Bbox
    tight: Bbox

    @property
    def column(self) -> tuple[float, float]:
        """What panels that stand on one another have in common."""
        return round(float(self.own.x0), 2), round(float(self.own.width), 2)


@dataclass(frozen=True)
class Seat:
    """Where a panel goes: left and lower edge measured from the upper left corner, width, height [in]."""

    left: float
    below: float
    wide: float
    high: float


def renderer_of(figure: Figure) -> RendererAgg:
    """What measures the words of a figure."""
    wide, tall = (figure.dpi * size for size in figure.get_size_inches())
    return RendererAgg(wide, tall, figure.dpi)  # type: ignore[no-untyped-call]


def narrowed(figure: Figure) -> bool:
    """Lay a figure out anew; false if it does not come out well, and is of no use any more.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Without the words above and below its panels.
    """
    renderer = renderer_of(figure)
    if not prepared(figure):
        return False
    panels = panels_of(figure, renderer)
    if len(panels) > MOST_PANELS and len({panel.column for panel in panels}) > 1:
        return False
    seats = seats_of(panels)
    if seats is None:
        return False
    tall = max(seat.below for seat in seats) + foot_of(panels) + GAP
    for legend in figure.legends:
        legend.set_loc("lower center")
        legend.set_bbox_to_anchor((0.5, GAP / 2.0 / (tall + LEGEND_ROOM)), figure.transFigure)
        tall += LEGEND_ROOM
    figure.set_size_inches(WIDE, tall)
    for panel, seat in zip(panels, seats, strict=True):
        place(panel, seat, tall)
    for axes in figure.axes:
        widen(axes, renderer)
    figure.draw_without_rendering()
    for axes in figure.axes:
        thin_ticks(axes, renderer)
    return legible(figure, renderer)


def prepared(figure: Figure) -> bool:
    """Give every panel the names and scales that it had from the one beside it; false if that cannot be."""
    for axes in figure.axes:
        left = left_of(axes, figure)
        if left is not None and not told_again(axes, left):
            return False
        if any(label.get_rotation() for label in axes.get_xticklabels()):
            return False
    for axes in figure.axes:
        break_names(axes)
        set_in_rows(axes)
        words = axes.get_xlabel()
        axes.set_xlabel(words if "\n" in words else textwrap.fill(words, SCALE_LETTERS))
        legend = axes.get_legend()
        if legend is not None and len(legend.get_texts()) > MOST_IN_A_ROW:
            explain_above(axes)
    return True


def explain_above(axes: Axes) -> None:
    """Explain the signs of a panel above it in two columns, where one row of them is too long."""
    handles, names = axes.get_legend_handles_labels()
    anchor = (0.35, 1.0)  # the names of the rows leave room on the left
    axes.legend(
        handles, names, loc="lower center", bbox_to_anchor=anchor, ncols=2, frameon=False, fontsize=8.5
    )


def left_of(axes: Axes, figure: Figure) -> Axes | None:
    """The panel left of another, as high as it; the nearest."""
    own = axes.get_position()
    level = [
        other
        for other in figure.axes
        if np.allclose(other.get_position().intervaly, own.intervaly) and other.get_position().x1 < own.x0
    ]
    return max(level, key=lambda other: float(other.get_position().x1), default=None)


def told_again(axes: Axes, left: Axes) -> bool:
    """Repeat names of rows, or the scale of heights, of the panel on the left; false if there is no place."""
    if named(left):
        if axes.axison and not len(axes.get_yticks()):
            names = [tick.get_text() for tick in left.get_yticklabels()]
            axes.set_yticks(left.get_yticks(), names, fontsize=left.get_yticklabels()[0].get_fontsize())
        return axes.axison
    if np.allclose(axes.get_ylim(), left.get_ylim()) and len(axes.get_yticks()) and not axes.get_ylabel():
        names = [tick.get_text() for tick in left.get_yticklabels()]
        axes.tick_params(labelleft=True)
        axes.set_yticks(left.get_yticks(), names)
        axes.set_ylim(left.get_ylim())
        axes.set_ylabel(left.get_ylabel(), fontsize=left.yaxis.label.get_fontsize())
    return True


def named(axes: Axes) -> bool:
    """Whether names, not numbers, stand left of a panel."""
    return any(letter.isalpha() for tick in axes.get_yticklabels() for letter in tick.get_text())


def break_names(axes: Axes) -> None:
    """Break long names left of bars into lines, and make room for them."""
    names = [tick.get_text().split("\n") for tick in axes.get_yticklabels()] if named(axes) else []
    if any(len(line) > NAME_LETTERS for lines in names for line in lines):
        broken = ["\n".join(part for line in lines for part in parts_of(line)) for lines in names]
        axes.set_yticks(axes.get_yticks(), broken)
        line = LINE * float(axes.get_yticklabels()[0].get_fontsize()) / 72.0
        needed = len(broken) * (line * max(name.count("\n") + 1 for name in broken) + LINE_GAP)
        box = axes.get_position()
        stretch = max(1.0, needed / inches(axes).height)
        axes.set_position((box.x0, box.y0, box.width, stretch * box.height))


def parts_of(line: str) -> list[str]:
    """Lines that a long one is broken into; no word is."""
    return textwrap.wrap(line, NAME_LETTERS, break_long_words=False)


def inches(axes: Axes) -> Bbox:
    """The frame of a panel [in]."""
    return axes.get_window_extent().transformed(axes.figure.dpi_scale_trans.inverted())


def set_in_rows(axes: Axes) -> None:
    """Names above a panel with their leaders, every other one a row higher."""
    names = [text for text in axes.texts if text.get_gid() == ABOVE]
    leaders = [line for line in axes.lines if line.get_gid() == ABOVE]
    if not names:
        return
    step = ROW_STEP / inches(axes).height
    ends = np.array([float(np.asarray(line.get_xdata())[1]) for line in leaders])
    spacing = min(ROW_SPACING, 1.0 / max(ends.size - 1, 1))
    for number, (seat, name, leader) in enumerate(zip(spread(ends, spacing), names, leaders, strict=True)):
        raised = step if number % 2 else 0.0
        name.set_position((float(seat), name.get_position()[1] + raised))
        lead(leader, float(seat), raised)


def lead(leader: Line2D, seat: float, raised: float) -> None:
    """Draw a leader to where its name is now."""
    (_, end), (start, foot) = np.asarray(leader.get_xdata()), np.asarray(leader.get_ydata())
    leader.set_data([seat, seat, float(end)], [float(start) + raised, float(start), float(foot)])


def panels_of(figure: Figure, renderer: RendererAgg) -> list[Panel]:
    """The panels in the order in which they were drawn; axes on one another are one."""
    groups: list[list[Axes]] = []
    for axes in figure.axes:
        group = next((each for each in groups if same_place(each[0], axes)), None)
        if group is None:
            groups.append([axes])
        else:
            group.append(axes)
    scale = figure.dpi_scale_trans.inverted()
    found = []
    for group in groups:
        boxes = [box for axes in group if (box := axes.get_tightbbox(renderer)) is not None]
        own = group[0].get_window_extent(renderer).transformed(scale)
        tight = Bbox.union(boxes).transformed(scale) if boxes else own
        found.append(Panel(group, own, tight))
    return found


def same_place(one: Axes, other: Axes) -> bool:
    """Whether axes lie on one another."""
    return bool(np.allclose(one.get_position().bounds, other.get_position().bounds, atol=1e-6))


def seats_of(panels: list[Panel]) -> list[Seat] | None:
    """A seat for each panel, from the top; nothing if one would become too small."""
    seats: list[Seat] = []
    down = GAP
    for number, panel in enumerate(panels):
        left, right = margins(panel, panels)
        before = panels[number - 1] if number else None
        if before is not None and panel.own.width <= SCALE_OF_COLOURS:
            gap = before.tight.x1 - before.own.x1 + max(panel.own.x0 - panel.tight.x0, 0.1)
            start = seats[-1].left + seats[-1].wide + gap
            seats.append(Seat(start, seats[-1].below, panel.own.width, seats[-1].high))
            continue
        wide = WIDE - 2 * EDGE - left - right - scale_room(panels[number + 1 :])
        if wide < NARROWEST:
            return None
        if before is not None:
            down = seats[-1].below + gap_between(before, panel)
        seats.append(
            Seat(
                EDGE + left,
                down + (panel.tight.y1 - panel.own.y1 if before is None else 0.0) + panel.own.height,
                wide,
                panel.own.height,
            )
        )
    return seats


def margins(panel: Panel, panels: list[Panel]) -> tuple[float, float]:
    """Room left and right of a panel, the same for all that stand on one another [in]."""
    column = [each for each in panels if each.column == panel.column]
    left = max(each.own.x0 - each.tight.x0 for each in column)
    return max(float(left), 0.3), float(max(each.tight.x1 - each.own.x1 for each in column))


def scale_room(following: list[Panel]) -> float:
    """Room for the scale of colours that follows, if it is one [in]."""
    if not following or following[0].own.width > SCALE_OF_COLOURS:
        return 0.0
    panel = following[0]
    return float(max(panel.own.x0 - panel.tight.x0, 0.1) + panel.tight.x1 - panel.own.x0)


def gap_between(upper: Panel, lower: Panel) -> float:
    """From a panel's lower edge to the upper edge of the next, as on the wide sheet where it can be [in]."""
    apart = float(upper.own.y0 - lower.own.y1)
    if upper.column == lower.column and apart >= 0.0:
        return apart
    return float(upper.own.y0 - upper.tight.y0 + lower.tight.y1 - lower.own.y1) + GAP


def foot_of(panels: list[Panel]) -> float:
    """Room below the last panel [in]."""
    last = next(panel for panel in reversed(panels) if panel.own.width > SCALE_OF_COLOURS)
    return float(last.own.y0 - last.tight.y0)


def place(panel: Panel, seat: Seat, tall: float) -> None:
    """Put a panel on its seat; what stands beside it keeps its distance."""
    share = panel.own.width / seat.wide
    for axes in panel.axes:
        axes.set_position((seat.left / WIDE, 1.0 - seat.below / tall, seat.wide / WIDE, seat.high / tall))
        for text in axes.texts:
            if text.get_transform() in (axes.transAxes, axes.get_yaxis_transform()):
                across, up = text.get_position()
                text.set_position((beside(float(across), share), up))
        across, up = axes.yaxis.label.get_position()
        if text_is_placed(axes):
            axes.yaxis.set_label_coords(beside(float(across), share), float(up))


def text_is_placed(axes: Axes) -> bool:
    """Whether the label of the upright scale stands at a place of its own, as a share of the width."""
    return axes.yaxis.label.get_transform() == axes.transAxes


def beside(across: float, share: float) -> float:
    """A place beside a panel, as a share of its width, after the width has changed."""
    if across < 0.0:
        return across * share
    return 1.0 + (across - 1.0) * share if across > 1.0 else across


def widen(axes: Axes, renderer: RendererAgg) -> None:
    """Make room within a panel of bars for the words at their ends."""
    words = [text for text in axes.texts if text.get_transform() == axes.transData]
    if not words or not named(axes):
        return
    own = axes.get_window_extent(renderer)
    for _ in range(TRIES):
        boxes = [box for box in (text.get_window_extent(renderer) for text in words) if is_somewhere(box)]
        if not boxes:
            return
        left = max(own.x0 - min(box.x0 for box in boxes), 0.0) / own.width
        right = max(max(box.x1 for box in boxes) - own.x1, 0.0) / own.width
        low, high = axes.get_xlim()
        axes.set_xlim(low - left * (high - low), high + right * (high - low))


def is_somewhere(box: Bbox) -> bool:
    """Whether words have a place: not where what they tell is no number."""
    return bool(np.isfinite(box.extents).all())


def thin_ticks(axes: Axes, renderer: RendererAgg) -> None:
    """Leave out numbers below a panel that would touch the one before."""
    end = -np.inf
    low, high = sorted(axes.xaxis.get_view_interval())
    for tick in axes.xaxis.get_major_ticks():
        if low <= tick.get_loc() <= high and tick.label1.get_visible() and tick.label1.get_text():
            box = tick.label1.get_window_extent(renderer)
            if box.x0 < end + TICK_GAP * axes.figure.dpi / 72.0:
                tick.label1.set_visible(False)
            else:
                end = box.x1


def legible(figure: Figure, renderer: RendererAgg) -> bool:
    """Whether all words are on the sheet and none lies on another."""
    words = list(seen(figure, renderer))
    if any(box.x0 < 0.0 or box.x1 > figure.bbox.x1 for box in words):
        return False
    corner = TOUCH * figure.dpi / 72.0
    edges = np.array([box.extents for box in words]).reshape(-1, 4)
    low = np.maximum(edges[:, None, :2], edges[None, :, :2])
    high = np.minimum(edges[:, None, 2:], edges[None, :, 2:])
    touching = ((high - low) > corner).all(axis=2)
    return not bool(np.triu(touching, 1).any())


def seen(figure: Figure, renderer: RendererAgg) -> Iterator[Bbox]:
    """Where words are: of numbers beside a panel only those of its own range are drawn."""
    for axes in figure.axes:
        legend = axes.get_legend()
        words = [axes.title, axes.xaxis.label, axes.yaxis.label, *axes.texts]
        words += [] if legend is None else legend.get_texts()
        for axis in (axis for axis in (axes.xaxis, axes.yaxis) if axes.axison and axis.get_visible()):
            low, high = sorted(axis.get_view_interval())
            ticks = [tick for tick in axis.get_major_ticks() if low <= tick.get_loc() <= high]
            words += [label for tick in ticks for label in (tick.label1, tick.label2)]
        for word in words:
            if word.get_visible() and word.get_text().strip():
                yield word.get_window_extent(renderer)
