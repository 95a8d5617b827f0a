"""Many hubs of one drawing: how many a second on one core and on two."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from statistics import median
from time import perf_counter

from flights import demo_scenario

from measured.ensembles import GROUP, cores, rates_told, scaling
from measured.figure import Figure
from simengine.balance.assembly import assemble
from simengine.studies.tolerance.inputs import shares_from, tolerance_inputs
from simengine.studies.tolerance.model import ToleranceModel, tolerance_model, tolerance_places


@cache
def demo_model() -> ToleranceModel:
    """The demo's tolerances with their tables of the air."""
    scenario = demo_scenario("batch_of_hubs")
    record = scenario.record
    aircraft = assemble(record)
    offset, mass = aircraft.atmosphere.temperature_offset, aircraft.dry_mass + aircraft.fuel_start
    places = tolerance_places(record, offset, mass)
    return tolerance_model(scenario, tolerance_inputs(scenario), places)


def hub_figures(count: int, workers: int) -> Callable[[], object]:
    """The work of a tolerance study on a number of hubs."""
    model = replace(demo_model(), workers=workers)
    values = model.values(shares_from(len(model.inputs), 0, count, 1))
    return lambda: model.figures(values)


def measure(quick: bool) -> list[Figure]:
    """Hubs a second, on one core and on two in turns."""
    count, rounds = (1024, 3) if quick else (4096, 7)
    work = {workers: hub_figures(count, workers) for workers in dict.fromkeys((1, cores()))}
    times: dict[int, list[float]] = {workers: [] for workers in work}
    for function in work.values():
        function()
    for _ in range(rounds):
        for workers, function in work.items():
            start = perf_counter()
            function()
            times[workers].append(perf_counter() - start)
    told = f"{rates_told(count, times)}; {len(demo_model().places)} places each"
    return [
        Figure(GROUP, "hubs of a tolerance study: a second and core", count / median(times[1]), "1/s", told),
        scaling(f"hubs of a tolerance study: {cores()} cores over 1", times, told),
    ]
