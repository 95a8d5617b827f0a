"""Locked files: one process at a time does what must not be done by two.

The locks are the system's own: that of a process that died is gone with it, whatever it left behind.
"""

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from simengine.errors import OutputError

WAIT = 0.02  # between two tries [s]
NO_LOCKS = (errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP)  # file systems that have none

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
def locked(path: Path, busy: str, patience: float = 0.0) -> Iterator[None]:
    """Keep others out for the block by a locked file, which is taken away at the end.

    Parameters
    ----------
    path : Path
        The file; its folder is made if it is missing.
    busy : str
        What is said if another process holds the lock.
    patience : float
        How long that is waited for [s].

    Raises
    ------
    OutputError
        If another process holds the lock, or the file cannot be made.
    """
    file = opened_alone(path, busy, time.monotonic() + patience)
    try:
        yield
    finally:
        remove_lock(path, file)


def opened_alone(path: Path, busy: str, until: float) -> BinaryIO:
    """The lock file, open and locked."""
    while True:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            file = path.open("ab")
        except OSError as error:
            raise cannot_be_written(path.parent, error) from error
        try:
            take(file)
            # The run before may have removed its file between our opening and locking it: then again.
            if os.path.samestat(path.stat(), os.fstat(file.fileno())):
                return file
        except FileNotFoundError:
            pass
        except OSError as error:
            if error.errno in NO_LOCKS:
                return file
            if time.monotonic() >= until:
                file.close()
                raise OutputError(busy) from error
            time.sleep(WAIT)
        file.close()


def cannot_be_written(path: Path, error: OSError) -> OutputError:
    """What a user is told of a file or a folder that cannot be written."""
    reason = error.strerror or str(error)
    return OutputError(f"{path}: cannot be written: {reason}; check folder, permissions and free space")


def remove_lock(path: Path, file: BinaryIO) -> None:
    """Take the lock file away and let go."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        pass  # it does no harm: what counts is the lock, not the file
    finally:
        file.close()
