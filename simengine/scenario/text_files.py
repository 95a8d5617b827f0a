"""Text of an input file: of a plain file of reasonable size in UTF-8, and of nothing else.

A folder, a pipe, a device or a link that leads round to itself is refused before it is opened: some of them
would never end, and some never begin.
"""

import csv
from collections.abc import Iterator
from pathlib import Path

from simengine.errors import Problem, ScenarioError

MOST_CELLS = 1000  # of a row
SIZE_LIMIT = 1_000_000  # bytes of a scenario or a part


def read_text(path: Path, file: str, limit: int = SIZE_LIMIT) -> str:
    """Text of a file, without a byte order mark.

    Parameters
    ----------
    path : Path
        The file.
    file : str
        Its name in messages.
    limit : int
        Most bytes that are accepted.

    Raises
    ------
    ScenarioError
        If it is no plain file, too large, not readable or not UTF-8.
    """
    refuse_odd(path, file)
    try:
        with path.open("rb") as stream:
            data = stream.read(limit + 1)
    except OSError as error:
        raise failure(file, f"cannot be read: {error.strerror}") from None
    if len(data) > limit:
        raise failure(file, f"is larger than {limit // 1_000_000} MB, the most that is accepted")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise failure(file, "is not UTF-8 text; save it as UTF-8", line) from None


def refuse_odd(path: Path, file: str) -> None:
    """Refuse what is no plain file.

    Raises
    ------
    ScenarioError
    """
    try:
        if path.is_dir():
            raise failure(file, "is a folder; name a file")
        if not path.exists():
            link = " that it leads to: it is a link" if path.is_symlink() else ""
            raise failure(file, f"no such file{link}")
        if not path.is_file():
            raise failure(file, "is not a regular file")
    except OSError as error:
        raise failure(file, f"cannot be read: {error.strerror}") from None
    except ValueError:  # a zero byte in the name
        raise failure(file, "is not the name of a file") from None


def names_in(folder: Path) -> list[str]:
    """The first thousand names in a folder, sorted; none of one that cannot be read."""
    try:
        return sorted(path.name for path in folder.iterdir())[:1000]
    except OSError:
        return []


def csv_rows(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each row of a text with commas between.

    Raises
    ------
    ScenarioError
        At a row that is none, as one with a cell of endless length.
    """
    reader = csv.reader(text.splitlines(), skipinitialspace=True)
    try:
        for row in reader:
            yield reader.line_num, counted(row, file, reader.line_num)
    except csv.Error as error:
        raise failure(file, f"is no row of a csv file: {error}", reader.line_num) from None


def cells_of(file: str, number: int, line: str, separator: str = ",") -> list[str]:
    """Cells of one line of a file in which a row never spans lines; errors as in `csv_rows`."""
    try:
        row = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error as error:
        raise failure(file, f"is no row of a csv file: {error}", number) from None
    return counted(row, file, number)


def counted(row: list[str], file: str, line: int) -> list[str]:
    """A row, refused where it does not end."""
    if len(row) > MOST_CELLS:
        raise failure(file, f"has {len(row):,} cells; at most {MOST_CELLS:,} are accepted", line)
    return row


def failure(file: str, message: str, line: int | None = None) -> ScenarioError:
    """An error of one problem that stops the reading of a file."""
    return ScenarioError([Problem(file, line, "", message)])
