"""From a flown route to the numbers of its dataset."""

from collections.abc import Mapping, Sequence
from math import isfinite, log10, nan, sin
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simengine import units
from simengine.results.route_catalogue import FLOWN, VERDICTS
from simengine.scenario.origins import Origin
from simengine.scenario.variation import UncertainInput
from simengine.studies.route.checks import landing_height, reserve_of
from simengine.studies.route.hubs import climb_point, idle_angle
from simengine.studies.route.legs import RouteLeg
from simengine.studies.route.performance import Point
from simengine.studies.route.trip import LegFlown, Trip
from simengine.studies.route.uncertainty import band, flies, variance_shares

if TYPE_CHECKING:
    from simengine.studies.route.study import RouteAnswer

Array = NDArray[np.float64]
Values = dict[str, Any]

# 14 CFR 36 appendix G, G36.201(d)(3): delta dB = k log10(ratio of tip Mach numbers); nominal k from memory.
NOISE_SLOPE = 150.0
DEFAULT_UNITS = {"engine.consumption_factor": ""}


def route_values(answer: "RouteAnswer") -> tuple[Values, dict[str, str]]:
    """Every variable of the route's catalogue in SI, and the attributes in words."""
    values: Values = {
        "hub": [case.words for case in answer.cases],
        "input": [item.path for item in answer.inputs.inputs],
        "ground": answer.settings.ground.distances,
        "map_height": answer.map.heights,
        "map_head_wind": answer.map.winds,
    }
    values |= plan_values(answer)
    values |= flown_values(answer)
    values |= trip_values(answer)
    values |= drawn_values(answer)
    values |= path_values(answer.trips[0], answer.settings.fuel_density)
    values |= fixed_values(answer)
    sentences = {"map_other_hub": answer.cases[answer.map.other].words}
    return values, sentences


def plan_values(answer: "RouteAnswer") -> Values:
    """The plan."""
    legs, asked = answer.legs, answer.asked
    winds = [leg.wind.at(leg.height) for leg in legs]
    return {
        "leg": [leg.name for leg in legs],
        "leg_start": [leg.start for leg in legs],
        "leg_distance": [leg.distance for leg in legs],
        "leg_track": [leg.track for leg in legs],
        "leg_height": [leg.height for leg in legs],
        "leg_wind_speed": [speed for speed, _ in winds],
        "leg_wind_from": [direction for _, direction in winds],
        "leg_temperature_offset": [leg.offset for leg in legs],
        "leg_latitude": [leg.latitude for leg in legs],
        "leg_longitude": [leg.longitude for leg in legs],
        "leg_ground": [answer.settings.ground.highest(leg.start, leg.end)[1] for leg in legs],
        "leg_policy": [policy_words(leg, flown) for leg, flown in zip(asked, legs, strict=True)],
    }


def policy_words(asked: RouteLeg, settled: RouteLeg) -> str:
    """How the speed of a leg is set, and its height where that was searched."""
    if asked.policy:
        words = f"{asked.policy.replace('_', ' ')}, {100 * settled.speed.bar:.0f} % bar"
    elif asked.speed.airspeed > 0.0:
        words = f"airspeed {3.6 * asked.speed.airspeed:.1f} km/h"
    else:
        words = "trim" if asked.speed.bar == 0.0 else f"{100 * asked.speed.bar:.0f} % bar"
    return words if isfinite(asked.height) else f"{words}; best height {settled.height:.0f} m"


def flown_values(answer: "RouteAnswer") -> Values:
    """Figures by hub and leg."""
    density = answer.settings.fuel_density
    shape = (len(answer.cases), len(answer.legs))
    found: Values = {
        v.name: np.empty(shape, dtype=object if v.stored == "text" else np.float64) for v in FLOWN
    }
    for row, trip in enumerate(answer.trips):
        for column, (leg, flown) in enumerate(zip(answer.legs, trip.legs, strict=True)):
            for name, value in leg_figures(leg, flown, density).items():
                found[name][row, column] = value
            low, high = band(answer.drawn.leg_fuel[row, column])
            found["fuel_low"][row, column] = low / density
            found["fuel_high"][row, column] = high / density
    return found


