"""Many flights of machines that differ: how many a second on one core, and what a second core brings."""

from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache
from multiprocessing import get_context
from os import cpu_count
from statistics import median
from time import perf_counter, sleep, thread_time

from measured.figure import Figure, at_least, readable_time, seconds
from measured.flights_flown import climb_and_cruise, flown, varied
from simengine.balance.aircraft import Aircraft
from simengine.flight import dynamic, steady

GROUP = "ensembles"
FIDELITIES = {"dynamic": dynamic.fly_leg, "steady": steady.fly_leg}
RATES = {"dynamic": 250.0, "steady": 1000.0}  # targets: flights a second and core
SCALING = 1.9  # target: two cores over one
SHARED = "both cores were not free, or the interpreter's lock is held between the kernels"
FEWEST, MOST = 4, 400  # flights of one turn
Times = dict[int, list[float]]


@cache
def machine(number: int) -> Aircraft:
    """A machine of another mass, day and spring; made once, and not within the time."""
    return varied(number)


def fly_some(fidelity: str, numbers: range) -> tuple[float, float]:
    """Fly some machines for an hour each: fuel of all [kg], and time on the processor [s]."""
    record = climb_and_cruise()
    start = thread_time()
    fuel = sum(flown(machine(number), record, FIDELITIES[fidelity]).fuel for number in numbers)
    return fuel, thread_time() - start


def make_ready(fidelity: str, numbers: range) -> None:
    """Load the kernels and make the machines in a worker; the pause lets every worker have its turn."""
    for number in numbers:
        machine(number)
    fly_some(fidelity, range(1))
    sleep(0.3)


@contextmanager
def crew(kind: str, workers: int) -> Iterator[Executor]:
    """Workers: threads, or processes of their own."""
    if kind == "threads":
        with ThreadPoolExecutor(workers) as pool:
            yield pool
    else:
        with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
            yield pool


def turn(pool: Executor, fidelity: str, count: int, workers: int) -> tuple[float, float, float]:
    """A number of flights on some workers: time passed [s], time on the processors [s], fuel [kg]."""
    start = perf_counter()
    waiting = [pool.submit(fly_some, fidelity, range(first, count, workers)) for first in range(workers)]
    results = [each.result() for each in waiting]
    passed = perf_counter() - start
    return passed, sum(busy for _, busy in results), sum(fuel for fuel, _ in results)


def cores() -> int:
    """Cores that are compared with one: two, where there are two."""
    return min(2, cpu_count() or 1)


def flights_within(fidelity: str, duration: float) -> int:
    """An even number of flights that takes about so long on one core."""
    fly_some(fidelity, range(1))
    one = seconds(lambda: fly_some(fidelity, range(1)))
    return 2 * round(min(max(duration / one, FEWEST), MOST) / 2)


def where_the_time_goes(fidelity: str) -> str:
    """A flight's time on the processor, in words."""
    from measured.flight_hour import integration

    legs, whole, result = integration(machine(0), climb_and_cruise(), FIDELITIES[fidelity])
    return (
        f"a flight takes {readable_time(whole)}: {readable_time(legs)} for {result.steps} steps, "
        f"the rest to find level flight for its phases, and Python"
    )


def flights(fidelity: str, kind: str, duration: float, rounds: int) -> list[Figure]:
    """Rate on one core, and what a second brings, in threads or processes."""
    most, count = cores(), flights_within(fidelity, duration)
    times: Times = {workers: [] for workers in dict.fromkeys((1, most))}
    busy, fuels = [], []
    with crew(kind, most) as pool:
        for ready in [pool.submit(make_ready, fidelity, range(count)) for _ in range(most)]:
            ready.result()
        for _ in range(rounds):
            for workers, taken in times.items():
                passed, on_processor, fuel = turn(pool, fidelity, count, workers)
                taken.append(passed)
                fuels.append(fuel)
                if workers == 1:
                    busy.append(on_processor)
    assert max(fuels) - min(fuels) < 1e-9 * max(fuels), "the answers depend on the number of workers"
    words = f"{fidelity} flights of 1 h in {kind}"
    told = rates_told(count, times)
    rate = at_least(
        GROUP,
        f"{words}: a second and core",
        count / median(busy),
        "1/s",
        RATES[fidelity],
        measured=f"{told}; {count} flights",
        why=where_the_time_goes(fidelity),
    )
    return [rate, scaling(f"{words}: {most} cores over 1", times, told)]


def rates_told(count: int, times: Times) -> str:
    """How many a second of time passed, by workers."""
    return ", ".join(f"{count / median(taken):.3g}/s on {workers}" for workers, taken in times.items())


def scaling(words: str, times: Times, told: str) -> Figure:
    """What more cores bring in time passed."""
    if len(times) < 2:
        return Figure(GROUP, words, None, "x", told, why="this machine has one core")
    one, more = (times[workers] for workers in sorted(times))
    value = median(a / b for a, b in zip(one, more, strict=True))
    return at_least(GROUP, words, value, "x", SCALING, measured=told, why=SHARED)


def measure(quick: bool) -> list[Figure]:
    """Flights of both fidelities in threads and processes."""
    duration, rounds = (0.4, 2) if quick else (1.5, 3)
    return [
        figure
        for fidelity in FIDELITIES
        for kind in ("threads", "processes")
        for figure in flights(fidelity, kind, duration, rounds)
    ]
