"""Raw logs of a run: time, rpm of one shaft and the two lights, from a csv file.

Columns: `time s`, `engine_speed rpm` or `propeller_speed rpm`, `light` (coarse, fine, off; empty where the
logger lost it); perhaps `phase`, `height m`, `temperature degC`, `qnh hPa`, `airspeed km/h`. A row without
rpm, or with one that is zero, is a dropout.
"""

from dataclasses import dataclass
from math import inf, isfinite, nan
from pathlib import Path
from typing import TYPE_CHECKING

from simengine import units
from simengine.errors import Problem, ScenarioError
from simengine.scenario.reading_kinds import KINDS, RUN
from simengine.scenario.readings import RANGES, rows_of
from simengine.units import Dimension, UnitError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

COLUMNS: dict[str, Dimension] = {
    "time": units.TIME,
    "engine_speed": units.ROTATION_SPEED,
    "propeller_speed": units.ROTATION_SPEED,
    "height": units.LENGTH,
    "temperature": units.TEMPERATURE,
    "qnh": units.PRESSURE,
    "airspeed": units.SPEED,
}
CONDITIONS = ("height", "temperature", "qnh", "airspeed")
WORDS = ("light", "phase")
LIGHTS = ("coarse", "off", "fine")
LOST = -1  # of a light that the logger did not see
FEWEST = 10  # rows of a log
MOMENTS = (-1e12, 1e12)  # of a log's clock, which may count from any day, in milliseconds too [s]
FASTEST = KINDS["shift_begin_rpm"].highest  # engine speed beyond which a row is a false pulse [rad/s]


@dataclass(frozen=True)
class RawLog:
    """One log; arrays of shape (n,), in SI.

    Attributes
    ----------
    time : NDArray
        Rising [s].
    engine_speed : NDArray
        [rad/s]; NaN in a dropout.
    light : NDArray of int
        Place in `LIGHTS`, or LOST.
    phase : tuple of str
    where : dict of str to NDArray
        height, temperature, qnh, airspeed where they were logged; NaN where not.
    rows : NDArray of int
        Lines of the file.
    file : str
    """

    time: "Array"
    engine_speed: "Array"
    light: "NDArray[np.int64]"
    phase: tuple[str, ...]
    where: "dict[str, Array]"
    rows: "NDArray[np.int64]"
    file: str


def is_log(path: Path) -> bool:
    """Whether a csv file is a raw log and no list of readings: it has a column time and none what."""
    names = {cell.partition(" ")[0] for cell in rows_of(path, 1)[0][1]}
    return "time" in names and "what" not in names


def load_log(path: Path, reduction: float) -> RawLog:
    """Read and check a log.

    Parameters
    ----------
    path : path
    reduction : float
        Engine turns for one turn of the propeller, for a log of the propeller's speed.

    Raises
    ------
    ScenarioError
        With every problem found, by row.
    """
    file = str(path)
    rows = rows_of(path)
    names, factors, problems = log_headings(file, *rows[0])
    if not problems and len(rows) - 1 < FEWEST:
        problems.append(Problem(file, None, "", f"has {len(rows) - 1} rows; a log needs at least {FEWEST}"))
    if problems:
        raise ScenarioError(problems)
    table = LogTable(file, names, factors, rows[1:])
    if table.problems:
        raise ScenarioError(table.problems[:50])
    return table.log(reduction)


def log_headings(
    file: str, number: int, cells: list[str]
) -> tuple[list[str], dict[str, units.Conversion], list[Problem]]:
    """Names of the columns, how their numbers become SI, and what is wrong."""
    names: list[str] = []
    factors: dict[str, units.Conversion] = {}
    problems = []
    for text in cells:
        name, _, unit = text.partition(" ")
        if name in names:
            problems.append(Problem(file, number, text, "this column is there twice"))
        names.append(name)
        if name in COLUMNS:
            try:
                factors[name] = units.conversion(units.accepted_unit(unit, COLUMNS[name]), COLUMNS[name])
            except UnitError as error:
                problems.append(Problem(file, number, text, f"the heading carries the unit: {error}"))
        elif name not in WORDS:
            near = units.nearest(name, [*COLUMNS, *WORDS])
            hint = f"; nearest: '{near}'" if near else ""
            accepted = ", ".join([*COLUMNS, *WORDS])
            problems.append(Problem(file, number, text, f"unknown column; accepted: {accepted}{hint}"))
    for name in ("time", "light"):
        if name not in names:
            problems.append(Problem(file, number, name, "this column is missing"))
    if ("engine_speed" in names) == ("propeller_speed" in names):
        message = "a log has one of the two: 'engine_speed rpm' or 'propeller_speed rpm'"
        problems.append(Problem(file, number, "engine_speed", message))
    return names, factors, problems


