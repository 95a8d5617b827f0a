"""Whether NetCDF files can be read to their end, tried by a process that may die of it.

A damaged file can send the HDF5 library round a loop without end, or break the process that it works in, and
neither can be caught there. Run as a program, this reads every file named on standard input.
"""

import contextlib
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

SMALL = 100_000_000  # bytes of numbers that are read in any case
MOST_PACKED = 200  # bytes of numbers in one of a file: hubs without a shift pack well
SECONDS = 4.0  # of processor time for files of no size
BYTES_A_SECOND = 20_000_000
PATIENCE = 300.0  # seconds of any clock, where processor time cannot be bounded or the machine is busy
ENDED = (0, 1)  # codes of a trial that came to its end, or could not begin


def can_be_read(paths: Sequence[Path]) -> bool:
    """Whether another process reads all files to their end, be it with an error that it can tell.

    Where no other process can be started, yes.
    """
    names = b"\0".join(os.fsencode(path) for path in paths)
    command = [sys.executable, "-P", __file__, str(sum(size_of(path) for path in paths))]
    try:
        trial = subprocess.run(
            command,
            input=names,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=PATIENCE,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return False
    except OSError:
        return True
    return trial.returncode in ENDED


def size_of(path: Path) -> int:
    """Bytes of a file; none of one that cannot be looked at."""
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return 0


def is_swollen(claimed: int, size: int) -> bool:
    """Whether so many bytes of numbers would not go into a file of a `size`: a few can claim to be many."""
    return claimed > max(SMALL, MOST_PACKED * size)


def bound_time(size: int) -> None:
    """Let the system end this process where it works for too long on so many bytes."""
    with contextlib.suppress(ImportError, OSError, ValueError):
        import resource

        seconds = int(SECONDS + size / BYTES_A_SECOND)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))


def read_to_the_end(path: str) -> None:
    """Read every attribute and number of a file."""
    import netCDF4

    with netCDF4.Dataset(path) as file:
        file.set_auto_maskandscale(False)
        variables: list[Any] = list(file.variables.values())
        for item in (file, *variables):
            for name in item.ncattrs():
                item.getncattr(name)
        claimed = sum(variable.size * getattr(variable.dtype, "itemsize", 8) for variable in variables)
        if not is_swollen(int(claimed), Path(path).stat().st_size):
            for variable in variables:
                variable[...]


def main() -> None:
    """Read the files named on standard input, parted by zero bytes."""
    bound_time(int(sys.argv[1]))
    for name in sys.stdin.buffer.read().split(b"\0"):
        with contextlib.suppress(Exception):  # told by the process that asked, when it reads
            read_to_the_end(os.fsdecode(name))


if __name__ == "__main__":
    main()
