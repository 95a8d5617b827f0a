"""The conditions that loads are told at, and every figure of each."""

from dataclasses import dataclass
from math import isnan, nan
from typing import Any

from simengine.balance.aircraft import rotor_state
from simengine.balance.trim import REACHED
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.scenario import records
from simengine.studies.full_throttle import FullThrottle, full_throttle, ground
from simengine.studies.level_flight import Level, level
from simengine.studies.loads.blade_loads import (
    DOUBLE_PULL,
    Bending,
    chord_angle_at,
    noise_trend,
    pin_radius,
    pin_shear,
    pull_of,
    root_bending,
    root_of,
    root_stress,
    stop_loads,
    tip_mach,
)
from simengine.studies.machine import Condition, Machine

RATED = "climb, full throttle"
DOUBLE = "double pull, no air, 141.4 % rpm"


@dataclass(frozen=True)
class Point:
    """One condition. SI; engine speed.

    Attributes
    ----------
    name, words : str
        Its name, and what it is.
    engine_speed : float
        [rad/s].
    blade_angle : float
        [rad].
    airspeed : float
        Of flight; the disc sees the inflow factor of it [m/s].
    with_air : bool
        False in a spin pit: pull alone.
    """

    name: str
    words: str
    engine_speed: float
    blade_angle: float
    airspeed: float
    with_air: bool = True


def points(
    machine: Machine, condition: Condition, record: records.ScenarioRecord
) -> tuple[list[Point], FullThrottle, Level]:
    """Every condition at the site, own mass, no bar; with the climb and the level flight they come from."""
    climb = full_throttle(machine, condition)
    flown = level(machine, condition, 0.0, 0.0, climb)
    static = ground(machine, condition.air)
    found = []
    if flown.status == REACHED:
        words = "level flight at trim speed"
        found.append(Point("cruise, level", words, flown.engine_speed, flown.blade_angle, climb.airspeed))
    fine, limit = machine.fine_stop, machine.speed_limit
    over = record.loads.overspeed_factor
    found += [
        Point("ground, full throttle", "tied down", static.engine_speed, static.blade_angle, 0.0),
        Point(RATED, "rated condition", climb.engine_speed, climb.blade_angle, climb.airspeed),
        Point("engine rpm limit", "blades fine, air speed of the climb", limit, fine, climb.airspeed),
        Point("overspeed", f"{100 * over:g} % of the limit, blades fine", over * limit, fine, climb.airspeed),
        Point(DOUBLE, "twice the pull of the rpm limit, no air", DOUBLE_PULL * limit, fine, 0.0, False),
    ]
    asked = record.loads.engine_speeds
    found += [
        Point("asked for", "blades fine, air speed of the climb", n, fine, climb.airspeed) for n in asked
    ]
    return found, climb, flown


def load_figures(
    machine: Machine, air: Air, record: records.ScenarioRecord, every: list[Point]
) -> dict[str, Any]:
    """Variables of the catalogue along `load_condition`, in SI."""
    rows = [figures_at(machine, air, record, point) for point in every]
    reference = next(row["load_tip_mach"] for row, p in zip(rows, every, strict=True) if p.name == RATED)
    for row in rows:
        row["load_noise_trend"] = noise_trend(row["load_tip_mach"], reference)
    for row, point in zip(rows, every, strict=True):
        if not point.with_air:
            row["load_noise_trend"] = nan
    columns: dict[str, Any] = {name: [row[name] for row in rows] for name in rows[0]}
    return columns | {
        "load_condition": [point.name for point in every],
        "load_words": [point.words for point in every],
    }


def figures_at(machine: Machine, air: Air, record: records.ScenarioRecord, point: Point) -> dict[str, float]:
    """Figures of one condition, SI, by the catalogue's names."""
    rotor_speed = point.engine_speed / machine.reduction
    axial_speed = machine.inflow_factor * point.airspeed
    root, pull = root_of(record), pull_of(machine, rotor_speed)
    bending, thrust = Bending(0.0, 0.0), nan
    if point.with_air:
        bending = root_bending(machine, air, point.blade_angle, rotor_speed, axial_speed, root.radius)
        state = rotor_state(machine.aircraft, air, point.blade_angle, rotor_speed, axial_speed, 0.0)
        thrust = float(state.loads.thrust)
    stress = root_stress(pull, bending, root, chord_angle_at(machine, point.blade_angle, root.radius))
    stops = stop_loads(machine, air, rotor_speed, axial_speed, with_air=point.with_air)
    radius = pin_radius(machine, record)
    largest = nan if isnan(stops.fine) else max(stops)
    return {
        "load_engine_rpm": point.engine_speed,
        "load_propeller_rpm": rotor_speed,
        "load_blade_angle": point.blade_angle,
        "load_thrust": thrust,
        "load_pull": pull,
        "load_pull_kgf": pull / STANDARD_GRAVITY,
        "load_flap_moment": bending.flap if point.with_air else nan,
        "load_lag_moment": bending.lag if point.with_air else nan,
        "load_stress_pull": stress.pull,
        "load_stress_flat": stress.flat,
        "load_stress_edge": stress.edge,
        "load_stress": stress.total,
        "load_strength_factor": root.strength / stress.total,
        "load_coarse_stop_moment": stops.coarse,
        "load_fine_stop_moment": stops.fine,
        "load_pin_force": largest / radius,
        "load_pin_shear": pin_shear(largest / radius, record.loads.pin_diameter),
        "load_tip_mach": tip_mach(
            2.0 * machine.aircraft.blade.tip_radius, rotor_speed, point.airspeed, air.speed_of_sound
        ),
    }
