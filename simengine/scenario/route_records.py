"""Keys of a cross-country route."""

from collections.abc import Iterator
from math import degrees
from typing import Annotated, Literal

from pydantic import Field

from simengine.scenario.quantities import (
    Angle,
    Complaint,
    Fraction,
    Length,
    Positive,
    Record,
    Speed,
    TemperatureDifference,
    Time,
    Volume,
)
from simengine.scenario.tables import Column, TableRecord, rising
from simengine.scenario.waypoint_files import same_place

FULL_CIRCLE = 6.283185307179586  # [rad]
HALF_CIRCLE = 3.141592653589793  # [rad]
QUARTER_CIRCLE = 1.5707963267948966  # [rad]
LONGEST_TRIP = 2e7  # [m]
LONGEST_LEG = 3e6  # [m]; the largest tank that a scenario may have does not reach so far

Height = Annotated[Length, Field(ge=-500, le=9000)]
Bearing = Annotated[Angle, Field(ge=0, le=FULL_CIRCLE)]
WindSpeed = Annotated[Speed, Field(ge=0, le=60)]

HubChoice = Literal["coarse", "fine", "compromise", "governed"]


class Place(Record):
    """A point of the earth, WGS 84."""

    latitude: Annotated[Angle, Field(ge=-QUARTER_CIRCLE, le=QUARTER_CIRCLE)]
    """North positive, WGS 84."""
    longitude: Annotated[Angle, Field(ge=-HALF_CIRCLE, le=HALF_CIRCLE)]
    """East positive, WGS 84."""

    def same_as(self, other: "Place") -> bool:
        """Whether both are one place."""
        return same_place(*(degrees(value) for value in (*self.values, *other.values)))

    @property
    def values(self) -> tuple[float, float]:
        """Latitude and longitude [rad]."""
        return self.latitude, self.longitude


class Wind(Record):
    """Wind by its speed and the true direction that it blows FROM (0 deg from the north, 90 deg east)."""

    speed: WindSpeed
    """Of the wind."""
    from_direction: Bearing
    """True direction that it blows FROM."""


class WindsAloft(TableRecord):
    """Wind against height above mean sea level; between the rows its two components run in straight lines."""

    height: Column[Height]
    """Above mean sea level, rising."""
    speed: Column[WindSpeed]
    """Of the wind."""
    from_direction: Column[Bearing]
    """True direction that it blows FROM."""

    def complaints(self) -> Iterator[Complaint]:
        """Heights rise."""
        yield from rising(self, "height")


class Terrain(TableRecord):
    """Height of the ground above mean sea level along the route, distance from its start."""

    distance: Column[Annotated[Length, Field(ge=0, le=LONGEST_TRIP)]]
    """From the start of the route, rising from 0."""
    height: Column[Height]
    """Of the ground above mean sea level."""

    def complaints(self) -> Iterator[Complaint]:
        """Distances rise from 0."""
        if self.distance[0] != 0.0:
            yield Complaint(("distance", 0), "the terrain begins at distance 0")
        yield from rising(self, "distance")


class BestHeight(Record):
    """Have the cruising height searched between two heights above mean sea level."""

    lowest: Height
    """Search from here, above mean sea level."""
    highest: Height
    """To here."""

    def complaints(self) -> Iterator[Complaint]:
        """A range."""
        if not self.lowest < self.highest:
            yield Complaint(("highest",), "must lie above lowest")


class Cruising(Record):
    """How a leg is flown; what a leg leaves out is taken from the route's `cruise`.

    The height is one of `height` (above mean sea level), `height_above_ground` (above the highest terrain
    of the leg) and `best_height`. The speed is one of `policy`, `bar` and `airspeed`.
    """

    height: Height | None = None
    """Cruising height above mean sea level."""
    height_above_ground: Annotated[Length, Field(gt=0, le=9000)] | None = None
    """Above the highest terrain of the leg."""
    best_height: BestHeight | None = None
    """Have the height searched."""
    policy: Literal["trim", "best_range", "best_endurance"] | None = None
    """Fly at trim, for best range or for best endurance."""
    bar: Annotated[Fraction, Field(ge=0, le=1)] | None = None
    """Or at a bar position."""
    airspeed: Annotated[Speed, Positive] | None = None
    """Or at an airspeed."""
    wind: Wind | None = None
    """At cruising height; in place of the route's `winds`."""
    temperature_offset: Annotated[TemperatureDifference, Field(ge=-60, le=60)] | None = None
    """In place of the scenario's own."""

    def complaints(self) -> Iterator[Complaint]:
        """One height, one speed."""
        for names in (("height", "height_above_ground", "best_height"), ("policy", "bar", "airspeed")):
            given = [name for name in names if getattr(self, name) is not None]
            for name in given[1:]:
                yield Complaint((name,), f"'{given[0]}' says it already: leave one out")

    @property
    def says_height(self) -> bool:
        """Whether a height is given in any way."""
        return any(value is not None for value in (self.height, self.height_above_ground, self.best_height))

    @property
    def says_speed(self) -> bool:
        """Whether a speed is given in any way."""
        return any(value is not None for value in (self.policy, self.bar, self.airspeed))


