"""Files of readings: what is read, and every error by its row."""

from math import pi, radians

import pytest

from simengine.errors import ScenarioError
from simengine.scenario.raw_log import is_log, load_log
from simengine.scenario.readings import load_readings

HEAD = "what, value, unit, +-, phase, height m, direction, angle deg, duration min, use, note\n"


def load(tmp_path, text, head=HEAD):
    file = tmp_path / "run.csv"
    file.write_text(head + text)
    return load_readings(file)


def complaints(tmp_path, text, head=HEAD):
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, text, head)
    return caught.value.problems


def test_values_are_si_with_their_bands(tmp_path):
    begin, thrust, torque = load(
        tmp_path,
        "shift_begin_rpm, 5500, rpm, 60, ground, 120\n"
        "# a comment\n"
        "static_thrust, 70, kgf, 2 %\n"
        "spring_torque, 8.1, Nm, , bench, , up, 14, , hold, by scale\n",
    )
    assert begin.value == pytest.approx(5500 * 2 * pi / 60)
    assert begin.plus_minus == pytest.approx(60 * 2 * pi / 60)
    assert begin.where == {"height": 120.0}
    assert (begin.row, begin.usual, begin.held) == (2, False, False)
    assert thrust.value == pytest.approx(70 * 9.80665)
    assert thrust.plus_minus == pytest.approx(0.02 * thrust.value)
    assert thrust.phase == "ground"
    assert torque.usual and torque.held and torque.plus_minus > 0.0
    assert torque.where == {"angle": pytest.approx(radians(14.0))}
    assert torque.row == 5


def test_fuel_by_weight_or_by_volume(tmp_path):
    by_volume, by_weight = load(
        tmp_path,
        "fuel_used, 1.9, L, 0.1, level, 1000, , , 30\nfuel_used, 1.4, kg, 0.05, level, 1000, , , 30\n",
    )
    assert by_volume.value == pytest.approx(1.9e-3)
    assert by_weight.value == pytest.approx(1.4) and by_weight.where["by_mass"] == 1.0


def test_semicolons_and_a_byte_order_mark_of_a_spreadsheet(tmp_path):
    file = tmp_path / "run.csv"
    file.write_text("\ufeffwhat;value;unit\nshift_begin_rpm;5500;rpm\n", encoding="utf-8")
    assert len(load_readings(file)) == 1


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("shift_begin_rpm, 5500, km/h", "unit", "'km/h' is the unit of a speed"),
        ("shift_begin_rpm, 5500, ", "unit", "a unit is required"),
        ("shift_begn_rpm, 5500, rpm", "what", "nearest: 'shift_begin_rpm'"),
        ("static_thrust, -20, N", "value", "impossible"),
        ("shift_begin_rpm, 550000, rpm", "value", "possible: 300 rpm to 20000 rpm"),
        ("shift_begin_rpm, much, rpm", "value", "not a number"),
        ("shift_begin_rpm, , rpm", "value", "is empty"),
        ("shift_begin_rpm, 5500, rpm, 0", "+-", "above zero"),
        ("shift_begin_rpm, 5500, rpm, 60, climbing", "phase", "nearest: 'climb'"),
        ("static_thrust, 700, N, 20, climb", "phase", "accepted: ground"),
        ("shift_begin_rpm, 5500, rpm, 60, ground, 120000", "height", "impossible"),
        ("fuel_used, 2, L, 0.1, level", "duration", "is required for 'fuel_used'"),
        ("spring_torque, 8, N*m, 0.3, bench, , , 14", "direction", "is required"),
        ("shift_begin_rpm, 5500, rpm, 60, ground, , , , , keep", "use", "accepted: fit, hold"),
        ("shift_begin_rpm, 5500, rpm, 60, ground, 1, , , , , , ,", "", "cells"),
    ],
)
def test_errors_name_row_column_and_what_is_accepted(tmp_path, row, column, words):
    (problem,) = complaints(tmp_path, "shift_finish_rpm, 7000, rpm\n" + row + "\n")
    assert problem.line == 3
    assert problem.key == column
    assert words in problem.message


def test_swapped_begin_and_finish_are_told_by_row(tmp_path):
    (problem,) = complaints(tmp_path, "shift_begin_rpm, 7000, rpm\nshift_finish_rpm, 5500, rpm\n")
    assert problem.line == 3 and "swapped" in problem.message and "row 2" in problem.message
    (problem,) = complaints(tmp_path, "return_finish_rpm, 7000, rpm\nreturn_begin_rpm, 5500, rpm\n")
    assert problem.line == 3 and "swapped" in problem.message


def test_a_climb_that_finishes_above_the_ground_run_is_no_swap(tmp_path):
    text = "shift_begin_rpm, 7100, rpm, 60, climb\nshift_finish_rpm, 7000, rpm, 60, ground\n"
    assert len(load(tmp_path, text)) == 2


def test_the_same_row_twice_is_told_and_two_readings_of_one_thing_are_not(tmp_path):
    row = "shift_begin_rpm, 5500, rpm, 60, ground, , , , , , "
    (problem,) = complaints(tmp_path, f"{row}\n{row}\n")
    assert problem.line == 3 and "same as row 2" in problem.message
    assert len(load(tmp_path, f"{row}first\n{row}second\n")) == 2


def test_the_same_reading_typed_in_another_way_is_told(tmp_path):
    (problem,) = complaints(
        tmp_path, "shift_begin_rpm, 5500, rpm, 60\nshift_begin_rpm, 5500.0, rpm, 60, ground,\n"
    )
    assert problem.line == 3 and "same as row 2" in problem.message


