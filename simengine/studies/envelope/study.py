"""Where the shift begins, finishes, hangs and stalls: over height, temperature, mass, bar and throttle."""

from collections.abc import Callable
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simengine.balance.assembly import assemble, assemble_torsion
from simengine.models.atmosphere import Atmosphere, air_at, density_altitude, pressure_altitude
from simengine.results import envelope_catalogue as catalogue
from simengine.results.records import Provenance, Setup
from simengine.results.study_dataset import study_dataset
from simengine.scenario import Scenario, records
from simengine.studies import full_throttle as points
from simengine.studies.envelope.balance_words import balance_words
from simengine.studies.envelope.model_limits import model_limits
from simengine.studies.envelope.moment_budget import HIGH, moment_budget
from simengine.studies.envelope.sensitivity import ranked, sensitivity
from simengine.studies.envelope.shift_ceiling import (
    SEARCH_TOP,
    Column,
    density_altitude_of,
    service_ceiling,
    shift_ceiling,
)
from simengine.studies.envelope.throttle_map import throttle_map, throttle_sweep, trim_axial_speed
from simengine.studies.level_flight import level
from simengine.studies.machine import Machine, day, machine_of

if TYPE_CHECKING:
    import xarray

Array = NDArray[np.float64]
Values = dict[str, Any]
Progress = Callable[[float, str], None]

MASS_STEP = 15.0  # to either side of the scenario's own all-up mass [kg]
SWEEP_ABOVE = 1000.0  # height of the throttle sweep above the site [m]
SWEEP_POINTS = 201
SOLVER = (
    "moment balance of blade and torque balance of rotor by bracketed roots; pitch carried along the "
    "throttle; ceilings by root finding"
)


@dataclass(frozen=True)
class Grid:
    """Coordinates of an envelope, SI."""

    offsets: tuple[float, ...]
    masses: tuple[float, ...]
    bars: tuple[float, ...]
    heights: Array

    @property
    def lowest(self) -> float:
        """Lowest height [m]."""
        return float(self.heights[0])


def envelope(scenario: Scenario, *, progress: Progress | None = None, command: str = "") -> "xarray.Dataset":
    """Compute the envelope of a scenario.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it; its `envelope` block says where.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.envelope_catalogue`; the odd cases in words in the attributes
        `balances`, `changes` and `model_limits`.
    """
    tell = progress or (lambda share, what: None)
    record = scenario.record
    aircraft = assemble(record)
    machine = machine_of(aircraft)
    mass = aircraft.dry_mass + aircraft.fuel_start
    grid = grid_of(record, aircraft.atmosphere, mass)
    own = aircraft.atmosphere
    values: Values = coordinates(grid)
    values |= flight_and_ground(machine, own, grid, record.fuel.density, tell)
    values |= ceilings(machine, own, grid, record.engine, tell)
    tell(0.7, "throttle map")
    heights = np.linspace(grid.lowest, float(grid.heights[-1]), record.envelope.map_heights)
    openings = np.linspace(0.0, 1.0, record.envelope.map_throttles)
    values |= throttle_map(machine, own, mass, heights, openings)
    tell(0.75, "throttle sweep")
    sweep_height = record.site.height + SWEEP_ABOVE
    values |= throttle_sweep(machine, own, mass, sweep_height, np.linspace(0.0, 1.0, SWEEP_POINTS))
    tell(0.78, "moment budget")
    values |= moment_budget(machine, own, mass, grid.lowest)
    tell(0.8, "all balances")
    balances = words_on_balances(machine, own, mass, grid.lowest)
    values |= sensitivity(
        record, own, grid.lowest, lambda share: tell(0.88 + 0.12 * share, "what one change does")
    )
    values |= scalars(machine, record)
    tell(1.0, "done")
    sentences = {"balances": balances, "changes": ranked(values)}
    provenance = provenance_of(scenario, machine, own, values, command)
    tables = (catalogue.COORDINATES, catalogue.TABLES)
    dataset = study_dataset("envelope", *tables, values, sentences, provenance, setup_of(machine, record))
    dataset.attrs |= {"own_mass": mass, "own_temperature_offset": own.temperature_offset}
    return dataset


def grid_of(record: records.ScenarioRecord, own: Atmosphere, mass: float) -> Grid:
    """Coordinates as the scenario's block says; its own day, mass and no bar are always among them."""
    block = record.envelope
    lowest = 100.0 * floor(max(record.site.height, 0.0) / 100.0)
    return Grid(
        offsets=tuple(sorted({*block.temperature_offsets, own.temperature_offset})),
        masses=tuple(sorted({*(block.masses or (mass - MASS_STEP, mass + MASS_STEP)), mass})),
        bars=tuple(sorted({0.0, *(block.bars or (record.wing.polar.bar[-1],))})),
        heights=np.linspace(lowest, max(block.heights_to, lowest + 100.0), block.heights_count),
    )


def coordinates(grid: Grid) -> Values:
    """Coordinate variables."""
    return {
        "temperature_offset": grid.offsets,
        "mass": grid.masses,
        "bar": grid.bars,
        "height": grid.heights,
    }


