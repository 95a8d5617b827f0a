"""A good scenario: values, origins, defaults, text; and what loading costs."""

import hashlib
import pickle
import subprocess
import sys
from math import pi
from pathlib import Path

import pytest
from scenario_text import SCENARIO

from simengine.scenario import Scenario, load_scenario, records


@pytest.fixture
def scenario(tmp_path: Path) -> Scenario:
    file = tmp_path / "good.yaml"
    file.write_text(SCENARIO)
    return load_scenario(file)


def test_values_are_si(scenario: Scenario) -> None:
    record = scenario.record
    assert record.site.height == pytest.approx(457.2, rel=1e-15)
    assert record.fuel.start == pytest.approx(0.01)
    assert record.atmosphere.relative_humidity == pytest.approx(0.6)
    assert record.engine.curve.engine_speed[0] == pytest.approx(2000 * 2 * pi / 60)
    assert record.engine.curve.consumption[0] == pytest.approx(620e-3 / 3.6e6)
    assert record.propeller.stations.blade_angle[0] == pytest.approx(pi / 6)
    assert record.propeller.stations.mass_per_length is None
    assert record.drive.reduction == 2.68
    hub = record.hub
    assert isinstance(hub, records.TwoStopHub)
    assert isinstance(hub.spring, records.HelicalSpring)
    assert hub.spring.rate == 14000.0
    assert [phase.kind for phase in record.flight.phases] == ["ground_run", "climb", "cruise"]


def test_everything_loaded_is_frozen(scenario: Scenario) -> None:
    with pytest.raises(AttributeError):
        scenario.text = ""  # type: ignore[misc]
    with pytest.raises(ValueError, match="frozen"):
        scenario.record.site.height = 0.0  # type: ignore[misc]


def test_a_scenario_can_be_sent_to_another_process(scenario: Scenario) -> None:
    assert pickle.loads(pickle.dumps(scenario)) == scenario


def test_origins(scenario: Scenario) -> None:
    pilot = scenario.origins["masses.pilot"]
    assert (pilot.text, pilot.unit, pilot.value, pilot.plus_minus, pilot.mark) == (
        "85 +- 1 kg, measured",
        "kg",
        85.0,
        1.0,
        "measured",
    )
    assert (pilot.file, pilot.line) == (str(scenario.path), 10)
    inertia = scenario.origins["engine.inertia"]
    assert (inertia.mark, inertia.note, inertia.plus_minus) == ("assumed", "from the drawing", 0.0002)
    assert scenario.origins["hub.spring.free_length"].mark == "measured"
    assert scenario.origins["drive.reduction"].text == "2.68"
    assert scenario.origins["hub.counterweights.0.mass"].value == 0.025
    curve = scenario.origins["engine.curve"]
    assert (curve.text, curve.value) == ("engine_speed rpm, torque N*m, consumption g/kWh", None)
    assert "drive.efficiency" not in scenario.origins
    assert scenario.origins["masses.machine"].mark is None


def test_defaults_are_listed_in_trade_units(scenario: Scenario) -> None:
    for line in (
        "masses.equipment = 8 kg",
        "drive.efficiency = 97 %",
        "hub.spring.washer_thickness = 0.5 mm",
        "hub.friction.bearing_coefficient = 0.003",
        "hub.counterweights.0.angle_from_chord = 90 deg",
        "engine.altitude.law = gagg_ferrar",
        "engine.fixed_jet = true",
        "flight.phases.1.throttle = 100 %",
    ):
        assert line in scenario.defaults
    keys = {line.split(" = ")[0] for line in scenario.defaults}
    assert not keys & set(scenario.origins)
    assert "masses.pilot" not in keys


def test_text_reads_back_the_same(scenario: Scenario, tmp_path: Path) -> None:
    again = tmp_path / "again.yaml"
    again.write_text(scenario.text)
    loaded = load_scenario(again)
    assert loaded.record == scenario.record
    assert (loaded.text, loaded.sha256) == (scenario.text, scenario.sha256)
    assert scenario.sha256 == hashlib.sha256(scenario.text.encode()).hexdigest()
    assert "85 +- 1 kg, measured" in scenario.text


def test_text_keeps_what_looks_like_something_else(tmp_path: Path) -> None:
    file = tmp_path / "odd.yaml"
    file.write_text(
        SCENARIO.replace("name: invented wing", 'name: "12"').replace("name: invented hub", "name: on")
        + 'note: "a: b # c\\n  two lines"\n'
    )
    first = load_scenario(file)
    again = tmp_path / "again.yaml"
    again.write_text(first.text)
    assert load_scenario(again).record == first.record
    assert (first.record.wing.name, first.record.hub.name) == ("12", "on")


def test_an_empty_value_is_a_default(tmp_path: Path) -> None:
    file = tmp_path / "empty.yaml"
    file.write_text(
        SCENARIO.replace("  qnh: 1013.25 hPa", "  qnh:").replace("site:\n  height: 1500 ft\n", "site:\n")
    )
    scenario = load_scenario(file)
    assert scenario.record.atmosphere.qnh == 101325.0
    assert "site.height = 0 m" in scenario.defaults


def test_the_starter_file_loads() -> None:
    starter = Path(records.__file__).parent / "starter.yaml"
    assert load_scenario(starter).record.simengine == 1


HEAVY = ("numpy", "pint", "xarray", "matplotlib", "numba", "scipy", "pandas")


def test_import_is_light() -> None:
    code = f"import sys, simengine.scenario; print([m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
