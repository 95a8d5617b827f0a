"""What can be wrong with the place of a file: links, folders, devices, pipes, rights, names."""

import os
import sys
from collections.abc import Callable
from pathlib import Path
from random import Random

Placement = Callable[[Path, Path, Random], Path]
HUGE = 3_000_000_000  # bytes of a file with nothing in it


def folder_in_its_place(path: Path, outside: Path, random: Random) -> Path:
    """A folder of the file's name."""
    path.mkdir()
    return path


def pipe_in_its_place(path: Path, outside: Path, random: Random) -> Path:
    """A pipe that nobody writes into: whoever opens it waits for ever."""
    os.mkfifo(path)
    return path


def link_to_a_device(path: Path, outside: Path, random: Random) -> Path:
    """A link to a device without end, or to one that is always full or empty."""
    path.symlink_to(random.choice(("/dev/zero", "/dev/null", "/dev/full", "/dev/urandom", "/dev/stdin")))
    return path


def device_itself(path: Path, outside: Path, random: Random) -> Path:
    """The device itself is given."""
    return Path(
        random.choice(("/dev/zero", "/dev/null", "/dev/urandom", "/proc/self/mem", "/proc/self/environ"))
    )


def link_to_itself(path: Path, outside: Path, random: Random) -> Path:
    """A link that leads to itself."""
    path.symlink_to(path.name)
    return path


def link_to_nothing(path: Path, outside: Path, random: Random) -> Path:
    """A link that leads nowhere, or outside."""
    path.symlink_to(random.choice(("nowhere", str(outside / "secret.yaml"), "..", ".", "/")))
    return path


def unreadable(path: Path, outside: Path, random: Random) -> Path:
    """A file that one may not read."""
    path.write_bytes(b"simengine: 1\n")
    path.chmod(0)
    return path


def nearly_endless(path: Path, outside: Path, random: Random) -> Path:
    """A file of three gigabytes that takes no room."""
    with path.open("wb") as file:
        file.truncate(HUGE)
    return path


def missing(path: Path, outside: Path, random: Random) -> Path:
    """No file at all, or below a file."""
    return random.choice(
        (path, path / "below", path.with_name(path.name * 40), path.parent / ("x/" * 2500 + path.name))
    )


def odd_name(path: Path, outside: Path, random: Random) -> Path:
    """The same file under a name that terminals and file systems do not like."""
    name = random.choice(
        (
            "line\nbreak",
            "é😀",
            "a:b",
            "  ",
            "-x",
            "esc\x1b[2J",
            "%s{}$(x)",
            "x" * 200,
            "\udcff",
            "bidi\u202e",
            "a'b\"c",
            "..x",
        )
    )
    return path.with_name(f"{name}{path.suffix}")


def unprivileged() -> bool:
    """Whether this process cannot read what it may not."""
    return sys.platform != "win32" and os.geteuid() != 0


PLACEMENTS: tuple[Placement, ...] = (
    *(
        folder_in_its_place,
        pipe_in_its_place,
        link_to_a_device,
        device_itself,
        link_to_itself,
        link_to_nothing,
    ),
    *(unreadable, nearly_endless, missing, odd_name, odd_name),
)
