"""Where an envelope is looked at, and its figures at one place."""

from dataclasses import dataclass
from math import floor

import numpy as np
from numpy.typing import NDArray

from simengine.models.atmosphere import Atmosphere, air_at, density_altitude, pressure_altitude
from simengine.scenario import records
from simengine.studies import full_throttle as points
from simengine.studies.envelope.shift_ceiling import Column
from simengine.studies.level_flight import level
from simengine.studies.machine import Machine

Array = NDArray[np.float64]

MASS_STEP = 15.0  # to either side of the scenario's own all-up mass [kg]


@dataclass(frozen=True)
class Grid:
    """Coordinates of an envelope: temperature `offsets` [K], all-up `masses` [kg], `bars` [1].

    `heights` above mean sea level, shape (n,) [m].
    """

    offsets: tuple[float, ...]
    masses: tuple[float, ...]
    bars: tuple[float, ...]
    heights: Array

    @property
    def shape(self) -> tuple[int, int, int]:
        """Of the columns of heights: offsets, masses, bars."""
        return len(self.offsets), len(self.masses), len(self.bars)

    @property
    def lowest(self) -> float:
        """Lowest height [m]."""
        return float(self.heights[0])


def grid_of(record: records.ScenarioRecord, own: Atmosphere, mass: float) -> Grid:
    """Coordinates as the scenario's block says; its own day, `mass` [kg] and no bar are always among them."""
    block = record.envelope
    lowest = 100.0 * floor(max(record.site.height, 0.0) / 100.0)
    return Grid(
        offsets=tuple(sorted({*block.temperature_offsets, own.temperature_offset})),
        masses=tuple(sorted({*(block.masses or (mass - MASS_STEP, mass + MASS_STEP)), mass})),
        bars=tuple(sorted({0.0, *(block.bars or (record.wing.polar.bar[-1],))})),
        heights=np.linspace(lowest, max(block.heights_to, lowest + 100.0), block.heights_count),
    )


def shift_figures(prefix: str, speeds: points.ShiftSpeeds) -> dict[str, float]:
    """Begin and finish, of the engine [rad/s], by their names in the catalogue, which begin with `prefix`."""
    return {
        f"{prefix}shift_begin_rpm": speeds.shift_begin,
        f"{prefix}shift_finish_rpm": speeds.shift_finish,
        f"{prefix}return_begin_rpm": speeds.return_begin,
        f"{prefix}return_finish_rpm": speeds.return_finish,
    }


def flight_figures(
    column: Column, height: float, fuel_density: float, opening: float, near: float
) -> dict[str, float]:
    """One point in flight at a height [m], by the catalogue's names, SI.

    `fuel_density` [kg/m3]; level flight is looked for around a throttle `opening` [1] and, `near`, a rotor
    speed [rad/s], zero for none.
    """
    machine, condition = column.machine, column.at(height)
    full = points.full_throttle(machine, condition)
    flown = level(machine, condition, opening, near, full)
    axial_speed = machine.inflow_factor * full.airspeed
    return shift_figures("", points.shift_speeds(machine, condition.air, axial_speed)) | {
        "full_throttle_rpm_coarse": full.speed_coarse,
        "full_throttle_rpm_fine": full.speed_fine,
        "full_throttle_rpm": full.engine_speed,
        "full_throttle_blade_angle": full.blade_angle,
        "full_throttle_pitch_state": full.pitch_state,
        "shift_margin_rpm": full.margin_speed,
        "shift_margin_moment": full.margin_moment,
        "full_throttle_thrust": full.thrust,
        "climb_rate": full.climb_rate,
        "airspeed": full.airspeed,
        "level_throttle": flown.throttle,
        "level_rpm": flown.engine_speed,
        "level_fuel_flow": flown.fuel_flow / fuel_density,
        "level_blade_angle": flown.blade_angle,
        "level_pitch_state": flown.pitch_state,
        "level_status": flown.status,
    }


def ground_figures(machine: Machine, atmosphere: Atmosphere, height: float) -> dict[str, float]:
    """One point on the ground at a height [m], and its air, by the catalogue's names, SI."""
    air = air_at(atmosphere, height)
    full = points.ground(machine, air)
    return shift_figures("ground_", points.shift_speeds(machine, air, 0.0)) | {
        "density_altitude": density_altitude(air.density),
        "pressure_altitude": pressure_altitude(air.pressure),
        "ground_full_throttle_rpm": full.engine_speed,
        "ground_full_throttle_blade_angle": full.blade_angle,
        "ground_thrust": full.thrust,
        "ground_shift_margin_rpm": full.margin_speed,
        "ground_shift_margin_moment": full.margin_moment,
    }
