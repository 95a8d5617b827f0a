"""Pictures laid out anew for a phone: panels below one another, every word on the sheet, none on another."""

import itertools

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox
from synthetic_envelope import synthetic_envelope
from synthetic_flight import synthetic_flight

from simengine.report.envelope.pictures import envelope_drawers
from simengine.report.flight.picture import flight_picture
from simengine.report.outputs import plain_text
from simengine.report.page.drawings import flight_block, picture_block
from simengine.report.page.narrow import WIDE, legible, narrowed, renderer_of

ON_A_SHEET = 4  # words above and below the panels


def on_a_phone(dataset, name):
    """A picture of an envelope, its words taken away, laid out anew; and whether that came out well."""
    with plain_text():
        figure = envelope_drawers(dataset)[name](dataset)
        for words in figure.texts[:ON_A_SHEET]:
            words.remove()
        return figure, narrowed(figure)


def two_panels():
    """Two panels side by side on a wide sheet, the names of the rows on the left one only."""
    figure = Figure(figsize=(11.0, 4.0))
    FigureCanvasAgg(figure)
    left, right = figure.add_axes((0.3, 0.2, 0.3, 0.6)), figure.add_axes((0.65, 0.2, 0.3, 0.6))
    for axes in (left, right):
        axes.barh([0, 1], [1.0, 2.0])
    left.set_yticks([0, 1], ["first row", "a second row with a name that is too long for a phone"])
    right.set_yticks([])
    return figure, left, right


@pytest.mark.parametrize("name", ["heights", "states", "sweep", "changes"])
def test_panels_stand_below_one_another_on_the_width_of_a_phone(name):
    figure, well = on_a_phone(synthetic_envelope(), name)
    assert well
    assert figure.get_figwidth() == WIDE
    frames = {tuple(np.round(axes.get_position().bounds, 6)) for axes in figure.axes}
    boxes = sorted((Bbox.from_bounds(*frame) for frame in frames), key=lambda box: -box.y1)
    for upper, lower in itertools.pairwise(boxes):
        assert lower.y1 <= upper.y0
    assert all(box.x0 >= 0.0 and box.x1 <= 1.0 and box.y0 >= 0.0 and box.y1 <= 1.0 for box in boxes)


def test_a_table_of_panels_with_common_headings_stays_wide():
    _, well = on_a_phone(synthetic_envelope(), "moments")
    assert not well


def test_names_of_rows_are_repeated_and_broken_into_lines():
    figure, left, right = two_panels()
    assert narrowed(figure)
    assert left.get_position().y0 > right.get_position().y1
    names = [[tick.get_text() for tick in axes.get_yticklabels()] for axes in (left, right)]
    assert names[0] == names[1]
    assert names[0][0] == "first row"
    assert names[0][1].count("\n") == 2


def test_words_that_lie_on_one_another_or_off_the_sheet_are_seen():
    for second, good in (((0.1, 0.8), True), ((0.12, 0.4), False), ((0.98, 0.8), False)):
        figure = Figure(figsize=(WIDE, 3.0))
        FigureCanvasAgg(figure)
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.text(0.1, 0.4, "one of them")
        axes.text(*second, "the other one")
        assert legible(figure, renderer_of(figure)) is good


def test_letters_of_a_flight_do_not_touch_on_a_phone():
    figure = flight_picture(synthetic_flight(hangs=True, extra_events=60).dataset(), WIDE)
    for words in list(figure.texts):
        words.remove()
    figure.draw_without_rendering()
    assert legible(figure, renderer_of(figure))


def test_a_page_has_both_drawings_with_names_of_their_own():
    dataset = synthetic_envelope()
    blocks = [
        flight_block(synthetic_flight(hangs=True).dataset(), "r1p1-"),
        picture_block("heights", envelope_drawers(dataset)["heights"], dataset, "r2p1-"),
    ]
    for block in blocks:
        assert block.svg != block.narrow
        assert block.narrow.startswith("<svg")
        assert 'id="r2p1-n' in block.narrow or 'id="r1p1-n' in block.narrow
    moments = picture_block("moments", envelope_drawers(dataset)["moments"], dataset, "r2p2-")
    assert moments.narrow == ""
