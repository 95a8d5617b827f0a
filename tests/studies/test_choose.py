"""Choice of spring, washers and stops: a known optimum, impossible targets, the front, the catalogue."""

import shutil
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from simengine.balance.assembly import assemble
from simengine.constants import RPM
from simengine.errors import ScenarioError
from simengine.models.spring_strength import helical_strength
from simengine.scenario import load_scenario
from simengine.scenario.choose_records import Targets
from simengine.scenario.variation import with_values
from simengine.studies.choose.candidates import candidates, life_factor
from simengine.studies.choose.options import catalogue_inputs
from simengine.studies.choose.spring_catalogue import STANDARD_WIRES, offers, read_springs
from simengine.studies.choose.study import choose
from simengine.studies.choose.targets import (
    BEGIN,
    FINISH,
    LIFE,
    TARGETS,
    merits,
    met,
    pareto_front,
    relaxations,
    spread_choice,
)
from simengine.studies.full_throttle import full_throttle, shift_speeds
from simengine.studies.machine import condition_at, machine_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ONE_PLACE = "  heights: [0 m]\n  draws: 16\n"


def scenario_with(tmp_path, targets, more=ONE_PLACE, base="climb_and_cruise.yaml"):
    """A scenario beside the demo ones with a block `choose`."""
    folder = tmp_path / "scenarios"
    if not folder.exists():
        shutil.copytree(SCENARIOS, folder)
    path = folder / "own.yaml"
    block = "".join(f"    {name}: {value}\n" for name, value in targets.items())
    path.write_text(f"extends: {base}\nchoose:\n  targets:\n{block}{more}", encoding="utf-8")
    return load_scenario(path)


def directly(record, washers):
    """Begin and margin of the demo hub with so many washers, by the envelope's functions [rpm]."""
    machine = machine_of(assemble(with_values(record, {"hub.spring.washers": washers})))
    aircraft = machine.aircraft
    condition = condition_at(aircraft.atmosphere, 0.0, aircraft.dry_mass + aircraft.fuel_start, 0.0)
    full = full_throttle(machine, condition)
    speeds = shift_speeds(machine, condition.air, machine.inflow_factor * full.airspeed)
    return speeds.shift_begin / RPM, full.margin_speed / RPM


@pytest.fixture(scope="module")
def by_washers():
    record = load_scenario(SCENARIOS / "climb_and_cruise.yaml").record
    return [directly(record, count) for count in range(8)]


@pytest.mark.parametrize("wanted", [3, 5])
def test_a_known_optimum_is_found(tmp_path, by_washers, wanted):
    """Begin asked for between two numbers of washers, margin between that and the next: one number does."""
    begins, margins = zip(*by_washers, strict=True)
    cruise = 0.5 * (begins[wanted - 1] + begins[wanted])
    margin = 0.5 * (margins[wanted] + margins[wanted + 1])
    targets = {
        "cruise_rpm": f"{cruise:.2f} rpm",
        "begin_above_cruise": "0 rpm",
        "finish_below_full": f"{margin:.2f} rpm",
    }
    dataset = choose(scenario_with(tmp_path, targets))
    assert dataset.attrs["feasible"] == "yes"
    assert int(dataset["combinations_meeting_all"]) == 1
    assert list(dataset["option_washers"].values) == [wanted]
    assert float(dataset["option_begin_rpm"][0]) == pytest.approx(begins[wanted], abs=2.0)
    assert float(dataset["option_margin_rpm"][0]) == pytest.approx(margins[wanted], abs=2.0)


def test_impossible_targets_are_told_with_the_nearest_relaxation(tmp_path, by_washers):
    """Begin and finish pull at the same washers: to have both, one must give what is missing."""
    begins, margins = zip(*by_washers, strict=True)
    asked = 0.5 * (begins[4] + begins[5])
    targets = {
        "cruise_rpm": f"{asked:.2f} rpm",
        "begin_above_cruise": "0 rpm",
        "finish_below_full": f"{margins[5] + 60.0:.2f} rpm",
    }
    dataset = choose(scenario_with(tmp_path, targets))
    assert dataset.attrs["feasible"] == "no"
    by = dict(zip(dataset["relaxation_target"].values, dataset["relaxation_by"].values, strict=True))
    assert by[TARGETS[FINISH]] == pytest.approx(60.0, abs=2.0)
    best = max(begin for begin, margin in by_washers if margin >= margins[5] + 60.0)
    assert by[TARGETS[BEGIN]] == pytest.approx(asked - best, abs=2.0)
    assert list(dataset["relaxation_by"].values) == sorted(dataset["relaxation_by"].values)
    assert not dataset["relaxation_alone"].values.any()
    assert dataset["relaxation_enough"].values.all()


def test_a_target_out_of_reach_by_itself_is_named(tmp_path):
    targets = {"cruise_rpm": "3000 rpm", "finish_below_full": "6000 rpm"}
    dataset = choose(scenario_with(tmp_path, targets))
    assert dataset.attrs["feasible"] == "no"
    assert list(dataset["relaxation_target"].values) == [TARGETS[FINISH]]
    assert dataset["relaxation_alone"].values.all()


