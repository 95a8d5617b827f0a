"""Loads and failures of scenarios; relations, not figures of the demo."""

from math import inf, isnan, nan
from pathlib import Path

import numpy as np
import pytest
import xarray

from simengine.balance.assembly import assemble
from simengine.models.springs import helical_shear_stress, wahl_factor
from simengine.results.loads_catalogue import all_loads_variables
from simengine.scenario import load_scenario
from simengine.scenario.variation import with_values
from simengine.studies.loads.conditions import figures_at, points
from simengine.studies.loads.failures import cases, failure_figures, loads_go_fine
from simengine.studies.loads.spring_loads import flown_strokes, life, spring_ends, spring_strength_of
from simengine.studies.loads.study import loads
from simengine.studies.machine import condition_at, machine_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
SCENARIO = load_scenario(SCENARIOS / "loads_and_failures.yaml")
RECORD = SCENARIO.record
MACHINE = machine_of(assemble(RECORD))
CONDITION = condition_at(MACHINE.aircraft.atmosphere, 120.0, 140.0, 0.0)


@pytest.fixture(scope="module")
def computed():
    return loads(SCENARIO)


@pytest.fixture(scope="module")
def failed():
    figures = failure_figures(MACHINE, CONDITION, RECORD)
    return {name: {key: figures[key][row] for key in figures} for row, name in enumerate(figures["failure"])}


def row_of(dataset, begin):
    names = [str(name) for name in dataset["load_condition"].values]
    return next(row for row, name in enumerate(names) if name.startswith(begin))


def test_every_variable_is_there_with_its_unit(computed):
    for variable in all_loads_variables():
        stored = computed[variable.name]
        assert stored.attrs["long_name"]
        if variable.stored == "number":
            assert stored.attrs["units"] == variable.units


def test_the_file_opens_plainly(computed, tmp_path):
    computed.to_netcdf(tmp_path / "a.nc")
    with xarray.open_dataset(tmp_path / "a.nc") as read:
        assert read.attrs["study"] == "loads"
        assert "14 CFR 35.35" in read.attrs["yardsticks"]
        assert "fatigue" in read.attrs["not_checked"]


def test_pull_grows_with_the_square(computed):
    pull, rpm = computed["load_pull"].values, computed["load_propeller_rpm"].values
    assert pull / rpm**2 == pytest.approx(np.full(pull.size, pull[0] / rpm[0] ** 2), rel=1e-12)
    limit, double = row_of(computed, "engine rpm limit"), row_of(computed, "double pull")
    assert pull[double] == pytest.approx(2.0 * pull[limit], rel=1e-12)
    assert computed["load_pull_kgf"].values[limit] == pytest.approx(pull[limit] / 9.80665)


def test_stresses_add_up_and_scale(computed):
    total = sum(computed[f"load_stress_{part}"] for part in ("pull", "flat", "edge"))
    assert computed["load_stress"].values == pytest.approx(total.values)
    factor = computed["load_strength_factor"].values
    assert factor == pytest.approx(float(computed["root_strength"]) / total.values)
    area = 54.0 * 13.0  # mm2
    assert computed["load_stress_pull"].values == pytest.approx(computed["load_pull"].values / area)


def test_flap_moment_is_thrust_at_some_radius(computed):
    blades, root = int(computed["blades"]), float(computed["root_radius"])
    tip = 0.5 * RECORD.propeller.diameter
    row = row_of(computed, "climb")
    arm = computed["load_flap_moment"].values[row] / (computed["load_thrust"].values[row] / blades)
    assert 0.4 * tip < arm + root < tip


def test_a_spin_pit_has_no_air(computed):
    row = row_of(computed, "double pull")
    for name in ("load_thrust", "load_flap_moment", "load_lag_moment", "load_noise_trend"):
        assert isnan(computed[name].values[row])


def test_the_coarse_stop_carries_most_far_from_the_shift(computed):
    rpm, moment = computed["stop_rpm"].values, computed["coarse_stop_moment"].values
    begins = computed["failure_shift_begin_rpm"].values[0]
    assert int(np.argmax(moment)) == 0
    assert np.all(moment[rpm > begins] == 0.0)
    fine = computed["fine_stop_moment"].values
    assert np.all(fine[rpm < computed["failure_return_finish_rpm"].values[0]] == 0.0)
    assert np.all(np.diff(fine[fine > 0.0]) > 0.0)


