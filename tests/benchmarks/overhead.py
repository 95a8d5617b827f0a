"""What handing work out costs, and what more workers bring, by threads, processes and a cluster.

    python tests/benchmarks/overhead.py [PIECES]

Prints the time of one empty piece, and of one that hands back as much as 1024 hubs do; then hubs and dynamic
flights a second by workers. The cluster is a scheduler and two workers on this machine, each a process.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter

HERE = Path(__file__).parent
FOLDERS = [str(HERE.parent), str(HERE)]
sys.path[:0] = FOLDERS
os.environ["PYTHONPATH"] = os.pathsep.join([*FOLDERS, os.environ.get("PYTHONPATH", "")])

import overhead_pieces as pieces  # noqa: E402

from simengine.execution.run import handed_back, hands_of  # noqa: E402
from simengine.execution.task import Job  # noqa: E402
from simengine.execution.where import Where  # noqa: E402

BATCH = HERE.parents[1] / "scenarios" / "batch_of_hubs.yaml"
PARTS, FLIGHT_PIECES = 16, 16
ROUNDS = 3


@contextmanager
def cluster(workers: int) -> Iterator[str]:
    """A scheduler and workers of one thread each; its address."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as made:
        yield made.scheduler_address


def seconds(job: Job, where: Where, count: int, *, singly: bool, built: object = None) -> float:
    """Time of so many pieces once all workers are ready [s], the best of some; `singly` one to a chunk."""
    with hands_of(job, where, built, count) as hands:
        first = list(handed_back(hands, list(range(4 * hands.slots))))
        assert len(first) == 4 * hands.slots
        if singly:
            hands.seconds = 0.0
        taken = []
        for _ in range(ROUNDS):
            start = perf_counter()
            assert len(list(handed_back(hands, list(range(count))))) == count
            taken.append(perf_counter() - start)
        return min(taken)


def ways(address: str) -> dict[str, Where]:
    """Every way on two workers."""
    return {
        "threads": Where(workers=2),
        "processes": Where(workers=2, processes=True),
        "cluster": Where(scheduler=address),
    }


def overhead(where: dict[str, Where], count: int) -> None:
    """Time of a piece in which nothing is done."""
    for words, piece in (("empty piece", pieces.no_work), ("0.43 MB handed back", pieces.as_large_as_hubs)):
        job = Job(pieces.nothing, piece, None)
        for way, place in where.items():
            taken = seconds(job, place, count, singly=True, built=0)
            print(f"{words:22s} {way:10s} {1e6 * taken / count:8.0f} us", flush=True)


def rates(address: str) -> None:
    """Hubs and flights a second."""
    from simengine.scenario import load_scenario
    from simengine.studies.tolerance.parts import PART
    from simengine.studies.tolerance.study import Question, asked_of, part_piece

    hubs = Question(load_scenario(BATCH), PARTS * PART, 1)
    for words, job, count, each in (
        ("hubs", Job(asked_of, part_piece, hubs), PARTS, PART),
        (
            "flights of an hour",
            Job(pieces.flown_machine, pieces.flights, None),
            FLIGHT_PIECES,
            pieces.FLIGHTS,
        ),
    ):
        built = job.build(job.plan)
        places = {"threads, 1": Where(workers=1), "processes, 1": Where(workers=1, processes=True)}
        places |= {f"{way}, 2": place for way, place in ways(address).items()}
        for way, place in places.items():
            taken = seconds(job, place, count, singly=False, built=built)
            print(f"{words:22s} {way:12s} {count * each / taken:8.0f} /s", flush=True)


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with cluster(2) as address:
        overhead(ways(address), count)
        rates(address)
    print(f"load after: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
