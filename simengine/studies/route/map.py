"""Saving of the scenario's own hub against another over cruising height and wind from ahead."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import nan

import numpy as np

from simengine.scenario.route_records import RouteMap
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.geometry import UNKNOWN_GROUND, steady_wind
from simengine.studies.route.hubs import COARSE, COMPROMISE, FINE, GOVERNED, HubCase, idle_angle
from simengine.studies.route.legs import RouteLeg, Settings
from simengine.studies.route.performance import MachinePerformance, quick
from simengine.studies.route.policy import SpeedSearch
from simengine.studies.route.trip import Trip
from simengine.studies.route.uncertainty import flies

ABOVE_START = 2000.0  # highest height of the map over the site where none is given [m]
LOWEST_ABOVE_START = 100.0  # [m]
PREFERENCE = (COMPROMISE, COARSE, FINE, GOVERNED)


@dataclass(frozen=True)
class SavingMap:
    """Saving over the other hub's fuel [1] and pitch state, shape (heights, winds)."""

    heights: np.ndarray[tuple[int], np.dtype[np.float64]]
    winds: np.ndarray[tuple[int], np.dtype[np.float64]]
    saving: np.ndarray[tuple[int, int], np.dtype[np.float64]]
    state: np.ndarray[tuple[int, int], np.dtype[np.int8]]
    distance: float
    other: int


def other_hub(cases: Sequence[HubCase]) -> int:
    """Which hub the map compares with: the best compromise, else what there is; 0 if there is none."""
    keys = [case.key for case in cases]
    return next((keys.index(key) for key in PREFERENCE if key in keys), 0)


def longest_stretch(legs: Sequence[RouteLeg]) -> float:
    """Longest way between two stops [m]."""
    longest, here = 0.0, 0.0
    for leg in legs:
        here += leg.distance
        longest = max(longest, here)
        here = 0.0 if leg.refuel > 0.0 else here
    return longest


def saving_map(
    block: RouteMap,
    asked: Sequence[RouteLeg],
    settings: Settings,
    performances: Sequence[MachinePerformance],
    cases: Sequence[HubCase],
    tell: Callable[[float], None],
) -> SavingMap:
    """Fly the longest stretch between stops, as the first leg is flown, at every height and wind.

    The ground is left out and the tank never runs dry: the map is about the hub alone.
    """
    highest = block.highest if block.highest is not None else settings.site_height + ABOVE_START
    lowest = min(settings.site_height + LOWEST_ABOVE_START, highest - 1.0)
    heights = np.linspace(lowest, highest, block.heights)
    winds = np.linspace(-block.strongest_wind, block.strongest_wind, block.winds)
    saving = np.full((heights.size, winds.size), nan)
    state = np.zeros(saving.shape, dtype=np.int8)
    other, free = other_hub(cases), replace(settings, ground=UNKNOWN_GROUND, landing=False)
    search = SpeedSearch(quick(performances[0]), free, idle_angle(performances[0]))
    distance = longest_stretch(asked)
    for row, height in enumerate(heights):
        for column, wind in enumerate(winds):
            tell((row * winds.size + column) / saving.size)
            leg = map_leg(asked[0], float(height), float(wind), distance)
            mine, theirs = flown_by_both(leg, search, performances[other])
            cruise = mine.legs[0].cruise
            state[row, column] = cruise.pitch_state if cruise else 0
            if flies(mine) and flies(theirs) and theirs.fuel > 0.0:
                saving[row, column] = 1.0 - mine.fuel / theirs.fuel
    return SavingMap(heights, winds, saving, state, distance, other)


def map_leg(first: RouteLeg, height: float, wind: float, distance: float) -> RouteLeg:
    """The first leg at another `height` and `distance` [m], with `wind` from ahead all the way [m/s]."""
    return replace(
        first,
        start=0.0,
        distance=distance,
        height=height,
        wind=steady_wind(wind, first.track),
        search=(nan, nan),
        refuel=0.0,
    )


def flown_by_both(leg: RouteLeg, search: SpeedSearch, other: MachinePerformance) -> tuple[Trip, Trip]:
    """The leg with the speed that suits the own hub, flown with both."""
    settings = search.settings
    legs = [search.settled(leg, settings.start_fuel)]
    return (
        fly_trip(legs, search.performance, settings, search.blade_angle),
        fly_trip(legs, other, settings, idle_angle(other)),
    )
