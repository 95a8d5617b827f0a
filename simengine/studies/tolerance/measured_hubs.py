"""A batch of measured hubs from a csv file: one hub a row, one measured input a column.

The first column is `hub`, its name. Every other heading is an input of the tolerance study with its unit,
such as `hub.spring.rate N/mm`, `hub.spring.free_length mm`, `propeller.blade_angle_datum deg`,
`hub.spring.washers`, or a difference of one blade with its number, such as `blade_angle_1 deg`. What a file
does not hold is as in the scenario.
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simengine import units
from simengine.errors import Problem, ScenarioError
from simengine.scenario import records
from simengine.scenario.hub_study_checks import fitting, input_of
from simengine.scenario.text_files import csv_rows, read_text
from simengine.scenario.tolerance_records import BETWEEN_BLADES
from simengine.studies.tolerance.inputs import FARTHEST_ANGLE, Input

Array = NDArray[np.float64]

NAME = "hub"
WASHERS = "hub.spring.washers"
MEASURED = "measured"
MOST_HUBS = 1_000_000
SIZE_LIMIT = 20_000_000  # bytes
MOST_WASHERS = 100  # as in a scenario

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class MeasuredHubs:
    """Hubs of a file.

    Attributes
    ----------
    names : tuple of str
    inputs : tuple of Input
        One for each column, without a distribution of its own.
    values : NDArray
        Shape (hubs, inputs) [SI].
    digest : str
        Of the file.
    """

    names: tuple[str, ...]
    inputs: tuple[Input, ...]
    values: Array
    digest: str


def read_hubs(path: Path, record: records.ScenarioRecord) -> MeasuredHubs:
    """Read a file of measured hubs.

    Raises
    ------
    ScenarioError
        With every problem found, each with its line.
    """
    text = read_text(path, str(path), SIZE_LIMIT)
    rows = filled_rows(path, text)
    if len(rows) < 2:
        raise ScenarioError([Problem(str(path), 1, "", "needs a row of headings and at least one hub")])
    headings = [cell.strip() for cell in rows[0][1]]
    problems: list[Problem] = []
    columns = [column_of(path, record, heading, problems) for heading in headings]
    if headings.count(NAME) != 1:
        problems.append(
            Problem(str(path), 1, "", f"one column must be called '{NAME}': the name of each hub")
        )
    problems += [
        Problem(str(path), 1, heading, "is given twice")
        for place, heading in enumerate(headings)
        if heading != NAME and heading.split(" ")[0] in {each.split(" ")[0] for each in headings[:place]}
    ]
    if len(rows) - 1 > MOST_HUBS:
        problems.append(Problem(str(path), None, "", f"holds more than {MOST_HUBS:,} hubs"))
    values, names = read_rows(path, rows, headings, columns, problems)
    if problems:
        raise ScenarioError(problems[:100])
    inputs = tuple(column[0] for column in columns if column is not None)
    return MeasuredHubs(tuple(names), inputs, values, hashlib.sha256(text.encode()).hexdigest())


def filled_rows(path: Path, text: str) -> list[Row]:
    """Rows that hold something, each with its line in the file."""
    return [(line, row) for line, row in csv_rows(text, str(path)) if any(cell.strip() for cell in row)]


def column_of(
    path: Path, record: records.ScenarioRecord, heading: str, problems: list[Problem]
) -> tuple[Input, units.Conversion] | None:
    """What a heading stands for; None for the name of the hub, or after a problem."""
    name, _, unit = heading.partition(" ")
    if heading == NAME:
        return None
    found = known_column(record, name)
    if found is None:
        accepted = f"{fitting(record)}, {WASHERS}, {', '.join(f'{each}_1' for each in BETWEEN_BLADES)}"
        problems.append(Problem(str(path), 1, heading, f"is no column of this hub; {accepted}"))
        return None
    try:
        conversion = units.conversion(units.accepted_unit(unit.strip(), found.dimension), found.dimension)
    except units.UnitError as error:
        problems.append(Problem(str(path), 1, heading, str(error)))
        return None
    return found, conversion


def known_column(record: records.ScenarioRecord, name: str) -> Input | None:
    """The input of a column's name."""
    if name == WASHERS:
        washers = getattr(getattr(record.hub, "spring", None), "washers", None)
        return None if washers is None else measured(name, float(washers), units.NUMBER)
    if (common := input_of(record, name)) is not None:
        return measured(name, common[0], common[1][0])
    head, _, number = name.rpartition("_")
    if head in BETWEEN_BLADES and number.isdigit() and 1 <= int(number) <= record.propeller.blades:
        dimension = BETWEEN_BLADES[head][0]
        nominal = 0.0 if dimension is units.ANGLE else 1.0
        return measured(head, nominal, dimension, int(number) - 1)
    return None


def measured(name: str, value: float, dimension: units.Dimension, blade: int | None = None) -> Input:
    """An input without a distribution of its own."""
    return Input(name, value, 0.0, MEASURED, 0.0, dimension, MEASURED, blade)


def read_rows(
    path: Path,
    rows: list[Row],
    headings: list[str],
    columns: list[tuple[Input, units.Conversion] | None],
    problems: list[Problem],
) -> tuple[Array, list[str]]:
    """Values in SI and names, row by row."""
    values = np.full((len(rows) - 1, sum(column is not None for column in columns)), np.nan)
    names: list[str] = []
    for number, (line, row) in enumerate(rows[1:]):
        if len(row) != len(headings):
            message = f"has {len(row)} cells, but there are {len(headings)} columns"
            problems.append(Problem(str(path), line, "", message))
            continue
        place = 0
        for heading, cell, column in zip(headings, row, columns, strict=True):
            if heading == NAME:
                names.append(cell.strip())
            if column is None:
                continue
            value, complaint = cell_value(cell, *column)
            if complaint:
                problems.append(Problem(str(path), line, heading, f"{complaint}, got '{cell.strip()}'"))
            values[number, place] = value
            place += 1
    return values, names


def cell_value(cell: str, item: Input, conversion: units.Conversion) -> tuple[float, str]:
    """A cell in SI, and what is wrong with it; nothing if it is good."""
    try:
        value = units.within_reason(float(cell) * conversion.factor + conversion.offset, item.dimension)
    except units.UnitError as error:
        return np.nan, str(error)
    except ValueError:
        return np.nan, "must be a number"
    return value, complaint_about(item, value)


def complaint_about(item: Input, value: float) -> str:
    """What is wrong with a value [SI] of an input."""
    if item.name == WASHERS and not (value == int(value) and 0 <= value <= MOST_WASHERS):
        return f"must be a whole number from 0 to {MOST_WASHERS}"
    if item.dimension is units.ANGLE and abs(value - item.value) > FARTHEST_ANGLE:
        drawn, farthest = np.degrees(item.value), np.degrees(FARTHEST_ANGLE)
        return f"must lie within {farthest:.3g} deg of the drawing's {drawn:.4g} deg"
    return ""
