"""The legs of a route in SI, with everything a leg leaves out filled in from the route."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import degrees, isfinite, nan
from pathlib import Path

import numpy as np

from simengine.balance.assembly import assemble_atmosphere
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.route_records import BestHeight, Cruising, Leg, Place, Route
from simengine.scenario.waypoint_files import Waypoint, read_waypoints
from simengine.studies.route.geometry import (
    UNKNOWN_GROUND,
    Course,
    Ground,
    WindColumn,
    geodesic_course,
    place_after,
    steady_wind,
    wind_column,
)
from simengine.studies.route.performance import Speed

TRIM, BEST_RANGE, BEST_ENDURANCE = "trim", "best_range", "best_endurance"


@dataclass(frozen=True)
class RouteLeg:
    """One leg as it is to be flown; angles true, heights above mean sea level.

    Attributes
    ----------
    name : str
    start, distance : float
        Along the route: where the leg begins, and its length [m].
    track : float
        [rad].
    height : float
        Of the cruise [m]; NaN as long as it is still to be found between the two of `search`.
    offset : float
        Temperature offset of the day [K].
    wind : WindColumn
    speed : Speed
    policy : str
        `best_range` or `best_endurance` as long as `speed` is still to be found, otherwise empty.
    search : tuple of float
        Lowest and highest cruising height to look at [m].
    refuel : float
        Fuel on board after a stop at the end [kg]; zero for no stop.
    stop_height : float
        Of the place of that stop [m].
    latitude, longitude : float
        Of the end [degree]; NaN where no places were given.
    """

    name: str
    start: float
    distance: float
    track: float
    height: float
    offset: float
    wind: WindColumn
    speed: Speed
    policy: str
    search: tuple[float, float]
    refuel: float
    stop_height: float
    latitude: float
    longitude: float

    @property
    def end(self) -> float:
        """Distance from the start of the route [m]."""
        return self.start + self.distance


@dataclass(frozen=True)
class Settings:
    """What holds for the whole route.

    Attributes
    ----------
    site_height, landing_height : float
        Where it begins, and ends where that is told, above mean sea level [m].
    start_fuel, reserve : float
        On board, and to be kept: the scenario's [kg].
    fuel_density : float
        [kg/m3].
    dry_mass : float
        Everything but the fuel [kg].
    reserve_time : float
        Flown at the last leg's fuel flow, it is kept too [s].
    contingency : float
        Share of the fuel planned that is kept on top [1].
    climb_throttle, climb_bar, most_bar, most_throttle : float
        In climbs, and the most in cruises [1].
    clearance : float
        Least height above known ground [m].
    landing : bool
        Whether the route ends on the ground.
    offset : float
        Temperature offset of the day [K].
    ground : Ground
    """

    site_height: float
    start_fuel: float
    fuel_density: float
    dry_mass: float
    reserve: float
    reserve_time: float
    contingency: float
    climb_throttle: float
    climb_bar: float
    clearance: float
    landing: bool
    landing_height: float
    most_bar: float
    most_throttle: float
    offset: float
    ground: Ground


def settings_of(record: ScenarioRecord, route: Route) -> Settings:
    """Read the route's settings."""
    masses, fuel = record.masses, record.fuel
    ground = ground_of(route)
    landing = route.landing_height
    return Settings(
        site_height=record.site.height,
        start_fuel=(fuel.start - route.launch_fuel) * fuel.density,
        fuel_density=fuel.density,
        dry_mass=masses.pilot + masses.equipment + masses.machine + masses.wing,
        reserve=fuel.reserve * fuel.density,
        reserve_time=route.reserve_time,
        contingency=route.contingency,
        climb_throttle=route.climb.throttle,
        climb_bar=route.climb.bar,
        clearance=route.terrain_clearance,
        landing=route.landing,
        landing_height=nan if landing is None else landing,
        most_bar=min(route.most_bar, record.wing.polar.bar[-1]),
        most_throttle=route.most_throttle,
        offset=float(assemble_atmosphere(record.atmosphere).temperature_offset),
        ground=ground,
    )


def ground_of(route: Route) -> Ground:
    """The terrain table."""
    if route.terrain is None:
        return UNKNOWN_GROUND
    return Ground(np.array(route.terrain.distance), np.array(route.terrain.height))


def points_of(route: Route, folder: Path) -> tuple[Waypoint, ...]:
    """Points of the route's waypoint file in a folder; none if it has no file."""
    return read_waypoints(route.waypoints, folder) if route.waypoints else ()


