"""Files that are generated from the records, and what names them: current, valid, reachable."""

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from simengine import units
from simengine.report.reference import reference_text
from simengine.scenario.descriptions import descriptions
from simengine.scenario.key_tables import listed_examples
from simengine.scenario.loader import plain
from simengine.scenario.quantities import FROM_FILE, Record, dimension_of, parse_quantity
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.schema import PARTS, json_schema, part_schema, record_types
from simengine.scenario.tables import TableRecord
from simengine.scenario.yaml_nodes import parse_text

SCENARIOS = Path(__file__).parents[2] / "scenarios"
LINE = re.compile(r"# yaml-language-server: \$schema=(\S+)")
EXAMPLES = sorted(
    path for path in SCENARIOS.rglob("*.yaml") if not path.name.endswith((".baseline.yaml", ".fitted.yaml"))
)
RECORDS = sorted(record_types(ScenarioRecord, set()), key=lambda record: record.__name__)


def shown(path: Path) -> str:
    return path.relative_to(SCENARIOS).as_posix()


def as_json(value: Any) -> Any:
    """Tuples as lists."""
    if isinstance(value, tuple | list):
        return [as_json(item) for item in value]
    return {key: as_json(item) for key, item in value.items()} if isinstance(value, dict) else value


@cache
def validator(file: Path) -> jsonschema.Draft202012Validator:
    """Of a stored schema, read once."""
    return jsonschema.Draft202012Validator(json.loads(file.read_text(encoding="utf-8")))


STORED = {
    "simengine.schema.json": (json_schema, "simengine schema -o scenarios/simengine.schema.json"),
    **{
        f"parts/{part}.schema.json": (
            lambda part=part: part_schema(part),
            f"simengine schema --part {part} -o scenarios/parts/{part}.schema.json",
        )
        for part in PARTS
    },
}


@pytest.mark.parametrize("name", STORED)
def test_the_stored_schema_is_current(name: str) -> None:
    make, command = STORED[name]
    stored = json.loads((SCENARIOS / name).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(stored)
    assert stored == make(), f"run: {command}"


def test_the_stored_reference_is_current() -> None:
    stored = (SCENARIOS / "REFERENCE.md").read_text(encoding="utf-8")
    assert stored == reference_text(), "run: simengine schema --reference -o scenarios/REFERENCE.md"


@pytest.mark.parametrize("path", EXAMPLES, ids=shown)
def test_every_example_names_its_schema_and_keeps_to_it(path: Path) -> None:
    """The first line leads to the schema from where the file lies, and the file is valid by it."""
    text = path.read_text(encoding="utf-8")
    named = LINE.fullmatch(text.splitlines()[0])
    assert named, f"{shown(path)}: the first line names no schema"
    file = (path.parent / named[1]).resolve()
    assert file.is_relative_to(SCENARIOS.resolve())
    validator(file).validate(as_json(plain(parse_text(text, str(path))[0])))


def test_an_editor_would_mark_a_misspelt_key_of_a_part() -> None:
    hub = yaml.safe_load((SCENARIOS / "parts/hubs/coil_14_10.yaml").read_text(encoding="utf-8"))
    check = validator(SCENARIOS / "parts" / "hub.schema.json")
    check.validate(hub)
    hub["spring"]["rte"] = "90 N/mm"
    with pytest.raises(jsonschema.ValidationError):
        check.validate(hub)


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_every_key_has_its_meaning(record: type[Record]) -> None:
    told = descriptions(record)
    assert [name for name in record.model_fields if not told.get(name)] == []
    assert all(text.endswith((".", "...")) for text in told.values()), told


def test_links_of_the_reference_lead_somewhere() -> None:
    text = reference_text()
    headings = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    anchors = {re.sub(r"\s", "-", re.sub(r"[^\w\s-]", "", heading.lower())) for heading in headings}
    anchors |= set(re.findall(r'<a id="([^"]+)"></a>', text))
    links = re.findall(r"\]\(#([^)]+)\)", text)
    assert len(links) > 250
    assert set(links) - anchors == set()
    assert len(headings) == len(set(headings))


def test_every_key_stands_in_the_reference() -> None:
    text = reference_text()
    for record in RECORDS:
        for name in record.model_fields:
            assert f"| `{name}` |" in text, f"{record.__name__}.{name}"


def typed_fields() -> list[tuple[type[Record], str, str]]:
    """Record, key and example of everything in the list of examples."""
    known = {record.__name__: record for record in RECORDS}
    return [
        (known[name], key, str(value).lower() if isinstance(value, bool) else str(value))
        for name, keys in listed_examples().items()
        for key, value in keys.items()
    ]


@pytest.mark.parametrize(
    ("record", "key", "example"), typed_fields(), ids=lambda value: getattr(value, "__name__", str(value))
)
def test_the_examples_are_what_the_key_accepts(record: type[Record], key: str, example: str) -> None:
    """Of the right dimension and inside the range of the key: the record complains about other keys only."""
    field = record.model_fields[key]
    dimension = dimension_of(field)
    if issubclass(record, TableRecord):  # the unit of a heading
        assert dimension is not None
        assert units.accepted_unit(example, dimension) == example
        return
    if dimension is not None and not example.startswith("["):
        parse_quantity(example, dimension)
    value = plain(parse_text(f"key: {example}", "a.yaml")[0])["key"]
    from pydantic import ValidationError

    try:
        record.model_validate({key: value}, context=FROM_FILE)
    except ValidationError as error:
        # What the record says about several keys together does not come up before each is good by itself.
        wrong = [item for item in error.errors() if item["loc"][:1] == (key,) and item["type"] != "simengine"]
        assert wrong == []
