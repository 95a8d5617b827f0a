import pytest
from scenario_text import SCENARIO, line_of

from simengine.errors import ScenarioError
from simengine.results.tolerances import figure_tolerance
from simengine.scenario import load_scenario
from simengine.scenario.expect_records import AT_HEIGHT, CEILINGS, DIMENSIONS, FLIGHT


def loaded(tmp_path, *lines):
    path = tmp_path / "a.yaml"
    path.write_text(SCENARIO + "expect:\n" + "".join(f"  - {{{line}}}\n" for line in lines), encoding="utf-8")
    return load_scenario(path)


def problem(tmp_path, line):
    with pytest.raises(ScenarioError) as caught:
        loaded(tmp_path, line)
    (found,) = caught.value.problems
    assert found.line == line_of((tmp_path / "a.yaml").read_text(encoding="utf-8"), line)
    return f"{found.key}: {found.message}"


def test_values_are_read_in_any_unit_of_the_figure(tmp_path):
    scenario = loaded(
        tmp_path,
        "figure: shift_finish_rpm, phase: climb, at_most: 120 rev/s",
        "figure: shift_margin_moment, phase: climb, at_least: 20 N*cm",
        "figure: shift_ceiling, value: 2 km, tolerance: 1000 ft, reason: a pass",
        "figure: level_throttle, height: 3000 ft, at_most: 60 %",
    )
    finish, moment, ceiling, throttle = scenario.record.expect
    assert finish.at_most * finish.variable.factor == pytest.approx(7200.0)
    assert moment.at_least == pytest.approx(0.2)
    assert (ceiling.value, ceiling.tolerance) == (pytest.approx(2000.0), pytest.approx(304.8))
    assert throttle.height == pytest.approx(914.4)
    assert throttle.at_most == pytest.approx(0.6)
    assert [item.of_envelope for item in scenario.record.expect] == [False, False, True, True]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("figure: shift_finsh_rpm, phase: climb, at_most: 7000 rpm", "nearest: 'shift_finish_rpm'"),
        ("figure: shift_finish_rpm, phase: clmb, at_most: 7000 rpm", "nearest: 'climb'"),
        ("figure: shift_finish_rpm, phase: climb, at_most: 7000 N", "'N' is the unit of a force"),
        ("figure: shift_finish_rpm, phase: climb, at_most: 7000", "a unit is required"),
        ("figure: shift_finish_rpm, phase: climb", "what is agreed is missing"),
        ("figure: shift_finish_rpm, at_most: 7000 rpm", "is required: which phase"),
        ("figure: shift_finish_rpm, phase: climb, value: 7000 rpm", "needs a tolerance"),
        ("figure: shift_finish_rpm, phase: climb, at_most: 7 rpm, at_least: 1 rpm", "one bound"),
        ("figure: shift_finish_rpm, phase: climb, at_most: 7 rpm, tolerance: 1 rpm", "belongs to value"),
        ("figure: final_pitch_state, phase: climb, state: fin", "one of coarse, shifting, hung, fine"),
        ("figure: final_pitch_state, phase: climb, at_most: 7 rpm", "write 'state: fine' instead"),
        ("figure: shift_finish_rpm, phase: climb, state: fine", "is a number"),
        ("figure: shift_ceiling, phase: climb, at_least: 1 m", "not of a phase"),
        ("figure: ground_thrust, at_least: 1 N", "height is required"),
        ("figure: phase_fuel, height: 100 m, at_most: 1 kg", "not a figure at a height"),
        ("figure: shift_finish_rpm, phase: climb, at_leest: 7000 rpm", "nearest: 'at_least'"),
    ],
)
def test_what_is_wrong_is_told_with_line_and_remedy(tmp_path, line, words):
    assert words in problem(tmp_path, line)


def test_a_phase_may_be_named_by_its_kind_but_not_when_there_are_two(tmp_path):
    line = "figure: static_thrust, phase: ground_run, at_least: 300 N"
    assert loaded(tmp_path, line).record.expect[0].phase == "ground_run"
    two = SCENARIO.replace(
        "    - kind: cruise\n", "    - kind: cruise\n      duration: 1 min\n    - kind: cruise\n"
    )
    (tmp_path / "two.yaml").write_text(
        two + "expect: [{figure: phase_fuel, phase: cruise, at_most: 9 kg}]\n", encoding="utf-8"
    )
    with pytest.raises(ScenarioError, match="means 2 phases"):
        load_scenario(tmp_path / "two.yaml")


def test_an_empty_value_takes_expectations_away(tmp_path):
    loaded(tmp_path, "figure: phase_fuel, phase: climb, at_most: 9 kg")
    upper = tmp_path / "upper.yaml"
    upper.write_text("extends: a.yaml\nexpect:\n", encoding="utf-8")
    assert load_scenario(upper).record.expect == ()


@pytest.mark.parametrize(
    "variable", [*FLIGHT.values(), *CEILINGS.values(), *AT_HEIGHT.values()], ids=lambda v: v.name
)
def test_every_figure_has_a_dimension_and_a_tolerance(variable):
    assert variable.units in DIMENSIONS
    assert (figure_tolerance(variable.name, 1e-4) > 0.0) == (not variable.flags)
