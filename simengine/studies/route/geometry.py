"""Where a route leads and what the wind does to it: geodesic legs, wind triangle, terrain."""

from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, nan, pi, radians, sin
from typing import NamedTuple

import numpy as np
from geographiclib.geodesic import Geodesic  # type: ignore[import-untyped]
from numpy.typing import NDArray

Array = NDArray[np.float64]
FULL_CIRCLE = 2.0 * pi


class Course(NamedTuple):
    """Distance [m] and true track at half of it [rad]."""

    distance: float
    track: float


def geodesic_course(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> Course:
    """The shortest way over the WGS 84 ellipsoid between two points.

    From `latitude`, `longitude` to `to_latitude`, `to_longitude` [degree], north and east positive. Library:
    geographiclib, after C. F. F. Karney, J. Geodesy 87 (2013) 43-55. The track of a shortest way turns along
    it; that at half the distance stands for the leg.
    """
    line = Geodesic.WGS84.InverseLine(latitude, longitude, to_latitude, to_longitude)
    middle = line.Position(0.5 * line.s13)
    return Course(float(line.s13), radians(middle["azi2"]) % FULL_CIRCLE)


def place_after(latitude: float, longitude: float, course: Course) -> tuple[float, float]:
    """Latitude and longitude [degree] at the end of a course that sets off from a place.

    `latitude` and `longitude` of the place [degree], north and east positive.
    """
    end = Geodesic.WGS84.Direct(latitude, longitude, degrees(course.track), course.distance)
    return float(end["lat2"]), float(end["lon2"])


class WindTriangle(NamedTuple):
    """Ground speed along the track [m/s], correction angle and heading [rad], positive to the right.

    Not a number where the wind across the track is stronger than the airspeed; a ground speed of zero or
    less means that the machine does not get on against the wind.
    """

    ground_speed: float
    correction: float
    heading: float


def wind_triangle(airspeed: float, track: float, wind_speed: float, wind_from: float) -> WindTriangle:
    """Ground speed on a track with wind FROM a direction, all angles true.

    `airspeed` and `wind_speed` [m/s], `track` and `wind_from` [rad]. `sin(correction) = wind / airspeed
    sin(from - track)`; the rest is the sum along the track.
    """
    across = wind_speed * sin(wind_from - track)
    if not abs(across) < airspeed:
        return WindTriangle(nan, nan, nan)
    correction = asin(across / airspeed)
    ground_speed = airspeed * cos(correction) - wind_speed * cos(wind_from - track)
    return WindTriangle(ground_speed, correction, (track + correction) % FULL_CIRCLE)


@dataclass(frozen=True)
class WindColumn:
    """Wind over height by its components toward east and north, shape (n,) each; the ends hold beyond.

    Attributes
    ----------
    heights : NDArray
        Above mean sea level, rising [m].
    east, north : NDArray
        [m/s].
    """

    heights: Array
    east: Array
    north: Array

    def at(self, height: float) -> tuple[float, float]:
        """Speed [m/s] at a height [m] and the direction that it blows from [rad]."""
        east = float(np.interp(height, self.heights, self.east))
        north = float(np.interp(height, self.heights, self.north))
        return hypot(east, north), atan2(-east, -north) % FULL_CIRCLE


def wind_column(heights: Array, speeds: Array, directions: Array) -> WindColumn:
    """Column from `heights` [m], `speeds` [m/s], negative ones the other way, and `directions` [rad].

    Wind blows from its direction; all of shape (n,), heights rising.
    """
    return WindColumn(heights, -speeds * np.sin(directions), -speeds * np.cos(directions))


def steady_wind(speed: float, direction: float) -> WindColumn:
    """The same wind at every height: its `speed` [m/s], and the `direction` it blows from [rad]."""
    return wind_column(np.zeros(1), np.array([speed]), np.array([direction]))


@dataclass(frozen=True)
class Ground:
    """Height of the ground above mean sea level against distance along the route; empty if unknown.

    `distances`, rising, and `heights` of shape (n,) each [m].
    """

    distances: Array
    heights: Array

    @property
    def known(self) -> bool:
        """Whether there is a terrain table."""
        return self.distances.size > 0

    def at(self, distance: float) -> float:
        """Height [m] at a distance [m]; NaN if unknown; the ends hold beyond the table."""
        return float(np.interp(distance, self.distances, self.heights)) if self.known else nan

    def highest(self, start: float, end: float) -> tuple[float, float]:
        """Distance and height [m] of the highest ground from `start` to `end` [m]; NaN if unknown."""
        if not self.known:
            return nan, nan
        inside = (self.distances > start) & (self.distances < end)
        places = np.concatenate([[start], self.distances[inside], [end]])
        heights = np.interp(places, self.distances, self.heights)
        row = int(np.argmax(heights))
        return float(places[row]), float(heights[row])


UNKNOWN_GROUND = Ground(np.empty(0), np.empty(0))