@pytest.mark.parametrize("band", ["1e300", "1e-300", "0.01"])
def test_a_band_beyond_belief_is_told(tmp_path, band):
    (problem,) = complaints(tmp_path, f"shift_begin_rpm, 5500, rpm, {band}\n")
    assert "usual for 'shift_begin_rpm' is 60 rpm" in problem.message


def test_a_cell_of_endless_length_or_a_comma_for_a_point_are_told_by_row(tmp_path):
    (problem,) = complaints(tmp_path, "shift_begin_rpm, 5500, rpm, " + "6" * 200000 + "\n")
    assert problem.line == 2 and "no row of a csv file" in problem.message
    problems = complaints(tmp_path, "static_thrust,815,5,N\n", "what,value,unit\n")
    assert any("decimals are written with a point" in problem.message for problem in problems)
    problems = complaints(tmp_path, "static_thrust;815,5;N\n", "what;value;unit\n")
    assert [problem.message for problem in problems] == [
        "'815,5' is not a number; write decimals with a point"
    ]


def test_tabs_part_cells_too(tmp_path):
    (thrust,) = load(tmp_path, "static_thrust\t815\tN\n", "what\tvalue\tunit\n")
    assert thrust.value == 815.0


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("value, unit\n", "this column is missing"),
        ("what, value, unit, heigt m\n", "nearest: 'height'"),
        ("what, value, unit, height\n", "a unit is required"),
        ("what, value, unit, height kg\n", "unit of a mass"),
        ("what, value, unit, unit\n", "twice"),
    ],
)
def test_headings(tmp_path, head, words):
    problems = complaints(tmp_path, "shift_begin_rpm, 5500, rpm\n", head)
    assert any(words in str(problem) and problem.line == 1 for problem in problems)


@pytest.mark.parametrize("text", ["", "# only a comment\n\n"])
def test_an_empty_file_holds_no_readings(tmp_path, text):
    (problem,) = complaints(tmp_path, text, "")
    assert "no readings" in problem.message


def test_headings_alone_are_no_reading(tmp_path):
    (problem,) = complaints(tmp_path, "")
    assert "no reading" in problem.message


def test_a_file_that_is_not_there_or_no_text(tmp_path):
    with pytest.raises(ScenarioError, match="no such file"):
        load_readings(tmp_path / "none.csv")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(ScenarioError, match="not UTF-8 text"):
        load_readings(tmp_path / "bytes.csv")


def test_all_errors_of_a_file_are_told_at_once(tmp_path):
    problems = complaints(tmp_path, "shift_begin_rpm, x, rpm\nnothing, 1, m\nstatic_thrust, 700, kg\n")
    assert [problem.line for problem in problems] == [2, 3, 4]


# --- raw logs ----------------------------------------------------------------------------------------
def log_file(tmp_path, head, *rows):
    file = tmp_path / "log.csv"
    body = [f"{0.1 * row:.1f},2000,coarse" for row in range(12)]
    file.write_text("\n".join([head, *body, *rows]) + "\n")
    return file


def test_a_log_is_told_from_a_list_of_readings(tmp_path):
    assert is_log(log_file(tmp_path, "time s,engine_speed rpm,light"))
    (tmp_path / "run.csv").write_text(HEAD)
    assert not is_log(tmp_path / "run.csv")


def test_a_log_of_the_propeller_is_the_engine_by_the_reduction(tmp_path):
    engine = load_log(log_file(tmp_path, "time s,engine_speed rpm,light"), 2.68)
    propeller = load_log(log_file(tmp_path, "time s,propeller_speed rpm,light"), 2.68)
    assert propeller.engine_speed == pytest.approx(2.68 * engine.engine_speed)


@pytest.mark.parametrize(
    ("head", "row", "words"),
    [
        ("time s,engine_speed rpm,light", "0.5,2000,off", "later than in the row before"),
        ("time s,engine_speed rpm,light", "9,2000,green", "accepted: coarse, off, fine"),
        ("time s,engine_speed rpm,light", "9,fast,off", "not a number"),
        ("time s,engine_speed rpm,light", ",2000,off", "is empty"),
        ("time s,engine_speed,light", "9,2000,off", "the heading carries the unit"),
        ("time s,speed rpm,light", "9,2000,off", "engine_speed"),
        ("time s,engine_speed rpm", "9,2000", "light: this column is missing"),
        ("time s,engine_speed rpm,light,light", "9,2000,off", "twice"),
        ("time s,engine_speed rpm,light", "9,2000,off,5", "4 cells, but there are 3 columns"),
        ("time s,engine_speed rpm,light", "inf,2000,off", "'inf' is no moment"),
        (
            "time s,engine_speed rpm,light,height m",
            "9,2000,off,1e9",
            "'1e9' is impossible; possible: -500 m",
        ),
        ("time s,engine_speed rpm,light,temperature degC", "9,2000,off,-400", "'-400' is impossible"),
    ],
)
def test_errors_of_a_log_by_row(tmp_path, head, row, words):
    with pytest.raises(ScenarioError, match=words):
        load_log(log_file(tmp_path, head, row), 2.68)


def test_a_speed_that_no_engine_has_is_a_dropout(tmp_path):
    log = load_log(log_file(tmp_path, "time s,engine_speed rpm,light", "9,1e300,off", "9.1,-5,off"), 2.68)
    assert [value != value for value in log.engine_speed[-3:]] == [False, True, True]