def flight_and_ground(
    machine: Machine, own: Atmosphere, grid: Grid, fuel_density: float, tell: Progress
) -> Values:
    """Everything on the grid of offset, mass, bar and height."""
    shape = (len(grid.offsets), len(grid.masses), len(grid.bars), grid.heights.size)
    flight: Values = {v.name: np.full(shape, np.nan) for v in catalogue.IN_FLIGHT}
    low = {v.name: np.full((shape[0], shape[3]), np.nan) for v in (*catalogue.AIR, *catalogue.ON_GROUND)}
    columns = [(i, j, k) for i in range(shape[0]) for j in range(shape[1]) for k in range(shape[2])]
    for i, offset in enumerate(grid.offsets):
        for n, height in enumerate(grid.heights):
            fill(low, (i, n), ground_figures(machine, day(own, offset), float(height)))
    for done, (i, j, k) in enumerate(columns):
        tell(0.05 + 0.45 * done / len(columns), "full throttle and level flight")
        column = Column(machine, day(own, grid.offsets[i]), grid.masses[j], grid.bars[k])
        opening, near = 0.0, 0.0
        for n, height in enumerate(grid.heights):
            found = flight_figures(column, float(height), fuel_density, opening, near)
            fill(flight, (i, j, k, n), found)
            if found["level_status"] == 0:
                opening, near = found["level_throttle"], found["level_rpm"] / machine.reduction
    return flight | low


def fill(arrays: Values, place: tuple[int, ...], figures: dict[str, float]) -> None:
    """Write the figures of one point."""
    for name, value in figures.items():
        arrays[name][place] = value


def shift_figures(prefix: str, speeds: points.ShiftSpeeds) -> dict[str, float]:
    """Begin and finish by their names in the catalogue."""
    return {
        f"{prefix}shift_begin_rpm": speeds.shift_begin,
        f"{prefix}shift_finish_rpm": speeds.shift_finish,
        f"{prefix}return_begin_rpm": speeds.return_begin,
        f"{prefix}return_finish_rpm": speeds.return_finish,
    }


def flight_figures(
    column: Column, height: float, fuel_density: float, opening: float, near: float
) -> dict[str, float]:
    """One point in flight."""
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
    """One point on the ground, and its air."""
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


def ceilings(machine: Machine, own: Atmosphere, grid: Grid, engine: records.Engine, tell: Progress) -> Values:
    """Ceilings of every column of heights."""
    shape = (len(grid.offsets), len(grid.masses), len(grid.bars))
    found: Values = {
        v.name: np.empty(shape, dtype=object if v.stored == "text" else float) for v in catalogue.CEILINGS
    }
    for done, place in enumerate(np.ndindex(shape)):
        tell(0.5 + 0.2 * done / np.prod(shape), "ceilings")
        i, j, k = place
        column = Column(machine, day(own, grid.offsets[i]), grid.masses[j], grid.bars[k])
        ceiling = shift_ceiling(column, engine, grid.lowest)
        found["shift_ceiling"][place] = ceiling.height
        found["shift_ceiling_density_altitude"][place] = density_altitude_of(column, ceiling.height)
        found["service_ceiling"][place] = service_ceiling(column, grid.lowest, SEARCH_TOP)
        found["shift_ceiling_words"][place] = ceiling.words
        found["limiting_cause"][place] = ceiling.cause
    return found


def words_on_balances(machine: Machine, own: Atmosphere, mass: float, lowest: float) -> str:
    """All balances at two heights in words, one sentence a line."""
    if not machine.shifts:
        return ""
    lines: list[str] = []
    for height in (lowest, lowest + HIGH):
        sweep = throttle_sweep(machine, own, mass, height, np.linspace(0.0, 1.0, 41))
        air = air_at(own, height)
        begin, end = shift_openings(sweep)
        words = balance_words(machine, air, trim_axial_speed(machine, air, mass, 0.0), begin, end)
        lines.extend(f"at {height:.0f} m: {sentence}" for sentence in words)
    return "\n".join(lines)


def shift_openings(sweep: Values) -> tuple[float, float]:
    """Throttle openings between which the blade is on its way, either direction [1]."""
    throttles = sweep["sweep_throttle"]
    opening, closing = (sweep[f"sweep_blade_angle_{name}"] for name in ("opening", "closing"))
    on_the_way = np.flatnonzero((opening < opening[0] - 1e-6) & (closing > closing[-1] + 1e-6))
    differs = np.flatnonzero(np.abs(opening - closing) > 1e-6)
    places = np.concatenate([on_the_way, differs])
    if places.size == 0:
        return 0.3, 0.7
    return float(throttles[places.min()]), float(throttles[places.max()])


def scalars(machine: Machine, record: records.ScenarioRecord) -> Values:
    """Fixed figures."""
    return {
        "coarse_stop": machine.coarse_stop,
        "fine_stop": machine.fine_stop,
        "engine_rpm_limit": machine.speed_limit,
        "reduction": machine.reduction,
        "site_height": record.site.height,
    }


def setup_of(machine: Machine, record: records.ScenarioRecord) -> Setup:
    """Fixed figures for the file's attributes."""
    return Setup(
        hub_kind=record.hub.kind,
        coarse_stop=machine.coarse_stop,
        fine_stop=machine.fine_stop,
        engine_speed_limit=machine.speed_limit,
        reduction=machine.reduction,
        fuel_density=record.fuel.density,
        fuel_start=machine.aircraft.fuel_start,
        site_height=record.site.height,
    )


def provenance_of(
    scenario: Scenario, machine: Machine, own: Atmosphere, values: Values, command: str
) -> Provenance:
    """Where the result comes from."""
    record = scenario.record
    return Provenance(
        title=record.title,
        note=record.note,
        scenario_text=scenario.text,
        outcome="envelope computed",
        fidelity="steady",
        solver=SOLVER,
        relative_tolerance=1e-8,
        steps=0,
        rejected_steps=0,
        command=command or "simengine.envelope",
        defaults_used=scenario.defaults,
        model_limits=tuple(model_limits(machine, own, values, assemble_torsion(record.propeller))),
    )