def test_the_stop_moment_is_what_the_others_leave():
    every, _, flown = points(MACHINE, CONDITION, RECORD)
    cruise = figures_at(MACHINE, CONDITION.air, RECORD, every[0])
    assert every[0].engine_speed == flown.engine_speed
    assert cruise["load_coarse_stop_moment"] > 0.0
    assert cruise["load_fine_stop_moment"] == 0.0
    assert cruise["load_pin_force"] == pytest.approx(cruise["load_coarse_stop_moment"] / 0.022)


def test_asked_speeds_and_the_pin():
    record = with_values(RECORD, {"loads.engine_speeds": (600.0,), "loads.pin_radius": 0.011})
    every, _, _ = points(MACHINE, CONDITION, record)
    assert every[-1].engine_speed == 600.0
    near, far = (figures_at(MACHINE, CONDITION.air, r, every[0])["load_pin_force"] for r in (record, RECORD))
    assert near == pytest.approx(2.0 * far)


def test_without_a_section_no_stress_is_told():
    record = with_values(RECORD, {"loads.root": None})
    every, _, _ = points(MACHINE, CONDITION, record)
    found = figures_at(MACHINE, CONDITION.air, record, every[2])
    assert isnan(found["load_stress"]) and isnan(found["load_strength_factor"])
    assert found["load_flap_moment"] > 0.0


# --- spring ----------------------------------------------------------------------------------------
def test_spring_stress_is_that_of_its_force(computed):
    force, stress = computed["spring_force"].values, computed["spring_stress"].values
    by_hand = [helical_shear_stress(each, 4e-3, 20e-3, wahl_factor(5.0)) / 1e6 for each in force]
    assert stress == pytest.approx(by_hand)
    pressed = computed["spring_compression"].values
    assert pressed[0] == pytest.approx(44.0 - 42.2 + 6 * 0.3)
    assert force[1] > force[0]


def test_a_spring_without_wire_claims_nothing():
    record = load_scenario(SCENARIOS / "climb_and_cruise.yaml").record
    strength, words = spring_strength_of(record, spring_ends(machine_of(assemble(record))))
    assert isnan(strength.goodman) and "no margin claimed" in words


@pytest.mark.parametrize("name", ["disc_washer_hub", "torsion_hub"])
def test_the_other_springs(name):
    record = load_scenario(SCENARIOS / f"{name}.yaml").record
    if name == "torsion_hub":
        record = with_values(record, {"loads.spring": {"wire_diameter": 0.004, "mean_diameter": 0.024}})
    strength, _ = spring_strength_of(record, spring_ends(machine_of(assemble(record))))
    assert strength.stress_high > strength.stress_low > 0.0
    assert isnan(strength.goodman) == (name == "disc_washer_hub")


def test_strokes_of_a_made_up_flight():
    angles = [14.0, 14.0, 10.0, 10.0, 14.0, 12.9, 14.0, 10.0, 14.0]
    flight = xarray.Dataset({"blade_angle": ("time", angles)}, coords={"time": np.arange(9) * 900.0})
    strokes, hours = flown_strokes(flight)
    assert hours == 2.0
    assert strokes == {4.0: 2.0, 1.1: 1.0}


@pytest.mark.parametrize(
    ("strokes", "shifts", "expected"), [(1e5, 10.0, 2e4), (inf, 10.0, inf), (1e5, 0.0, inf), (nan, 2.0, nan)]
)
def test_hours_of_life(strokes, shifts, expected):
    assert life(strokes, shifts, 2.0) == pytest.approx(expected, nan_ok=True)


def test_shifts_flown_are_those_of_the_flight(computed):
    # ground run and climb each shift and come back
    assert float(computed["shifts_flown"]) == pytest.approx(2.0)
    per_hour = float(computed["shifts_per_hour"])
    assert per_hour == pytest.approx(2.0 / float(computed["flight_hours"]))


