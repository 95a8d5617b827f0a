"""The one way in which ensembles run: pieces handed out, handed back, kept."""

import hashlib
import pickle
from collections import Counter, deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from typing import Any, Protocol

from simengine.errors import ExecutionError
from simengine.execution.store import Store
from simengine.execution.task import Done, Job, Piece, fingerprint
from simengine.execution.where import Where

MOST_TRIES = 3  # of a piece whose process dies over it
QUEUE = 2  # chunks waiting or in work for each worker, so that none stands idle
MOST_AT_ONCE = 256  # pieces in a chunk


class Hands(Protocol):
    """Workers of some kind; `seconds` of work are handed over at once [s], zero for piece by piece."""

    seconds: float

    @property
    def slots(self) -> int:
        """How many work at once."""

    def submit(self, numbers: list[int]) -> "Future[Done]":
        """Begin some pieces, by their `numbers`."""

    def result(self, future: "Future[Done]") -> Done:
        """What came of them."""

    def renew(self) -> None:
        """Replace what has died."""

    def close(self) -> None:
        """Let go."""


def work_out(
    job: Job,
    count: int,
    store: Store,
    where: Where | None = None,
    tell: Callable[[float], None] | None = None,
    built: Any = None,
) -> None:
    """Work out the pieces 0 to `count` - 1 that the store does not hold yet, and keep each as it comes.

    Neither the number of workers nor their kind nor an interruption has a say in the numbers.

    Parameters
    ----------
    job : Job
    count : int
        Pieces in all.
    store : Store
        Its plan has been begun.
    where : Where, optional
        Threads on all cores where left out.
    tell : callable, optional
        Called with the share done, 0 to 1.
    built : object, optional
        What `job.build` gives, where the caller has it already; threads use it.

    Raises
    ------
    ExecutionError
        If the cluster cannot be used, or a worker dies again and again over one piece.
    """
    missing = [number for number in range(count) if not store.has(number)]
    tell = tell or (lambda share: None)
    tell(1.0 - len(missing) / max(count, 1))
    if not missing:
        return
    left = len(missing)
    with hands_of(job, where or Where(), built, left) as hands:
        for number, piece in handed_back(hands, missing):
            store.write(number, piece)
            left -= 1
            tell(1.0 - left / count)


@contextmanager
def hands_of(job: Job, where: Where, built: Any, pieces: int) -> Iterator[Hands]:
    """Workers for a job of so many `pieces`, let go at the end.

    `built` is what `job.build` gives, None where it is not known yet. ExecutionError as `Cluster`.
    """
    from simengine.execution.local import Processes, Threads

    hands: Hands
    if where.scheduler is None and not where.processes:
        hands = Threads(job, job.build(job.plan) if built is None else built, min(where.count, pieces))
    else:
        parcel = pickle.dumps(job)
        key, program = hashlib.sha256(parcel).hexdigest(), fingerprint()
        if where.scheduler is None:
            hands = Processes(parcel, key, program, min(where.count, pieces))
        else:
            from simengine.execution.cluster import Cluster

            hands = Cluster(where.scheduler, parcel, key, program)
    try:
        yield hands
    finally:
        hands.close()


Waiting = dict["Future[Done]", list[int]]


@dataclass
class Pace:
    """How many pieces go out together: as many as fill the time, but something is left for every worker.

    Learnt from the `pieces` done so far and the `seconds` that they took [s].
    """

    pieces: int = 0
    seconds: float = 0.0

    def add(self, done: Done) -> None:
        """Learn from what is done."""
        self.pieces += len(done.pieces)
        self.seconds += done.seconds

    def chunk(self, hands: Hands, left: int) -> int:
        """Pieces of the next chunk, where so many are `left`; 1 or more."""
        if self.pieces == 0 or hands.seconds == 0.0:
            return 1
        fitting = int(hands.seconds * self.pieces / max(self.seconds, 1e-9))
        return max(1, min(fitting, left // (QUEUE * hands.slots), MOST_AT_ONCE))


def handed_back(hands: Hands, missing: list[int]) -> Iterator[tuple[int, Piece]]:
    """Pieces `missing` as they come; only a few chunks are out at a time, which keeps memory flat.

    ExecutionError as `take_back`, or of the workers.
    """
    left, waiting, pace, tries = deque(missing), Waiting(), Pace(), Counter[int]()
    while left or waiting:
        try:
            hand_out(hands, left, waiting, pace)
            finished, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in sorted(finished, key=waiting.__getitem__):
                done = hands.result(future)
                del waiting[future]
                pace.add(done)
                yield from done.pieces
        except BrokenProcessPool:
            hands.renew()
            take_back(left, waiting, tries)


def hand_out(hands: Hands, left: deque[int], waiting: Waiting, pace: Pace) -> None:
    """Keep every worker supplied: takes numbers from `left` and puts what is out into `waiting`."""
    while left and len(waiting) < QUEUE * hands.slots:
        numbers = list(islice(left, pace.chunk(hands, len(left))))
        waiting[hands.submit(numbers)] = numbers
        for _ in numbers:
            left.popleft()


def take_back(left: deque[int], waiting: Waiting, tries: Counter[int]) -> None:
    """After a worker's death put back into `left` what is `waiting` and not done.

    ExecutionError if a piece was out at `MOST_TRIES` deaths, counted in `tries`.
    """
    for future, numbers in list(waiting.items()):
        if future.done() and not future.cancelled() and future.exception() is None:
            continue
        del waiting[future]
        left.extendleft(reversed(numbers))
        tries.update(numbers)
    worst = [number for number, count in tries.items() if count >= MOST_TRIES]
    if worst:
        raise ExecutionError(
            f"worker processes died {MOST_TRIES} times over pieces {min(worst)} to {max(worst)}: out of "
            "memory, killed from outside, or started from a script without `if __name__ == '__main__':` "
            "around the call; what is done is kept: ask again, with fewer --workers, to go on"
        )
