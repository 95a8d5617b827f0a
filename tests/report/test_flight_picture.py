import subprocess
import sys
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from synthetic_flight import SITE_HEIGHT, synthetic_flight

from simengine.report.flight.picture import flight_picture
from simengine.report.outputs import write_outputs
from simengine.results.cautions import SHORT_CAUTION


def words_of(figure):
    texts = [text.get_text() for text in figure.texts]
    for axes in figure.axes:
        texts += [text.get_text() for text in axes.texts]
        texts += [axes.get_ylabel(), axes.get_xlabel()]
    return "\n".join(texts)


def panel(figure, label):
    return next(axes for axes in figure.axes if label in axes.get_ylabel())


@pytest.fixture(scope="module")
def hung_figure(hung_result):
    return flight_picture(hung_result)


def test_every_panel_has_its_quantity_and_unit(hung_figure):
    words = words_of(hung_figure)
    for label in (
        "throttle\n%",
        "ENGINE\nrpm",
        "PROPELLER rpm\n(engine ÷ 2.9)",
        "blade angle\ndegrees",
        "height\nabove sea\nlevel, m",
        "fuel flow\nL/h",
        "time since the start, min",
    ):
        assert label in words


def test_title_conclusion_and_caution_are_in_the_picture(hung_figure):
    words = words_of(hung_figure).replace("\n", " ")
    assert "Invented demo: 28 m wing, two-stop hub" in words
    assert "!! In the climb the shift begins at" in words
    assert SHORT_CAUTION in words
    assert "scenario c040c2096498" in words


def test_both_stops_are_drawn_and_named(hung_figure):
    axes = panel(hung_figure, "blade angle")
    levels = {round(float(line.get_ydata()[0]), 6) for line in axes.lines if line.get_linestyle() == "--"}
    assert levels == {15.0, 10.5}
    words = words_of(hung_figure)
    assert "coarse stop\n15.0°" in words
    assert "fine stop\n10.5°" in words


def test_the_hang_is_written_at_the_line(hung_figure):
    assert any(text.get_text().startswith("hangs at 1") for text in panel(hung_figure, "blade angle").texts)


def test_the_right_hand_scale_is_the_propellers(hung_figure):
    engine = panel(hung_figure, "ENGINE")
    propeller = panel(hung_figure, "PROPELLER")
    assert np.array(propeller.get_ylim()) * 2.9 == pytest.approx(engine.get_ylim())
    limit = [line for line in engine.lines if line.get_linestyle() == "--"]
    assert [float(line.get_ydata()[0]) for line in limit] == [pytest.approx(8000.0)]


def test_states_are_told_by_letter_and_hatch_and_not_by_colour_alone(hung_figure):
    band = panel(hung_figure, "blades")
    assert {text.get_text() for text in band.texts} >= {"C", "H", "F"}
    assert [collection.get_hatch() for collection in band.collections[:4]] == ["", "....", "////", ""]


def test_the_line_drawn_is_the_trace(hung_figure, hung_result):
    drawn = panel(hung_figure, "height").lines[0]
    assert drawn.get_ydata().max() == hung_result["height"].values.max()
    assert drawn.get_ydata().min() == SITE_HEIGHT
    assert len(drawn.get_xdata()) <= 1002


def test_a_fixed_hub_has_no_stops_and_no_band():
    figure = flight_picture(synthetic_flight(hub_kind="fixed").dataset())
    words = words_of(figure)
    assert "fixed\n10.5°" in words
    assert "coarse stop" not in words
    assert not any(axes.get_ylabel() == "blades" for axes in figure.axes)


def test_events_that_are_not_marked_are_counted():
    figure = flight_picture(synthetic_flight(extra_events=60).dataset())
    assert "54 more events are not marked; the result file has them all" in words_of(figure)


def test_letters_do_not_touch():
    figure = flight_picture(synthetic_flight(hangs=True, extra_events=60).dataset())
    letters = [text for text in figure.axes[0].texts if len(text.get_text()) == 1]
    assert len(letters) > 10
    boxes = sorted((text.get_window_extent() for text in letters), key=lambda box: box.x0)
    assert all(left.x1 <= right.x0 for left, right in pairwise(boxes))


def test_nothing_is_written_outside_the_picture(hung_figure):
    width, height = hung_figure.canvas.get_width_height()
    texts = [*hung_figure.texts, *(text for axes in hung_figure.axes for text in axes.texts)]
    texts += [axes.yaxis.label for axes in hung_figure.axes]
    hung_figure.draw_without_rendering()
    for text in texts:
        if text.get_text():
            box = text.get_window_extent()
            assert box.x0 >= 0, text.get_text()
            assert box.y0 >= 0, text.get_text()
            assert box.x1 <= width, text.get_text()
            assert box.y1 <= height, text.get_text()


@pytest.mark.parametrize("phases", [1, 60])
def test_any_number_of_phases_can_be_drawn(phases):
    flight = synthetic_flight()
    edges = np.linspace(0.0, 3720.0, phases + 1)
    one = flight.phases[0]
    many = tuple(
        replace(one, name=f"phase {index}", start=start, end=end)
        for index, (start, end) in enumerate(pairwise(edges))
    )
    flight_picture(replace(flight, phases=many, events=()).dataset()).draw_without_rendering()


def test_files_are_written_and_can_be_read(flight_result, tmp_path):
    paths = write_outputs(flight_result, tmp_path, "demo")
    assert [path.name for path in paths] == ["demo.nc", "demo.png", "demo.svg"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["demo.nc", "demo.png", "demo.svg"]
    assert paths[1].read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    root = ElementTree.parse(paths[2]).getroot()
    assert root.tag.endswith("svg")
    assert "Invented demo" in paths[2].read_text(encoding="utf-8")


def test_equal_results_give_equal_vector_pictures(flight_result, tmp_path):
    first, second = (write_outputs(flight_result, tmp_path / name, "demo")[2] for name in ("a", "b"))
    assert first.read_bytes() == second.read_bytes()


def test_pictures_can_be_left_out(flight_result, tmp_path):
    assert [path.name for path in write_outputs(flight_result, tmp_path, "d", pictures=False)] == ["d.nc"]


def test_drawing_touches_nothing_global():
    code = "import simengine.report.flight.picture, sys; print('matplotlib.pyplot' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
