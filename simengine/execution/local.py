"""Threads and processes of this machine."""

import multiprocessing
import os
import signal
import threading
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from typing import Any

from simengine.execution.task import Done, Job, work_elsewhere, work_pieces


class Threads:
    """Threads of this process; the kernels run outside Python's lock."""

    seconds = 0.0  # handing work over costs next to nothing: piece by piece

    def __init__(self, job: Job, built: Any, count: int) -> None:
        self.job, self.built, self.slots = job, built, count
        self.pool = ThreadPoolExecutor(count)

    def submit(self, numbers: Sequence[int]) -> "Future[Done]":
        """Begin some pieces, by their `numbers`."""
        return self.pool.submit(work_pieces, self.job, self.built, numbers)

    def result(self, future: "Future[Done]") -> Done:
        """What came of them; whatever a piece raised is raised here."""
        return future.result()

    def renew(self) -> None:
        """Threads do not die."""

    def close(self) -> None:
        """Let go; what has begun runs to its end, and nobody waits for it: who breaks off is told at once."""
        self.pool.shutdown(wait=False, cancel_futures=True)


class Processes:
    """Processes of this machine, begun anew rather than copied; their kernels come from the cache."""

    seconds = 2.0  # of work handed over at once

    def __init__(self, parcel: bytes, key: str, program: dict[str, str], count: int) -> None:
        self.parcel, self.key, self.program, self.slots = parcel, key, program, count
        self.pool = self.begun()

    def begun(self) -> ProcessPoolExecutor:
        """A pool whose processes heed their parent alone."""
        context = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(self.slots, mp_context=context, initializer=heed_the_parent)

    def submit(self, numbers: Sequence[int]) -> "Future[Done]":
        """Begin some pieces, by their `numbers`; BrokenProcessPool if a process has died."""
        return self.pool.submit(work_elsewhere, self.parcel, self.key, self.program, numbers)

    def result(self, future: "Future[Done]") -> Done:
        """What came of them; what a piece raised is raised here, BrokenProcessPool if its process died."""
        return future.result()

    def renew(self) -> None:
        """Begin a new pool after a process has died, which takes the others with it."""
        self.pool.shutdown(wait=True, cancel_futures=True)
        self.pool = self.begun()

    def close(self) -> None:
        """Let go; what has begun is finished."""
        self.pool.shutdown(wait=True, cancel_futures=True)


def heed_the_parent() -> None:
    """Leave an interruption to the parent, and end when it is gone however it ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=end_with, args=(parent.join,), daemon=True).start()


def end_with(wait: Any) -> None:
    """End this process when another has ended, for which `wait` waits."""
    wait()
    os._exit(1)
