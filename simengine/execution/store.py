"""Pieces kept as they come: a killed study goes on where it was.

A piece is written whole or not at all, and belongs to one plan: scenario, numbers asked for, program. Pieces
of another plan are thrown away.
"""

import hashlib
import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Protocol
from zipfile import BadZipFile

from simengine.errors import InterruptedStudy, OutputError, shown
from simengine.results.files import written_whole
from simengine.results.lock import locked

if TYPE_CHECKING:
    from simengine.execution.task import Piece

PLAN = "plan.json"
PACKAGE = Path(__file__).parents[1]


def plan_digest(*parts: object) -> str:
    """Digest of everything that pieces depend on: what is told in `parts`, and the program; 64 hex digits."""
    from simengine.compiled import kernel_digest
    from simengine.results.dataset import program_version

    digest = hashlib.sha256()
    for part in (*parts, program_version(), kernel_digest(), source_digest()):
        digest.update(str(part).encode() + b"\0")
    return digest.hexdigest()


@cache
def source_digest() -> str:
    """Digest of the whole program: a piece that an older one worked out must never count beside a new one.

    The version tells releases apart and the kernels' digest compiled code, but not what is between them.
    """
    digest = hashlib.sha256()
    for source in sorted(PACKAGE.rglob("*.py")):
        digest.update(source.relative_to(PACKAGE).as_posix().encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()


class Store(Protocol):
    """Where pieces go."""

    def begin(self, *plan: object) -> None:
        """Say what the pieces depend on, the `plan`; those of another plan are thrown away."""

    def has(self, number: int) -> bool:
        """Whether a piece of a `number` is there."""

    def write(self, number: int, piece: "Piece") -> None:
        """Keep a `piece` under its `number`; OutputError if it cannot be kept."""

    def read(self, number: int) -> "Piece":
        """A piece of a `number` that is there; OutputError if it is spoiled."""


class MemoryStore:
    """Pieces in memory, for a study whose result goes to no file."""

    def __init__(self) -> None:
        self.kept: dict[int, Piece] = {}

    def begin(self, *plan: object) -> None:
        """Forget what was kept."""
        self.kept.clear()

    def has(self, number: int) -> bool:
        """Whether a piece of a `number` is there."""
        return number in self.kept

    def write(self, number: int, piece: "Piece") -> None:
        """Keep a `piece` under its `number`."""
        self.kept[number] = piece

    def read(self, number: int) -> "Piece":
        """A piece of a `number` that is there; KeyError if it is not."""
        return self.kept[number]


class FolderStore:
    """Pieces in a folder beside the result, one file each.

    Parameters
    ----------
    folder : Path
        Made if missing once the plan is known; what is in it of another plan is removed then.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def begin(self, *plan: object) -> None:
        """Take up the folder of the same `plan`, or begin anew; OutputError if the folder cannot be used."""
        digest, path = plan_digest(*plan), self.folder / PLAN
        try:
            if self.folder.exists() and written_digest(path) != digest:
                shutil.rmtree(self.folder)
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(f"{self.folder}: cannot be used: {error.strerror}") from error
        if not path.exists():
            with written_whole(path) as temporary:
                temporary.write_text(json.dumps({"digest": digest}), encoding="utf-8")

    def path(self, number: int) -> Path:
        """File of a piece of a `number`, whether or not it is there."""
        return self.folder / f"{number:08d}.npz"

    def has(self, number: int) -> bool:
        """Whether a piece of a `number` is there."""
        return self.path(number).exists()

    def write(self, number: int, piece: "Piece") -> None:
        """Keep a `piece` under its `number`; OutputError if the file cannot be written."""
        import numpy as np

        path = self.path(number)
        temporary = path.with_suffix(".part")
        try:
            # Not forced onto the disc, which would cap a cluster: what a power cut spoils is told when read.
            with temporary.open("wb") as file:
                np.savez(file, allow_pickle=False, **piece)
            temporary.replace(path)
        except OSError as error:
            reason = error.strerror or str(error)
            raise OutputError(
                f"{path}: cannot be written: {reason}; check folder, permissions and free space"
            ) from error

    def read(self, number: int) -> "Piece":
        """A piece of a `number` that is there; one that the disc has spoiled is thrown away: OutputError."""
        import numpy as np

        path = self.path(number)
        try:
            with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
                return {name: kept[name] for name in kept.files}
        except (OSError, ValueError, EOFError, BadZipFile) as error:
            path.unlink(missing_ok=True)
            raise OutputError(f"{path}: is spoiled and was removed; ask again to go on") from error

    def remove(self) -> None:
        """Take the folder away, once the result has its name."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def count(self) -> int:
        """Pieces in it."""
        return sum(1 for _ in self.folder.glob("*.npz"))


def written_digest(path: Path) -> str:
    """Digest of the plan in a folder; empty if there is none that can be read."""
    try:
        return str(json.loads(path.read_text(encoding="utf-8"))["digest"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep other runs out of `folder` for the block, by a locked file beside it.

    Raises
    ------
    OutputError
        If another run is at work there, or the file cannot be made.
    """
    path = folder.with_name(f"{folder.name}.lock")
    busy = (
        f"{path.parent}: another run of the same study is at work here ({path.name} is locked); "
        "wait for it, or give another folder with -o"
    )
    with locked(path, busy):
        yield


@contextmanager
def kept_beside(result: Path) -> Iterator[FolderStore]:
    """Store beside a result, for one run at a time; taken away when the block ends well.

    A block that fails leaves the pieces worked out so far, and nothing if there are none.

    Raises
    ------
    InterruptedStudy
        In place of KeyboardInterrupt, where pieces are kept.
    """
    new = not result.parent.exists()
    folder = result.with_name(f".{result.name}.parts")
    try:
        with alone_in(folder):
            store = FolderStore(folder)
            try:
                yield store
            except BaseException as stop:
                count = store.count()
                if count == 0:
                    store.remove()
                elif isinstance(stop, KeyboardInterrupt):
                    raise InterruptedStudy(interrupted_words(count, folder)) from stop
                raise
            store.remove()
    finally:
        if new:
            remove_empty(result.parent)


def interrupted_words(count: int, folder: Path) -> str:
    """What is kept of an interrupted study, a `count` of pieces in a folder, and how to go on."""
    pieces = "1 piece of work is" if count == 1 else f"{count} pieces of work are"
    return (
        f"interrupted; {pieces} kept in {shown(str(folder))}: "
        "ask the same again to go on, or remove that folder"
    )


def remove_empty(folder: Path) -> None:
    """Remove a folder if nothing is in it."""
    try:
        folder.rmdir()
    except OSError:
        return