def leg_figures(leg: RouteLeg, flown: LegFlown, density: float) -> dict[str, object]:
    """Figures of one leg, SI; `density` of the fuel [kg/m3]."""
    cruise = flown.cruise or Point(nan, nan, nan, nan, nan, nan, nan, nan, 0, 0)
    complete = not hard_problems(flown)
    return {
        "time": flown.time,
        "fuel": flown.fuel / density,
        "climb_fuel": flown.climb_fuel / density,
        "climb_time": flown.climb_time,
        "fuel_flow": flown.fuel_flow / density,
        "fuel_per_distance": flown.fuel / density / leg.distance if complete else nan,
        "height_reached": flown.height,
        "airspeed": cruise.airspeed,
        "ground_speed": flown.ground_speed,
        "heading": flown.heading,
        "bar": cruise.bar,
        "throttle": cruise.throttle,
        "engine_rpm": cruise.engine_speed,
        "tip_mach": cruise.tip_mach,
        "blade_angle": cruise.blade_angle,
        "pitch_state": cruise.pitch_state,
        "fuel_left": flown.fuel_left / density,
        "refuelled": flown.refuelled / density,
        "problems": "; ".join(flown.problems),
        "notes": "; ".join(flown.notes),
    }


def hard_problems(flown: LegFlown) -> list[str]:
    """What keeps a leg from being flown, a tank too small left out."""
    return [problem for problem in flown.problems if not problem.startswith("fuel short")]


def trip_values(answer: "RouteAnswer") -> Values:
    """Totals and what stands beside them, by hub."""
    rows = [trip_figures(answer, row) for row in range(len(answer.cases))]
    return {name: [row[name] for row in rows] for name in rows[0]}


def trip_figures(answer: "RouteAnswer", row: int) -> dict[str, object]:
    """Totals of one hub, by its `row`, SI."""
    trip, case, settings = answer.trips[row], answer.cases[row], answer.settings
    density = settings.fuel_density
    way = sum(leg.distance for leg, one in zip(answer.legs, trip.legs, strict=True) if not hard_problems(one))
    mach, own_mach = cruise_mean(trip, "tip_mach"), cruise_mean(answer.trips[0], "tip_mach")
    out, around = climbs(answer, row)
    low, high = band(answer.drawn.fuel[row])
    return {
        "hub_key": case.key,
        "hub_angle": case.angle,
        "trip_time": trip.time,
        "trip_fuel": trip.fuel / density,
        "trip_fuel_low": low / density,
        "trip_fuel_high": high / density,
        "trip_fuel_flow": trip.fuel / trip.time / density if trip.time > 0.0 else nan,
        "trip_fuel_per_distance": trip.fuel / way / density if way > 0.0 else nan,
        "fuel_needed": fuel_needed(answer, trip) / density,
        "reserve_wanted": reserve_of(settings, trip.legs[-1].fuel_flow) / density,
        "least_fuel_left": min(leg.fuel_left for leg in trip.legs) / density,
        "cruise_rpm": cruise_mean(trip, "engine_speed"),
        "cruise_tip_mach": mach,
        "climb_tip_mach": out.tip_mach,
        "noise_trend": NOISE_SLOPE * log10(mach / own_mach) if mach > 0.0 and own_mach > 0.0 else nan,
        "climb_out_rate": out.airspeed * sin(out.path_angle),
        "climb_out_rpm": out.engine_speed,
        "go_around_rate": around.airspeed * sin(around.path_angle),
    }


def cruise_mean(trip: Trip, name: str) -> float:
    """Mean over the time of all cruises of the figure of a `name`, SI; NaN if there was none."""
    parts = [(leg.cruise_time, getattr(leg.cruise, name)) for leg in trip.legs if leg.cruise]
    time = sum(seconds for seconds, _ in parts)
    return sum(seconds * value for seconds, value in parts) / time if time > 0.0 else nan


def climbs(answer: "RouteAnswer", row: int) -> tuple[Point, Point]:
    """Full throttle after take-off, and going around at the last landing, of the hub of a `row`."""
    performance, settings = answer.performances[row], answer.settings
    angle, last = idle_angle(performance), answer.trips[row].legs[-1]
    ground = landing_height(answer.legs[-1], settings)
    return (
        climb_point(performance, settings, settings.site_height, settings.start_fuel, angle),
        climb_point(performance, settings, ground, last.fuel_left, angle),
    )


def fuel_needed(answer: "RouteAnswer", trip: Trip) -> float:
    """Most fuel that a stretch between two stops takes, with contingency and reserve [kg]."""
    settings, most, here = answer.settings, 0.0, 0.0
    for leg, flown in zip(answer.legs, trip.legs, strict=True):
        here += flown.fuel
        most = max(most, here * (1.0 + settings.contingency) + reserve_of(settings, flown.fuel_flow))
        here = 0.0 if leg.refuel > 0.0 else here
    return most


