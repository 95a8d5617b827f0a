"""The hubs that are compared on a route: the scenario's own and those put in its place."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan, sin

from simengine.balance.aircraft import Aircraft, with_parts
from simengine.balance.assembly import plain_hub
from simengine.constants import DEGREE
from simengine.models.mechanism import FIXED
from simengine.scenario import records
from simengine.scenario.route_records import HubComparison
from simengine.studies.machine import machine_of
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.legs import RouteLeg, Settings
from simengine.studies.route.performance import (
    Ask,
    FreePitchPerformance,
    MachinePerformance,
    Performance,
    Point,
    Speed,
    performance_of,
)
from simengine.studies.route.policy import least
from simengine.studies.route.trip import Trip

OWN, FINE, COARSE, COMPROMISE, GOVERNED = "own", "fine", "coarse", "compromise", "governed"
ANGLES = 15
ANGLE_FOUND = 0.05 * DEGREE
SLOPE = 10.0  # kg of fuel for each m/s of climb that is missing: more than any saving


@dataclass(frozen=True)
class HubCase:
    """One hub of the comparison.

    Attributes
    ----------
    key : str
        `own`, `fine`, `coarse`, `compromise` or `governed`.
    words : str
        For tables and pictures.
    angle : float
        Of fixed blades [rad]; NaN otherwise.
    """

    key: str
    words: str
    angle: float


def performance_for(
    case: HubCase, aircraft: Aircraft, comparison: HubComparison, masses: tuple[float, float]
) -> MachinePerformance:
    """The machine with a hub of the comparison in place of its own; lowest and highest of `masses` [kg]."""
    if case.key == OWN:
        return performance_of(aircraft, *masses)
    if case.key == GOVERNED:
        limits = (comparison.lowest_angle, comparison.highest_angle)
        middle = 0.5 * (limits[0] + limits[1])
        return FreePitchPerformance(machine_of(fixed_at(aircraft, middle)), *masses, {}, {}, {}, *limits)
    return performance_of(fixed_at(aircraft, case.angle), *masses)


def fixed_at(aircraft: Aircraft, angle: float) -> Aircraft:
    """The same machine with bolted blades at an `angle` [rad]."""
    return with_parts(aircraft, hub=plain_hub(FIXED, angle, angle, aircraft.inertia))


def idle_angle(performance: MachinePerformance) -> float:
    """Blade angle of the idling machine before take-off [rad]."""
    return performance.machine.coarse_stop


def hub_cases(
    record: records.ScenarioRecord,
    comparison: HubComparison,
    aircraft: Aircraft,
    legs: Sequence[RouteLeg],
    settings: Settings,
    masses: tuple[float, float],
) -> tuple[HubCase, ...]:
    """The scenario's own hub first, then those to compare with; a fixed hub has no stops of its own."""
    own = HubCase(OWN, own_words(record.hub), nan)
    fine, coarse = aircraft.hub.fine_stop, aircraft.hub.coarse_stop
    cases = [own]
    for name in comparison.hubs:
        if name in (FINE, COARSE) and fine == coarse:
            continue
        if name == COMPROMISE:
            cases.append(compromise(aircraft, comparison, legs, settings, masses))
        elif name == GOVERNED:
            cases.append(HubCase(GOVERNED, "governed, ideal", nan))
        else:
            angle = fine if name == FINE else coarse
            cases.append(HubCase(name, f"fixed {name} {angle / DEGREE:.1f}°", angle))
    return tuple(cases)


def own_words(hub: records.Hub) -> str:
    """The scenario's own hub in a few words."""
    if isinstance(hub, records.FixedHub):
        return f"this hub (fixed {hub.blade_angle / DEGREE:.1f}°)"
    stops = f"{hub.coarse_stop / DEGREE:.1f}° to {hub.fine_stop / DEGREE:.1f}°"
    return f"this hub ({hub.kind.replace('_', '-')} {stops})"


def compromise(
    aircraft: Aircraft,
    comparison: HubComparison,
    legs: Sequence[RouteLeg],
    settings: Settings,
    masses: tuple[float, float],
) -> HubCase:
    """The fixed angle of least fuel that still climbs as wanted after take-off."""

    def cost(angle: float) -> float:
        performance = performance_of(fixed_at(aircraft, angle), *masses)
        missing = comparison.climb_rate - climb_rate(performance, settings)
        trip = fly_trip(legs, performance, settings, angle)
        return trip_cost(trip) + SLOPE * max(missing, 0.0)

    angle = least(cost, comparison.lowest_angle, comparison.highest_angle, ANGLES, ANGLE_FOUND)
    return HubCase(COMPROMISE, f"best fixed {angle / DEGREE:.1f}°", angle)


def trip_cost(trip: Trip) -> float:
    """Fuel [kg], and a great deal for each leg that cannot be flown."""
    stuck = sum(any(not p.startswith("fuel short") for p in leg.problems) for leg in trip.legs)
    return trip.fuel + 1e3 * stuck


def climb_point(
    performance: Performance, settings: Settings, height: float, fuel: float, blade_angle: float
) -> Point:
    """Full throttle at a height [m] with a fuel mass on board [kg], bar as in the route's climbs.

    From a blade angle before [rad].
    """
    ask = Ask(height, settings.offset, Speed(settings.climb_bar))
    return performance.at_throttle(ask, settings.dry_mass + max(fuel, 0.0), 1.0, blade_angle)


def climb_rate(performance: MachinePerformance, settings: Settings) -> float:
    """Full-throttle rate of climb just after take-off, all-up mass [m/s]."""
    start = idle_angle(performance)
    point = climb_point(performance, settings, settings.site_height, settings.start_fuel, start)
    return point.airspeed * sin(point.path_angle)
