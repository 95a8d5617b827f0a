"""Files of the picture of a failed check: written when it fails, taken away when it passes again."""

import os
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from simengine.errors import OutputError
from simengine.report.outputs import PICTURE_FORMATS, refuse_folders, write_picture
from simengine.results.files import written_together

if TYPE_CHECKING:
    from simengine.studies.check.study import Check

LOOKED_AT = 65_536  # bytes of a picture; what it shows is told before it is drawn


def picture_paths(scenario: Path, folder: Path) -> tuple[Path, ...]:
    """Where the picture of a scenario goes, in each form."""
    return tuple(folder / f"{scenario.stem}.check.{form}" for form in PICTURE_FORMATS)


def draw(checked: "Check", scenario: Path, folder: Path) -> tuple[Path, ...]:
    """Draw what failed; returns the files."""
    from simengine.report.check.picture import check_picture

    paths = picture_paths(scenario, folder)
    refuse_folders(list(paths))
    with written_together(paths) as files:
        write_picture(lambda: check_picture(checked), files, source_of(scenario, folder))
    return paths


def source_of(scenario: Path, folder: Path) -> str:
    """What a picture carries of where it comes from: scenarios of one name in two folders are told apart."""
    file, beside = os.path.realpath(scenario), os.path.realpath(folder)
    try:
        way = os.path.relpath(file, beside)
    except ValueError:  # on another drive
        way = file
    return f"simengine check '{quote(os.fsencode(way))}'"


def take_away(scenario: Path, folder: Path) -> tuple[Path, ...]:
    """Remove the picture of an earlier failure of this very scenario; returns the files removed.

    Raises
    ------
    OutputError
        If it is there and cannot be removed.
    """
    mark = source_of(scenario, folder).encode()
    old = tuple(path for path in picture_paths(scenario, folder) if carries(path, mark))
    for path in old:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            reason = error.strerror or str(error)
            raise OutputError(
                f"{path}: shows a failure that is mended, but cannot be removed: {reason}; remove it"
            ) from error
    return old


def carries(path: Path, mark: bytes) -> bool:
    """Whether a file is there, no link, and has a mark near its beginning."""
    try:
        if path.is_symlink() or not path.is_file():
            return False
        with path.open("rb") as file:
            return mark in file.read(LOOKED_AT)
    except OSError:
        return False  # what cannot be read is not known to be ours
