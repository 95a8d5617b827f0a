"""Workers of a dask.distributed cluster, by its scheduler's address."""

import logging
import time
from collections.abc import Sequence
from concurrent.futures import CancelledError, Future
from importlib import import_module
from typing import Any

from simengine.errors import ExecutionError
from simengine.execution.task import Done, differences, fingerprint, work_elsewhere

PATIENCE = 5.0  # for the scheduler to answer, and for a first worker [s]
LOOK_AGAIN = 2.0  # how long the number of workers is taken to stay [s]
RETRIES = 2  # of a chunk that failed on one worker, on whichever is free then
INSTALL = (
    "a cluster needs the package dask.distributed, here and on every worker: "
    "pip install 'simengine-flight[cluster]'"
)


class Cluster:
    """Workers of a cluster; one that dies is made up for by the others.

    Parameters
    ----------
    address : str
        Of the scheduler.
    parcel, key, program
        The pickled job, its digest, and what the numbers depend on besides.

    Raises
    ------
    ExecutionError
        If the package is missing, nothing answers, there are no workers, or their program is another.
    """

    seconds = 2.0  # of work handed over at once

    def __init__(self, address: str, parcel: bytes, key: str, program: dict[str, str]) -> None:
        self.address, self.parcel, self.key, self.program = address, parcel, key, program
        self.client = connected(address)
        self.looked, self.known = 0.0, 1
        try:
            refuse_other_programs(self.client, address, program)
            self.pool = self.client.get_executor(pure=False, retries=RETRIES)
        except BaseException:
            self.client.close()
            raise

    @property
    def slots(self) -> int:
        """Chunks that the cluster works at together: workers come and go. ExecutionError if it was lost."""
        if time.monotonic() - self.looked > LOOK_AGAIN:
            try:
                self.known = max(sum(self.client.nthreads().values()), 1)
            except OSError as error:
                raise self.lost() from error
            self.looked = time.monotonic()
        return self.known

    def submit(self, numbers: Sequence[int]) -> "Future[Done]":
        """Begin some pieces, by their `numbers`; ExecutionError if the cluster was lost."""
        arguments = (work_elsewhere, self.parcel, self.key, self.program, numbers)
        try:
            begun: Future[Done] = self.pool.submit(*arguments)
        except (OSError, RuntimeError, ValueError) as error:
            raise self.lost() from error
        return begun

    def result(self, future: "Future[Done]") -> Done:
        """What came of them; ExecutionError if workers died over them or the cluster was lost."""
        try:
            return future.result()
        except import_module("distributed").scheduler.KilledWorker as error:
            raise ExecutionError(
                f"the cluster at {self.address}: workers died again and again over one chunk "
                f"({error}); what is done is kept: look at their logs, then ask again to go on"
            ) from error
        except CancelledError as error:
            raise self.lost() from error

    def lost(self) -> ExecutionError:
        """What is told when the scheduler is gone."""
        return ExecutionError(
            f"the cluster at {self.address} was lost; what is done is kept: ask again to go on"
        )

    def renew(self) -> None:
        """The scheduler does that."""

    def close(self) -> None:
        """Let go of the cluster, which forgets what was not done."""
        self.client.close()


def connected(address: str) -> Any:
    """A client of the scheduler at an `address`, with at least one worker behind it.

    Raises
    ------
    ExecutionError
        If the package is missing, nothing answers, or there are no workers.
    """
    try:
        distributed = import_module("distributed")
    except ImportError as error:
        raise ExecutionError(INSTALL) from error
    for name in ("distributed", "distributed.client"):
        logging.getLogger(name).setLevel(logging.CRITICAL)  # what matters is told by our own errors
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise ExecutionError(
            f"scheduler: nothing answers at {address} within {PATIENCE:.0f} s; start one with "
            "'dask scheduler' and give the address that it tells, such as tcp://10.0.0.1:8786"
        ) from error
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError as error:
        client.close()
        raise ExecutionError(
            f"scheduler: the cluster at {address} has no workers; start some with "
            f"'dask worker {address} --nthreads 1'"
        ) from error
    return client


def refuse_other_programs(client: Any, address: str, program: dict[str, str]) -> None:
    """Find out before anything is sent whether every worker would give the same numbers.

    `client` is that of the scheduler at an `address`, `program` the `fingerprint` of this process.

    Raises
    ------
    ExecutionError
        If a worker cannot be reached, cannot run the program, or has another.
    """
    try:
        found: dict[str, Any] = client.run(fingerprint, on_error="return")
    except OSError as error:
        raise ExecutionError(f"scheduler: the workers at {address} cannot be reached: {error}") from error
    told = []
    for worker, other in sorted(found.items()):
        if isinstance(other, BaseException):
            told.append(f"worker {worker} cannot run simengine: {type(other).__name__}: {other}")
        elif differ := differences(program, other):
            told.append(f"worker {worker}: {differ}")
    if told:
        raise ExecutionError(
            "\n".join(told)
            + "\nthe numbers would depend on which worker gives them: install the same versions everywhere "
            "and use the same kind of processor"
        )
