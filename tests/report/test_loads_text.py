"""What is said about load figures; numbers of the demo are not told here, words and relations are."""

import io

import numpy as np
import pytest
from computed_loads import changed, computed
from rich.console import Console

from simengine.report.loads.document import loads_json
from simengine.report.loads.facts import STRUCTURE_CAUTION, close_modes, conditions, failures
from simengine.report.loads.pictures import loads_drawers
from simengine.report.loads.table import loads_tables, spring_lines
from simengine.report.loads.text import landing_words, loads_conclusion, loads_sentences, yardstick_lines
from simengine.report.outputs import plain_text
from simengine.results.yardsticks import OUTSIDE, YARDSTICKS

FIXED = "climb_and_cruise_fixed"
PLAIN = "climb_and_cruise"


def tables_text(dataset):
    text = io.StringIO()
    console = Console(file=text, width=200, color_system=None)
    for table in loads_tables(dataset):
        console.print(table)
    return text.getvalue()


def failure(dataset, name):
    return next(row for row in failures(dataset) if row.name == name)


def with_failure(name, **figures):
    dataset = computed().copy(deep=True)
    row = [str(each) for each in dataset["failure"].values].index(name)
    for key, value in figures.items():
        dataset[key].values[row] = value
    return dataset


def test_the_caution_on_structure_is_the_last_word():
    for name in ("loads_and_failures", PLAIN, FIXED):
        sentences = loads_sentences(computed(name))
        assert sentences[-1].words == STRUCTURE_CAUTION
        assert sentences[-1].warns


def test_no_margin_is_claimed_without_section_or_strength():
    assert "not given (loads.root), no margin claimed" in loads_conclusion(computed(PLAIN))
    told = loads_conclusion(changed(root_strength=np.nan, load_strength_factor=np.nan))
    assert "strength of the material not given, no margin claimed" in told
    assert "no margin claimed" in loads_conclusion(computed())


def test_a_strength_below_the_stress_warns():
    dataset = changed(load_strength_factor=0.8)
    assert next(each for each in loads_sentences(dataset) if each.words.startswith("Root")).warns


def test_pull_in_both_units():
    row = next(row for row in conditions(computed()) if row.name.startswith("engine rpm limit"))
    words = f"{row['load_pull']:.0f} N ({row['load_pull_kgf']:.0f} kgf)"
    assert words in loads_conclusion(computed())
    assert row["load_pull"] / row["load_pull_kgf"] == pytest.approx(9.80665)


@pytest.mark.parametrize(
    ("strokes", "words"), [(0.0, "TAKES A SET"), (1e5, "1e+05 strokes"), (np.inf, "no end of life")]
)
def test_life_of_the_spring(strokes, words):
    dataset = changed(spring_strokes_allowed=strokes)
    sentence = next(each for each in loads_sentences(dataset) if each.words.startswith("Spring"))
    assert words in sentence.words
    assert sentence.warns == (strokes < np.inf)


def test_a_failure_that_is_left_out_is_told():
    dataset = computed().copy()
    assert "cannot have it" not in loads_conclusion(dataset)
    dataset.attrs["failures_left_out"] = "lost_washer"
    assert "Asked for, but this hub cannot have it: lost washer." in loads_conclusion(dataset)


def test_what_the_conclusion_has_no_room_for_is_in_the_table():
    near = np.full_like(computed()["mode_separation"].values, 0.01)
    dataset = changed(mode_separation=near)
    more = len(close_modes(dataset)) - 4
    assert more > 0
    assert f"; {more} more in the table." in loads_conclusion(dataset)


def test_near_frequencies_are_told_nearest_first():
    dataset = changed(mode_separation=[[0.05, 0.2, -0.01], [0.3, 0.3, 0.3], [0.3, 0.3, 0.3]])
    assert [near.setting for near in close_modes(dataset)] == ["fine", "coarse"]
    assert "floating blade, fine" in loads_conclusion(dataset)
    far = changed(mode_separation=0.4)
    assert "none is within 10 %" in loads_conclusion(far)


