"""Every kind of wrong scenario: the message names file, line, key, what is accepted and what was meant."""

# ruff: noqa: E501  (one case, one line)

from pathlib import Path

import pytest
from scenario_text import SCENARIO, line_of, replaced

from simengine.errors import Problem, ScenarioError
from simengine.scenario import load_scenario


def problems_of(text: str, folder: Path) -> tuple[Problem, ...]:
    """Problems of a scenario text; it must have some."""
    file = folder / "wrong.yaml"
    file.write_text(text)
    with pytest.raises(ScenarioError) as caught:
        load_scenario(file)
    assert all(problem.file == str(file) for problem in caught.value.problems)
    assert "Input should" not in str(caught.value), "pydantic's own words reached the user"
    return caught.value.problems


HELICAL = """\
  spring:
    kind: helical
    rate: 14 N/mm
    free_length: 46 +- 0.5 mm, measured
    fitted_length: 39 mm
    solid_length: 26 mm
    lever_arm: 22 mm
    washers: 2
"""
DISC = """\
  spring:
    kind: disc_washers
    outer_diameter: 40 mm
    inner_diameter: 20.4 mm
    thickness: 1.5 mm
    cone_height: 1.15 mm
    series: 8
    fitted_compression: 2 mm
    lever_arm: 22 mm
"""
MAP = "\n  throttle_map:\n    columns: [throttle, torque_share]\n    rows: [[{0}, {1}], [0.5, {2}], [{3}, 1]]"
PART_LOAD = (
    "\n  part_load:\n    columns: [engine_speed rpm, load %, consumption g/kWh]\n"
    "    rows:\n      - [4000, 50, 600]\n      - [4000, 100, 540]\n      - {0}"
)

