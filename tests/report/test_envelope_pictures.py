import io
import re
import subprocess
import sys
from math import nan
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.path import Path
from synthetic_envelope import FINISH_AT_SEA, LIMIT, synthetic_envelope

from simengine.report.envelope.captions import heights_caption
from simengine.report.envelope.pictures import DRAWERS, envelope_drawers
from simengine.report.envelope.run import write_envelope
from simengine.results.cautions import SHORT_CAUTION
from simengine.results.netcdf import read_netcdf

NAMES = tuple(DRAWERS)


def drawn(name, kind="ceiling", **changes):
    return DRAWERS[name](synthetic_envelope(kind, **changes))


def words_of(figure):
    texts = [text.get_text() for text in figure.texts]
    for axes in figure.axes:
        texts += [text.get_text() for text in axes.texts]
        texts += [axes.get_ylabel(), axes.get_xlabel(), axes.get_title()]
        texts += [label.get_text() for label in (*axes.get_xticklabels(), *axes.get_yticklabels())]
    return " ".join("\n".join(texts).replace("\u00a0", " ").split())


@pytest.fixture(scope="module")
def figures():
    return {name: drawn(name) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_every_picture_has_title_caution_and_provenance(figures, name):
    words = words_of(figures[name])
    assert "Invented demo: 28 m wing, two-stop hub" in words
    assert SHORT_CAUTION in words
    assert "scenario c040c2096498" in words


def test_the_sentence_under_the_picture_is_the_conclusion(figures):
    assert heights_caption(synthetic_envelope()).words in words_of(figures["heights"])


@pytest.mark.parametrize(
    ("name", "labels"),
    [
        (
            "heights",
            (
                "ENGINE rpm (propeller rpm = engine ÷ 2.68)",
                "height above mean sea level (geometric), m",
                "density altitude, m",
                "SHIFT CEILING 3750 m",
                "service ceiling 3875 m",
                "limit 8500",
                "SHIFT DOES NOT FINISH",
                "SHIFT FINISHES",
                "FULL THROTTLE",
                "full throttle, if coarse",
            ),
        ),
        (
            "states",
            ("all-up mass, kg", "throttle, %", "throttle OPENED slowly", "throttle CLOSED slowly", "H"),
        ),
        (
            "moments",
            ("N m per blade", "ENGINE rpm", "spring", "centrifugal", "counterweight", "air", "NET", "18 %"),
        ),
        ("sweep", ("throttle, %", "ENGINE rpm", "blade angle, degrees", "limit 8500 rpm", "At 1120 m")),
        ("changes", ("change of the shift ceiling, m", "+1130 m, to 4880 m", "one washer more", "-790 m")),
    ],
)
def test_scales_limits_and_marks_are_named(figures, name, labels):
    words = words_of(figures[name])
    for label in labels:
        assert label in words, label


def test_heights_draws_the_lines_of_the_dataset(figures):
    dataset = synthetic_envelope().sel(mass=133.0, bar=0.0).isel(temperature_offset=0)
    axes = figures["heights"].axes[0]
    drawn_lines = [np.asarray(line.get_xdata(), dtype=float) for line in axes.lines]
    for name in (
        "shift_begin_rpm",
        "shift_finish_rpm",
        "return_begin_rpm",
        "return_finish_rpm",
        "full_throttle_rpm",
    ):
        assert any(
            line.shape == (41,) and np.array_equal(line, dataset[name].values) for line in drawn_lines
        ), name
    assert any(np.all(line == LIMIT) for line in drawn_lines)


def test_the_hatched_band_begins_at_the_ceiling(figures):
    bands = [patch for patch in figures["heights"].axes[0].patches if patch.get_hatch()]
    assert len(bands) == 1
    assert bands[0].get_y() == pytest.approx(3750.0)
    assert bands[0].get_y() + bands[0].get_height() == pytest.approx(5000.0)


def test_density_altitude_stands_beside_its_height(figures):
    right = figures["heights"].axes[1]
    ticks = dict(
        zip((label.get_text() for label in right.get_yticklabels()), right.get_yticks(), strict=True)
    )
    # The made-up air has density altitude = 1.04 height + 60 m.
    assert ticks["3000"] == pytest.approx((3000.0 - 60.0) / 1.04)


@pytest.mark.parametrize(("name", "kinds"), [("heights", 4), ("moments", 5), ("sweep", 2)])
def test_lines_differ_by_dashes_and_not_by_colour_alone(figures, name, kinds):
    text = io.StringIO()
    figures[name].savefig(text, format="svg")
    assert len(set(re.findall(r"stroke-dasharray: ([\d., ]+)", text.getvalue()))) >= kinds


def test_hung_parts_of_the_maps_are_hatched_and_lettered(figures):
    by_mass, _, opening, closing = figures["states"].axes
    assert {patch.get_hatch() for patch in by_mass.patches} == {"////", ""}
    for axes in (by_mass, opening, closing):
        assert {text.get_text() for text in axes.texts} >= {"H", "F"}


def test_the_zero_crossing_of_the_net_moment_is_marked():
    axes = drawn("moments", "always").axes[0]
    marks = [line for line in axes.lines if line.get_marker() == "o"]
    dataset = synthetic_envelope("always")
    net = sum(
        dataset[f"budget_{name}"].values[0, 0] for name in ("spring", "centrifugal", "counterweight", "air")
    )
    rpm = dataset["budget_rpm"].values
    expected = np.interp(0.0, net[::-1], rpm[::-1])
    assert float(marks[0].get_xdata()[0]) == pytest.approx(expected, abs=0.01)


def test_no_words_lie_on_the_line_of_the_rpm_limit():
    dataset = synthetic_envelope()
    dataset["engine_rpm_limit"] = dataset["engine_rpm_limit"].copy(data=6000.0)
    figure = DRAWERS["moments"](dataset)
    figure.canvas.draw()
    told = []
    for axes in figure.axes[:8]:
        words = axes.texts[0]
        (limit,) = (line for line in axes.lines if list(line.get_xdata()) == [6000.0, 6000.0])
        told.append(words.get_text())
        assert limit.get_window_extent().y1 < words.get_window_extent().y0
    assert any("past the limit" in words for words in told)


def test_the_sweep_has_arrows_both_ways(figures):
    heads = [line.get_marker() for line in figures["sweep"].axes[0].lines]
    tips = [head.vertices[0] for head in heads if isinstance(head, Path)]
    assert {np.sign(across) for across, _ in tips} == {-1.0, 1.0}
    # The made-up rpm never falls with throttle, so an arrow to the right points up.
    assert all(across * up >= 0.0 for across, up in tips)


def tick_labels(axes):
    """Labels of the ticks that are inside the scales; the others are not drawn."""
    shown = []
    for axis, (low, high) in ((axes.xaxis, sorted(axes.get_xlim())), (axes.yaxis, sorted(axes.get_ylim()))):
        shown += [
            label
            for place, label in zip(axis.get_ticklocs(), axis.get_ticklabels(), strict=False)
            if low <= place <= high
        ]
    return shown


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("kind", FINISH_AT_SEA)
def test_nothing_is_written_outside_the_picture(name, kind):
    figure = drawn(name, kind)
    figure.draw_without_rendering()
    width, height = figure.canvas.get_width_height()
    texts = [*figure.texts, *(text for axes in figure.axes for text in axes.texts)]
    texts += [axes.title for axes in figure.axes]
    texts += [label for axes in figure.axes for label in (axes.xaxis.label, axes.yaxis.label)]
    texts += [label for axes in figure.axes for label in tick_labels(axes)]
    for text in texts:
        if text.get_text() and text.get_visible():
            box = text.get_window_extent()
            assert box.x0 >= 0, text.get_text()
            assert box.y0 >= 0, text.get_text()
            assert box.x1 <= width, text.get_text()
            assert box.y1 <= height, text.get_text()


@pytest.mark.parametrize("name", NAMES)
def test_figures_that_are_missing_do_not_stop_a_picture(name):
    dataset = synthetic_envelope("never")
    for variable in dataset.data_vars:
        is_shift = str(variable).startswith(
            ("shift_", "return_", "ground_", "change_", "service", "budget_air_share")
        )
        if is_shift and dataset[variable].dtype.kind == "f":
            dataset[variable][...] = nan
    DRAWERS[name](dataset).draw_without_rendering()


def test_one_mass_and_one_bar_can_be_drawn():
    dataset = synthetic_envelope().isel(mass=[1], bar=[0])
    for draw in DRAWERS.values():
        draw(dataset).draw_without_rendering()


def test_a_hub_without_a_shift_has_one_picture():
    dataset = synthetic_envelope(hub_kind="fixed")
    drawers = envelope_drawers(dataset)
    assert list(drawers) == ["heights"]
    words = words_of(drawers["heights"](dataset))
    assert "FULL THROTTLE" in words
    assert "SHIFT" not in words


def test_files_are_written_and_can_be_read(tmp_path):
    dataset = synthetic_envelope()
    paths = write_envelope(dataset, tmp_path / "demo.envelope.nc").paths
    expected = [
        "demo.envelope.nc",
        *(f"demo.envelope.{name}.{form}" for name in NAMES for form in ("png", "svg")),
    ]
    assert [path.name for path in paths] == expected
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(expected)
    assert read_netcdf(paths[0]).identical(dataset)
    for path in paths[2::2]:
        assert ElementTree.parse(path).getroot().tag.endswith("svg")


def test_pictures_can_be_left_out(tmp_path):
    paths = write_envelope(synthetic_envelope(), tmp_path / "demo.envelope.nc", pictures=False).paths
    assert [path.name for path in paths] == ["demo.envelope.nc"]


def test_drawing_touches_nothing_global():
    code = "import simengine.report.envelope.pictures, sys; print('matplotlib.pyplot' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
