"""Only one run at a time in a folder of parts."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from simengine.errors import OutputError

if sys.platform == "win32":
    import msvcrt

    def take(file: BinaryIO) -> None:
        """Lock an open file, or raise OSError at once; the system lets go when the process ends."""
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def take(file: BinaryIO) -> None:
        """Lock an open file, or raise OSError at once; the system lets go when the process ends."""
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep other runs out of `folder` for the block, by a locked file beside it.

    The lock is the system's own: that of a process that died is gone with it, whatever it left behind.

    Raises
    ------
    OutputError
        If another run is at work there, or the file cannot be made.
    """
    path = folder.with_name(f"{folder.name}.lock")
    file = opened_alone(path)
    try:
        yield
    finally:
        remove_lock(path, file)


def opened_alone(path: Path) -> BinaryIO:
    """The lock file, open and locked."""
    while True:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            file = path.open("ab")
        except OSError as error:
            raise OutputError(f"{path}: cannot be written: {error.strerror}") from error
        try:
            take(file)
            # The run before may have removed its file between our opening and locking it: then again.
            if path.exists() and os.path.samestat(path.stat(), os.fstat(file.fileno())):
                return file
        except FileNotFoundError:
            pass
        except OSError as error:
            file.close()
            raise OutputError(
                f"{path.parent}: another run of the same study is at work here ({path.name} is locked); "
                "wait for it, or give another folder with -o"
            ) from error
        file.close()


def remove_lock(path: Path, file: BinaryIO) -> None:
    """Take the lock file away and let go."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        pass  # it does no harm: what counts is the lock, not the file
    finally:
        file.close()