def route_legs(record: ScenarioRecord, route: Route, points: Sequence[Waypoint]) -> tuple[RouteLeg, ...]:
    """Every leg of a route.

    Parameters
    ----------
    record : ScenarioRecord
        The whole scenario.
    route : Route
        Its route.
    points : sequence of Waypoint
        Those of its file, if it has one.
    """
    typed = legs_of_file(points) if points else named(route)
    legs, start = [], 0.0
    for leg, name, course, place in typed:
        legs.append(filled_in(record, route, leg, name, course, place, start))
        start += course.distance
    return tuple(legs)


TypedLeg = tuple[Leg | None, str, Course, tuple[float, float]]


def legs_of_file(points: Sequence[Waypoint]) -> list[TypedLeg]:
    """Legs between the points of a file."""
    return [
        (
            None,
            f"{before.name} to {after.name}",
            geodesic_course(before.latitude, before.longitude, after.latitude, after.longitude),
            (after.latitude, after.longitude),
        )
        for before, after in pairwise(points)
    ]


def named(route: Route) -> list[TypedLeg]:
    """Legs that were typed, each with a name, a course and, where known, the place of its end."""
    here = position(route.start)
    legs: list[TypedLeg] = []
    for number, leg in enumerate(route.legs, start=1):
        name = leg.name or f"leg {number}"
        if leg.to is not None:
            there = position(leg.to)
            course = geodesic_course(*here, *there)
            here = there
        else:
            course = Course(leg.distance or 0.0, leg.track or 0.0)
            here = place_after(*here, course) if isfinite(here[0]) else here
        legs.append((leg, name, course, here))
    return legs


def position(place: Place | None) -> tuple[float, float]:
    """Latitude and longitude [degree]; NaN if unknown."""
    return (nan, nan) if place is None else (degrees(place.latitude), degrees(place.longitude))


def filled_in(
    record: ScenarioRecord,
    route: Route,
    leg: Leg | None,
    name: str,
    course: Course,
    place: tuple[float, float],
    start: float,
) -> RouteLeg:
    """One leg with what it leaves out taken from the route."""
    own: Cruising = leg or route.cruise
    levels = own if own.says_height else route.cruise
    speeds = own if own.says_speed else route.cruise
    policy = speeds.policy or TRIM
    search: BestHeight | None = levels.best_height
    refuel = leg.refuel if leg and leg.refuel else 0.0
    stop = leg.stop_height if leg else None
    return RouteLeg(
        name=name,
        start=start,
        distance=course.distance,
        track=course.track,
        height=height_of(levels, ground_of(route), start, course.distance),
        offset=offset_of(record, route, own),
        wind=wind_of(route, own),
        speed=Speed(speeds.bar or 0.0, speeds.airspeed or 0.0),
        policy="" if policy == TRIM else policy,
        search=(search.lowest, search.highest) if search else (nan, nan),
        refuel=refuel * record.fuel.density,
        stop_height=nan if stop is None else stop,
        latitude=place[0],
        longitude=place[1],
    )


def height_of(levels: Cruising, ground: Ground, start: float, distance: float) -> float:
    """Cruising height above mean sea level [m]; NaN if it is to be searched.

    The leg begins at `start` and goes on for a `distance` along the route [m].
    """
    if levels.height is not None:
        return levels.height
    if levels.height_above_ground is None:
        return nan
    highest = ground.highest(start, start + distance)[1]
    return levels.height_above_ground + (highest if ground.known else 0.0)


def offset_of(record: ScenarioRecord, route: Route, own: Cruising) -> float:
    """Temperature offset of a leg, or that of the scenario's day [K]."""
    for source in (own, route.cruise):
        if source.temperature_offset is not None:
            return source.temperature_offset
    return float(assemble_atmosphere(record.atmosphere).temperature_offset)


def wind_of(route: Route, own: Cruising) -> WindColumn:
    """Wind of a leg: its own, the route's winds aloft, the route's single wind, or none."""
    if own.wind is not None and own is not route.cruise:
        return steady_wind(own.wind.speed, own.wind.from_direction)
    if route.winds is not None:
        table = route.winds
        return wind_column(np.array(table.height), np.array(table.speed), np.array(table.from_direction))
    if route.cruise.wind is not None:
        return steady_wind(route.cruise.wind.speed, route.cruise.wind.from_direction)
    return steady_wind(0.0, 0.0)
