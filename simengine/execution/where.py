"""Where pieces of work are done."""

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from operator import index
from threading import local
from typing import TypeVar

from simengine.errors import ExecutionError

Item = TypeVar("Item")
Result = TypeVar("Result")


@dataclass(frozen=True)
class Where:
    """Threads of this process, processes of this machine, or a cluster; the numbers are the same.

    Parameters
    ----------
    workers : int, optional
        How many at once; all cores where left out. For threads and processes.
    processes : bool
        Processes of this machine instead of threads.
    scheduler : str, optional
        Address of a dask.distributed scheduler, such as `tcp://10.0.0.1:8786`: its workers do the work.

    Raises
    ------
    ExecutionError
        If these do not go together.

    Examples
    --------
    >>> import simengine
    >>> two = simengine.Where(workers=2)
    >>> batch = simengine.tolerance("scenarios/batch_of_hubs.yaml", draws=64, pictures=False, where=two)
    >>> batch.dataset.attrs["study"]
    'tolerance'
    """

    workers: int | None = None
    processes: bool = False
    scheduler: str | None = None

    def __post_init__(self) -> None:
        if self.workers is not None and not whole_and_positive(self.workers):
            raise ExecutionError(f"workers: must be a whole number, 1 or above; got {self.workers!r}")
        if self.scheduler is not None and (self.processes or self.workers is not None):
            raise ExecutionError(
                "scheduler: a cluster works with all the workers it has; leave out --workers and --processes"
            )

    def ready(self) -> None:
        """Find out before anything is worked out whether the cluster, if one is asked for, can be used.

        Raises
        ------
        ExecutionError
            If the package is missing, nothing answers, there are no workers, or their program is another.
        """
        if self.scheduler is not None:
            from simengine.execution.cluster import connected, refuse_other_programs
            from simengine.execution.task import fingerprint

            client = connected(self.scheduler)
            try:
                refuse_other_programs(client, self.scheduler, fingerprint())
            finally:
                client.close()

    @property
    def count(self) -> int:
        """Threads or processes on this machine."""
        return self.workers or cores()


def refuse_elsewhere(where: Where | None, what: str) -> None:
    """Refuse to work elsewhere than on threads of this process; `what` cannot.

    Raises
    ------
    ExecutionError
    """
    if where is not None and (where.processes or where.scheduler is not None):
        raise ExecutionError(
            f"{what} works on threads of this process alone: leave out processes and scheduler"
        )


def whole_and_positive(number: object) -> bool:
    """Whether a number of workers makes sense."""
    try:
        return index(number) >= 1  # type: ignore[arg-type]
    except TypeError:
        return False


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) or 1
    return os.cpu_count() or 1


class Here(local):
    """How many threads this thread may start; 0 stands for all cores."""

    threads = 0


HERE = Here()


@contextmanager
def threads_here(count: int) -> Iterator[None]:
    """Let `on_threads` start a `count` of threads within the block, in this thread; 0 for all cores."""
    before = HERE.threads
    HERE.threads = count
    try:
        yield
    finally:
        HERE.threads = before


def threads_of(where: Where | None) -> AbstractContextManager[None]:
    """The same with as many threads as `where` says; all cores where it is None."""
    return threads_here((where or Where()).count)


def alone() -> None:
    """Begin a thread that starts no others."""
    HERE.threads = 1


def on_threads(function: Callable[[Item], Result], items: Iterable[Item]) -> list[Result]:
    """Results in the order of the items; the kernels run outside Python's lock.

    One by one in a thread that was itself started for a piece of work.
    """
    every = list(items)
    count = min(HERE.threads or cores(), len(every))
    if count <= 1:
        return [function(item) for item in every]
    with ThreadPoolExecutor(count, initializer=alone) as pool:
        return list(pool.map(function, every))
