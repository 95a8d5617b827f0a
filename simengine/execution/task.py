"""What is done where the work is: here, in another process, on another machine."""

import pickle
import platform
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simengine.errors import ExecutionError
from simengine.execution.where import threads_here

Piece = dict[str, NDArray[Any]]
MOST_BUILT = 2  # plans whose models a worker keeps


@dataclass(frozen=True)
class Job:
    """Pieces of work that know nothing of each other.

    Attributes
    ----------
    build : callable
        Plan -> what every piece needs, such as tables; done once in each process. A function of a module.
    piece : callable
        (built, number) -> arrays by their names. A function of a module; what it gives depends on nothing
        but plan and number.
    plan : object
        Can be pickled.
    """

    build: Callable[[Any], Any]
    piece: Callable[[Any, int], Piece]
    plan: Any


@dataclass(frozen=True)
class Done:
    """Pieces that were worked out, by their numbers, and how many `seconds` that took [s]."""

    pieces: list[tuple[int, Piece]]
    seconds: float


def work_pieces(job: Job, built: Any, numbers: Sequence[int]) -> Done:
    """Work pieces of some `numbers` out one after another on one thread; `built` is what `job.build` gave."""
    started = time.perf_counter()
    with threads_here(1):
        pieces = [(number, job.piece(built, number)) for number in numbers]
    return Done(pieces, time.perf_counter() - started)


BUILT: dict[str, tuple[Job, Any]] = {}
LOCK = Lock()


def work_elsewhere(parcel: bytes, key: str, program: dict[str, str], numbers: Sequence[int]) -> Done:
    """The same in a worker, from the job pickled as `parcel`, whose digest is the `key`.

    ExecutionError if the worker's program is another than `program`, a `fingerprint`.
    """
    told = differences(program, fingerprint())
    if told:
        raise ExecutionError(f"a worker on {platform.node()} runs another program: {told}")
    with LOCK:
        if key not in BUILT:
            while len(BUILT) >= MOST_BUILT:
                BUILT.pop(next(iter(BUILT)))
            job: Job = pickle.loads(parcel)
            with threads_here(1):
                BUILT[key] = job, job.build(job.plan)
        job, built = BUILT[key]
    return work_pieces(job, built, numbers)


@cache
def fingerprint() -> dict[str, str]:
    """What the numbers of a piece depend on besides its plan."""
    import numba
    import scipy

    from simengine.compiled import kernel_digest
    from simengine.execution.store import source_digest
    from simengine.results.dataset import program_version

    return {
        "simengine": f"{program_version()}, source {source_digest()[:12]}",
        "compiled kernels and processor": kernel_digest(),
        "Python": ".".join(platform.python_version_tuple()[:2]),
        "numpy": np.__version__,
        "numba": numba.__version__,
        "scipy": scipy.__version__,
    }


def differences(own: dict[str, str], other: dict[str, str]) -> str:
    """In what two programs, `own` and `other`, differ, in words; empty if in nothing."""
    return "; ".join(
        f"{name} is {other.get(name, 'unknown')} there, {value} here"
        for name, value in own.items()
        if other.get(name) != value
    )
