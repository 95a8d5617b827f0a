"""Legs, settings and a made-up machine of formulas, to fly routes with closed-form answers."""

from dataclasses import dataclass, replace
from math import nan, pi

import numpy as np

from simengine.balance.pitch import COARSE
from simengine.balance.trim import REACHED
from simengine.studies.route.geometry import UNKNOWN_GROUND, steady_wind
from simengine.studies.route.legs import RouteLeg, Settings
from simengine.studies.route.performance import Point, Speed

SETTINGS = Settings(
    site_height=500.0,
    start_fuel=50.0,
    fuel_density=745.0,
    dry_mass=100.0,
    reserve=0.0,
    reserve_time=0.0,
    contingency=0.0,
    climb_throttle=1.0,
    climb_bar=0.0,
    clearance=0.0,
    landing=False,
    landing_height=nan,
    most_bar=1.0,
    most_throttle=1.0,
    offset=0.0,
    ground=UNKNOWN_GROUND,
)

LEG = RouteLeg(
    name="leg",
    start=0.0,
    distance=100e3,
    track=0.5 * pi,
    height=500.0,
    offset=0.0,
    wind=steady_wind(0.0, 0.0),
    speed=Speed(0.0),
    policy="",
    search=(nan, nan),
    refuel=0.0,
    stop_height=nan,
    latitude=nan,
    longitude=nan,
)


def settings(**changes):
    return replace(SETTINGS, **changes)


def leg(**changes):
    return replace(LEG, **changes)


@dataclass
class Formula:
    """A machine by formulas: airspeed of (bar, mass), fuel flow of (airspeed, mass, height)."""

    airspeed: object
    flow: object
    climb_angle: float = 0.2
    climb_flow: float = 0.002
    status: int = REACHED
    state: int = COARSE
    ceiling: float = 1e9

    def level(self, ask, mass, blade_angle):
        speed = float(self.airspeed(ask.speed.bar, mass))
        return self.point(speed, 0.0, float(self.flow(speed, mass, ask.height)), 0.5, ask)

    direct = level

    def at_throttle(self, ask, mass, throttle, blade_angle):
        speed = float(self.airspeed(ask.speed.bar, mass))
        if throttle == 0.0:
            return self.point(speed, -0.15, 1e-4, 0.0, ask)
        angle = self.climb_angle if ask.height < self.ceiling else 0.0
        return self.point(speed, angle, self.climb_flow, throttle, ask)

    def point(self, speed, angle, flow, throttle, ask):
        return Point(
            airspeed=speed,
            path_angle=angle,
            fuel_flow=flow,
            throttle=throttle,
            engine_speed=500.0,
            blade_angle=0.24,
            tip_mach=0.4,
            bar=ask.speed.bar,
            pitch_state=self.state,
            status=self.status,
        )


def steady(speed=12.0, flow=0.0008):
    """The same speed and flow at any mass and height."""
    return Formula(lambda bar, mass: speed, lambda v, mass, height: flow)


def terrain(*rows):
    """Ground from rows of distance and height in metres."""
    from simengine.studies.route.geometry import Ground

    return Ground(np.array([row[0] for row in rows], float), np.array([row[1] for row in rows], float))
