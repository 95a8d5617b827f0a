"""Which files of a folder are scenarios with agreed figures or a baseline, told from their text alone.

Nothing heavy is imported: a folder of other people's YAML files must be passed over at once.
"""

import errno
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from simengine.errors import Problem, ScenarioError
from simengine.results.files import is_file

SUFFIXES = (".yaml", ".yml")
BASELINE = ".baseline.yaml"
LOOKED_AT = 200_000  # bytes of a file
CHAIN_LIMIT = 20  # files that extend one another
SKIPPED = ("outputs", "node_modules", "__pycache__")
APART = ("_", ".")  # what is named so is not part of a suite: it is checked only when it is asked for by name

OURS = re.compile(r"^simengine:[ \t]*1[ \t]*(?:#.*)?$", re.MULTILINE)
EXPECTS = re.compile(r"^expect:[ \t]*(.*)$", re.MULTILINE)
EXTENDS = re.compile(r"^extends:(.*)$", re.MULTILINE)


def baseline_path(scenario: Path) -> Path:
    """Where the baseline of a scenario lies: beside it, under its name."""
    return scenario.with_name(scenario.stem + BASELINE)


def in_suite(path: Path, *, named: bool = False) -> bool:
    """Whether a file is a scenario of ours, itself or by what it extends, with something to check.

    With `named` it was asked for by its name, and may begin with an underscore.
    """
    if path.suffix not in SUFFIXES or path.name.endswith(BASELINE):
        return False
    if path.name.startswith(APART) and not named:
        return False
    ours, expects = read_chain(path)
    return ours and (expects or is_file(baseline_path(path)))


def read_chain(path: Path) -> tuple[bool, bool]:
    """Whether a file is a scenario of ours, and whether it expects something; layers below count."""
    expects: bool | None = None
    root: Path | None = None
    for _ in range(CHAIN_LIMIT):
        text = start_of(path)
        typed = EXPECTS.search(text)
        if expects is None and typed is not None:  # the uppermost layer that says anything counts
            expects = typed.group(1).partition("#")[0].strip() not in ("[]", "null", "~")
        if OURS.search(text):
            return True, bool(expects)
        below = EXTENDS.search(text)
        name = below.group(1).partition("#")[0].strip().strip("\"'") if below else ""
        if not name.endswith(SUFFIXES):
            break
        root = root or root_of(path)
        lower = found_above(path.parent.resolve(), root, name)
        if lower is None:
            break
        path = lower
    return False, False


def start_of(path: Path) -> str:
    """As much of a file as is looked at; nothing of one that cannot be read."""
    try:
        with path.open("rb") as stream:
            return stream.read(LOOKED_AT).decode("utf-8-sig", errors="replace").replace("\r\n", "\n")
    except OSError:
        return ""


def root_of(path: Path) -> Path:
    """The scenario folder of a file; only where a file extends another, for it is slow to import."""
    from simengine.scenario.folder import scenario_folder

    return scenario_folder(path)


def found_above(folder: Path, root: Path, name: str) -> Path | None:
    """A file named by `extends`: in the folder or above it, and never outside the scenario folder."""
    if name.startswith(("/", "~")):
        return None
    places = (place for place in (folder, *folder.parents) if place.is_relative_to(root))
    found = ((place / name).resolve() for place in places if is_file(place / name))
    return next((path for path in found if path.is_relative_to(root)), None)


def suite_files(folder: Path) -> Iterator[Path]:
    """Every scenario to check in a folder and below it, by name; hidden folders and results are left out.

    Raises
    ------
    ScenarioError
        At a folder or a file that cannot be read: what is in it would be taken for checked.
    """
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError as error:
        raise unreadable(folder, error) from None
    for entry in entries:
        path = folder / entry.name
        kind = kind_of(entry)
        if kind == "file" and in_suite(path):
            yield path
        elif kind == "folder":
            yield from suite_files(path)


def kind_of(entry: "os.DirEntry[str]") -> Literal["file", "folder", ""]:
    """Whether an entry of a folder is a file or a folder to look into; nothing if neither.

    Raises
    ------
    ScenarioError
        If it cannot be read.
    """
    try:
        if entry.is_dir(follow_symlinks=False):
            return "" if entry.name.startswith(APART) or entry.name in SKIPPED else "folder"
        if entry.name.startswith(APART) or not entry.name.endswith(SUFFIXES) or not entry.is_file():
            return ""
        with Path(entry).open("rb"):
            return "file"
    except OSError as error:
        if error.errno == errno.ELOOP:  # a link round to itself is no file
            return ""
        raise unreadable(Path(entry), error) from None


def unreadable(path: Path, error: OSError) -> ScenarioError:
    """A file or folder that cannot be read."""
    return ScenarioError([Problem(str(path), None, "", f"cannot be read: {error.strerror}")])
