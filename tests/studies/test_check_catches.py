"""A broken mechanism is caught by the demo suite, by name; an unchanged one passes."""

from dataclasses import replace

import pytest
from demo_suite import REVISIONS, changed, copied_suite, of_the_scenario

from simengine.balance.aircraft import with_parts
from simengine.balance.assembly import assemble
from simengine.flight import simulate
from simengine.report.check.run import run_check
from simengine.scenario import load_scenario
from simengine.scenario.variation import with_values
from simengine.studies.check.baseline_file import read_baseline
from simengine.studies.check.study import check
from simengine.studies.envelope import points as envelope_points


@pytest.fixture
def suite(tmp_path):
    return copied_suite(tmp_path)


@pytest.fixture(scope="module")
def agreed():
    return load_scenario(REVISIONS / "agreed.yaml"), read_baseline(REVISIONS / "agreed.yaml")


def moved_names(checked):
    return {comparison.name for comparison in checked.moved}


def broken(agreed, **values):
    """The agreed hub with values at other key paths, `__` for a point."""
    scenario, baseline = agreed
    record = with_values(scenario.record, {key.replace("__", "."): value for key, value in values.items()})
    return check(replace(scenario, record=record), baseline)


def test_every_demo_keeps_what_is_agreed_and_nothing_moved():
    reports = run_check([REVISIONS], pictures=False)
    assert len(reports) == 6
    assert [(report.path.name, report.status) for report in reports if report.status != "passed"] == []
    assert all(report.check.baseline and report.check.verdicts for report in reports)


@pytest.mark.parametrize("tolerance", [3e-5, 1e-5])
def test_an_unchanged_model_passes_with_other_rounding_and_steps(agreed, tolerance):
    checked = broken(agreed, flight__relative_tolerance=tolerance)
    assert checked.passed, checked.moved


def test_an_unchanged_model_passes_with_another_mathematics_library(agreed):
    pilot = agreed[0].record.masses.pilot
    assert broken(agreed, masses__pilot=pilot * (1.0 + 1e-12)).passed


# --- the four breaks --------------------------------------------------------------------------------
def test_blades_two_degrees_off_fail_agreed_figures_and_the_fix_passes():
    off, mended = (REVISIONS / f"_blades_two_degrees_off{name}.yaml" for name in ("", "_mended"))
    report_off, report_mended = run_check([off, mended], pictures=False)
    assert report_off.status == "failed"
    assert {verdict.figure for verdict in report_off.check.failed} >= {"full_throttle_rpm"}
    assert report_mended.status == "passed"


@pytest.mark.parametrize("degrees", [-2, 2])
def test_two_degrees_of_blade_angle_move_the_baseline(agreed, degrees):
    datum = agreed[0].record.propeller.blade_angle_datum
    checked = broken(agreed, propeller__blade_angle_datum=datum + degrees * 0.0174533)
    assert {"full_throttle_rpm", "phase_fuel_flow", "engine_rpm"} <= moved_names(checked)


@pytest.mark.parametrize("washers", [5, 7])
def test_one_washer_moves_the_shift_and_not_the_full_throttle_rpm(agreed, washers):
    checked = broken(agreed, hub__spring__washers=washers)
    names = moved_names(checked)
    assert bool(checked.failed) == (washers > 6), "one more takes away more margin than was agreed"
    assert {"shift_begin_rpm", "shift_finish_rpm", "return_finish_rpm", "shift_margin_moment"} <= names
    assert {"spring_moment", "shift begins in full throttle climb"} <= names
    assert "full_throttle_rpm" not in names


def test_threefold_friction_moves_the_shift_apart_from_the_return(agreed):
    friction = agreed[0].record.hub.friction
    checked = broken(
        agreed,
        hub__friction__constant=3.0 * friction.constant,
        hub__friction__bearing_coefficient=3.0 * friction.bearing_coefficient,
    )
    assert {"shift_begin_rpm", "shift_finish_rpm", "shift_margin_moment"} <= moved_names(checked)
    assert [verdict.figure for verdict in checked.failed] == ["shift_margin_rpm"]
    finish, return_begin = (
        next(c for c in checked.moved if c.name == name and c.group == "phase engine check")
        for name in ("shift_finish_rpm", "return_begin_rpm")
    )
    assert finish.difference.startswith("+")
    assert return_begin.difference.startswith("-")


def test_the_air_twist_of_the_wrong_sign_fails_agreed_figures(agreed, monkeypatch):
    """The air's moment about the pitch axis turned round, and nothing else: no scenario can ask for that."""

    def turned_round(record):
        aircraft = assemble(record)
        return with_parts(aircraft, air_moment_factor=-aircraft.air_moment_factor)

    monkeypatch.setattr(simulate, "assemble", turned_round)
    monkeypatch.setattr(envelope_points, "assemble", turned_round)
    checked = broken(agreed)
    assert {"air_moment", "shift_finish_rpm", "shift_ceiling"} <= moved_names(checked)
    assert {verdict.figure for verdict in checked.failed} & {"shift_finish_rpm", "final_pitch_state"}


def test_the_change_itself_is_named(suite):
    changed(suite, "hub: {spring: {washers: 7}}")
    (report,) = run_check([suite / "agreed.yaml"], pictures=False)
    assert report.status == "failed"
    assert of_the_scenario(report.check.changes) == ("hub.spring.washers: 6 -> 7",)