class Leg(Cruising):
    """One leg: a distance and a true track, or the place that it leads to.

    `refuel` is the fuel on board after a stop at the end of the leg; `stop_height` the ground there.
    """

    name: str | None = None
    """Shown in tables and pictures."""
    distance: Annotated[Length, Field(gt=0, le=LONGEST_LEG)] | None = None
    """Over ground."""
    track: Bearing | None = None
    """True track."""
    to: Place | None = None
    """Or the place that it leads to."""
    refuel: Annotated[Volume, Field(gt=0, le=0.1)] | None = None
    """Fuel on board after a stop at its end."""
    stop_height: Height | None = None
    """Ground there, above mean sea level."""

    def complaints(self) -> Iterator[Complaint]:
        """One way to say where it leads."""
        yield from super().complaints()
        if self.to is not None and (self.distance is not None or self.track is not None):
            yield Complaint(
                ("to",), "a leg has a distance and a track, or a place that it leads to, not both"
            )
        elif self.to is None:
            for name, example in (("distance", "60 km"), ("track", "90 deg")):
                if getattr(self, name) is None:
                    message = f"is required, for example '{example}'; or 'to' with latitude and longitude"
                    yield Complaint((name,), message)
        if self.stop_height is not None and self.refuel is None:
            yield Complaint(("stop_height",), "is for a stop: give 'refuel' too, or leave it out")


class RouteClimb(Record):
    """How the route's climbs are flown."""

    throttle: Annotated[Fraction, Field(gt=0, le=1)] = 1.0
    """Opening in climbs."""
    bar: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    """Bar in climbs."""


class HubComparison(Record):
    """Hubs that fly the same route besides the scenario's own.

    `compromise` is the fixed blade angle between `lowest_angle` and `highest_angle` that burns least on the
    route and still climbs at `climb_rate` after take-off, all-up mass, at full throttle.
    """

    hubs: tuple[HubChoice, ...] = ("fine", "coarse", "compromise", "governed")
    """Hubs that fly the same route: bolted fine, bolted coarse, the best compromise, an ideal governed
    one."""
    climb_rate: Annotated[Speed, Field(ge=0, le=10)] = 1.5
    """That the compromise must still give after take-off."""
    lowest_angle: Annotated[Angle, Field(gt=0, le=1.0)] = 0.08726646259971647  # 5 deg
    """Search the compromise from here."""
    highest_angle: Annotated[Angle, Field(gt=0, le=1.0)] = 0.4363323129985824  # 25 deg
    """To here."""

    def complaints(self) -> Iterator[Complaint]:
        """A range of angles, each hub once."""
        if not self.lowest_angle < self.highest_angle:
            yield Complaint(("highest_angle",), "must be a larger angle than lowest_angle")
        for index, name in enumerate(self.hubs):
            if name in self.hubs[:index]:
                yield Complaint(("hubs", index), f"'{name}' is given twice")


class RouteUncertainty(Record):
    """How the uncertainty of fuel and saving is drawn: Latin hypercube, the same draws for every hub."""

    draws: Annotated[int, Field(ge=0, le=20_000)] = 200
    """Draws of the uncertain inputs; 0 for none."""
    seed: Annotated[int, Field(ge=0)] = 1
    """Number that fixes the draws."""


class RouteMap(Record):
    """Grid of the map of the saving; `highest` left out means 2000 m above the start."""

    heights: Annotated[int, Field(ge=2, le=100)] = 9
    """Rows of the map of the saving."""
    winds: Annotated[int, Field(ge=2, le=100)] = 9
    """Its columns."""
    highest: Height | None = None
    """Its highest height; left out, 2000 m above the start."""
    strongest_wind: Annotated[Speed, Field(gt=0, le=40)] = 8.0
    """Its strongest wind, ahead and behind."""


