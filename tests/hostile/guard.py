"""What a run may touch: everything else that Python opens, makes, moves or starts is noted."""

import os
import sys
from pathlib import Path
from typing import Any

from simengine.results import netcdf_trial

WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CHANGES = (
    "os.mkdir",
    "os.rename",
    "os.remove",
    "os.rmdir",
    "os.link",
    "os.symlink",
    "os.truncate",
    "os.chmod",
)
NEVER = (
    *(
        "subprocess.Popen",
        "os.system",
        "os.exec",
        "os.posix_spawn",
        "os.fork",
        "socket.connect",
        "socket.bind",
    ),
    *("pty.spawn", "webbrowser.open", "urllib.Request", "ctypes.dlopen"),
)
TRIAL = netcdf_trial.__file__
HARMLESS = ("/dev/null", "/dev/full")


class Guard:
    """An audit hook that can be switched on for a while; a process can never take it away again.

    Parameters
    ----------
    writable : list of Path
        Folders and files in which anything may be written.
    forbidden : list of Path
        Folders and files in which nothing may be read.
    """

    def __init__(self, writable: list[Path], forbidden: list[Path]) -> None:
        self.writable = [os.path.realpath(path) for path in writable]
        self.forbidden = [os.path.realpath(path) for path in forbidden]
        self.also: list[str] = []
        self.active = False
        self.notes: list[str] = []
        sys.addaudithook(self.hook)

    def start(self, also: list[Path]) -> None:
        """Note what happens from now on; some more places may be written."""
        self.also = [os.path.realpath(path) for path in also]
        self.notes = []
        self.active = True

    def stop(self) -> list[str]:
        """What was touched that must not be."""
        self.active = False
        return list(dict.fromkeys(self.notes))

    def hook(self, event: str, arguments: tuple[Any, ...]) -> None:
        """Look at one event."""
        if not self.active:
            return
        if event == "open":
            self.opened(*arguments)
        elif event in CHANGES:
            if isinstance(arguments[-1], int) and arguments[-1] >= 0 and event != "os.truncate":
                return  # named from an open folder, as when a tree is removed: the look at the tree tells
            for path in arguments[: 2 if event in ("os.rename", "os.link") else 1]:
                self.changed(event, path)
        elif event in NEVER and not is_expected(event, arguments):
            self.notes.append(f"{event} {arguments!r}"[:300])

    def opened(self, path: Any, mode: Any, flags: Any) -> None:
        """A file that is opened."""
        if isinstance(path, int) or path is None:
            return
        writes = bool(flags & WRITING) if isinstance(flags, int) else any(c in str(mode) for c in "wax+")
        if writes:
            self.changed("open to write", path)
        elif inside(path, self.forbidden):
            self.notes.append(f"open to read {path!r}"[:300])

    def changed(self, event: str, path: Any) -> None:
        """A file or folder that is made, moved, written or removed."""
        if isinstance(path, int) or os.fsdecode(path) in HARMLESS:
            return
        if not inside(path, self.writable + self.also):
            self.notes.append(f"{event} {path!r}"[:300])


def is_expected(event: str, arguments: tuple[Any, ...]) -> bool:
    """Whether it is what a run may start: the trial of a NetCDF file, or a look at the process itself."""
    if event == "ctypes.dlopen":
        return arguments[0] is None
    return event == "subprocess.Popen" and list(arguments[1])[:3] == [sys.executable, "-P", TRIAL]


def inside(path: Any, places: list[str]) -> bool:
    """Whether a path is one of some places or in one of them; links count as where they lead."""
    try:
        real = os.path.realpath(os.fsdecode(path))
    except (OSError, ValueError, TypeError):
        return False
    return any(real == place or real.startswith(place + os.sep) for place in places)


def tree_of(folder: Path) -> dict[str, tuple[int, int, int]]:
    """Every entry below a folder with its kind, size and time of change."""
    found = {}
    for place, folders, files in os.walk(folder):
        for name in (*folders, *files):
            path = os.path.join(place, name)  # noqa: PTH118 - a thousand times for each mutant
            status = os.lstat(path)
            found[os.path.relpath(path, folder)] = (status.st_mode, status.st_size, status.st_mtime_ns)
    return found
