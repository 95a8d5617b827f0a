"""Comparisons: what differs, which flights are alike, how phases, traces and events are laid side by side."""

import math
import warnings

import numpy as np
import pytest
import xarray
from comparisons import comparison_folder

from simengine.errors import ScenarioError
from simengine.flight.simulate import simulate
from simengine.results.catalogue import PHASES, EventKind
from simengine.results.compare_catalogue import CHANGES, DIFFERENCE, FIGURES, VERDICT, ChangeKind, Verdict
from simengine.results.netcdf import read_netcdf, write_netcdf
from simengine.results.tolerances import difference_tolerance
from simengine.scenario import load_scenario, load_variants
from simengine.studies.compare.align import SAME_INSTANT, aligned_phases, common_times
from simengine.studies.compare.cases import MOST_CASES, Case, read_cases
from simengine.studies.compare.study import compare, compared
from simengine.studies.compare.verdicts import state_verdict, verdict_of
from simengine.studies.scenario_changes import scenario_changes

KINDS, VERDICTS = list(EventKind), list(Verdict)
FIGURE = {variable.name: variable for variable in PHASES}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return comparison_folder(tmp_path_factory.mktemp("compare"))


@pytest.fixture(scope="module")
def variants(folder):
    """The file against its variants: bolted, a washer less, other words only."""
    return compare(read_cases([str(folder / "base.yaml")]))


def case(dataset, name):
    return dataset["case"].values.tolist().index(name)


def verdicts(dataset, name, figure):
    return [VERDICTS[flag] for flag in dataset[figure + VERDICT].values[case(dataset, name)]]


# --- cases ------------------------------------------------------------------------------------------
def test_one_file_stands_for_itself_and_its_variants(variants):
    assert variants["case"].values.tolist() == ["base", "bolted", "washer", "other_words"]
    assert variants.attrs["study"] == "compare"
    assert "unlike" not in variants.attrs


def test_references(folder):
    base = str(folder / "base.yaml")
    assert [c.name for c in read_cases([f"{base}:washer"])] == ["base", "washer"]
    assert [c.name for c in read_cases([base, f"{base}:washer"])] == ["base", "washer"]
    assert [c.name for c in read_cases([base, base])] == [f"{folder.name}/base", f"{folder.name}/base (2)"]


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["ground_run.yaml"], "has no variants: name a second file"),
        (["no.yaml", "base.yaml", "neither.yaml"], "no such file"),
        (["base.yaml:bolt"], "nearest: 'bolted'"),
        (["base.yaml", "no.nc"], "there is no such file"),
        (["base.yaml"] * (MOST_CASES + 1), f"at most {MOST_CASES} are compared"),
    ],
)
def test_nothing_to_compare(folder, names, words):
    with pytest.raises(ScenarioError, match=words):
        read_cases([str(folder / name) for name in names])


def test_problems_of_every_file_are_told(folder):
    with pytest.raises(ScenarioError) as caught:
        read_cases([str(folder / "no.yaml"), str(folder / "neither.yaml")])
    assert len(caught.value.problems) == 2


# --- results that were flown before -----------------------------------------------------------------
@pytest.fixture(scope="module")
def flown(folder):
    return write_netcdf(simulate(load_scenario(folder / "base.yaml")), folder / "flown.nc")


def test_a_result_is_as_good_as_flying_it_again(folder, flown):
    dataset = compare(read_cases([str(flown), str(folder / "base.yaml")]))
    for variable in FIGURES:
        flags = dataset[variable.name + VERDICT].values[1]
        assert {VERDICTS[flag] for flag in flags} <= {Verdict.SAME, Verdict.ABSENT}, variable.name
    assert dataset.sizes["change"] == 0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda d: d.drop_vars("engine_rpm"), "no whole flight: engine_rpm missing"),
        (lambda d: d.assign_attrs(study="envelope"), "result of `simengine envelope`"),
        (lambda d: d.assign_attrs(simengine_scenario="title: another\n"), "its digest does not fit"),
        (lambda d: d.drop_attrs(), "no result of simengine"),
    ],
)
def test_results_that_are_no_whole_flights_of_ours(folder, flown, change, words):
    path = folder / "odd.nc"
    change(read_netcdf(flown)).to_netcdf(path)
    with pytest.raises(ScenarioError, match=words):
        read_cases([str(path), str(flown)])