def test_more_places_never_leave_more_to_choose_from(tmp_path):
    targets = {"cruise_rpm": "5000 rpm"}
    one = choose(scenario_with(tmp_path, targets))
    places = "  heights: [0 m, 3000 m]\n  masses: [120 kg, 160 kg]\n  temperature_offsets: [-15 K, 20 K]\n"
    many = choose(scenario_with(tmp_path, targets, places + "  draws: 16\n"))
    assert many["place"].size == 2 * 2 * 2 + 2
    assert int(many["combinations_meeting_all"]) <= int(one["combinations_meeting_all"])
    assert float(many["option_slack"].min()) <= float(one["option_slack"].max())


def test_the_shim_table_is_that_of_the_envelope(tmp_path, by_washers):
    dataset = choose(scenario_with(tmp_path, {"cruise_rpm": "4000 rpm"}))
    column = dataset["shim_begin_rpm"].sel(shim_place="climb at 0 m")
    for count, (begin, _) in enumerate(by_washers):
        if np.isfinite(float(column.sel(washers=count))):
            assert float(column.sel(washers=count)) == pytest.approx(begin, abs=2.0)
    assert np.isfinite(float(column.sel(washers=int(dataset["option_washers"][0]))))
    assert int(np.isfinite(column).sum()) >= 6


def test_torsion_and_disc_hubs_keep_their_spring(tmp_path):
    for base in ("torsion_hub.yaml", "disc_washer_hub.yaml"):
        dataset = choose(scenario_with(tmp_path, {"cruise_rpm": "3000 rpm"}, base=base))
        assert set(dataset["option_spring"].values) == {"the hub's own"}
        assert "spring life is not checked" in dataset.attrs["model_limits"]


def test_stops_and_counterweights_are_tried(tmp_path):
    more = ONE_PLACE + (
        "  coarse_stops: [13.5 deg, 14 deg]\n  fine_stops: [10 deg, 11 deg]\n  fewest_washers: 5\n"
        "  most_washers: 6\n  counterweight: {masses: [0 g, 15 g], arm: 25 mm, angle_from_chord: 0 deg}\n"
    )
    scenario = scenario_with(tmp_path, {"cruise_rpm": "5000 rpm"}, more)
    found = candidates(scenario.record, scenario.record.choose, ())
    assert found.tried == 2 * 2 * 2 * 2
    combinations = set(
        zip(found.washers, found.coarse_stop, found.fine_stop, found.counterweight, strict=True)
    )
    assert len(combinations) == len(found)
    dataset = choose(scenario)
    assert 1 <= dataset["option"].size <= 10


def test_a_better_spring_wins_on_a_catalogue(tmp_path):
    """Of two springs, one that lasts and one that takes a set, only the first can be an answer."""
    more = ONE_PLACE + (
        "  springs:\n"
        "    columns: [wire_diameter mm, mean_diameter mm, active_coils, total_coils, free_length mm]\n"
        "    rows:\n      - [5.6, 32, 5, 7, 46]\n      - [2, 8, 20, 20.5, 46]\n"
    )
    dataset = choose(scenario_with(tmp_path, {"cruise_rpm": "4500 rpm", "strokes": "1e5"}, more))
    assert dataset.attrs["feasible"] == "yes"
    assert {str(name).split(":")[0] for name in dataset["option_spring"].values} == {"spring 1"}


def test_tolerances_of_the_wire_become_one_of_the_rate(tmp_path):
    """k goes with d^4 / D^3: 0.5 % of d and 1 % of D make sqrt(2^2 + 3^2) = 3.6 %."""
    more = ONE_PLACE + (
        "tolerance:\n  inputs:\n    - {input: hub.spring.wire.wire_diameter, plus_minus: 0.5 %}\n"
        "    - {input: hub.spring.wire.mean_diameter, plus_minus: 1 %}\n"
        "    - {input: hub.spring.free_length, plus_minus: 0.2 mm}\n"
        "hub: {spring: {rate: , wire: {wire_diameter: 5 mm, mean_diameter: 26 mm, active_coils: 4, "
        "total_coils: 6}}}\n"
    )
    found = catalogue_inputs(scenario_with(tmp_path, {"cruise_rpm": "4500 rpm"}, more))
    assert [each.input for each in found] == ["hub.spring.free_length", "hub.spring.rate"]
    assert float(found[1].plus_minus.split()[0]) == pytest.approx(np.sqrt(13.0), abs=1e-4)


def test_without_a_block_it_says_what_is_missing():
    with pytest.raises(ScenarioError, match="choose"):
        choose(load_scenario(SCENARIOS / "climb_and_cruise.yaml"))


def test_springs_that_are_all_solid_are_refused(tmp_path):
    more = ONE_PLACE + (
        "  wire_springs: {mean_diameters: [32 mm], active_coils: [5], free_lengths: [60 mm], wires: [8 mm]}\n"
    )
    with pytest.raises(ScenarioError, match="combinations can be built"):
        choose(scenario_with(tmp_path, {"cruise_rpm": "4500 rpm"}, more))


