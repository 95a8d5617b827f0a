"""Speeds and heights that a route leaves to be found: best range, best endurance, best height."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import cos, inf, isfinite, sin

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline
from scipy.optimize import minimize_scalar

from simengine.balance.pitch import HUNG
from simengine.balance.trim import REACHED
from simengine.studies.route.flight import fly_leg, start_state
from simengine.studies.route.legs import BEST_RANGE, RouteLeg, Settings
from simengine.studies.route.performance import Ask, Performance, Point, Speed
from simengine.studies.route.trip import LegFlown, State

Array = NDArray[np.float64]

BARS = 13  # at which level flight is computed
FINE_BARS = 2001  # at which the curves through them are looked at
MASS_STEP = 5.0  # legs whose masses differ by less share the curves [kg]
HEIGHTS = 9
HEIGHT_FOUND = 25.0  # [m]


@dataclass(frozen=True)
class Curve:
    """Level flight over a stretch of bar positions with the blades in one state, shape (n,) each.

    `bars` [1], `airspeeds` [m/s], `fuel_flows` [kg/s].
    """

    bars: Array
    airspeeds: Array
    fuel_flows: Array


@dataclass
class SpeedSearch:
    """Finds the bar that a policy asks for, as far as throttle, rpm and blades allow.

    Level flight is computed at a few bars; splines through stretches of one pitch state are searched. Only
    the choice of the bar hangs on the splines: the least is flat, and what is flown there is computed.
    """

    performance: Performance
    settings: Settings
    blade_angle: float
    known: dict[tuple[float, float, int], list[Curve]] = field(default_factory=dict)

    def settled(self, leg: RouteLeg, fuel: float) -> RouteLeg:
        """The leg with its bar, for a fuel mass on board [kg]; as it is if nothing is to be found."""
        if not leg.policy:
            return leg
        wind_speed, wind_from = leg.wind.at(leg.height)
        best, bar = inf, 0.0
        for curve in self.curves(leg, self.settings.dry_mass + max(fuel, 0.0)):
            costs = curve_costs(curve, leg, wind_speed, wind_from)
            row = int(np.argmin(costs))
            if costs[row] < best:
                best, bar = float(costs[row]), float(curve.bars[row])
        return replace(leg, speed=Speed(bar), policy="")

    def curves(self, leg: RouteLeg, mass: float) -> list[Curve]:
        """Curves at a leg's height and an all-up mass [kg]."""
        key = (leg.height, leg.offset, round(mass / MASS_STEP))
        if key not in self.known:
            bars = np.linspace(0.0, self.settings.most_bar, BARS)
            points = [self.level(leg, float(bar), mass) for bar in bars]
            self.known[key] = [curve_through(part) for part in self.stretches(points)]
        return self.known[key]

    def level(self, leg: RouteLeg, bar: float, mass: float) -> Point:
        """Level flight at a bar [1] and an all-up mass [kg]."""
        return self.performance.direct(Ask(leg.height, leg.offset, Speed(bar)), mass, self.blade_angle)

    def stretches(self, points: Sequence[Point]) -> list[list[Point]]:
        """Neighbouring points that can be flown, with the blades in one state."""
        found: list[list[Point]] = [[]]
        for point in points:
            fits = point.status == REACHED and point.pitch_state != HUNG
            if not fits or point.throttle > self.settings.most_throttle:
                found.append([])
                continue
            if found[-1] and found[-1][-1].pitch_state != point.pitch_state:
                found.append([])
            found[-1].append(point)
        return [part for part in found if part]


def curve_through(points: Sequence[Point]) -> Curve:
    """A fine curve through points."""
    bars = np.array([point.bar for point in points])
    columns = [
        np.array([point.airspeed for point in points]),
        np.array([point.fuel_flow for point in points]),
    ]
    if bars.size == 1:
        return Curve(bars, *columns)
    fine = np.linspace(bars[0], bars[-1], FINE_BARS)
    order = min(3, bars.size - 1)
    return Curve(fine, *(make_interp_spline(bars, column, k=order)(fine) for column in columns))