def test_a_scenario_of_another_version(folder, flown):
    from hashlib import sha256

    dataset = read_netcdf(flown)
    text = dataset.attrs["simengine_scenario"] + "colour: red\n"
    digest = sha256(text.encode()).hexdigest()
    path = folder / "newer.nc"
    dataset.assign_attrs(simengine_scenario=text, simengine_scenario_sha256=digest).to_netcdf(path)
    with pytest.raises(ScenarioError, match="this version of simengine does not read") as caught:
        read_cases([str(path), str(flown)])
    assert "colour" in str(caught.value)


# --- what was changed -------------------------------------------------------------------------------
def changes(folder, first, here):
    return scenario_changes(load_scenario(folder / first), load_scenario(folder / here))


def test_changes_are_told_as_typed(folder):
    found = load_variants(folder / "base.yaml")
    (washers,) = scenario_changes(found["base"], found["washer"])
    assert (washers.path, washers.first, washers.here) == ("hub.spring.washers", "6", "5")
    assert washers.kind is ChangeKind.MACHINE


def test_the_same_in_other_units_and_words_is_no_change(folder):
    found = load_variants(folder / "base.yaml")
    assert scenario_changes(found["base"], found["other_words"]) == []


def test_a_part_of_another_kind_is_named_not_taken_apart(folder):
    found = load_variants(folder / "base.yaml")
    assert [c.path for c in scenario_changes(found["base"], found["bolted"])] == ["hub.name", "hub.kind"]
    paths = [c.path for c in changes(folder, "base.yaml", "strange.yaml")]
    assert "hub.spring.kind" in paths
    assert not any(path.startswith("hub.spring.") for path in paths if path != "hub.spring.kind")


def test_what_makes_another_flight(folder):
    found = {c.path: c for c in changes(folder, "base.yaml", "heavy.yaml")}
    assert {path for path, c in found.items() if c.kind is ChangeKind.FLIGHT} == {
        "atmosphere.tailwind",
        "masses.pilot",
    }
    assert found["masses.pilot"].line == 3
    plan = {c.path: c for c in changes(folder, "base.yaml", "ground_run.yaml")}
    assert plan["flight.phases.1.kind"].here == "not given"
    assert plan["flight.record_interval"].kind is ChangeKind.SOLVER
    assert "rows" in plan["flight.phases.0.throttle"].here


def test_unlike_flights_are_refused_with_every_key(folder):
    with pytest.raises(ScenarioError) as caught:
        compare(read_cases([str(folder / "base.yaml"), str(folder / "heavy.yaml")]))
    told = [(problem.key, problem.line) for problem in caught.value.problems]
    assert told == [("atmosphere.tailwind", 2), ("masses.pilot", 3), ("", None)]
    assert "is 110 kg, but 98 +- 1 kg, assumed in base: not the same flight" in str(caught.value)
    assert "--unlike" in str(caught.value)


def test_unlike_flights_are_compared_if_told_and_said_to_be(folder):
    dataset = compare(read_cases([str(folder / "base.yaml"), str(folder / "heavy.yaml")]), unlike=True)
    assert dataset.attrs["unlike"].endswith("atmosphere.tailwind, masses.pilot")
    assert verdicts(dataset, "heavy", "initial_climb_rate")[1] in (Verdict.WORSE, Verdict.ABSENT)
    assert verdicts(dataset, "heavy", "mean_climb_rate")[1] is Verdict.WORSE


def test_another_fidelity_is_another_flight(folder, flown):
    with pytest.raises(ScenarioError, match=r"flight\.fidelity: is steady, but dynamic"):
        compare(read_cases([str(flown), str(folder / "base.yaml")]), fidelity="steady")