# --- the front and what to relax, against going through everything -----------------------------------
def dominated(values, number):
    better = (values >= values[number]).all(axis=1) & (values > values[number]).any(axis=1)
    return better.any()


def test_front_by_going_through_everything():
    values = np.random.default_rng(2).normal(size=(300, 3))
    found = set(pareto_front(values))
    assert found == {number for number in range(300) if not dominated(values, number)}


def test_of_equal_ones_the_front_keeps_one():
    assert len(pareto_front(np.ones((5, 6)))) == 1


def test_chosen_ones_differ_and_hold_the_best_of_each():
    values = np.random.default_rng(3).normal(size=(60, len(TARGETS) + 1))
    chosen = spread_choice(values, 10)
    assert len(set(chosen)) == 10
    for merit in range(values.shape[1]):
        assert int(np.argmax(values[:, merit])) in chosen


def test_relaxation_of_one_target_by_going_through_everything():
    rng = np.random.default_rng(4)
    slacks = rng.normal(-0.2, 1.0, (40, len(TARGETS))) * 100.0 * RPM
    slacks[met(slacks)] = -1.0 * RPM
    for each in relaxations(slacks):
        if each.alone:
            assert slacks[:, each.target].max() == pytest.approx(-each.by)
        elif each.candidate >= 0:
            others = np.delete(slacks, each.target, axis=1)
            good = (others >= 0.0).all(axis=1)
            assert slacks[good, each.target].max() == pytest.approx(-each.by)


def test_merits_are_clipped_and_count_the_travel():
    found = merits(np.array([[np.inf] * len(TARGETS)]), np.array([np.radians(2.0)]))
    assert np.isfinite(found).all()
    assert found[0, -1] == pytest.approx(4.0)


# --- springs -------------------------------------------------------------------------------------------
def test_standard_wires_rise():
    assert list(STANDARD_WIRES) == sorted(set(STANDARD_WIRES))
    assert STANDARD_WIRES[0] == pytest.approx(1e-3)
    assert STANDARD_WIRES[-1] == pytest.approx(8e-3)


def test_wire_springs_are_all_that_can_be_wound(tmp_path):
    more = ONE_PLACE + (
        "  wire_springs: {mean_diameters: [20 mm, 30 mm], active_coils: [3, 6], "
        "free_lengths: [40 mm, 60 mm]}\n"
    )
    block = scenario_with(tmp_path, {"cruise_rpm": "4500 rpm"}, more).record.choose
    count = sum(
        4.0 <= mean / wire <= 16.0 and free > (active + 2.0) * wire
        for wire, mean, active, free in product(STANDARD_WIRES, (0.02, 0.03), (3, 6), (0.04, 0.06))
    )
    assert len(offers(block)) == count


@pytest.mark.parametrize(("force", "strokes"), [(150.0, 1e7), (300.0, 1e5), (600.0, 1e6)])
def test_life_factor_is_one_where_the_handbook_stress_is_reached(force, strokes):
    """The factor scales the stress onto what the strength figures allow for so many strokes."""
    targets = Targets(cruise_rpm=500.0, strokes=strokes)
    factor = life_factor(0.004, 0.028, 0.0, force, targets, peened=False)
    at_limit = helical_strength(
        wire_diameter=0.004, mean_diameter=0.028, low_force=0.0, high_force=0.999 * factor * force
    )
    beyond = helical_strength(
        wire_diameter=0.004, mean_diameter=0.028, low_force=0.0, high_force=1.002 * factor * force
    )
    wanted = np.inf if strokes >= 1e7 else strokes
    assert at_limit.strokes >= wanted
    assert beyond.strokes < wanted


def test_a_file_of_springs(tmp_path):
    path = tmp_path / "springs.csv"
    head = "name,wire_diameter mm,mean_diameter mm,active_coils,total_coils,free_length mm\n"
    path.write_text(f"{head}soft,4,28,5,7,46\n", encoding="utf-8")
    (offer,) = read_springs(path, 79.3e9)
    assert offer.rate == pytest.approx(79.3e9 * 0.004**4 / (8.0 * 0.028**3 * 5.0))
    assert offer.solid_length == pytest.approx(0.028)
    assert offer.name.startswith("soft")
    path.write_text(f"{head}odd,30,28,5,7,46\nshort,4,28,5,7,20\nwords,a,28,5,7,46\n", encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_springs(path, 79.3e9)
    assert len(caught.value.problems) == 3
    path.write_text("name,wire\nsoft,4\n", encoding="utf-8")
    with pytest.raises(ScenarioError, match="missing"):
        read_springs(path, 79.3e9)


def test_life_is_not_claimed_where_the_wire_is_unknown(tmp_path):
    dataset = choose(scenario_with(tmp_path, {"cruise_rpm": "4000 rpm"}))
    assert np.isnan(dataset["option_slack"].values[:, LIFE]).all()
    assert np.isnan(dataset["option_life_factor"].values).all()
