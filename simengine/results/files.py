"""Writing files whole or not at all, and those that belong together all or none."""

import errno
import os
import platform
import re
import secrets
import stat
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from simengine.errors import OutputError, letters
from simengine.results.lock import cannot_be_written, locked

LOCK = ".simengine.lock"
BUSY = "another run is writing here and does not come to an end; try again, or give another folder with -o"
DEVICES = "/dev"  # what stands there is the system's, links to the terminal too
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
    files take their names no other run does so in their folders: what two runs write never gets mixed. The
    first path is what the others, such as its pictures, belong to; see `take_names`.

    Raises
    ------
    OutputError
        If a folder cannot be made or written, or is full.
    """
    for path in paths:
        refuse_to_replace(path)
    temporary = {path: temporary_name(path) for path in paths}
    at = paths[0]
    try:
        for at in paths:
            at.parent.mkdir(parents=True, exist_ok=True)
        yield temporary
        for at in paths:
            sync(temporary[at])
        at = paths[0]
        with all_locked(paths):
            take_names(paths, temporary)
        for folder in dict.fromkeys(path.parent for path in paths):
            sync(folder)
    except OSError as error:
        raise cannot_be_written(at, error) from error
    finally:
        for path in paths:
            remove(temporary[path])
            remove_left_behind(path)


def refuse_to_replace(path: Path) -> None:
    """Refuse a name that stands for a folder, a device or a pipe: a file must not take its place.

    Raises
    ------
    OutputError
    """
    refuse_no_text(path)
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return  # nothing there, or what shows when it is written
    if stat.S_ISDIR(mode):
        raise OutputError(f"{path}: is a folder; give the name of a file")
    if not stat.S_ISREG(mode) or os.path.realpath(path.parent) == DEVICES:
        raise OutputError(f"{path}: is no plain file, and is not replaced by one; give another name")


def refuse_no_text(path: Path) -> None:
    """Refuse a name of bytes that are no letters, which the libraries that write results cannot take.

    Raises
    ------
    OutputError
    """
    whole = str(path.absolute())
    if letters(whole) != whole:
        raise OutputError(f"{path}: is, or lies in, what has a name that is no text (UTF-8); give another")


def refuse_unwritable(folder: Path) -> None:
    """Find out before anything is computed whether a folder can be made and written.

    Raises
    ------
    OutputError
        If not. That the disc is full shows only later.
    """
    refuse_no_text(folder)
    for place in (folder, *folder.parents):
        try:
            refuse_as_folder(place)
        except FileNotFoundError:
            continue  # is to be made
        except OSError as error:
            raise cannot_be_written(folder, error) from error
        return


def refuse_as_folder(place: Path) -> None:
    """Raise OSError if nothing can be written into what stands there."""
    place.lstat()
    if place.is_symlink() and not place.exists():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
    if not stat.S_ISDIR(place.stat().st_mode):
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
    if not os.access(place, os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


@contextmanager
def all_locked(paths: Sequence[Path]) -> Iterator[None]:
    """Keep other runs out of the folders of some files, taken by all runs in the same order."""
    folders = {os.path.realpath(path.parent): path.parent for path in paths}
    with ExitStack() as stack:
        for _, folder in sorted(folders.items()):
            stack.enter_context(locked(folder / LOCK, f"{folder}: {BUSY}", PATIENCE))
        yield


def take_names(paths: Sequence[Path], temporary: Mapping[Path, Path]) -> None:
    """Let files take their own names so that at no moment older and newer ones stand side by side.

    Several files cannot take their names at once. Older companions of the first file step aside before it
    changes: a run that is killed in between leaves some missing, which shows. An older picture beside newer
    data would not.
    """
    first, *companions = paths
    aside = {path: temporary_name(path) for path in companions if os.path.lexists(path)}
    try:
        for path, name in aside.items():
            step_aside(path, name)
        temporary[first].replace(first)
    except BaseException:
        for path, name in aside.items():
            put_back(name, path)
        raise
    try:
        for path in companions:
            temporary[path].replace(path)
    finally:
        for name in aside.values():
            remove(name)


def step_aside(path: Path, name: Path) -> None:
    """Give a file a hidden name; a folder, which is none of ours, stays where it is."""
    if path.is_dir() and not path.is_symlink():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    path.replace(name)


def put_back(name: Path, path: Path) -> None:
    """Give a file that stepped aside its own name again, if it did and the system lets it."""
    try:
        name.replace(path)
    except OSError:
        return


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


def is_file(path: Path) -> bool:
    """Whether there is a file of that name."""
    try:
        return path.is_file()
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
        temporary.write_text(letters(text), encoding="utf-8")
