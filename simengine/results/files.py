"""Writing a file whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from simengine.errors import OutputError


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """Give a temporary name beside `path`; once the block is done the file takes its own name.

    A block that fails, or a process that is killed, leaves an older file of that name as it was.

    Raises
    ------
    OutputError
        If the folder cannot be made or written, or is full.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        yield temporary
        sync(temporary)
        temporary.replace(path)
        sync(path.parent)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            f"{path}: cannot be written: {reason}; check folder, permissions and free space"
        ) from error
    finally:
        remove(temporary)


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
