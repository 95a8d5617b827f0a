"""The JSON Schema accepts what the loader accepts, and refuses wrong units, words and keys."""

from pathlib import Path
from typing import Any

import jsonschema
import pytest
from scenario_text import SCENARIO, replaced

from simengine import units
from simengine.scenario import json_schema, records
from simengine.scenario.loader import plain
from simengine.scenario.quantities import QuantityError, parse_quantity
from simengine.scenario.schema import quantity_schema
from simengine.scenario.yaml_nodes import parse_text
from simengine.units import Dimension


def as_json(value: Any) -> Any:
    """Tuples as lists."""
    if isinstance(value, tuple):
        return [as_json(item) for item in value]
    return {key: as_json(item) for key, item in value.items()} if isinstance(value, dict) else value


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def valid(validator: jsonschema.Draft202012Validator, text: str) -> bool:
    return bool(validator.is_valid(as_json(plain(parse_text(text, "a.yaml")[0]))))


def test_good_scenario(validator: jsonschema.Draft202012Validator) -> None:
    assert valid(validator, SCENARIO)


def test_starter_file(validator: jsonschema.Draft202012Validator) -> None:
    starter = Path(records.__file__).parent / "starter.yaml"
    assert valid(validator, starter.read_text())


GOOD = [
    ("  start: 10 L", "  start: 10 +- 0.2 L, measured"),
    ("  start: 10 L", "  start: {value: 10 L, origin: measured, note: weighed}"),
    ("  reduction: 2.68", "  reduction: 2.68 +- 0.01"),
    ("  relative_humidity: 60 %", "  relative_humidity: 0.6"),
    ("friction_torque: 2.5 N*m", "friction_torque: 2.5 Nm"),
    ("chord mm", "chord cm"),
    ("axis %]", "axis]"),
    ("    columns: [bar", "    origin: measured\n    columns: [bar"),
    ("title:", "note: layered\ntitle:"),
]
BAD = [
    ("  start: 10 L", "  start: 10"),
    ("  start: 10 L", "  start: 10 kg"),
    ("  start: 10 L", "  start: 10 L, guessed"),
    ("  start: 10 L", "  start: {value: 10 kg}"),
    ("  start: 10 L", "  start: {valu: 10 L}"),
    ("  start: 10 L", "  strt: 10 L"),
    ("simengine: 1", "simengine: 2"),
    ("  machine: 29 kg\n", ""),
    ("kind: two_stop", "kind: two_stopp"),
    ("kind: helical", "kind: torsion"),
    ("  blades: 2", "  blades: 2.5"),
    ("  blades: 2", "  blades: 9"),
    ("chord mm", "chord kg"),
    ("chord mm", "chord"),
    ("chord mm", "chrod mm"),
    (", axis %]", "]"),
    ("[200, 95, 24, 16, 32]", "[200, x, 24, 16, 32]"),
    ("rows: [[0, 0], [10, 100], [20, 0]]", "rows: [[0, 0]]"),
    ("    - kind: cruise", "    - kind: cruises"),
]


@pytest.mark.parametrize(("old", "new"), GOOD)
def test_accepts(validator: jsonschema.Draft202012Validator, old: str, new: str) -> None:
    assert valid(validator, replaced(old, new))


@pytest.mark.parametrize(("old", "new"), BAD)
def test_refuses(validator: jsonschema.Draft202012Validator, old: str, new: str) -> None:
    assert not valid(validator, replaced(old, new))


LAYERS = [
    ("extends: a.yaml\ntitle: t\n", True),
    ("extends: a.yaml\nhub: {spring: {rate: 14 N/mm}}\n", True),
    ("extends: a.yaml\nhub: {spring: {rate: 14 kg}}\n", False),
    ("extends: a.yaml\nhub: {sprng: {}}\n", False),
    ("extends: /etc/a.yaml\n", False),
    ("extends: a.txt\n", False),
    ("title: t\n", False),
    ("use: a.yaml\n", True),
]


@pytest.mark.parametrize(("text", "good"), LAYERS)
def test_layers(validator: jsonschema.Draft202012Validator, text: str, good: bool) -> None:
    assert valid(validator, text) is good


def test_a_part_needs_nothing_else(validator: jsonschema.Draft202012Validator) -> None:
    start, end = SCENARIO.index("engine:\n"), SCENARIO.index("drive:\n")
    assert valid(validator, SCENARIO[:start] + "engine: {use: parts/engines/a.yaml}\n" + SCENARIO[end:])
    assert valid(
        validator, SCENARIO[:start] + "engine: {use: a.yaml, idle_speed: 2000 rpm}\n" + SCENARIO[end:]
    )
    assert not valid(validator, SCENARIO[:start] + "engine: {idle_speed: 2000 rpm}\n" + SCENARIO[end:])


SPELLINGS = [
    "N*m",
    "N m",
    "Nm",
    "N·m",
    "N * m",
    "mm",
    "m^2",
    "m²",
    "m2",
    "kg/m3",
    "kg / m³",
    "°",
    "°C",
    "degC",
    "l",
]
SPELLINGS += [
    "g/kWh",
    "g/(kW*h)",
    "N*m*s/rad",
    "Nm/°",
    "kg*m**2",
    "%",
    "MM",
    "gal",
    "kg mm",
    "Nmm",
    "N cm",
    "kgf cm",
    "",
]
TEXTS = [
    "46 {}",
    "46{}",
    "4.6e1 +- .5 {}",
    "-46 ± 0.5 {}, measured",
    "46 {},fitted",
    "46 {}, x",
    "x {}",
    "46,5 {}",
]


@pytest.mark.parametrize("dimension", units.DIMENSIONS, ids=lambda d: d.name)
def test_schema_and_loader_agree_on_quantities(dimension: Dimension) -> None:
    """Both say yes, or both say no, for every unit, its spellings, and some that are none."""
    check = jsonschema.Draft202012Validator(quantity_schema(dimension))
    for unit in {*SPELLINGS, *(unit for other in units.DIMENSIONS for unit in other.units)}:
        for text in (form.format(unit).strip() for form in TEXTS):
            try:
                parse_quantity(text, dimension)
                accepted = True
            except QuantityError:
                accepted = False
            assert check.is_valid(text) is accepted, (text, dimension.name)


def test_every_record_is_described() -> None:
    definitions = json_schema()["$defs"]
    assert all(item.get("description") for name, item in definitions.items() if name.endswith("_complete"))
    assert definitions["TwoStopHub_complete"]["properties"]["stop_radius"]["default"] == "20 mm"
    assert "Atmosphere_complete" in definitions