def drawn_values(answer: "RouteAnswer") -> Values:
    """The saving, its band, what it says, and whose share it is."""
    density, drawn = answer.settings.fuel_density, answer.drawn
    fuel = np.array([trip.fuel for trip in answer.trips])
    comparable = [flies(trip) and flies(answer.trips[0]) for trip in answer.trips]
    saving = np.where(comparable, fuel - fuel[0], nan)
    bands = [band(row) for row in drawn.saving]
    wanted = [drawn.fuel[0], *drawn.saving[1:]]
    shares = [variance_shares(drawn.draws, row) for row in wanted]
    inputs = answer.inputs
    return {
        "saving": saving / density,
        "saving_low": [low / density for low, _ in bands],
        "saving_high": [high / density for _, high in bands],
        "saving_share": saving / fuel,
        "saving_chance": [chance(row) for row in drawn.saving],
        "verdict": [
            VERDICTS.index(verdict(row, one, *ends))
            for row, (one, ends) in enumerate(zip(saving, bands, strict=True))
        ],
        "draws_flown": [int(np.isfinite(row).sum()) for row in drawn.fuel],
        "explained": [explained for _, explained in shares],
        "variance_share": [share for share, _ in shares],
        "input_text": [input_words(item, answer.scenario.origins) for item in inputs.inputs],
        "input_origin": [inputs.origin(row) for row in range(len(inputs.inputs))],
    }


def verdict(row: int, saving: float, low: float, high: float) -> str:
    """Whether a saving exceeds its uncertainty: its 95 % band does not hold zero.

    Of the hub of a `row`: `saving`, and ends of the band, `low` and `high`, any one unit.
    """
    if row == 0:
        return "own_hub"
    if not isfinite(saving):
        return "cannot_be_compared"
    if not isfinite(low):
        return "not_estimated"
    if low > 0.0:
        return "saves"
    return "burns_more" if high < 0.0 else "within_uncertainty"


def chance(savings: Array) -> float:
    """Share of the draws in which the own hub burns less [1]; `savings` of shape (n,), any unit."""
    good = savings[np.isfinite(savings)]
    return float(np.mean(good > 0.0)) if good.size else nan


def input_words(item: UncertainInput, typed: Mapping[str, Origin]) -> str:
    """Value and half-width, in the unit that was typed."""
    unit = DEFAULT_UNITS.get(item.path, item.dimension.shown[0])
    if item.path in typed:
        unit = units.normalise(typed[item.path].unit)
    number = units.from_si(item.value, unit, item.dimension)
    width = item.plus_minus / units.conversion(unit, item.dimension).factor
    return f"{number:.4g} ± {width:.3g} {unit}".rstrip()


def path_values(trip: Trip, density: float) -> Values:
    """The way of the own hub, SI; `density` of the fuel [kg/m3]."""
    path = [point for leg in trip.legs for point in leg.path]
    names: Sequence[tuple[str, str]] = (
        ("path_leg", "leg"),
        ("path_part", "part"),
        ("path_distance", "distance"),
        ("path_height", "height"),
        ("path_time", "time"),
        ("path_rpm", "engine_speed"),
        ("path_blade_angle", "blade_angle"),
        ("path_pitch_state", "pitch_state"),
    )
    values: Values = {name: np.array([getattr(point, key) for point in path]) for name, key in names}
    fuel = np.array([point.fuel for point in path]) / density
    return {"path": np.arange(len(path)), "path_fuel": fuel} | values


def fixed_values(answer: "RouteAnswer") -> Values:
    """Map, terrain, scalars."""
    machine, settings = answer.performances[0].machine, answer.settings
    return {
        "map_saving_share": answer.map.saving,
        "map_pitch_state": answer.map.state,
        "map_distance": answer.map.distance,
        "ground_height": settings.ground.heights,
        "coarse_stop": machine.coarse_stop,
        "fine_stop": machine.fine_stop,
        "engine_rpm_limit": machine.speed_limit,
        "reduction": machine.reduction,
        "site_height": settings.site_height,
        "start_mass": settings.dry_mass + settings.start_fuel,
        "start_fuel": settings.start_fuel / settings.fuel_density,
        "terrain_clearance": settings.clearance,
    }
