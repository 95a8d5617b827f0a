"""Writing files whole or not at all, and those that belong together all or none."""

import os
import platform
import re
import secrets
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from simengine.errors import OutputError
from simengine.results.lock import locked

LOCK = ".simengine.lock"
BUSY = "another run is writing here and does not come to an end; try again, or give another folder with -o"
PATIENCE = 60.0  # the lock is held while files take their names, which is at once [s]
LONGEST_STEM = 150  # bytes of a temporary name; systems take 255
ENDING = re.compile(r"\.(\d+)\.[0-9a-f]{8}\.part")


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """Give a temporary name beside `path`; once the block is done the file takes its own name.

    A block that fails, or a process that is killed, leaves an older file of that name as it was.

    Raises
    ------
    OutputError
        If the folder cannot be made or written, or is full.
    """
    with written_together([path]) as temporary:
        yield temporary[path]


@contextmanager
def written_together(paths: Sequence[Path]) -> Iterator[dict[Path, Path]]:
    """Give a temporary name beside each path; once the block is done all files take their own names.

    A block that fails, or a process that is killed, leaves older files of these names as they were. While the
    files take their names no other run does so in the folder: what two runs write there never gets mixed.

    Raises
    ------
    OutputError
        If a folder cannot be made or written, or is full.
    """
    temporary = {path: temporary_name(path) for path in paths}
    at = paths[0]
    try:
        for at in paths:
            at.parent.mkdir(parents=True, exist_ok=True)
        yield temporary
        for at in paths:
            sync(temporary[at])
        with locked(paths[0].with_name(LOCK), f"{paths[0].parent}: {BUSY}", PATIENCE):
            for at in paths:
                temporary[at].replace(at)
        for folder in dict.fromkeys(path.parent for path in paths):
            sync(folder)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            f"{at}: cannot be written: {reason}; check folder, permissions and free space"
        ) from error
    finally:
        for path in paths:
            remove(temporary[path])
            remove_left_behind(path)


def temporary_stem(path: Path) -> str:
    """Beginning of the temporary names of a file that are given on this machine: hidden, and not too long."""
    name = path.name.encode(errors="surrogateescape")[:LONGEST_STEM].decode(errors="ignore")
    return f".{name}.{zlib.crc32(platform.node().encode()):08x}"


def temporary_name(path: Path) -> Path:
    """A temporary name beside a file, which no other process uses and which tells whose it is."""
    return path.with_name(f"{temporary_stem(path)}.{os.getpid()}.{secrets.token_hex(4)}.part")


def remove_left_behind(path: Path) -> None:
    """Remove what a killed process of this machine left of a file."""
    stem = temporary_stem(path)
    try:
        with os.scandir(path.parent) as entries:
            names = [entry.name for entry in entries if entry.name.startswith(stem)]
    except OSError:
        return
    for name in names:
        ending = ENDING.fullmatch(name.removeprefix(stem))
        if ending and not is_running(int(ending.group(1))):
            remove(path.with_name(name))


def is_running(process: int) -> bool:
    """Whether there is a process of that number; where one cannot tell, yes."""
    if os.name != "posix":
        return True  # there, to ask is to kill
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def is_there(path: Path) -> bool:
    """Whether there is anything of that name; nothing has a name that the system does not take."""
    try:
        return path.exists()
    except OSError:
        return False


def is_folder(path: Path) -> bool:
    """Whether there is a folder of that name."""
    try:
        return path.is_dir()
    except OSError:
        return False


def sync(path: Path) -> None:
    """Have the system put a file or a folder on the disc."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def remove(path: Path) -> None:
    """Remove a file if it is there and can be removed."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return


def write_text(path: Path, text: str) -> None:
    """Write a text file whole or not at all, UTF-8."""
    with written_whole(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
