"""Fuel and time of a cross-country route by leg, the saving against other hubs, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from simengine.balance.aircraft import Aircraft
from simengine.balance.assembly import assemble
from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress, told_to
from simengine.execution.store import Store
from simengine.execution.where import Where, threads_of
from simengine.results import route_catalogue
from simengine.results.records import Provenance
from simengine.results.study_dataset import study_dataset
from simengine.scenario import Scenario
from simengine.scenario.route_records import LONGEST_LEG, Route
from simengine.scenario.variation import rebuilt
from simengine.studies.envelope.study import setup_of
from simengine.studies.provenance import study_provenance
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.hubs import HubCase, hub_cases, idle_angle, performance_for
from simengine.studies.route.legs import RouteLeg, Settings, points_of, route_legs, settings_of
from simengine.studies.route.limits import route_limits
from simengine.studies.route.map import SavingMap, saving_map
from simengine.studies.route.performance import MachinePerformance, performance_of, quick
from simengine.studies.route.policy import SpeedSearch, settled_legs
from simengine.studies.route.trip import Trip
from simengine.studies.route.uncertainty import (
    Ensemble,
    Question,
    RouteInputs,
    ensemble,
    flies,
    guide_of,
    route_inputs,
)
from simengine.studies.route.values import route_values

if TYPE_CHECKING:
    import xarray

SOLVER = (
    "steady flight by bracketed roots; mass, height and distance by midpoints; level flight between three "
    "masses by a parabola; Latin hypercube with the same draws for every hub"
)
RULE = (
    "Every hub flies the same legs at the same heights, winds, all-up mass at take-off and bar position, "
    "which is the same airspeed at the same mass; the bar is the one that suits this scenario's own hub. The "
    "ideal hub climbs as steeply as it can and cruises on the least fuel: blades that climb slower can burn "
    "less in the climb."
)


@dataclass(frozen=True)
class RouteAnswer:
    """Everything that a route's dataset is made of."""

    scenario: Scenario
    route: Route
    aircraft: Aircraft
    settings: Settings
    legs: tuple[RouteLeg, ...]
    asked: tuple[RouteLeg, ...]
    cases: tuple[HubCase, ...]
    performances: tuple[MachinePerformance, ...]
    trips: tuple[Trip, ...]
    inputs: RouteInputs
    drawn: Ensemble
    map: SavingMap


def route(
    scenario: Scenario,
    *,
    draws: int | None = None,
    store: Store | None = None,
    where: Where | None = None,
    progress: Progress | None = None,
    command: str = "",
) -> "xarray.Dataset":
    """Fly the route of a scenario with its own hub and with those that it is compared with.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it, with a `route`.
    draws : int, optional
        Draws of the uncertain inputs instead of the scenario's `route.uncertainty.draws`; 0 for none.
    store : Store, optional
        Keeps the draws as they come; those of the same question already there are not flown again.
    where : Where, optional
        Threads, processes or a cluster; the numbers do not depend on it.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.route_catalogue`. A leg that cannot be flown says why in `problems`;
        the attribute `outcome` says whether there are such legs.

    Raises
    ------
    ScenarioError
        If the scenario has no route, or its waypoint file cannot be used.
    ExecutionError
        If workers cannot be used.
    """
    tell = told_to(progress)
    with threads_of(where):
        answer = answered(scenario, draws, tell, store, where)
    values, sentences = route_values(answer)
    provenance = provenance_of(answer, command)
    setup = setup_of(answer.performances[0].machine, scenario.record)
    tell(1.0, "done")
    coordinates = [variable for _, variable in route_catalogue.COORDINATES]
    sentences = {"comparison_rule": RULE, **sentences}
    return study_dataset("route", coordinates, route_catalogue.TABLES, values, sentences, provenance, setup)


def answered(
    scenario: Scenario, draws: int | None, tell: Progress, store: Store | None, where: Where | None
) -> RouteAnswer:
    """Settle the plan, fly it with every hub, draw, map."""
    block = wanted(scenario, draws)
    points = points_of(block, scenario.path.parent)
    aircraft = assemble(scenario.record)
    settings = settings_of(scenario.record, block)
    asked = route_legs(scenario.record, block, points)
    refuse_far_places(scenario, asked)
    tank = max([settings.start_fuel, *(leg.refuel for leg in asked)])
    masses = (settings.dry_mass, settings.dry_mass + tank)
    tell(0.02, "heights and speeds")
    own = performance_of(aircraft, *masses)
    search = SpeedSearch(quick(own), settings, idle_angle(own))
    legs = settled_legs(asked, search)
    tell(0.06, "hubs")
    cases = hub_cases(scenario.record, block.comparison, aircraft, legs, settings, masses)
    performances = tuple(performance_for(case, aircraft, block.comparison, masses) for case in cases)
    trips = tuple(fly_trip(legs, one, settings, idle_angle(one)) for one in performances)
    tell(0.1, "saving by height and wind")
    saving = saving_map(
        block.map, asked, settings, performances, cases, lambda share: tell(0.1 + 0.2 * share, "saving map")
    )
    inputs = route_inputs(scenario)
    flyable = tuple(flies(trip) for trip in trips)
    guides = tuple(guide_of(one) for one in performances)
    question = Question(scenario.record, block, points, legs, cases, guides, tank, flyable)
    drawn = ensemble(
        question, inputs.inputs, lambda share: tell(0.3 + 0.7 * share, "uncertainty"), store, where
    )
    return RouteAnswer(
        scenario=scenario,
        route=block,
        aircraft=aircraft,
        settings=settings,
        legs=legs,
        asked=asked,
        cases=cases,
        performances=performances,
        trips=trips,
        inputs=inputs,
        drawn=drawn,
        map=saving,
    )


def refuse_far_places(scenario: Scenario, legs: Sequence[RouteLeg]) -> None:
    """Refuse places so far apart that one of them must be a slip of the pen.

    Raises
    ------
    ScenarioError
    """
    problems = [
        Problem(
            str(scenario.path),
            None,
            "route",
            f"leg '{leg.name}' is {leg.distance / 1e3:.0f} km long; accepted: up to "
            f"{LONGEST_LEG / 1e3:.0f} km, which no tank reaches: look at the places of its ends",
        )
        for leg in legs
        if leg.distance > LONGEST_LEG
    ]
    if problems:
        raise ScenarioError(problems)


def wanted(scenario: Scenario, draws: int | None) -> Route:
    """The scenario's route, with another number of draws where one is asked for.

    ScenarioError if the scenario has no route.
    """
    block = scenario.record.route
    if block is None:
        message = "is required for this: a mapping with legs, for example as in scenarios/cross_country.yaml"
        raise ScenarioError([Problem(str(scenario.path), None, "route", message)])
    if draws is None:
        return block
    return rebuilt(block, uncertainty=rebuilt(block.uncertainty, draws=draws))


def provenance_of(answer: RouteAnswer, command: str) -> Provenance:
    """Where the result comes from."""
    scenario, possible = answer.scenario, answer.trips[0].possible
    return study_provenance(
        scenario,
        "route",
        "every leg can be flown" if possible else "some legs cannot be flown as asked",
        SOLVER,
        model_limits=route_limits(scenario, answer.aircraft, answer.trips),
        command=command,
    )