class Route(Record):
    """A cross-country route: take-off at the site, climb, legs, stops, landing.

    Its legs are `legs`, or those between the points of a file `waypoints` (.gpx or .csv in the scenario's
    folder). `reserve_time` is flown at the last leg's fuel flow and holds beside the scenario's
    `fuel.reserve`: the larger counts.
    """

    start: Place | None = None
    """Place of take-off, where legs lead to places."""
    waypoints: str | None = None
    """Legs from a .gpx or .csv file in the scenario's folder."""
    legs: Annotated[tuple[Leg, ...], Field(max_length=1000)] = ()
    """One after the other."""
    cruise: Cruising = Cruising()
    """What a leg does not say itself."""
    climb: RouteClimb = RouteClimb()
    """How climbs are flown."""
    winds: WindsAloft | None = None
    """Wind against height."""
    terrain: Terrain | None = None
    """Ground along the route."""
    terrain_clearance: Annotated[Length, Field(ge=0, le=2000)] = 150.0
    """Least height above the terrain; less is told."""
    launch_fuel: Annotated[Volume, Field(ge=0, le=0.02)] = 0.0
    """Burnt before take-off."""
    reserve_time: Annotated[Time, Field(ge=0, le=36000)] = 0.0
    """Flying time to be left at every landing."""
    contingency: Annotated[Fraction, Field(ge=0, le=1)] = 0.1
    """Share of the fuel planned, kept on top."""
    landing: bool = True
    """Whether the last leg ends with a descent and landing."""
    landing_height: Height | None = None
    """Ground at the end; left out, that of the terrain or the site."""
    most_bar: Annotated[Fraction, Field(ge=0, le=1)] = 1.0
    """No leg uses more bar."""
    most_throttle: Annotated[Fraction, Field(gt=0, le=1)] = 1.0
    """No leg uses more throttle; one that would, says so."""
    comparison: HubComparison = HubComparison()
    """Hubs that fly the same route besides your own."""
    uncertainty: RouteUncertainty = RouteUncertainty()
    """How the uncertainty is drawn."""
    map: RouteMap = RouteMap()
    """Grid of the map of the saving."""

    def complaints(self) -> Iterator[Complaint]:
        """Legs once; places need a start; every leg has a height."""
        if self.legs and self.waypoints is not None:
            yield Complaint(("waypoints",), "the legs are given already: leave one out")
        elif not self.legs and self.waypoints is None:
            yield Complaint(("legs",), "is required: a list of legs; or 'waypoints', a .gpx or .csv file")
        if self.start is None and any(leg.to is not None for leg in self.legs):
            yield Complaint(("start",), "is required where a leg leads to a place: latitude and longitude")
        yield from self.place_complaints()
        yield from self.height_complaints()

    def place_complaints(self) -> Iterator[Complaint]:
        """A leg between places leads somewhere else."""
        before = self.start
        for index, leg in enumerate(self.legs):
            if leg.to is not None and before is not None and before.same_as(leg.to):
                yield Complaint(("legs", index, "to"), "is the place where the leg begins: leave the leg out")
            before = leg.to

    def height_complaints(self) -> Iterator[Complaint]:
        """A height above ground needs the ground; every leg has a height."""
        for place, cruising in (
            (("cruise",), self.cruise),
            *((("legs", i), leg) for i, leg in enumerate(self.legs)),
        ):
            if cruising.height_above_ground is not None and self.terrain is None:
                message = "needs the route's 'terrain', a table of distance and height"
                yield Complaint((*place, "height_above_ground"), message)
        if self.cruise.says_height:
            return
        if self.waypoints is not None:
            yield Complaint(("cruise", "height"), "is required, for example '600 m'")
        for index, leg in enumerate(self.legs):
            if not leg.says_height:
                message = "is required here or in 'cruise' of the route, for example '600 m'"
                yield Complaint(("legs", index, "height"), message)

    def bar_complaints(self, most: float) -> Iterator[Complaint]:
        """Bars beyond the wing's measured polar."""
        message = f"is beyond the wing's measured polar, which ends at {100 * most:g} % bar"
        asked = [(("climb", "bar"), self.climb.bar), (("cruise", "bar"), self.cruise.bar)]
        places = [*asked, *((("legs", i, "bar"), leg.bar) for i, leg in enumerate(self.legs))]
        for place, bar in places:
            if bar is not None and bar > most:
                yield Complaint(place, message)
