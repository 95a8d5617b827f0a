"""Tables of a scenario: headings with units, and rows of numbers -> columns in SI."""

import inspect
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic_core import CoreSchema, InitErrorDetails

from simengine import units
from simengine.scenario.quantities import (
    ORIGINS,
    Complaint,
    Converted,
    Record,
    dimension_of,
    error_at,
    from_file,
    origin_problems,
    raise_all,
)
from simengine.scenario.unit_patterns import unit_pattern

ROW_LIMITS = (2, 10_000)

Cell = TypeVar("Cell")


class ColumnMark:
    """Mark of a field that is a column of a table."""


Column = Annotated[tuple[Cell, ...], ColumnMark()]


class Heading(NamedTuple):
    """A heading: name of the column, and how its numbers become SI."""

    name: str
    conversion: units.Conversion


class TableRecord(Record):
    """Base of the tables.

    In a file: `columns: [radius mm, chord mm]` and `rows: [[60, 70], [200, 95]]`. Loaded: one tuple of
    SI values for each column, all of the same length.
    """

    def all_complaints(self) -> Iterator[Complaint]:
        """Columns of one length, which only a table built in Python may lack; then the table's own."""
        columns = {name: getattr(self, name) for name in type(self).model_fields}
        lengths = {name: len(column) for name, column in columns.items() if column is not None}
        rows = next(iter(lengths.values()))
        if not ROW_LIMITS[0] <= rows <= ROW_LIMITS[1]:
            yield Complaint((), f"must have {ROW_LIMITS[0]} to {ROW_LIMITS[1]:,} rows, but has {rows}")
        elif len(set(lengths.values())) > 1:
            yield Complaint((), f"columns have different lengths: {lengths}")
        else:
            yield from self.complaints()

    @model_validator(mode="before")
    @classmethod
    def read_table(cls, data: Any, info: ValidationInfo) -> Any:
        """Columns in SI from headings and rows."""
        if not isinstance(data, Mapping) or not (from_file(info) or "rows" in data):
            return data
        problems = [
            error_at((key,), "unknown key; a table has: columns, rows, origin, note")
            for key in data
            if key not in ("columns", "rows", "origin", "note")
        ]
        problems += [
            error_at((), f"'{key}' is required: a table is written as columns and rows")
            for key in ("columns", "rows")
            if data.get(key) is None
        ]
        problems += origin_problems(data)
        raise_all(cls.__name__, problems)
        headings, problems = cls.read_headings(data["columns"])
        rows, row_problems = read_rows(data["rows"], len(data["columns"]) if is_list(data["columns"]) else 0)
        raise_all(cls.__name__, problems + row_problems)
        return {
            heading.name: tuple(convert(row[index], heading.conversion) for row in rows)
            for index, heading in enumerate(headings)
        }

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Headings, each with one of its units, and rows of numbers."""
        fewest, most = ROW_LIMITS
        patterns = {
            name: heading_pattern(name, dimension_of(field)) for name, field in cls.model_fields.items()
        }
        needed = [pattern for name, pattern in patterns.items() if cls.model_fields[name].is_required()]
        row = {"type": "array", "items": {"type": "number"}}
        return {
            "type": "object",
            "description": inspect.getdoc(cls) or "",
            "properties": {
                "columns": {
                    "type": "array",
                    "items": {"type": "string", "anyOf": [{"pattern": text} for text in patterns.values()]},
                    "allOf": [{"contains": {"type": "string", "pattern": text}} for text in needed],
                    "uniqueItems": True,
                },
                "rows": {"type": "array", "items": row, "minItems": fewest, "maxItems": most},
                "origin": {"enum": list(ORIGINS)},
                "note": {"type": "string"},
            },
            "required": ["columns", "rows"],
            "additionalProperties": False,
        }

    @classmethod
    def read_headings(cls, columns: Any) -> tuple[list[Heading], list[InitErrorDetails]]:
        """Headings in their order, and what is wrong with them."""
        if not is_list(columns):
            return [], [
                error_at(("columns",), "must be a list of headings, for example [radius mm, chord mm]")
            ]
        headings: list[Heading] = []
        problems: list[InitErrorDetails] = []
        seen: set[str] = set()
        for index, text in enumerate(columns):
            name, _, unit = str(text).strip().partition(" ")
            try:
                if name in seen:
                    raise units.UnitError(f"column '{name}' is given twice")
                seen.add(name)
                headings.append(Heading(name, cls.heading_conversion(name, unit)))
            except units.UnitError as error:
                problems.append(error_at(("columns", index), str(error)))
                seen.add(units.nearest(name, cls.model_fields) or name)  # misspelt is not missing as well
        for name, field in cls.model_fields.items():
            if field.is_required() and name not in seen:
                problems.append(error_at(("columns",), f"column '{name}' is missing"))
        return headings, problems

    @classmethod
    def heading_conversion(cls, name: str, unit: str) -> units.Conversion:
        """How the numbers under a heading become SI."""
        field = cls.model_fields.get(name)
        if field is None:
            near = units.nearest(name, cls.model_fields)
            hint = f"; nearest: '{near}'" if near else ""
            raise units.UnitError(f"unknown column; accepted: {', '.join(cls.model_fields)}{hint}")
        dimension = dimension_of(field)
        if dimension is None:
            return units.Conversion(1.0, 0.0)
        return units.conversion(units.accepted_unit(unit, dimension), dimension)


def heading_pattern(name: str, dimension: units.Dimension | None) -> str:
    """Regular expression of a heading."""
    unit = unit_pattern(dimension) if dimension else ""
    if dimension is None or not unit:
        return f"^{name}$"
    return f"^{name}(?: +(?:{unit}))?$" if dimension.bare else f"^{name} +(?:{unit})$"


def is_list(value: Any) -> bool:
    """Whether a value is a list of the file."""
    return isinstance(value, tuple | list)


def convert(cell: float, conversion: units.Conversion) -> Converted:
    """A cell in SI."""
    return Converted(cell * conversion.factor + conversion.offset)


def read_rows(rows: Any, width: int) -> tuple[list[Any], list[InitErrorDetails]]:
    """Rows of numbers, and what is wrong with them."""
    if not is_list(rows):
        return [], [error_at(("rows",), "must be a list of rows, for example [[60, 70], [200, 95]]")]
    fewest, most = ROW_LIMITS
    if not fewest <= len(rows) <= most:
        message = f"must have {fewest} to {most:,} rows, but has {len(rows)}"
        return [], [error_at(("rows",), message)]
    return list(rows), [
        problem for index, row in enumerate(rows) for problem in row_problems(row, index, width)
    ]


def row_problems(row: Any, index: int, width: int) -> Iterator[InitErrorDetails]:
    """What is wrong with one row."""
    if not is_list(row):
        yield error_at(("rows", index), "must be a row of numbers in brackets")
        return
    if width and len(row) != width:
        yield error_at(("rows", index), f"has {len(row)} values, but there are {width} columns")
    for position, cell in enumerate(row[: width or None]):
        if isinstance(cell, bool) or not isinstance(cell, int | float):
            yield error_at(("rows", index, position), "must be a number; the unit stands in the heading")


CLOSEST = 1e-9  # of the last row: closer rows are one, and a curve through both has no slope


def rising(table: TableRecord, name: str) -> Iterator[Complaint]:
    """Complain where a column does not rise from row to row, by more than a slip of its last digits."""
    column = getattr(table, name)
    for index, (before, after) in enumerate(pairwise(column)):
        if not after - before > CLOSEST * max(abs(before), abs(column[-1])):
            yield Complaint((name, index + 1), "must be larger than in the row before")
