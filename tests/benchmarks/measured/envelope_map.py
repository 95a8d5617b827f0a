"""The envelope's map: where the blades stand at every height and throttle, opened and closed again."""

from statistics import median
from time import perf_counter

import numpy as np
from flights import demo_scenario

from measured.figure import Figure, at_most
from simengine.balance.assembly import assemble
from simengine.studies.envelope.throttle_map import throttle_map
from simengine.studies.machine import machine_of

GROUP = "envelope map"
HEIGHTS, THROTTLES = 60, 40
MOST_TIME = 0.5  # target on two cores [s]


def measure(quick: bool) -> list[Figure]:
    """Time passed for both branches of the whole map, warm."""
    aircraft = assemble(demo_scenario().record)
    heights, throttles = np.linspace(0.0, 4500.0, HEIGHTS), np.linspace(0.0, 1.0, THROTTLES)
    mass = aircraft.dry_mass + aircraft.fuel_start
    machine = machine_of(aircraft)
    throttle_map(machine, aircraft.atmosphere, mass, heights[:2], throttles)
    times = []
    for _ in range(3 if quick else 7):
        start = perf_counter()
        throttle_map(machine, aircraft.atmosphere, mass, heights, throttles)
        times.append(perf_counter() - start)
    each = median(times) / (2 * HEIGHTS * THROTTLES)
    return [
        at_most(
            GROUP,
            f"{HEIGHTS} heights x {THROTTLES} throttles, both branches",
            median(times),
            "s",
            MOST_TIME,
            measured=f"{1e6 * each:.0f} us a place",
            why="every place looks for all its balances along the whole travel of the blade",
        )
    ]
