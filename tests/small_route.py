"""A demo's route with a small map and few draws, computed once a test process."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from simengine.scenario import load_scenario
from simengine.scenario.variation import rebuilt, with_values

SCENARIOS = Path(__file__).parent.parent / "scenarios"
SMALL = {"route.map.heights": 3, "route.map.winds": 3, "route.uncertainty.draws": 10}


def small_scenario(gale=False):
    """120 km out and back; in a gale the way out cannot be flown."""
    scenario = load_scenario(SCENARIOS / "cross_country.yaml")
    record = with_values(scenario.record, SMALL)
    if gale:
        out, home = record.route.legs
        wind = rebuilt(record.route.cruise.wind, speed=40.0)
        record = with_values(record, {"route.legs": (rebuilt(out, wind=wind), home)})
    return replace(scenario, record=record)


def small_route(gale=False):
    """Its result; do not change it in place."""
    return computed(gale)


@cache
def computed(gale):
    """Computed once."""
    from simengine.studies.route.study import route

    return route(small_scenario(gale))
