"""How cost grows: the slope of log time against the log of runs, of the blade's elements, of flight hours."""

from collections.abc import Callable, Mapping
from functools import partial
from math import radians
from statistics import median

import numpy as np
from machines import STANDARD_DAY, demo_blade

from measured.figure import Figure, at_most, interleaved, readable_time
from measured.flights_flown import cruise_alone, demo_machine, flown
from measured.hubs import hub_figures
from measured.propeller import many_loads
from simengine.models.atmosphere import air_at
from simengine.models.blade import Blade, build_blade

GROUP = "cost slopes"
LINEAR, ALLOWED = 1.0, 0.05  # target, and what a fit through noisy times may be off
POINT = np.array([[radians(11.0), 230.0, 10.0]])  # blade angle [rad], rotor speed [rad/s], air speed [m/s]


def blade_of(elements: int) -> Blade:
    """The demo blade cut into other numbers of elements."""
    stations = demo_blade()
    at = [0, *range(1, 23, 4), 23]
    return build_blade(
        blades=2,
        diameter=1.30,
        hub_radius=0.06,
        radius=tuple(stations.radius[at]),
        chord=tuple(stations.chord[at]),
        blade_angle=tuple(radians(13.0) + stations.twist[at]),
        thickness=(0.20, 0.16, 0.14, 0.125, 0.12, 0.12, 0.115, 0.105)[: len(at)],
        axis=(0.29, 0.28, 0.26, 0.23, 0.18, 0.12, 0.06, 0.03)[: len(at)],
        section="flat_bottom",
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=elements,
    )


def fitted(times: Mapping[int, float]) -> tuple[float, float]:
    """Slope of log time against log size, and its standard error."""
    x, y = np.log(list(times)), np.log(list(times.values()))
    x = x - x.mean()
    slope = float(x @ y / (x @ x))
    left = y - y.mean() - slope * x
    return slope, float(np.sqrt(left @ left / (len(x) - 2) / (x @ x)))


def slope_of(words: str, work: Mapping[int, Callable[[], object]], rounds: int, why: str) -> Figure:
    """The slope of one kind of work, its sizes taken in turns."""
    taken = interleaved(rounds, **{str(size): function for size, function in work.items()})
    times = {size: median(taken[str(size)]) for size in work}
    slope, error = fitted(times)
    told = ", ".join(f"{size}: {readable_time(time)}" for size, time in times.items())
    return at_most(GROUP, words, slope, "", LINEAR + ALLOWED, measured=f"+-{error:.2f}; {told}", why=why)


def runs(rounds: int) -> Figure:
    """Hubs of a tolerance study."""
    work = {count: hub_figures(count, 1) for count in (512, 1024, 2048, 4096)}
    return slope_of("time against hubs", work, rounds, "parts grow with the number of hubs")


def elements(rounds: int) -> Figure:
    """Elements of the blade, whole turns of the vector loops."""
    air, results = air_at(STANDARD_DAY, 500.0), np.empty((200, 9))
    points = np.repeat(POINT, 200, axis=0)
    work = {count: partial(many_loads, blade_of(count), air, points, results) for count in (24, 48, 96, 192)}
    return slope_of("time against elements of the blade", work, rounds, "the loops no longer fit the cache")


def hours(rounds: int) -> Figure:
    """Hours of a cruise."""
    machine = demo_machine()
    work = {count: partial(flown, machine, cruise_alone(count)) for count in (1, 2, 4)}
    return slope_of("time against flight hours", work, rounds, "steps do not grow in a steady cruise")


def measure(quick: bool) -> list[Figure]:
    """All three."""
    rounds = 3 if quick else 7
    return [runs(rounds), elements(rounds), hours(rounds)]
