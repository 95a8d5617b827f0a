"""Kernels compiled before they are needed, announced and with progress."""

import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simengine.compiled.store import cache_folder, shared_folder
from simengine.report.compilation.crew import ALL, Unit, expected_seconds, missing, warm_up, workers_for
from simengine.report.progress import progress_bar


@dataclass(frozen=True)
class Compilation:
    """What `compile_all` found and did.

    Attributes
    ----------
    folder : Path or None
        Where the kernels are; None if nothing can be written anywhere.
    kept : bool
        Whether they outlive this run.
    size : int
        Of the folder [bytes].
    seconds : float
        Time it took [s]; 0 if there was nothing to do.
    compiled, failed : tuple of str
        Units compiled now, and those that could not be.
    """

    folder: Path | None
    kept: bool
    size: int
    seconds: float
    compiled: tuple[str, ...]
    failed: tuple[str, ...]

    @property
    def ready(self) -> bool:
        """Whether everything is compiled and later runs find it."""
        return self.kept and not self.failed


def announcement(units: Sequence[Unit]) -> str:
    """What is going on, and how long it takes."""
    cores, seconds = workers_for(units), expected_seconds(units)
    rounded = 5 * max(1, round(seconds / 5.0))
    return (
        f"Compiling the flight model for this machine, once: about {rounded} s on {cores} quiet "
        f"core{'s' if cores > 1 else ''}, longer on a busy or slow machine ..."
    )


def prepare(units: Sequence[Unit], *, quiet: bool = False) -> list[Unit]:
    """Compile the units that are missing, if any; those that could not be compiled ahead.

    Says so in one line, with a progress bar on a terminal, and tells what failed, unless `quiet`.
    """
    wanted = missing(units)
    if not wanted:
        return []
    if quiet:
        return warm_up(wanted)
    print(announcement(wanted), file=sys.stderr, flush=True)
    with progress_bar("Compiling:") as report:
        failed = warm_up(wanted, report)
    if failed:
        words = ", ".join(unit.words for unit in failed)
        print(f"Not compiled ahead, will be when needed, in every run anew: {words}", file=sys.stderr)
    return failed


def compile_all(*, quiet: bool = False) -> Compilation:
    """Compile all that commands need, for this machine; nothing if it is there or cannot be kept."""
    folder = cache_folder()
    kept = folder == shared_folder()
    wanted, begun = missing(ALL) if kept else [], time.monotonic()
    failed = prepare(wanted, quiet=quiet)
    return Compilation(
        folder=folder,
        kept=kept,
        size=sum(path.stat().st_size for path in folder.glob("*")) if folder else 0,
        seconds=time.monotonic() - begun if wanted else 0.0,
        compiled=tuple(unit.words for unit in wanted if unit not in failed),
        failed=tuple(unit.words for unit in failed),
    )