# --- verdicts ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "first", "here", "verdict"),
    [
        ("highest_thrust", 600.0, 610.0, Verdict.BETTER),
        ("phase_fuel_flow", 8.0, 7.5, Verdict.NEITHER),
        ("phase_fuel", 2.0, 2.1, Verdict.WORSE),
        ("phase_fuel", 2.0, 1.9, Verdict.BETTER),
        ("highest_engine_rpm", 7000.0, 7100.0, Verdict.NEITHER),
        ("shift_margin_rpm", 100.0, -50.0, Verdict.WORSE),
        ("shift_margin_rpm", -100.0, -50.0, Verdict.BETTER),
        ("shift_finish_rpm", 7000.0, 7100.0, Verdict.NEITHER),
        ("shift_finish_rpm", 7000.0, 7000.04, Verdict.SAME),
        ("shift_finish_rpm", 7000.0, math.nan, Verdict.ONLY_FIRST),
        ("shift_finish_rpm", math.nan, 7000.0, Verdict.ONLY_HERE),
        ("shift_finish_rpm", math.nan, math.nan, Verdict.ABSENT),
        ("final_pitch_state", 3.0, 2.0, Verdict.WORSE),
        ("final_pitch_state", 3.0, 3.0, Verdict.SAME),
    ],
)
def test_verdicts(name, first, here, verdict):
    assert verdict_of(FIGURE[name], first, here, 0.05, "climb") is verdict


def test_hanging_blades_are_worse_than_either_stop():
    assert state_verdict("fine", "hung") is Verdict.WORSE
    assert state_verdict("hung", "coarse") is Verdict.BETTER
    assert state_verdict("fine", "coarse") is Verdict.NEITHER


def test_a_washer_less_lets_the_shift_come_earlier_and_widens_the_margin(variants):
    """Less preload holds the blades coarse less: sign of the spring, not a figure of the demo."""
    washer = case(variants, "washer")
    assert (variants["shift_begin_rpm" + DIFFERENCE].values[washer] < -10.0).all()
    assert verdicts(variants, "washer", "shift_begin_rpm") == [Verdict.NEITHER] * 2
    assert verdicts(variants, "washer", "shift_margin_rpm") == [Verdict.BETTER] * 2
    assert verdicts(variants, "washer", "full_throttle_rpm")[0] is Verdict.SAME


def test_identical_machines_are_the_same_in_everything(variants):
    for variable in FIGURES:
        assert set(verdicts(variants, "other_words", variable.name)) <= {Verdict.SAME, Verdict.ABSENT}
    apart = [name for name in variants.data_vars if name.endswith(DIFFERENCE)]
    for name in apart:
        assert np.nanmax(np.abs(variants[name].values[case(variants, "other_words")]), initial=0.0) == 0.0


def test_a_tighter_solver_is_the_same_within_its_error(folder):
    """Nothing but the solver's tolerance differs: by a hundredth."""
    (folder / "tight.yaml").write_text("extends: base.yaml\nflight: {relative_tolerance: 1e-6}\n")
    dataset = compare(read_cases([str(folder / "base.yaml"), str(folder / "tight.yaml")]))
    assert dataset["change_key"].values.tolist() == ["flight.relative_tolerance"]
    for variable in FIGURES:
        assert set(verdicts(dataset, "tight", variable.name)) <= {Verdict.SAME, Verdict.ABSENT}, variable.name
    apart = np.abs(dataset["event_elapsed" + DIFFERENCE].values[1])
    assert apart.max() <= difference_tolerance("event_time", 1e-4, 1e-6)


# --- side by side -----------------------------------------------------------------------------------
def test_figures_are_those_of_the_flights(folder, variants):
    flight = simulate(load_variants(folder / "base.yaml")["washer"])
    for name in ("shift_finish_rpm", "phase_fuel", "highest_thrust"):
        np.testing.assert_array_equal(variants[name].values[case(variants, "washer")], flight[name].values)


def test_traces_begin_with_their_phase_and_end_with_it(folder, variants):
    flight = simulate(load_variants(folder / "base.yaml")["bolted"])
    bolted = case(variants, "bolted")
    climb = variants["sample_phase"].values == 1
    elapsed = variants["elapsed"].values[climb]
    line = variants["height"].values[bolted][climb]
    lasts = float(flight["phase_duration"].values[1])
    assert np.isnan(line[elapsed > lasts + 2 * SAME_INSTANT]).all()
    assert np.isfinite(line[elapsed < lasts - 2 * SAME_INSTANT]).all()
    start = float(flight["phase_start"].values[1])
    expected = np.interp(start + elapsed[5:50], flight["time"].values, flight["height"].values)
    np.testing.assert_allclose(line[5:50], expected, atol=1e-6)
    assert np.nanmin(elapsed) == 0.0 and (np.diff(elapsed) > 0).all()


