"""JSON Schema of a scenario file, generated from the records, for completion and checks in an editor.

It knows keys, what they mean, units, words and required keys. Ranges of values and what must fit together are
for `load_scenario` alone.
"""

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from simengine import units
from simengine.scenario.descriptions import descriptions
from simengine.scenario.problems import is_record, plain_type
from simengine.scenario.quantities import (
    NUMBER,
    ORIGINS,
    PLUS_MINUS,
    QUANTITY_KEY,
    UNSIGNED,
    Record,
    dimension_of,
)
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.tables import TableRecord
from simengine.scenario.unit_patterns import unit_pattern
from simengine.scenario.variants import EXPECT, NAME
from simengine.scenario.variants import KEY as VARIANTS
from simengine.units import Dimension

DIALECT = "https://json-schema.org/draft/2020-12/schema"
REFERENCE = "#/$defs/"
COMPLETE, LAYER = "_complete", "_layer"
VARIANT = "Variant"
PATH = {
    "type": "string",
    "pattern": r"^[^/~\\].*\.ya?ml$",
    "examples": ["parts/engines/example.yaml"],
}
QUANTITY = REFERENCE + "quantity_"
PARTS = ("engine", "propeller", "hub", "wing")  # blocks that are kept as files of their own
RANGES = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")


class SchemaWriter(GenerateJsonSchema):
    """Pydantic's generator without titles that only repeat the key."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        """No titles."""
        return False


def json_schema() -> dict[str, Any]:
    """JSON Schema, draft 2020-12, of a scenario file.

    Each record comes twice: complete, and as a layer, of which nothing is required, because the rest
    comes from the file named by `extends` or `use`.

    Returns
    -------
    dict
        Ready for `json.dumps`.

    Examples
    --------
    >>> import simengine
    >>> simengine.schema()["$schema"]
    'https://json-schema.org/draft/2020-12/schema'
    """
    source = ScenarioRecord.model_json_schema(schema_generator=SchemaWriter)
    definitions = source.pop("$defs")
    definitions["ScenarioRecord"] = source
    describe_keys(definitions)
    written = {quantity_name(item.name): quantity_schema(item) for item in units.DIMENSIONS}
    for name, definition in definitions.items():
        for ending in (COMPLETE, LAYER):
            written[name + ending] = variant(definition, ending)
        written[name] = switch(name, ["use"])
    top = written["ScenarioRecord" + LAYER]["properties"]
    top["extends"] = {**PATH, "description": "The scenario that this file is put on top of."}
    written[VARIANT] = variant_schema(written["ScenarioRecord" + LAYER])
    for ending in (COMPLETE, LAYER):
        written["ScenarioRecord" + ending]["properties"][VARIANTS] = variants_schema()
    root = switch("ScenarioRecord", ["use", "extends"])
    del written["ScenarioRecord"]
    return {"$schema": DIALECT, "title": "simengine scenario", **root, "$defs": written}


def part_schema(part: str) -> dict[str, Any]:
    """JSON Schema of a file that holds one part: an engine, a propeller, a hub, a wing.

    Parameters
    ----------
    part : str
        One of `PARTS`.
    """
    whole = json_schema()
    definitions = whole["$defs"]
    root = definitions["ScenarioRecord" + COMPLETE]["properties"][part]
    needed = reachable(root, definitions)
    kept = {name: item for name, item in definitions.items() if name in needed}
    return {"$schema": DIALECT, "title": f"simengine {part}", **root, "$defs": kept}


def reachable(schema: dict[str, Any], definitions: dict[str, Any]) -> set[str]:
    """Names of the definitions that a schema leads to."""
    found: set[str] = set()
    waiting = [schema]
    while waiting:
        names = set(re.findall(rf'"{re.escape(REFERENCE)}([^"]+)"', json.dumps(waiting.pop())))
        waiting += [definitions[name] for name in names - found]
        found |= names
    return found


def schema_text(schema: dict[str, Any]) -> str:
    """A schema as it is stored in a file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def variant_schema(layer: dict[str, Any]) -> dict[str, Any]:
    """What one variant may hold: what a layer may, but neither `extends` nor variants, and nothing agreed."""
    result = deepcopy(layer)
    result["description"] = "What differs from the file: laid over it key by key."
    del result["properties"]["extends"]
    result["properties"][EXPECT] = {
        "type": "null",
        "description": "Is not checked here: give it a file of its own.",
    }
    return result


def variants_schema() -> dict[str, Any]:
    """The mapping of names to variants; an empty value takes away a variant of the file below."""
    return {
        "type": "object",
        "description": "Other versions of this scenario: by name, what differs.",
        "propertyNames": {"pattern": f"^{NAME}$"},
        "additionalProperties": {"anyOf": [{"$ref": REFERENCE + VARIANT}, {"type": "null"}]},
    }