# --- frequencies -----------------------------------------------------------------------------------
def test_frequencies_of_the_three_settings(computed):
    order, frequency = computed["mode_order"].values, computed["mode_frequency"].values
    turns = computed["setting_rpm"].values / float(computed["reduction"]) / 60.0
    assert order * turns == pytest.approx(frequency)
    assert np.isfinite(frequency).all()
    assert float(computed["flap_at_rest"]) == 34.0
    names = [str(name) for name in computed["excitation"].values]
    near = str(computed["mode_nearest"].values[0, 0])
    given = float(computed["excitation_order"].values[names.index(near)])
    assert computed["mode_separation"].values[0, 0] == pytest.approx(order[0, 0] / given - 1.0)


# --- failures --------------------------------------------------------------------------------------
def test_a_spring_less_begins_to_shift_sooner(failed):
    built = failed["as built"]["failure_shift_begin_rpm"]
    for name in ("broken_spring", "one_spring_broken", "lost_washer"):
        assert failed[name]["failure_shift_begin_rpm"] < built
    assert failed["dry_bearing"]["failure_shift_begin_rpm"] > built
    assert (
        failed["dry_bearing"]["failure_return_finish_rpm"] < failed["as built"]["failure_return_finish_rpm"]
    )


def test_stuck_blades_are_where_they_are(failed):
    assert failed["stuck_coarse"]["failure_blade_angle"] == MACHINE.coarse_stop
    assert failed["stuck_coarse"]["failure_pitch_state"] == 0
    assert failed["stuck_fine"]["failure_pitch_state"] == 3
    assert failed["stuck_fine"]["failure_level_rpm"] > failed["stuck_coarse"]["failure_level_rpm"]
    assert isnan(failed["stuck_fine"]["failure_shift_begin_rpm"])


def test_a_broken_spring_flies_like_stuck_fine(failed):
    # the loads alone carry these blades fine below idle
    for name in ("failure_climb_rpm", "failure_climb_rate", "failure_static_thrust", "failure_level_rpm"):
        assert failed["broken_spring"][name] == pytest.approx(failed["stuck_fine"][name], rel=1e-6)


def test_one_stuck_blade_shakes(failed):
    between = failed["one_blade_stuck_coarse"]["failure_climb_rpm"]
    assert failed["stuck_coarse"]["failure_climb_rpm"] < between < failed["as built"]["failure_climb_rpm"]
    assert failed["one_blade_stuck_coarse"]["failure_out_of_plane"] > 0.0
    assert failed["one_blade_stuck_fine"]["failure_level_thrust_difference"] < 0.0
    assert failed["as built"]["failure_out_of_plane"] == 0.0


def test_the_limit_is_told_with_the_throttle_that_meets_it():
    record = with_values(RECORD, {"hub.fine_stop": 0.11, "failures": ("stuck_fine",)})
    machine = machine_of(assemble(record))
    figures = failure_figures(machine, CONDITION, record)
    assert figures["failure"] == ["as built", "stuck_fine"]
    assert figures["failure_rpm_margin"][1] < 0.0
    assert 0.2 < figures["failure_throttle_at_limit"][1] < 1.0


def test_failures_that_a_hub_cannot_have():
    def names(record):
        return [case.name for case in cases(machine_of(assemble(record)), record)]

    fixed = load_scenario(SCENARIOS / "climb_and_cruise_fixed.yaml").record
    assert names(fixed) == ["as built"]
    shared = load_scenario(SCENARIOS / "disc_washer_hub.yaml").record
    assert "one_spring_broken" not in names(shared)
    assert "lost_washer" not in names(with_values(RECORD, {"hub.spring.washers": 0}))
    unlinked = with_values(RECORD, {"hub.blades_linked": False})
    odd = {case.name: case.odd_angle for case in cases(MACHINE, unlinked)}
    assert odd["one_spring_broken"] == MACHINE.fine_stop


def test_without_a_spring_the_demo_goes_fine_and_counterweights_can_turn_that():
    assert loads_go_fine(MACHINE)
    heavy = ({"mass": 0.4, "arm": 0.05},)
    turned = with_values(RECORD, {"hub.counterweights": heavy, "hub.blades_linked": False})
    machine = machine_of(assemble(turned))
    assert not loads_go_fine(machine)
    odd = {case.name: case.odd_angle for case in cases(machine, turned)}
    assert odd["one_spring_broken"] == machine.coarse_stop
