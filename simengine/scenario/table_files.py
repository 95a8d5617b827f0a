"""A table in a CSV file of its own -> the nodes of the same table typed in a scenario.

Headings with units in the first row, then numbers, with commas between; lines that begin with `#` are kept
as the table's note. Every cell remembers its line, so that what is wrong with it is told like anything else.
"""

from math import isfinite
from pathlib import Path

from simengine.errors import Problem
from simengine.scenario.text_files import cells_of, failure, read_text
from simengine.scenario.yaml_nodes import Mapping, Node, Place, Scalar, Sequence

SUFFIX = ".csv"
TABLE_KEYS = ("propeller.polar",)  # key paths at which the name of such a file may stand


def read_table(path: Path, file: str) -> tuple[Mapping, list[Problem]]:
    """Read one table.

    Parameters
    ----------
    path : Path
        The file.
    file : str
        Its name in messages.

    Returns
    -------
    tuple of Mapping and list of Problem
        `columns`, `rows` and, where there are comments, `note`; and no problems: what stands in the cells is
        checked with the rest of the scenario.

    Raises
    ------
    ScenarioError
        If nothing useful can be read from it.
    """
    notes, lines = split_comments(read_text(path, file), file)
    if not lines:
        raise failure(file, "holds no table: the first row is for headings, for example 'alpha deg, cl'")
    (first, heading), *body = lines
    if "," not in heading and (";" in heading or "\t" in heading):
        raise failure(file, "columns are set apart by commas, and decimals by points", first)
    rows: list[Node] = [row_of(Place(file, number), text) for number, text in body]
    place = Place(file, first)
    columns: list[Node] = [Scalar(place, cell, cell) for cell in cells(place, heading)]
    entries: dict[str, Node] = {"columns": Sequence(place, columns), "rows": Sequence(place, rows)}
    if notes:
        entries["note"] = Scalar(Place(file, 1), notes, notes)
    return Mapping(place, entries, dict.fromkeys(entries, place)), []


def split_comments(text: str, file: str) -> tuple[str, list[tuple[int, str]]]:
    """Comments in one text, and the other lines that are not empty, each with its number."""
    notes, lines = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if "\0" in line:
            raise failure(file, "holds a character that a table does not", number)
        if line.lstrip().startswith("#"):
            notes.append(line.strip().lstrip("#").strip())
        elif line.strip(" ,\t"):
            lines.append((number, line))
    return " ".join(note for note in notes if note), lines


def row_of(place: Place, text: str) -> Sequence:
    """One row; a cell that is no finite number stays text."""
    found = cells(place, text)
    return Sequence(place, [Scalar(place, cell, number_of(cell) if cell else None) for cell in found])


def cells(place: Place, text: str) -> list[str]:
    """Cells of one line."""
    return [cell.strip() for cell in cells_of(place.file, place.line, text)]


def number_of(text: str) -> int | float | str:
    """A finite number as YAML would read it, or the text."""
    try:
        value = float(text)
    except ValueError:
        return text
    if not isfinite(value) or "_" in text or not text.isascii():
        return text
    return int(value) if text.lstrip("+-").isdigit() else value