def test_differences_are_against_the_first(variants):
    for name in ("engine_rpm", "fuel_used"):
        line = variants[name].values
        np.testing.assert_array_equal(variants[name + DIFFERENCE].values, line - line[:1])


def test_events_are_matched_by_kind_phase_and_order(variants):
    kinds = [KINDS[kind] for kind in variants["event_kind"].values]
    assert kinds[:4] == [
        EventKind.SHIFT_BEGINS,
        EventKind.SHIFT_FINISHES,
        EventKind.RETURN_BEGINS,
        EventKind.RETURN_FINISHES,
    ]
    assert EventKind.PHASE_BEGINS not in kinds
    bolted, washer = case(variants, "bolted"), case(variants, "washer")
    assert np.isnan(variants["event_engine_rpm"].values[bolted][:4]).all()
    reached = kinds.index(EventKind.HEIGHT_REACHED)
    assert np.isfinite(variants["event_elapsed"].values[:, reached]).all()
    assert (variants["event_elapsed" + DIFFERENCE].values[washer][:2] < 0).all()
    assert (variants["event_engine_rpm" + DIFFERENCE].values[washer][:2] < 0).all()


def test_an_event_that_happens_once_less_leaves_the_others_matched(folder):
    """Two shifts in one phase against one: the first is matched with the first."""
    scenario = load_scenario(folder / "base.yaml")
    flight = simulate(scenario)
    twice = flight.copy(deep=True)
    home = flight["event_kind"].values.tolist().index(KINDS.index(EventKind.RETURN_FINISHES))
    twice["event_kind"][home] = KINDS.index(EventKind.SHIFT_BEGINS)  # as if they left again
    cases = [Case("a", "a", scenario, flight), Case("b", "b", scenario, twice)]
    dataset = compared(cases, [[], []])
    shifts = dataset["event_kind"].values == KINDS.index(EventKind.SHIFT_BEGINS)
    own = dataset["event_elapsed"].values[:, shifts]
    assert np.isfinite(own[1]).all() and np.isnan(own[0]).sum() == 1
    assert np.nanmax(np.abs(own[1] - own[0])) == 0.0


def test_phases_of_other_plans_are_matched_by_kind_and_order(folder):
    scenarios = [load_scenario(folder / name) for name in ("base.yaml", "ground_run.yaml")]
    phases = aligned_phases([simulate(s) for s in scenarios], [s.record.flight for s in scenarios])
    assert [(phase.kind, phase.rows) for phase in phases] == [("ground_run", (0, 0)), ("climb", (1, None))]


def test_common_times_take_neighbours_for_one():
    times = common_times([np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0 + 0.2 * SAME_INSTANT, 3.0])])
    np.testing.assert_allclose(times, [0.0, 1.0, 2.0, 3.0])


# --- the file ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("names", [["base.yaml"], ["base.yaml", "base.yaml"]])
def test_netcdf_opens_clean(folder, names, tmp_path):
    dataset = compare(read_cases([str(folder / name) for name in names]))
    path = write_netcdf(dataset, tmp_path / "c.nc")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with xarray.open_dataset(path) as opened:
            opened.load()
    assert opened.sizes == dataset.sizes
    for name in opened.variables:
        assert opened[name].attrs.get("long_name"), name
    assert {variable.name for variable in CHANGES} <= set(opened.variables)


def test_ceilings(folder):
    """Held against the envelope's own search elsewhere; here only that they come, and which way is better."""
    dataset = compare(read_cases([f"{folder / 'base.yaml'}:washer"]), envelope=True)
    assert np.isfinite(dataset["service_ceiling"].values).all()
    assert VERDICTS[int(dataset["shift_ceiling" + VERDICT].values[1])] is Verdict.BETTER
