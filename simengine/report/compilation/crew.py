"""Compile kernels before they are needed: on every core at once, with progress.

A unit is a few kernels with the types that they are called with. Functions behind C calls need not be there
for a kernel above them to be compiled, so units hardly depend on each other. They are compiled in processes
that run no kernel and keep what they made; whoever runs the kernels loads them. A unit left out here, or one
that fails, costs time only: its kernels are compiled when they are first called.
"""

import gc
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue

from simengine.compiled.store import cache_folder, reading_folders, write_whole
from simengine.execution.progress import Progress

START = 1.5  # of a process until it compiles [s]


@dataclass(frozen=True)
class Unit:
    """Kernels compiled together; `seconds` on one core of the machine it was last measured on."""

    words: str
    seconds: float

    @property
    def marker(self) -> str:
        """Name of the file that says that it is done."""
        return self.words.replace(" ", "_") + ".ready"


# In the order of work: the longest first, and what two units share in the one that begins sooner.
MOTION, PROPELLER = Unit("motion in flight", 11.5), Unit("propeller", 4.7)
BALANCES, ELEMENTS = Unit("balances", 6.5), Unit("blade elements", 2.0)
STEADY, ENVELOPE = Unit("steady flight", 6.5), Unit("envelope", 7.0)
TABLES = Unit("tables of the air and of hubs", 4.0)

FLIGHT = (MOTION, PROPELLER, BALANCES, ELEMENTS)
ALL = (MOTION, PROPELLER, BALANCES, ENVELOPE, STEADY, TABLES, ELEMENTS)


def missing(units: Sequence[Unit]) -> list[Unit]:
    """Units that are not compiled for this machine and this version."""
    return [
        unit for unit in units if not any((folder / unit.marker).exists() for folder in reading_folders())
    ]


def workers_for(units: Sequence[Unit]) -> int:
    """Processes that compile at once."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(cores, len(units)))


def expected_seconds(units: Sequence[Unit]) -> float:
    """How long compiling takes on a quiet machine like the one it was measured on [s]."""
    together = sum(unit.seconds for unit in units) / workers_for(units)
    return START + max([together, *(unit.seconds for unit in units)])


def warm_up(units: Sequence[Unit], report: Progress | None = None) -> list[Unit]:
    """Compile units in processes of their own.

    Parameters
    ----------
    units : sequence of Unit
        What to compile, in the order of work.
    report : callable, optional
        Called with the share done, 0 to 1, and the units being compiled.

    Returns
    -------
    list of Unit
        Those that could not be compiled ahead.
    """
    folder = cache_folder()
    if folder is None or not sys.executable:
        return list(units)
    crew = Crew(folder, units, report)
    threads = [threading.Thread(target=crew.work, daemon=True) for _ in range(workers_for(units))]
    for thread in threads:
        thread.start()
    try:
        for thread in threads:
            while thread.is_alive():
                thread.join(0.2)
                crew.tell()
    finally:
        crew.stop()
    return [unit for unit in units if unit not in crew.done]


class Crew:
    """Worker processes, each with a thread that hands it unit after unit."""

    def __init__(self, folder: Path, units: Sequence[Unit], report: Progress | None) -> None:
        self.folder, self.report = folder, report
        self.total = sum(unit.seconds for unit in units)
        self.waiting: SimpleQueue[Unit] = SimpleQueue()
        for unit in units:
            self.waiting.put(unit)
        self.started: dict[Unit, float] = {}
        self.done: set[Unit] = set()
        self.processes: list[subprocess.Popen[str]] = []

    def work(self) -> None:
        """Start one process and hand it units until there are none left, or it dies."""
        try:
            process = start_worker()
        except OSError:
            return
        self.processes.append(process)
        with process:
            assert process.stdin and process.stdout
            while True:
                try:
                    unit = self.waiting.get_nowait()
                except Empty:
                    process.stdin.close()
                    return
                self.started[unit] = time.monotonic()
                try:
                    process.stdin.write(unit.words + "\n")
                    process.stdin.flush()
                    answer = process.stdout.readline().strip()
                except OSError:
                    return
                if answer != unit.words:
                    process.kill()
                    return
                write_whole(self.folder / unit.marker, b"")
                self.done.add(unit)

    def tell(self) -> None:
        """Report how far the work has come; a unit under way counts by its time, but never as done."""
        if self.report is None:
            return
        now, finished, under_way = time.monotonic(), 0.0, []
        for unit, begun in list(self.started.items()):
            if unit in self.done:
                finished += unit.seconds
            else:
                under_way.append(unit.words)
                finished += 0.9 * min(unit.seconds, now - begun)
        self.report(finished / self.total, ", ".join(under_way))

    def stop(self) -> None:
        """End the processes, also when the user has had enough."""
        for process in self.processes:
            if process.poll() is None:
                process.kill()


def start_worker() -> "subprocess.Popen[str]":
    """A process that imports what this one does and waits for names of units."""
    code = (
        "import json, sys; sys.path[:] = json.loads(sys.stdin.readline()); "
        "from simengine.report.compilation.crew import answer; answer()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    )
    assert process.stdin
    process.stdin.write(json.dumps([str(Path(entry or ".").absolute()) for entry in sys.path]) + "\n")
    process.stdin.flush()
    return process


def answer() -> None:
    """What a worker process does: compile the units it is told, and say when each is done."""
    from simengine.compiled.external import LINKER
    from simengine.report.compilation.units import compile_unit

    # numba makes millions of small objects that live on: searching them took a fifth of the time.
    gc.disable()
    LINKER.only_compiling = True
    for line in sys.stdin:
        compile_unit(line.strip())
        print(line.strip(), flush=True)