def switch(name: str, keys: list[str]) -> dict[str, Any]:
    """A record that is a layer if it has one of the keys, and complete otherwise."""
    return {
        "if": {"type": "object", "anyOf": [{"required": [key]} for key in keys]},
        "then": {"$ref": f"{REFERENCE}{name}{LAYER}"},
        "else": {"$ref": f"{REFERENCE}{name}{COMPLETE}"},
    }


def variant(definition: dict[str, Any], ending: str) -> dict[str, Any]:
    """A record as it stands complete, or as a layer."""
    result = deepcopy(definition)
    for node in nodes(result):
        tidy(node)
        if ending == LAYER and "$ref" in node and not node["$ref"].startswith(QUANTITY):
            node["$ref"] += LAYER
    if ending == LAYER:
        for name in ("required", "allOf"):
            result.pop(name, None)
    accept_empty(result)
    if ending == LAYER:
        result["properties"]["use"] = {**PATH, "description": "The part that this mapping is put on top of."}
    return result


def tidy(node: dict[str, Any]) -> None:
    """One node of pydantic's schema, as we write it."""
    if "const" in node:  # older versions of pydantic say it twice
        node.pop("enum", None)
    if "oneOf" in node:  # not exactly one: without `kind` a layer may fit several
        node["anyOf"] = node.pop("oneOf")
        node.pop("discriminator", None)
    if QUANTITY_KEY in node:
        for name in RANGES:
            node.pop(name, None)
        node["$ref"] = REFERENCE + quantity_name(node.pop(QUANTITY_KEY))


def accept_empty(record: dict[str, Any]) -> None:
    """An empty value is the same as a key left out, and in a layer takes away what lies below."""
    for name, item in record["properties"].items():
        if name in record.get("required", ()) or {"type": "null"} in item.get("anyOf", ()):
            continue
        told = {key: item.pop(key) for key in ("description", "default") if key in item}
        record["properties"][name] = {**told, "anyOf": [item, {"type": "null"}]}


def nodes(schema: Any) -> Iterator[dict[str, Any]]:
    """Every schema inside a schema, itself included."""
    if isinstance(schema, dict):
        yield schema
        for key, value in schema.items():
            children = value.values() if key == "properties" else [value]
            for child in children:
                yield from nodes(child)
    elif isinstance(schema, list):
        for item in schema:
            yield from nodes(item)


def quantity_name(dimension: str) -> str:
    """Name of a quantity's definition."""
    return f"quantity_{dimension.replace(' ', '_')}"


def quantity_schema(dimension: Dimension) -> dict[str, Any]:
    """JSON Schema of a quantity: the text, the mapping form and, where accepted, a bare number."""
    unit = unit_pattern(dimension)
    unit_part = rf" *(?:{unit})" if unit else ""
    unit_part = f"(?:{unit_part})?" if unit and dimension.bare else unit_part
    origin = rf"(?: *, *(?:{'|'.join(ORIGINS)}))?"
    text = {
        "type": "string",
        "pattern": rf"^{NUMBER}(?: *{PLUS_MINUS} *{UNSIGNED})?{unit_part}{origin}$",
        "examples": [dimension.example],
    }
    bare: list[dict[str, Any]] = [{"type": "number"}] if dimension.bare else []
    form = {
        "type": "object",
        "properties": {
            "value": {"anyOf": [text, *bare]},
            "origin": {"enum": list(ORIGINS)},
            "note": {"type": "string"},
        },
        "required": ["value"],
        "additionalProperties": False,
    }
    return {
        "description": f"{dimension.name}; units: {dimension.accepted}",
        "anyOf": [text, *bare, form],
    }


def describe_keys(definitions: dict[str, Any]) -> None:
    """Meanings of the keys, and defaults as they would be typed; a record's own defaults stand inside it."""
    for record in record_types(ScenarioRecord, set()):
        properties = definitions[record.__name__].get("properties", {})
        texts = descriptions(record)
        if issubclass(record, TableRecord):
            headings = [f"{name}: {text}" for name, text in texts.items()]
            properties["columns"]["description"] = "Headings with their units. " + " ".join(headings)
            continue
        for name, field in record.model_fields.items():
            properties[name]["description"] = texts.get(name, "")
            if field.is_required():
                continue
            properties[name].pop("default", None)
            dimension = dimension_of(field)
            if dimension and isinstance(field.default, float):
                properties[name]["default"] = units.readable(field.default, dimension)
            elif isinstance(field.default, str | bool | int):
                properties[name]["default"] = field.default


def record_types(record: type[Record], seen: set[type[Record]]) -> set[type[Record]]:
    """A record type with all that it holds."""
    seen.add(record)
    for field in record.model_fields.values():
        for kind in parts_of(field.annotation):
            if kind not in seen:
                record_types(kind, seen)
    return seen


def parts_of(annotation: Any) -> Iterator[type[Record]]:
    """Record types inside a type."""
    kind = plain_type(annotation)
    if is_record(kind):
        yield kind
    for part in getattr(kind, "__args__", ()):
        yield from parts_of(part)