class LogTable:
    """Cells of a log as columns, with every problem noted by its row."""

    def __init__(
        self,
        file: str,
        names: list[str],
        factors: dict[str, units.Conversion],
        rows: list[tuple[int, list[str]]],
    ) -> None:
        self.file, self.names, self.factors = file, names, factors
        self.rows = [number for number, _ in rows]
        self.cells = [dict(zip(names, [*cells, *[""] * len(names)], strict=False)) for _, cells in rows]
        self.problems: list[Problem] = []
        for row, (_, cells) in enumerate(rows):
            if len(cells) > len(names):
                self.complain(row, "", f"has {len(cells)} cells, but there are {len(names)} columns")
        self.columns = {
            name: self.numbers(name, required=name == "time") for name in names if name in COLUMNS
        }
        self.time = self.columns["time"]
        self.light = [self.light_of(row) for row in range(len(rows))]
        self.phase = tuple(self.phase_of(row) for row in range(len(rows)))
        for row in range(1, len(rows)):
            if self.time[row] <= self.time[row - 1]:
                self.complain(row, "time", "must be later than in the row before")

    def complain(self, row: int, column: str, message: str) -> None:
        """Note a problem of a row."""
        self.problems.append(Problem(self.file, self.rows[row], column, message))

    def numbers(self, name: str, *, required: bool = False) -> "Array":
        """A column in SI; NaN where it is empty."""
        import numpy as np

        how = self.factors[name]
        found = []
        for row, cells in enumerate(self.cells):
            text = cells[name]
            try:
                number = float(text) if text else nan
            except ValueError:
                number = nan
                self.complain(row, name, f"'{text}' is not a number")
            if required and not text:
                self.complain(row, name, "is empty: a number is required")
            if required and text and not isfinite(number):
                self.complain(row, name, f"'{text}' is no moment")
            found.append(how.factor * number + how.offset if isfinite(number) else nan)
            low, high = MOMENTS if name == "time" else RANGES.get(name, (-inf, inf))
            if isfinite(found[-1]) and not low <= found[-1] <= high:
                span = f"{units.readable(low, COLUMNS[name])} to {units.readable(high, COLUMNS[name])}"
                self.complain(row, name, f"'{text}' is impossible; possible: {span}")
        return np.array(found)

    def light_of(self, row: int) -> int:
        """State of the lights in a row."""
        word = self.cells[row]["light"].lower()
        if not word:
            return LOST
        if word not in LIGHTS:
            self.complain(row, "light", f"'{word}' is no state of the lights; accepted: {', '.join(LIGHTS)}")
            return LOST
        return LIGHTS.index(word)

    def phase_of(self, row: int) -> str:
        """Phase in a row; on the ground if none is told."""
        word = self.cells[row].get("phase", "").lower() or "ground"
        if word not in RUN:
            self.complain(row, "phase", f"'{word}' is no phase of a log; accepted: {', '.join(RUN)}")
        return word

    def log(self, reduction: float) -> RawLog:
        """The log; a speed of zero, or one that no engine has, is a dropout."""
        import numpy as np

        own = "engine_speed" in self.names
        turned = self.columns["engine_speed" if own else "propeller_speed"]
        speed = np.where((turned > 0.0) & (turned < FASTEST), turned, nan) * (1.0 if own else reduction)
        return RawLog(
            time=self.time,
            engine_speed=np.where(speed < FASTEST, speed, nan),
            light=np.array(self.light),
            phase=self.phase,
            where={name: self.columns[name] for name in CONDITIONS if name in self.names},
            rows=np.array(self.rows),
            file=self.file,
        )
