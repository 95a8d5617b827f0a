"""JSON Schemas of what the commands print with `--json`, from the documents' types and the catalogues."""

from collections.abc import Iterable
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from simengine.report import document_shapes as shapes
from simengine.report.tolerance.document import LEFT_TO_THE_FILE
from simengine.results import (
    calibration_catalogue,
    card_catalogue,
    catalogue,
    choose_catalogue,
    envelope_catalogue,
    loads_catalogue,
    route_catalogue,
    tolerance_catalogue,
)
from simengine.results.catalogue import Variable

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FIGURES, RECORD = "figures", "record"  # marks of the shapes
SCALARS = {str: "string", int: "integer", float: "number", bool: "boolean", NoneType: "null"}

Table = tuple[tuple[str, ...], Iterable[Variable]]

DOCUMENTS: dict[str, type] = {
    "fly": shapes.FlightDocument,
    "envelope": shapes.EnvelopeDocument,
    "compare": shapes.CompareDocument,
    "check": shapes.CheckDocument,
    "route": shapes.RouteDocument,
    "calibrate": shapes.CalibrationDocument,
    "card": shapes.CardDocument,
    "choose": shapes.ChooseDocument,
    "tolerance": shapes.ToleranceDocument,
    "loads": shapes.LoadsDocument,
    "report": shapes.PageDocument,
    "warmup": shapes.WarmupDocument,
}
# Variables that stand in a document's figures or records.
TABLES: dict[str, Iterable[Table]] = {
    "envelope": envelope_catalogue.TABLES,
    "route": route_catalogue.TABLES,
    "calibrate": calibration_catalogue.TABLES,
    "card": card_catalogue.TABLES,
    "choose": choose_catalogue.TABLES,
    "tolerance": (
        *tolerance_catalogue.TABLES,
        *(
            (dimensions, (variable,))
            for figure in tolerance_catalogue.FIGURES
            for dimensions, variable in tolerance_catalogue.statistics(figure)
            if not variable.name.endswith(LEFT_TO_THE_FILE)
        ),
    ),
    "loads": loads_catalogue.TABLES,
}


def document_schema(command: str) -> dict[str, Any]:
    """JSON Schema, draft 2020-12, of what a command prints with `--json`.

    Parameters
    ----------
    command : str
        One of `DOCUMENTS`.
    """
    shape = DOCUMENTS[command]
    head = {"$schema": DIALECT, "title": f"simengine {command} --json"}
    return {**head, **object_schema(shape, command)}


def object_schema(shape: type, command: str) -> dict[str, Any]:
    """Schema of one typed dictionary: its keys, nothing else, and all of them unless marked."""
    hints = get_type_hints(shape, include_extras=True)
    return {
        "type": "object",
        "description": " ".join((shape.__doc__ or "").split()),
        "properties": {name: described(hint, name, command) for name, hint in hints.items()},
        "required": [name for name, hint in hints.items() if get_origin(hint) is not NotRequired],
        "additionalProperties": False,
    }


def described(hint: Any, name: str, command: str) -> dict[str, Any]:
    """Schema of one key, with its description."""
    if get_origin(hint) is NotRequired:
        return described(get_args(hint)[0], name, command)
    if get_origin(hint) is not Annotated:
        return schema_of(hint, command)
    inner, *marks = get_args(hint)
    words = [str(mark) for mark in marks]
    if FIGURES in words:
        return figures_schema(command)
    if RECORD in words:
        return record_schema(catalogue.SETUP if name == "setup" else catalogue.PHASES)
    schema = schema_of(inner, command, name)
    return {**schema, "description": "; ".join(words)}


def schema_of(hint: Any, command: str, name: str = "") -> dict[str, Any]:
    """Schema of a type without marks."""
    if hint is Any:
        return {}
    if hint in SCALARS:
        return {"type": SCALARS[hint]}
    if is_typeddict(hint):
        return object_schema(hint, command)
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return described(hint, name, command)
    if origin is Literal:
        return {"enum": list(inner)}
    if origin in (Union, UnionType):
        return {"anyOf": [schema_of(part, command) for part in inner]}
    if origin is list:
        return {"type": "array", "items": schema_of(inner[0], command, name)}
    if origin is dict:
        return {"type": "object", "additionalProperties": schema_of(inner[1], command)}
    raise TypeError(f"no JSON Schema for {hint}")


def figures_schema(command: str) -> dict[str, Any]:
    """Figures by name; which of them are there depends on what was asked."""
    properties = {
        variable.name: nested(variable, len(dimensions))
        for dimensions, table in TABLES[command]
        for variable in table
    }
    return {
        "type": "object",
        "description": "figures by the names of the result file; null for what does not happen",
        "properties": properties,
        "additionalProperties": False,
    }


def record_schema(variables: Iterable[Variable]) -> dict[str, Any]:
    """One value of each variable."""
    properties = {variable.name: nested(variable, 0) for variable in variables}
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def nested(variable: Variable, depth: int) -> dict[str, Any]:
    """Schema of a variable's values: lists in lists, one for each coordinate, of numbers, words or states."""
    schema: dict[str, Any]
    if variable.flags:
        schema = {"enum": list(variable.flags)}
    elif variable.stored == "text":
        schema = {"type": "string"}
    else:
        schema = {"type": ["number", "null"]}
    for _ in range(depth):
        schema = {"type": "array", "items": schema}
    unit = f" [{variable.units}]" if variable.units else ""
    comment = f"; {variable.comment}" if variable.comment else ""
    return {**schema, "description": f"{variable.long_name}{unit}{comment}"}
