"""Uncertainty of a route's fuel and of the saving: common draws for every hub, and whose share it is."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite, pi

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from simengine import units
from simengine.balance.assembly import assemble
from simengine.constants import DEGREE
from simengine.execution.run import work_out
from simengine.execution.store import MemoryStore, Store
from simengine.execution.task import Job, Piece
from simengine.execution.where import Where
from simengine.scenario import Scenario
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.route_records import Route
from simengine.scenario.variation import UncertainInput, uncertain_inputs, value_at, with_values
from simengine.scenario.waypoint_files import Waypoint
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.geometry import WindColumn
from simengine.studies.route.hubs import GOVERNED, HubCase, idle_angle, performance_for
from simengine.studies.route.legs import RouteLeg, route_legs, settings_of
from simengine.studies.route.performance import Ask, FreePitchPerformance, MachinePerformance
from simengine.studies.route.trip import Trip
from simengine.studies.sampling import latin_hypercube

Array = NDArray[np.float64]

BAND = (2.5, 97.5)  # per cent of the draws
WIND_ON_EVERY_LEG = "wind on every leg"
DRAWS = 4  # of a piece of work
# What a scenario does not say gets these half-widths (95 %): estimates of what a careful maker knows without
# measuring, common practice, no source. Shares are of the value.
DEFAULT_SHARES = {"installation.drag_area": 0.15, "engine.consumption_factor": 0.06}
DEFAULT_WIDTHS = {"propeller.blade_angle_datum": 0.5 * DEGREE, "masses.pilot": 2.0}
DEFAULT_WIND = 2.0  # [m/s]


@dataclass(frozen=True)
class RouteInputs:
    """What is uncertain.

    Attributes
    ----------
    inputs : tuple of UncertainInput
        Those typed first, then defaults.
    defaults : int
        How many of them, at the end, are defaults.
    """

    inputs: tuple[UncertainInput, ...]
    defaults: int

    def origin(self, row: int) -> str:
        """`scenario` or `default`."""
        return "scenario" if row < len(self.inputs) - self.defaults else "default"


@dataclass(frozen=True)
class Ensemble:
    """Draws and what came of them; NaN where a hub could not fly every leg.

    Attributes
    ----------
    draws : NDArray, shape (n, k)
        Inputs in SI.
    leg_fuel : NDArray, shape (hubs, legs, n)
        [kg].
    """

    draws: Array
    leg_fuel: Array

    @property
    def fuel(self) -> Array:
        """Fuel of the trip, shape (hubs, n) [kg]."""
        return np.asarray(self.leg_fuel.sum(axis=1), dtype=np.float64)

    @property
    def saving(self) -> Array:
        """What the first hub saves against each, draw by draw: shape (hubs, n) [kg]."""
        return np.asarray(self.fuel - self.fuel[0], dtype=np.float64)


def route_inputs(scenario: Scenario) -> RouteInputs:
    """Uncertain inputs that were typed, and a default for each of the usual ones that was not."""
    typed = tuple(
        item for item in uncertain_inputs(scenario) if not item.path.startswith(("envelope.", "flight."))
    )
    said = {item.path for item in typed}
    added = []
    for path, share in DEFAULT_SHARES.items():
        added.append(default_input(scenario.record, path, share * value_at(scenario.record, path)))
    for path, width in DEFAULT_WIDTHS.items():
        added.append(default_input(scenario.record, path, width))
    added = [item for item in added if item.path not in said and item.plus_minus > 0.0]
    if not any(path.startswith("route.") and path.endswith("wind.speed") for path in said):
        added.append(UncertainInput(WIND_ON_EVERY_LEG, 0.0, DEFAULT_WIND, units.SPEED))
    return RouteInputs((*typed, *added), len(added))


def default_input(record: ScenarioRecord, path: str, width: float) -> UncertainInput:
    """A default uncertainty of one quantity."""
    dimension = {
        "installation.drag_area": units.AREA,
        "engine.consumption_factor": units.FRACTION,
        "propeller.blade_angle_datum": units.ANGLE,
        "masses.pilot": units.MASS,
    }[path]
    return UncertainInput(path, float(value_at(record, path)), width, dimension)


@dataclass(frozen=True)
class Question:
    """What is flown in every draw; travels to wherever the draws are flown.

    Attributes
    ----------
    legs : tuple of RouteLeg
        As settled for the scenario's own hub and best estimates: every draw flies this plan.
    guides : tuple of dict
        For each hub, where the search of the ideal one begins: its angles of the best estimates [rad].
    tank : float
        Most fuel ever on board [kg].
    flyable : tuple of bool
        Whether a hub flies every leg on best estimates; one that does not is not drawn for.
    """

    record: ScenarioRecord
    route: Route
    points: tuple[Waypoint, ...]
    legs: tuple[RouteLeg, ...]
    cases: tuple[HubCase, ...]
    guides: tuple[dict[Ask, float], ...]
    tank: float
    flyable: tuple[bool, ...]


@dataclass(frozen=True)
class Draws:
    """A question with the values of its inputs in every draw: paths, and an array of shape (n, k) [SI]."""

    question: Question
    paths: tuple[str, ...]
    values: Array


def ensemble(
    question: Question,
    inputs: Sequence[UncertainInput],
    tell: Callable[[float], None],
    store: Store | None = None,
    where: Where | None = None,
) -> Ensemble:
    """Fly every draw with every hub; what the store holds of this question is not flown again.

    A route that the scenario's own hub cannot fly has no trip to be sure of: nothing is drawn.
    """
    block = question.route.uncertainty
    count = block.draws if question.flyable[0] else 0
    draws = latin_hypercube(inputs, max(count, 1), block.seed)[:count]
    plan = Draws(question, tuple(item.path for item in inputs), draws)
    kept = store or MemoryStore()
    kept.begin("route", repr(question.record), question.route, question.points, inputs, count, DRAWS)
    pieces = -(-count // DRAWS)
    work_out(Job(as_it_is, draws_piece, plan), pieces, kept, where, tell, plan)
    nothing = np.empty((len(question.cases), len(question.legs), 0))
    fuel = [kept.read(number)["leg_fuel"] for number in range(pieces)]
    return Ensemble(draws, np.concatenate([nothing, *fuel], axis=2))


def as_it_is(draws: Draws) -> Draws:
    """Nothing has to be made ready for a draw."""
    return draws


def draws_piece(draws: Draws, number: int) -> Piece:
    """Some draws by the number of their piece: fuel of shape (hubs, legs, draws) [kg]."""
    rows = draws.values[number * DRAWS : (number + 1) * DRAWS]
    fuel = [drawn_fuel(draws.question, dict(zip(draws.paths, map(float, row), strict=True))) for row in rows]
    return {"leg_fuel": np.stack(fuel, axis=2)}


def drawn_fuel(question: Question, values: Mapping[str, float]) -> Array:
    """Fuel of every leg with every hub in one draw, shape (hubs, legs) [kg]; NaN where it cannot be flown."""
    fuel = np.full((len(question.cases), len(question.legs)), np.nan)
    added = values.get(WIND_ON_EVERY_LEG, 0.0)
    inside = {path: value for path, value in values.items() if path != WIND_ON_EVERY_LEG}
    try:
        record = with_values(question.record, blowing_backward(question.record, inside))
    except ValidationError:
        return fuel  # a draw outside what a scenario may hold
    route = record.route
    if route is None:
        return fuel
    aircraft, settings = assemble(record), settings_of(record, route)
    legs = drawn_legs(question, record, route, added)
    masses = (settings.dry_mass, settings.dry_mass + question.tank)
    for row, case in enumerate(question.cases):
        if not question.flyable[row]:
            continue
        performance = performance_for(case, aircraft, route.comparison, masses)
        performance.stops_only = True  # a draw with hanging blades does not count
        if case.key == GOVERNED and isinstance(performance, FreePitchPerformance):
            performance.level_angles.update(question.guides[row])  # its search begins there
        trip = fly_trip(legs, performance, settings, idle_angle(performance))
        if flies(trip):
            fuel[row] = [leg.fuel for leg in trip.legs]
    return fuel


def guide_of(performance: MachinePerformance) -> dict[Ask, float]:
    """Best blade angles that the ideal hub has found so far [rad]; none for other hubs."""
    return dict(performance.level_angles) if isinstance(performance, FreePitchPerformance) else {}


def flies(trip: Trip) -> bool:
    """Whether all legs have figures; a tank that is too small in a draw does not count here."""
    return all(problem.startswith("fuel short") for leg in trip.legs for problem in leg.problems)


def blowing_backward(record: ScenarioRecord, values: Mapping[str, float]) -> dict[str, float]:
    """A wind drawn below zero blows from the other side."""
    changed = dict(values)
    for path, value in values.items():
        if path.endswith("wind.speed") and value < 0.0:
            direction = f"{path.rpartition('.')[0]}.from_direction"
            before = values.get(direction, float(value_at(record, direction)))
            changed |= {path: -value, direction: (before + pi) % (2.0 * pi)}
    return changed


def drawn_legs(question: Question, record: ScenarioRecord, route: Route, added: float) -> list[RouteLeg]:
    """The settled plan in the wind, stronger by `added` [m/s], and the air of a draw."""
    drawn = route_legs(record, route, question.points)
    return [
        replace(
            one,
            height=one.height if isfinite(one.height) else settled.height,
            speed=settled.speed if one.policy else one.speed,
            policy="",
            wind=stronger(one.wind, added, settled),
        )
        for one, settled in zip(drawn, question.legs, strict=True)
    ]


def stronger(wind: WindColumn, added: float, leg: RouteLeg) -> WindColumn:
    """The wind with some more of itself, `added` [m/s]; still air gets it from ahead."""
    if added == 0.0:
        return wind
    speeds = np.hypot(wind.east, wind.north)
    still = speeds == 0.0
    east = np.where(still, -np.sin(leg.track), wind.east / np.where(still, 1.0, speeds))
    north = np.where(still, -np.cos(leg.track), wind.north / np.where(still, 1.0, speeds))
    return replace(wind, east=wind.east + added * east, north=wind.north + added * north)


def band(values: Array) -> tuple[float, float]:
    """Lower and upper end of the 95 % band over the last axis; NaN if there are not two values.

    `values` of any shape (..., n) and any unit.
    """
    good = values[np.isfinite(values)]
    if good.size < 2:
        return float("nan"), float("nan")
    low, high = np.percentile(good, BAND)
    return float(low), float(high)


def variance_shares(draws: Array, values: Array) -> tuple[Array, float]:
    """Share of the variance of a result by input, and what the regression explains in all.

    Squared standardised regression coefficients: for independent inputs of a linear model they are the
    shares themselves; A. Saltelli et al., Global Sensitivity Analysis, Wiley 2008, ch. 1 (from memory).

    Parameters
    ----------
    draws : shape (n, k)
    values : shape (n,)
    """
    good = np.isfinite(values)
    count = int(good.sum())
    spread = float(np.std(values[good])) if count else 0.0
    if count < draws.shape[1] + 2 or not spread > 1e-12:
        return np.full(draws.shape[1], np.nan), float("nan")
    inputs, result = draws[good], (values[good] - values[good].mean()) / spread
    standard = (inputs - inputs.mean(axis=0)) / np.maximum(inputs.std(axis=0), 1e-300)
    slopes, *_ = np.linalg.lstsq(standard, result, rcond=None)
    left = result - standard @ slopes
    return np.asarray(slopes**2, dtype=np.float64), float(1.0 - left.var())
