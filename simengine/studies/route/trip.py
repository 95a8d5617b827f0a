"""What a flown route is made of: where the machine was, what each leg took, the whole trip."""

from dataclasses import dataclass, field
from math import nan
from typing import NamedTuple

from simengine.studies.route.performance import Point


class PathPoint(NamedTuple):
    """Where the machine is, in a `part` of a `leg`, both by number.

    Attributes
    ----------
    leg, part, pitch_state : int
        Numbers; the state as of `balance.pitch`.
    distance, height : float
        Along the route, and above mean sea level [m].
    time : float
        Since the start [s].
    fuel : float
        On board [kg].
    engine_speed : float
        [rad/s].
    blade_angle : float
        [rad].
    """

    leg: int
    part: int
    distance: float
    height: float
    time: float
    fuel: float
    engine_speed: float
    blade_angle: float
    pitch_state: int


@dataclass
class State:
    """What changes along a route: `height` [m], `fuel` on board [kg], `blade_angle` [rad].

    `distance` along the route [m] and `time` [s] since its start.
    """

    height: float
    fuel: float
    blade_angle: float
    distance: float = 0.0
    time: float = 0.0


@dataclass
class LegFlown:
    """What one leg took; SI. Cruise figures are those at its middle, NaN where there was no cruise."""

    time: float = 0.0
    fuel: float = 0.0
    climb_time: float = 0.0
    climb_fuel: float = 0.0
    cruise_time: float = 0.0
    cruise_fuel: float = 0.0
    cruise_distance: float = 0.0
    climb_rate: float = nan
    climb_engine_speed: float = nan
    climb_tip_mach: float = nan
    cruise: Point | None = None
    ground_speed: float = nan
    heading: float = nan
    fuel_left: float = nan
    height: float = nan
    refuelled: float = 0.0
    problems: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    path: list[PathPoint] = field(default_factory=list)

    @property
    def fuel_flow(self) -> float:
        """Mean fuel flow of the cruise [kg/s]."""
        return self.cruise_fuel / self.cruise_time if self.cruise_time > 0.0 else nan


@dataclass(frozen=True)
class Trip:
    """A route flown. `time`, `fuel` are sums over the legs; SI."""

    legs: tuple[LegFlown, ...]

    @property
    def time(self) -> float:
        """Time in the air [s]."""
        return sum(leg.time for leg in self.legs)

    @property
    def fuel(self) -> float:
        """Fuel burnt [kg]."""
        return sum(leg.fuel for leg in self.legs)

    @property
    def possible(self) -> bool:
        """Whether every leg can be flown."""
        return not any(leg.problems for leg in self.legs)