def curve_costs(curve: Curve, leg: RouteLeg, wind_speed: float, wind_from: float) -> Array:
    """Fuel by distance over ground [kg/m], or time [kg/s], shape (n,); infinite in too strong a wind.

    `wind_speed` [m/s], and `wind_from` the direction it blows from [rad].
    """
    if leg.policy != BEST_RANGE:
        return curve.fuel_flows
    across = wind_speed * sin(wind_from - leg.track)
    along = np.sqrt(np.maximum(curve.airspeeds**2 - across**2, 0.0)) - wind_speed * cos(wind_from - leg.track)
    return np.where(along > 0.0, curve.fuel_flows / np.where(along > 0.0, along, 1.0), inf)


def settled_legs(legs: Sequence[RouteLeg], search: SpeedSearch) -> tuple[RouteLeg, ...]:
    """The legs with every height and speed found, each from where the one before left the machine.

    A height is the best for its own leg and the one after it together, climb and hub's state included.
    """
    state = start_state(search.settings, search.blade_angle)
    settled: list[RouteLeg] = []
    for number, asked in enumerate(legs):
        following = legs[number + 1] if number + 1 < len(legs) else None
        leg = asked
        if not isfinite(leg.height):
            leg = with_best_height(leg, following, state, search)
        leg = search.settled(leg, state.fuel)
        settled.append(leg)
        fly_leg(
            number,
            leg,
            state,
            search.performance,
            search.settings,
            search.blade_angle,
            last=following is None,
        )
    return tuple(settled)


def least(cost: Callable[[float], float], low: float, high: float, count: int, tolerance: float) -> float:
    """Where a cost that may jump, or be infinite, is least: a coarse look, then closed in around the best.

    From `low` to `high` in `count` steps, then to a `tolerance`; any unit, that of the result.
    """
    if not high > low:
        return low
    places = np.linspace(low, high, count)
    costs = np.array([cost(float(place)) for place in places])
    best = int(np.argmin(costs))
    if not isfinite(costs[best]):
        return low
    around = (float(places[max(best - 1, 0)]), float(places[min(best + 1, count - 1)]))
    worst = 10.0 * float(np.max(costs[np.isfinite(costs)]))

    def finite_cost(place: float) -> float:
        found = cost(float(place))
        return found if isfinite(found) else worst

    closer = minimize_scalar(finite_cost, bounds=around, method="bounded", options={"xatol": tolerance})
    return float(closer.x) if float(closer.fun) < costs[best] else float(places[best])


def with_best_height(
    leg: RouteLeg, following: RouteLeg | None, state: State, search: SpeedSearch
) -> RouteLeg:
    """The leg at the height at which it and the leg after it burn least, where they can be flown."""
    lowest = max(leg.search[0], ground_under(leg, search.settings))
    highest = max(leg.search[1], lowest)

    def cost(height: float) -> float:
        trial, total = replace(state), 0.0
        pair = [replace(leg, height=height)]
        if following is not None:
            after = following.height if isfinite(following.height) else height
            pair.append(replace(following, height=after))
        for number, one in enumerate(pair):
            here = search.settled(one, trial.fuel)
            last = number == len(pair) - 1
            total += leg_cost(
                fly_leg(
                    number, here, trial, search.performance, search.settings, search.blade_angle, last=last
                )
            )
        return total

    return replace(leg, height=least(cost, lowest, highest, HEIGHTS, HEIGHT_FOUND))


def ground_under(leg: RouteLeg, settings: Settings) -> float:
    """Lowest height that clears the ground under a leg [m]."""
    highest = settings.ground.highest(leg.start, leg.end)[1]
    return highest + settings.clearance if settings.ground.known else leg.search[0]


def leg_cost(flown: LegFlown) -> float:
    """Fuel of a leg [kg], infinite if it cannot be flown there; running short of fuel does not count."""
    hard = [problem for problem in flown.problems if not problem.startswith("fuel short")]
    return inf if hard else flown.fuel
