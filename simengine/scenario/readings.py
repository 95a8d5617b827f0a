"""Readings of a maker: a csv file -> checked readings in SI, with every problem told by its row.

Columns are named in the first row, each with its unit; the value's own unit stands in the row, because every
kind of reading has another. Engine speeds are those of the ENGINE. `#` begins a comment line.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path

from simengine import units
from simengine.errors import Problem, ScenarioError
from simengine.scenario.reading_kinds import DIRECTIONS, KINDS, PHASES, Kind
from simengine.scenario.text_files import cells_of, read_text
from simengine.units import Dimension, UnitError

QUANTITIES: dict[str, Dimension] = {
    "height": units.LENGTH,
    "temperature": units.TEMPERATURE,
    "qnh": units.PRESSURE,
    "airspeed": units.SPEED,
    "throttle": units.FRACTION,
    "bar": units.FRACTION,
    "mass": units.MASS,
    "duration": units.TIME,
    "angle": units.ANGLE,
    "wire_length": units.LENGTH,
    "half_spacing": units.LENGTH,
    "blade_mass": units.MASS,
}
RANGES: dict[str, tuple[float, float]] = {
    "height": (-500.0, 9000.0),
    "temperature": (200.0, 340.0),
    "qnh": (90000.0, 108000.0),
    "airspeed": (3.0, 40.0),
    "throttle": (0.0, 1.0),
    "bar": (0.0, 1.0),
    "mass": (30.0, 600.0),
    "duration": (1.0, 36000.0),
    "angle": (-0.1, 1.4),
    "wire_length": (0.05, 10.0),
    "half_spacing": (0.002, 1.0),
    "blade_mass": (0.02, 10.0),
}
WORDS = ("what", "value", "unit", "+-", "phase", "direction", "note", "use")
REQUIRED = ("what", "value", "unit")
USES = ("fit", "hold")
SIZE_LIMIT = 5_000_000  # bytes; an hour of a raw log with twenty rows a second
MOST_ROWS = 1_000_000
SEPARATORS = (",", ";", "\t")
BEYOND_BELIEF = 1000.0  # a band that many times smaller or larger than the usual one is a slip of typing
MARKS = {"±": "+-", "+/-": "+-", "plus_minus": "+-"}


@dataclass(frozen=True)
class Reading:
    """One reading in SI.

    Attributes
    ----------
    kind : Kind
        What was read.
    value, plus_minus : float
        [SI]; half-width of its 95 % band.
    usual : bool
        Whether `plus_minus` is the usual one, because none was typed.
    phase : str
        bench, ground, climb, level or descent.
    where : mapping
        What was typed of height, temperature, qnh, airspeed, throttle, bar, mass, duration, angle,
        wire_length, half_spacing, blade_mass [SI].
    direction : str
        `up`, `down` or nothing.
    held : bool
        Kept out of the fit, to be predicted.
    note : str
    file, row : str, int
        Where it stands; the row as an editor counts lines.
    """

    kind: Kind
    value: float
    plus_minus: float
    usual: bool
    phase: str
    where: dict[str, float] = field(default_factory=dict)
    direction: str = ""
    held: bool = False
    note: str = ""
    file: str = ""
    row: int = 0

    @property
    def label(self) -> str:
        """Short name with its row."""
        words = {"up": " toward fine", "down": " toward coarse"}
        if self.kind.name.startswith(("on_", "off_")):
            words = {"up": " (throttle opening)", "down": " (throttle closing)"}
        direction = words.get(self.direction, "")
        return f"{self.kind.words}{direction}, {self.phase} (row {self.row})"


@dataclass(frozen=True)
class Heading:
    """One column: its name and, for a quantity, its unit in our spelling."""

    name: str
    unit: str


def rows_of(path: Path, most: int = MOST_ROWS) -> list[tuple[int, list[str]]]:
    """The first rows with their line numbers, comments and empty lines left out.

    Raises
    ------
    ScenarioError
        If the file cannot be read or holds no row.
    """
    file = str(path)
    lines = read_text(path, file, SIZE_LIMIT).splitlines()
    first = next((line for line in lines if line.strip() and not line.lstrip().startswith("#")), "")
    separator = max(SEPARATORS, key=first.count)
    found = []
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        cells = [cell.strip() for cell in cells_of(file, number, line, separator)]
        if any(cells):
            found.append((number, cells))
        if len(found) == most:
            break
    if not found:
        names = ", ".join(WORDS[:5])
        message = f"holds no readings; the first row names the columns: {names}, height m, ..."
        raise ScenarioError([Problem(str(path), None, "", message)])
    return found


def load_readings(path: str | os.PathLike[str]) -> list[Reading]:
    """Read and check a file of readings.

    Parameters
    ----------
    path : path
        A csv file.

    Returns
    -------
    list of Reading
        In the order of the rows.

    Raises
    ------
    ScenarioError
        With every problem found, each with its row and column.
    """
    file = Path(path)
    rows = rows_of(file)
    headings, problems = read_headings(str(file), *rows[0])
    if problems:
        raise ScenarioError(problems)
    if len(rows) == 1:
        raise ScenarioError([Problem(str(file), rows[0][0], "", "holds headings but no reading")])
    readings = []
    for number, cells in rows[1:]:
        reader = RowReader(str(file), number, headings, cells)
        reading = reader.read()
        problems += reader.problems
        if reading is not None:
            readings.append(reading)
    problems += list(duplicates(readings))
    problems += list(swapped(readings))
    if problems:
        raise ScenarioError(sorted(problems, key=lambda problem: problem.line or 0))
    return readings


def read_headings(file: str, number: int, cells: list[str]) -> tuple[list[Heading], list[Problem]]:
    """Columns of the file, and what is wrong with them."""
    headings: list[Heading] = []
    problems = []
    for text in cells:
        name, _, unit = text.partition(" ")
        name = MARKS.get(name, name)
        message = heading_problem(name, unit, [heading.name for heading in headings])
        if message:
            problems.append(Problem(file, number, text or "(empty heading)", message))
            headings.append(Heading(units.nearest(name, [*WORDS, *QUANTITIES]) or name, ""))
        else:
            known = QUANTITIES.get(name)
            headings.append(Heading(name, units.accepted_unit(unit, known) if known else ""))
    names = [heading.name for heading in headings]
    for name in REQUIRED:
        if name not in names:
            problems.append(
                Problem(file, number, name, f"this column is missing; required: {', '.join(REQUIRED)}")
            )
    return headings, problems


def heading_problem(name: str, unit: str, before: list[str]) -> str:
    """What is wrong with one heading; nothing if it is good."""
    if name in before:
        return "this column is there twice"
    if name in WORDS:
        return f"this column takes no unit, but has '{unit}'" if unit else ""
    if name not in QUANTITIES:
        near = units.nearest(name, [*WORDS, *QUANTITIES])
        accepted = ", ".join([*WORDS, *(f"{key} {dim.si or '%'}" for key, dim in QUANTITIES.items())])
        return f"unknown column; accepted: {accepted}" + (f"; nearest: '{near}'" if near else "")
    try:
        units.accepted_unit(unit, QUANTITIES[name])
    except UnitError as error:
        return f"the heading carries the unit: {error}"
    return ""


class RowReader:
    """Reads one row and collects what is wrong with it."""

    def __init__(self, file: str, row: int, headings: list[Heading], cells: list[str]) -> None:
        self.file, self.row = file, row
        self.problems: list[Problem] = []
        if len(cells) > len(headings):
            hint = "; decimals are written with a point, a comma parts cells"
            self.complain("", f"has {len(cells)} cells, but there are {len(headings)} columns{hint}")
        padded = [*cells, *[""] * len(headings)]
        self.cells = {heading.name: padded[place] for place, heading in enumerate(headings)}
        self.units = {heading.name: heading.unit for heading in headings}

    def complain(self, column: str, message: str) -> None:
        """Note a problem of this row."""
        self.problems.append(Problem(self.file, self.row, column, message))

    def read(self) -> Reading | None:
        """The reading; None if something is wrong."""
        kind = self.kind()
        if kind is None:
            return None
        value, factor = self.value(kind)
        where = self.quantities()
        phase = self.one_of("phase", kind.phases, PHASES, kind.phases[0])
        direction = self.one_of("direction", DIRECTIONS, DIRECTIONS, "")
        use = self.one_of("use", USES, USES, "fit")
        for column in kind.needs:
            if column not in where and not (column == "direction" and direction):
                self.complain(column, f"is required for '{kind.name}'")
        plus_minus, usual = self.plus_minus(kind, value, factor)
        if kind.name == "fuel_used" and units.normalise(self.cells["unit"]) in units.MASS.units:
            where["by_mass"] = 1.0
        if self.problems:
            return None
        note = self.cells.get("note", "")
        held = use == "hold"
        return Reading(
            kind, value, plus_minus, usual, phase, where, direction, held, note, self.file, self.row
        )

    def kind(self) -> Kind | None:
        """What was read."""
        name = self.cells["what"]
        if name in KINDS:
            return KINDS[name]
        near = units.nearest(name, list(KINDS))
        hint = f"; nearest: '{near}'" if near else ""
        self.complain("what", f"'{name}' is no kind of reading; accepted: {', '.join(KINDS)}{hint}")
        return None

    def number(self, column: str) -> float | None:
        """A finite number; None, with a complaint, if it is not one."""
        text = self.cells[column]
        try:
            number = float(text)
        except ValueError:
            number = float("nan")
        hint = "; write decimals with a point" if "," in text else ""
        if isfinite(number):
            return number
        self.complain(column, f"'{text}' is not a number{hint}" if text else "is empty: a number is required")
        return None

    def value(self, kind: Kind) -> tuple[float, float]:
        """The value in SI, and SI over the unit as typed."""
        number, unit = self.number("value"), self.cells["unit"]
        fitting = (other for other in kind.dimensions if units.normalise(unit) in other.units)
        dimension = next(fitting, kind.dimensions[0])
        try:
            name = units.accepted_unit(unit, dimension)
        except UnitError as error:
            self.complain("unit", f"for '{kind.name}': {error}")
            return float("nan"), 1.0
        how = units.conversion(name, dimension)
        if number is None:
            return float("nan"), how.factor
        value = units.to_si(number, name, dimension)
        low, high = kind.lowest, kind.highest
        if dimension is units.MASS and kind.name == "fuel_used":
            low, high = 700.0 * low, 700.0 * high
        if not low <= value <= high:
            span = f"{units.readable(low, dimension)} to {units.readable(high, dimension)}"
            self.complain("value", f"{number:g} {unit} is impossible for '{kind.name}'; possible: {span}")
        return value, how.factor

    def plus_minus(self, kind: Kind, value: float, factor: float) -> tuple[float, bool]:
        """Half-width of the band in SI, and whether it is the usual one."""
        text = self.cells.get("+-", "")
        if not text:
            return kind.usual_band(value), True
        share = text.endswith("%")
        try:
            typed = float(text.rstrip("% "))
        except ValueError:
            typed = float("nan")
        if not isfinite(typed) or typed <= 0.0:
            self.complain(
                "+-", f"'{text}' must be a number above zero in the unit of the value, or per cent, '2 %'"
            )
            return float("nan"), False
        band = 0.01 * typed * abs(value) if share else typed * factor
        usual = kind.usual_band(value)
        if isfinite(usual) and not usual / BEYOND_BELIEF <= band <= usual * BEYOND_BELIEF:
            shown = f"{usual / factor:.3g} {self.cells['unit']}"
            self.complain("+-", f"'{text}' is beyond belief; usual for '{kind.name}' is {shown}")
        return band, False

    def quantities(self) -> dict[str, float]:
        """What is told of the conditions, in SI."""
        found = {}
        for name, dimension in QUANTITIES.items():
            if not self.cells.get(name):
                continue
            number = self.number(name)
            if number is None:
                continue
            value = units.to_si(number, self.units[name], dimension)
            low, high = RANGES[name]
            if not low <= value <= high:
                span = f"{units.readable(low, dimension)} to {units.readable(high, dimension)}"
                self.complain(name, f"{number:g} {self.units[name]} is impossible; possible: {span}")
            found[name] = value
        return found

    def one_of(self, column: str, accepted: tuple[str, ...], every: tuple[str, ...], default: str) -> str:
        """A word of a few; the default where the cell is empty."""
        word = self.cells.get(column, "").lower()
        if not word or word in accepted:
            return word or default
        near = units.nearest(word, every)
        hint = f"; nearest: '{near}'" if near and near != word else ""
        self.complain(column, f"'{word}' does not fit here; accepted: {', '.join(accepted)}{hint}")
        return default


def duplicates(readings: list[Reading]) -> Iterator[Problem]:
    """Complain of readings that say the same, however they are typed and in whichever file they stand."""
    seen: dict[tuple[object, ...], Reading] = {}
    for reading in readings:
        numbers = {"value": reading.value, "+-": reading.plus_minus} | reading.where
        key = (
            *(reading.kind.name, reading.phase, reading.direction, reading.note),
            *((name, f"{number:.9g}") for name, number in sorted(numbers.items())),
        )
        first = seen.setdefault(key, reading)
        if first is not reading:
            place = f"row {first.row}" + (f" of {first.file}" if first.file != reading.file else "")
            message = f"is the same as {place}; a second reading of the same thing needs a note of its own"
            yield Problem(reading.file, reading.row, "", message)


def swapped(readings: list[Reading]) -> Iterator[Problem]:
    """Complain where a shift finishes below the rpm at which it begins, or a return above."""
    for low, high, words in (
        ("shift_begin_rpm", "shift_finish_rpm", "the shift finishes below the rpm at which it begins"),
        ("return_finish_rpm", "return_begin_rpm", "the return finishes above the rpm at which it begins"),
    ):
        lower = [reading for reading in readings if reading.kind.name == low]
        for reading in readings:
            if reading.kind.name != high:
                continue
            crossed = [other for other in lower if crosses(other, reading)]
            if crossed:
                message = f"{words} (row {crossed[0].row}): are the two swapped?"
                yield Problem(reading.file, reading.row, "value", message)


def crosses(lower: Reading, higher: Reading) -> bool:
    """Whether two readings of one place stand the wrong way round, by more than their bands."""
    same = lower.phase == higher.phase and lower.where.get("height") == higher.where.get("height")
    return same and lower.value - higher.value > lower.plus_minus + higher.plus_minus
