from importlib.resources import files
from pathlib import Path

import pytest
from pydantic import ValidationError

from simengine.scenario import load_scenario, records
from simengine.scenario.variation import uncertain_inputs, value_at, with_values

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def scenario():
    return load_scenario(SCENARIOS / "climb_and_cruise.yaml")


def test_only_the_named_values_change(scenario):
    record = scenario.record
    varied = with_values(record, {"hub.spring.rate": 9.0e4, "flight.phases.0.name": "run-up", "title": "B"})
    assert value_at(varied, "hub.spring.rate") == 9.0e4
    assert varied.flight.phases[0].name == "run-up"
    back = with_values(
        varied,
        {
            "hub.spring.rate": record.hub.spring.rate,
            "flight.phases.0.name": record.flight.phases[0].name,
            "title": record.title,
        },
    )
    assert back == record


def test_defaults_stay_defaults(scenario):
    varied = with_values(scenario.record, {"hub.friction.constant": 0.06})
    assert "breakaway" not in varied.hub.friction.model_fields_set
    assert "atmosphere" in with_values(scenario.record, {"atmosphere.qnh": 1e5}).model_fields_set


def test_a_whole_part_may_be_put_in(scenario):
    hub = records.FixedHub(kind="fixed", name="bolted", blade_angle=0.2)
    assert with_values(scenario.record, {"hub": hub}).hub is hub


@pytest.mark.parametrize("path", ["hub.sprung.rate", "flight.phases.99.name", "masses.pilot.left", "nothing"])
def test_a_path_that_leads_nowhere(scenario, path):
    with pytest.raises(KeyError):
        with_values(scenario.record, {path: 1.0})
    with pytest.raises(KeyError):
        value_at(scenario.record, path)


def test_the_checks_run_again(scenario):
    with pytest.raises(ValidationError, match="smaller angle than coarse_stop"):
        with_values(scenario.record, {"hub.fine_stop": 0.5})
    with pytest.raises(ValidationError, match="greater than 0"):
        with_values(scenario.record, {"hub.spring.rate": -1.0})


def test_uncertain_inputs_in_si(tmp_path):
    file = tmp_path / "a.yaml"
    starter = files("simengine.scenario").joinpath("starter.yaml").read_text()
    file.write_text(starter)
    before = {item.path for item in uncertain_inputs(load_scenario(file))}
    file.write_text(starter.replace("machine: ", "machine: 27 +- 0.5 kg # "))
    found = {item.path: item for item in uncertain_inputs(load_scenario(file))}
    assert set(found) == before | {"masses.machine"}
    item = found["masses.machine"]
    assert (item.value, item.plus_minus, item.deviation) == (27.0, 0.5, 0.25)
    assert item.dimension.name == "mass"