# --- failures --------------------------------------------------------------------------------------
def test_where_a_broken_spring_leaves_the_blades():
    assert "the FINE stop and stay there: already below idle" in loads_conclusion(computed())
    late = with_failure("broken_spring", failure_shift_finish_rpm=6000.0)
    assert "the FINE stop once 6000 rpm is passed" in loads_conclusion(late)
    never = with_failure("broken_spring", failure_pitch_state=0, failure_shift_finish_rpm=np.nan)
    assert "the COARSE stop and stay there" in loads_conclusion(never)
    hung = with_failure("broken_spring", failure_pitch_state=2, failure_blade_angle=12.3)
    assert "12.3 deg, BETWEEN the stops" in loads_conclusion(hung)


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"failure_level_status": 1, "failure_climb_rate": -0.7}, "Sinks at 0.7 m/s at full throttle: glide"),
        ({"failure_level_status": 2}, "stop the engine to land"),
        ({"failure_level_status": 3}, "No throttle holds level"),
        ({"failure_level_status": 0}, "to a near landing"),
        (
            {"failure_rpm_margin": -120.0, "failure_throttle_at_limit": 0.8},
            "passes the rpm limit by 120 rpm: keep below 80 % throttle",
        ),
        ({"failure_out_of_plane": 30.0}, "throttle to idle, land"),
        (
            {"failure_return_finish_rpm": 3000.0, "failure_level_pitch_state": 0},
            "the blades are back only below 3000 rpm",
        ),
    ],
)
def test_the_way_to_a_landing(figures, words):
    assert words in landing_words(failure(with_failure("lost_washer", **figures), "lost_washer"))


def test_what_goes_wrong_is_in_the_conclusion():
    assert "even as built" in loads_conclusion(with_failure("as built", failure_rpm_margin=-1.0))
    over = with_failure("stuck_fine", failure_rpm_margin=-50.0)
    assert "passes the rpm limit with: stuck fine." in loads_conclusion(over)
    sunk = with_failure("stuck_coarse", failure_level_status=1)
    assert "NOT be held steadily with: " in loads_conclusion(sunk)
    assert "stuck coarse" in loads_conclusion(sunk)
    hung = with_failure("dry_bearing", failure_pitch_state=2)
    assert "no longer finishes with: dry bearing" in loads_conclusion(hung)


# --- tables, document, pictures --------------------------------------------------------------------
def test_tables_hold_every_condition_and_failure():
    text = tables_text(computed())
    for row in conditions(computed()):
        assert row.name in text
    for word in ("broken spring", "stuck coarse", "dry bearing", "strength / sum", "Goodman"):
        assert word in text + spring_lines(computed())
    assert "no margin claimed" in text


def test_a_fixed_hub_has_no_stops_no_spring_and_no_failures():
    text = tables_text(computed(FIXED))
    for word in ("Stops", "spring", "Failures", "Frequencies"):
        assert word not in text
    assert spring_lines(computed(FIXED)) == ""
    assert set(loads_drawers(computed(FIXED))) == {"blade"}


def test_yardsticks_with_clause_and_what_they_mean_here():
    told = yardstick_lines(computed())
    assert told[0] == OUTSIDE
    assert len(told) == len(YARDSTICKS) + 1
    pull = float(computed()["pull_at_limit"])
    assert f"here {2.0 * pull:.0f} N per blade" in told[1]
    assert f"here {1.59 * pull:.0f} N per blade" in told[2]


def test_the_document():
    document = loads_json(computed())
    assert set(document["landing"]) == {row.name for row in failures(computed())}
    assert document["figures"]["spring_strokes_allowed"] is None  # without end
    assert document["units"]["load_pull"] == "N"
    assert not any(name.startswith("campbell_") for name in document["figures"])
    assert document["figures"]["failure_level_status"][0] == "reached"


@pytest.mark.parametrize("name", ["loads_and_failures", PLAIN, FIXED])
def test_every_picture_is_drawn_with_its_caution(name):
    for draw in loads_drawers(computed(name)).values():
        with plain_text():
            figure = draw(computed(name))
            figure.canvas.draw()
        words = " ".join(" ".join(text.get_text().split()) for text in figure.texts)
        assert "claim no margin" in words.replace("\u00a0", " ")
        assert "CAUTION" in words


def test_a_picture_says_no_margin_claimed():
    with plain_text():
        figure = loads_drawers(computed(PLAIN))["blade"](computed(PLAIN))
    assert any("NO MARGIN CLAIMED" in text.get_text() for axes in figure.axes for text in axes.texts)