# what is replaced, by what, text in the line where the error must stand, key, words of the message
CASES = [
    # --- keys
    ("simengine: 1", "simengine: 2", "simengine: 2", "simengine", ["must be 1", "got '2'"]),
    ("simengine: 1", "simengine: true", "simengine: true", "simengine", ["must be 1", "got 'true'"]),
    ("simengine: 1", "simengine: one", "simengine: one", "simengine", ["must be 1"]),
    ("  pilot: 85", "  pilt: 85", "pilt", "masses.pilt", ["unknown key", "nearest: 'pilot'", "pilot, equipment"]),
    ("  machine: 29 kg\n", "", "masses:", "masses.machine", ["is required", "a mass, for example '80 kg'"]),
    ("  machine: 29 kg", "  machine:", "  machine:", "masses.machine", ["is required"]),
    ("  machine: 29 kg", "  machine: [29 kg]", "machine:", "masses.machine", ["must be a mass", "got a list"]),
    ("drive:\n  reduction: 2.68\n", "", "simengine: 1", "drive", ["is required"]),
    ("drive:\n  reduction: 2.68\n", "drive: 2.68\n", "drive: 2.68", "drive", ["must be a mapping"]),
    ("drive:\n  reduction: 2.68\n", "drive: [2.68]\n", "drive: [", "drive", ["must be a mapping", "got a list"]),
    ("drive:", "drive:\n  use_belt: true", "use_belt", "drive.use_belt", ["unknown key"]),
    ("drive:", "drive:\n  extends: a.yaml", "extends", "drive.extends", ["top of a file only"]),
    # --- plain types
    ("  blades: 2", "  blades: 2.5", "blades", "propeller.blades", ["whole number", "got '2.5'"]),
    ("  blades: 2", "  blades: two", "blades", "propeller.blades", ["whole number"]),
    ("  blades: 2", "  blades: 9", "blades", "propeller.blades", ["must be at most 8", "got '9'"]),
    ("  blades: 2", "  blades: true", "blades", "propeller.blades", ["whole number"]),
    ("name: invented hub", "name: 12", "name: 12", "hub.name", ["must be text", "quotes"]),
    ("  idle_speed", "  fixed_jet: yes\n  idle_speed", "fixed_jet", "engine.fixed_jet", ["true or false", "got 'yes'"]),
    ("flight:", "flight:\n  relative_tolerance: fine", "relative_t", "flight.relative_tolerance", ["must be a number"]),
    ("  reduction: 2.68", "  reduction: 0.5", "reduction", "drive.reduction", ["must be at least 1", "got '0.5'"]),
    # --- quantities
    ("  start: 10 L", "  start: 10", "start", "fuel.start", ["a unit is required", "'10 L'", "L, ml, cm3, m3"]),
    ("  start: 10 L", "  start: 10 kg", "start", "fuel.start", ["'kg' is the unit of a mass, not of a volume"]),
    ("  start: 10 L", "  start: 10 Lt", "start", "fuel.start", ["unit 'Lt' is not known", "L, ml, cm3, m3"]),
    ("  start: 10 L", "  start: ten litres", "start", "fuel.start", ["must be a volume", "got 'ten litres'"]),
    ("  start: 10 L", "  start: -1 L", "start", "fuel.start", ["must be greater than 0 L", "got '-1 L'"]),
    ("  start: 10 L", "  start: 101 L", "start", "fuel.start", ["must be at most 100 L", "got '101 L'"]),
    ("  start: 10 L", "  start: 1e3", "start", "fuel.start", ["a unit is required", "got '1e3'"]),
    ("  start: 10 L", "  start: 1e999 L", "start", "fuel.start", ["finite"]),
    ("  start: 10 L", "  start: .nan", "start", "fuel.start", ["must be a finite number", "got '.nan'"]),
    ("  start: 10 L", "  start: -.inf", "start", "fuel.start", ["must be a finite number"]),
    ("  start: 10 L", "  start: 10,5 L", "start", "fuel.start", ["decimals with a point"]),
    ("  start: 10 L", "  start: 10 L, guessed", "start", "fuel.start", ["measured, assumed, fitted", "'guessed'"]),
    ("  height: 1500 ft", "  height: 30000 ft", "30000", "site.height", ["at most 19685 ft", "got '30000 ft'"]),
    ("  temperature_offset: 5 K", "  temperature_offset: 5 degC", "degC", "atmosphere.temperature_offset", ["in K"]),
    ("  relative_humidity: 60 %", "  relative_humidity: 60", "humidity", "atmosphere.relative_humidity", ["'60 %'"]),
    ("  relative_humidity: 60 %", "  relative_humidity: 160 %", "160", "atmosphere.relative_humidity", ["most 100 %"]),
    ("value: 0.0011 +- 0.0002 kg*m2", "valu: 1 kg*m2", "inertia", "engine.inertia.valu", ["value, origin, note"]),
    ("origin: assumed", "origin: guessed", "inertia", "engine.inertia.origin", ["measured, assumed, fitted"]),
    ("note: from the drawing", "note: []", "inertia", "engine.inertia.note", ["must be text"]),
    # --- words
    ("kind: two_stop", "kind: two_stopp", "two_stopp", "hub.kind", ["fixed, two_stop, ", "nearest: 'two_stop'"]),
    ("  kind: two_stop\n", "", "hub:", "hub.kind", ["is required: one of fixed, two_stop"]),
    ("kind: helical", "kind: rubber", "rubber", "hub.spring.kind", ["helical, torsion, disc_washers"]),
    ("kind: climb", "kind: climbb", "climbb", "flight.phases.1.kind", ["nearest: 'climb'", "ground_run"]),
    ("flight:", "flight:\n  fidelity: dynamik", "dynamik", "flight.fidelity", ["dynamic, steady", "nearest: 'dynamic'"]),
    ("    kind: helical", "    kind: helical\n    rat: 3 N/mm", "rat:", "hub.spring.rat", ["nearest: 'rate'"]),
    # --- tables
    ("chord mm", "chrod mm", "columns: [radius", "propeller.stations.columns", ["unknown column", "nearest: 'chord'"]),
    (", thickness %, axis %]", ", thickness %]", "columns: [radius", "propeller.stations.columns", ["'axis' is missing"]),
    ("chord mm", "radius mm", "columns: [radius", "propeller.stations.columns", ["'radius' is given twice"]),
    ("chord mm", "chord", "columns: [radius", "propeller.stations.columns", ["a unit is required"]),
    ("chord mm", "chord kg", "columns: [radius", "propeller.stations.columns", ["not of a length", "got 'chord kg'"]),
    ("[200, 95, 24, 16, 32]", "[200, 95, 24, 16]", "[200,", "propeller.stations.rows", ["row 2", "4 values", "5 columns"]),
    ("[200, 95, 24, 16, 32]", "[200, x, 24, 16, 32]", "[200,", "propeller.stations.rows", ["row 2", "number", "got 'x'"]),
    ("[200, 95, 24, 16, 32]", "200", "- 200", "propeller.stations.rows", ["row 2", "in brackets"]),
    ("[200, 95, 24, 16, 32]", "[200, 95, 24, .nan, 32]", "nan", "propeller.stations.rows.1.3", ["finite"]),
    ("[200, 95, 24, 16, 32]", "[20, 95, 24, 16, 32]", "[20,", "propeller.stations.radius", ["row 2", "larger"]),
    ("[200, 95, 24, 16, 32]", "[200, 95, 24, 160, 32]", "160", "propeller.stations.thickness", ["row 2", "most 60 %"]),
    ("[200, 95, 24, 16, 32]", "[200, -95, 24, 16, 32]", "-95", "propeller.stations.chord", ["greater than 0 mm"]),
    ("rows: [[0, 0], [10, 100], [20, 0]]", "rows: [[0, 0]]", "[[0, 0]]", "flight.phases.0.throttle.rows", ["2 to 10,000"]),
    ("rows: [[0, 0], [10, 100], [20, 0]]", "rows: 5", "rows: 5", "flight.phases.0.throttle.rows", ["list of rows"]),
    ("        rows: [[0, 0], [10, 100], [20, 0]]\n", "", "throttle:", "flight.phases.0.throttle", ["'rows' is required"]),
    ("columns: [time s, throttle %]", "columns: x", "columns: x", "flight.phases.0.throttle.columns", ["headings"]),
    ("columns: [time s,", "row: 1\n        columns: [time s,", "row: 1", "flight.phases.0.throttle.row", ["columns, rows"]),
    # --- engine
    ("idle_speed: 2200", "idle_speed: 8600", "idle_speed", "engine.idle_speed", ["below speed_limit, 8500 rpm"]),
    ("idle_speed: 2200", "idle_speed: 1500", "idle", "engine.idle_speed", ["outside the engine table, 2000 rpm to 9000"]),
    ("speed_limit: 8500", "speed_limit: 9500", "limit", "engine.speed_limit", ["outside the engine table"]),
    ("- [4000, 17.0, 540]", "- [2000, 17.0, 540]", "[2000, 17", "engine.curve.engine_speed", ["row 2", "larger"]),
    ("- [4000, 17.0, 540]", "- [4000, 0, 540]", "[4000, 0", "engine.curve.torque", ["row 2", "greater than 0 N*m"]),
    ("  friction_torque", "  clutch: {engage_speed: 2000 rpm}\n  friction_torque", "clutch", "engine.clutch.engage_speed", ["between"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + MAP.format(0, 0.1, 0.6, 1), "0.1", "engine.throttle_map.torque_share", ["row 1", "must be 0"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + MAP.format(0, 0, 1.2, 1), "1.2", "engine.throttle_map.torque_share", ["row 2", "at most"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + MAP.format(0, 0, 0.6, 0.9), "0.6", "engine.throttle_map.throttle", ["row 3", "100 %"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + PART_LOAD.format("[4000, 100, 500]"), "[4000, 100, 500", "engine.part_load.load", ["row 3", "given before"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + PART_LOAD.format("[6000, 50, 500]"), "rows:", "engine.part_load.rows", ["every pairing", "4 rows, not 3"]),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 N*m" + PART_LOAD.format("[1000, 50, 500]\n      - [1000, 100, 500]"), "[1000, 50", "engine.part_load.engine_speed", ["row 3", "outside the engine table"]),
    # --- propeller
    ("[650, 40", "[660, 40", "[660", "propeller.stations.radius", ["beyond half the diameter, 650 mm", "row 6"]),
    ("[650, 40", "[630, 40", "[630", "propeller.stations.radius", ["within 2 %", "650 mm"]),
    ("[60, 60", "[50, 60", "[50,", "propeller.stations.radius", ["inside hub_radius, 60 mm", "row 1"]),
    ("simengine: 1", "simengine: 1\nloads: {root: {radius: 650 mm, diameter: 30 mm}}", "loads:", "loads.root.radius", ["half the diameter, 650 mm"]),
    ("hub_radius: 60 mm", "hub_radius: 700 mm", "hub_radius", "propeller.hub_radius", ["half the diameter, 650 mm"]),
    ("  density: 720 kg/m3\n", "", "propeller:", "propeller.density", ["is required", "mass_per_length"]),
    ("density: 720", "camber: 4 %\n  density: 720", "camber", "propeller.camber", ["flat_bottom"]),
    # --- hub
    ("fine_stop: 12.5", "fine_stop: 17", "fine_stop", "hub.fine_stop", ["smaller angle than coarse_stop, 16 deg", "'17 deg'"]),
    ("  fine_stop: 12.5 deg", "  fine_stop: 12.5 deg\n  lost_motion: 4 deg", "lost_motion", "hub.lost_motion", ["3.5 deg"]),
    ("    rate: 14 N/mm\n", "", "  spring:", "hub.spring.rate", ["is required", "or wire"]),
    ("    rate: 14 N/mm", "    rate: 14 N/mm\n    wire: {wire_diameter: 3 mm, mean_diameter: 20 mm, active_coils: 5, total_coils: 7}", "rate", "hub.spring.rate", ["given twice"]),
    ("    rate: 14 N/mm", "    wire: {wire_diameter: 3 mm, mean_diameter: 20 mm, active_coils: 8, total_coils: 7}", "wire", "hub.spring.wire.active_coils", ["total_coils, 7"]),
    ("fitted_length: 39 mm", "fitted_length: 47 mm", "fitted", "hub.spring.fitted_length", ["below free_length, 46 mm"]),
    ("washers: 2", "washers: 80", "washers", "hub.spring.washers", ["take up 40 mm"]),
    ("solid_length: 26 mm", "solid_length: 37 mm", "fitted", "hub.spring.fitted_length", ["goes solid", "solid length is 37 mm"]),
    ("    rate: 14 N/mm\n    free_length: 46 +- 0.5 mm, measured\n    fitted_length: 39 mm\n    solid_length: 26 mm", "    wire: {wire_diameter: 4 mm, mean_diameter: 20 mm, active_coils: 8, total_coils: 10}\n    free_length: 46 mm\n    fitted_length: 41 mm", "fitted", "hub.spring.fitted_length", ["goes solid", "40 mm"]),
    (HELICAL, DISC.replace("20.4", "41"), "inner", "hub.spring.inner_diameter", ["below outer_diameter, 40 mm"]),
    (HELICAL, DISC.replace("n: 2 mm", "n: 8 mm"), "fitted_c", "hub.spring.fitted_compression", ["flat at 9.2 mm"]),
    # --- wing, flight, the whole
    ("- [0, 38, 1.2]", "- [0.1, 38, 1.2]", "[0.1", "wing.polar.bar", ["row 1", "at trim, bar 0"]),
    ("- [1, 52, 1.9]", "- [0, 52, 1.9]", "[0, 52", "wing.polar.bar", ["row 2", "larger"]),
    ("- [1, 52, 1.9]", "- [100, 52, 1.9]", "[100, 52", "wing.polar.bar", ["row 2", "must be at most 1"]),
    ("- [1, 52, 1.9]", "- [1, 5, 1.9]", "[1, 5,", "wing.polar.sink", ["row 2", "below the speed"]),
    ("[[0, 0], [10", "[[1, 0], [10", "[[1", "flight.phases.0.throttle.time", ["row 1", "begins at time 0"]),
    ("[10, 100]", "[10, 101]", "101]", "flight.phases.0.throttle.throttle", ["row 2", "at most 100 %"]),
    ("[10, 100]", "[30, 100]", "[30", "flight.phases.0.throttle.time", ["row 3", "larger"]),
    ("      duration: 10 min\n", "", "kind: cruise", "flight.phases.2.duration", ["is required", "or distance"]),
    ("duration: 10 min", "duration: 10 min\n      distance: 5 km", "distance", "flight.phases.2.distance", ["leave one out"]),
    ("duration: 10 min", "duration: 10 min\n      bar: 0.5\n      airspeed: 40 km/h", "bar: 0.5", "flight.phases.2.bar", ["follows from airspeed"]),
    ("    - kind: cruise\n      duration: 10 min\n", "    - kind: ground_run\n      throttle: {columns: [time s, throttle], rows: [[0, 0], [9, 1]]}\n", "    - kind: ground_run", "flight.phases.2.kind", ["cannot follow"]),
    ("to_height: 1000 m", "to_height: 1000 m\n      pitch: fine", "pitch", "flight.phases.1.pitch", ["two_stop_selected", "this hub is two_stop"]),
    ("  qnh", "  measured: {height: 0 m, temperature: 20 degC}\n  qnh", "offset", "atmosphere.temperature_offset", ["leave one out"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "key", "words"), CASES)
def test_one_mistake(tmp_path: Path, old: str, new: str, at: str, key: str, words: list[str]) -> None:
    text = replaced(old, new)
    problems = problems_of(text, tmp_path)
    found = [p for p in problems if p.key == key and all(word in p.message for word in words)]
    assert len(found) == 1, [str(problem) for problem in problems]
    occurrence = 2 if at in ("    - kind: ground_run", "rows:") else 1
    assert found[0].line == line_of(text, at, occurrence), str(found[0])


def test_one_mistake_is_one_problem(tmp_path: Path) -> None:
    """A misspelt key is not reported a second time as a missing one."""
    problems = problems_of(replaced("  pilot: 85", "  pilt: 85"), tmp_path)
    assert len(problems) == 1


def test_hub_kinds_are_checked_by_their_own_keys(tmp_path: Path) -> None:
    start, end = SCENARIO.index("hub:\n"), SCENARIO.index("wing:\n")
    governed = "hub:\n  kind: governed\n  name: g\n  coarse_stop: 16 deg\n  fine_stop: 10 deg\n  engine_speed: 9 rpm\n"
    text = SCENARIO[:start] + governed + SCENARIO[end:]
    (problem,) = problems_of(text, tmp_path)
    assert (problem.key, problem.line) == ("hub.engine_speed", line_of(text, "engine_speed: 9 rpm"))
    assert "2200 rpm and 8500 rpm" in problem.message


def test_density_twice(tmp_path: Path) -> None:
    text = SCENARIO.replace("axis %]", "axis %, mass_per_length g/m]")
    for row in ("24, 35]", "16, 32]", "12, 31]", "10, 31]", "9, 33]", "9, 35]"):
        text = text.replace(row, f"{row[:-1]}, 300]")
    (problem,) = problems_of(text, tmp_path)
    assert (problem.key, problem.line) == ("propeller.density", line_of(text, "density"))
    assert "given twice" in problem.message


def test_everything_wrong_at_once(tmp_path: Path) -> None:
    text = SCENARIO
    mistakes = [
        ("  qnh: 1013.25 hPa", "  qnh: 1013.25", "atmosphere.qnh"),
        ("  machine: 29 kg", "  machine: 29 m", "masses.machine"),
        ("  idle_speed: 2200 rpm", "  idle_speed: 9100 rpm", "engine.idle_speed"),
        ("  blades: 2", "  blades: none", "propeller.blades"),
        ("[200, 95, 24, 16, 32]", "[200, 95]", "propeller.stations.rows"),
        ("    kind: helical", "    kind: helix", "hub.spring.kind"),
        ("  area: 26 m2", "  aera: 26 m2", "wing.aera"),
        ("duration: 10 min", "duration: -10 min", "flight.phases.2.duration"),
    ]
    for old, new, _ in mistakes:
        text = replaced(old, new, text)
    problems = problems_of(text + "site: {}\n", tmp_path)
    keys = [problem.key for problem in problems]
    assert {key for _, _, key in mistakes} <= set(keys)
    assert "site" in keys, "the key given twice"
    assert [problem.line for problem in problems] == sorted(problem.line or 0 for problem in problems)


def test_the_message_has_file_line_key(tmp_path: Path) -> None:
    (problem,) = problems_of(replaced("  blades: 2", "  blades: 9"), tmp_path)
    assert str(problem) == f"{tmp_path / 'wrong.yaml'}:32: propeller.blades: must be at most 8 (got '9')"
