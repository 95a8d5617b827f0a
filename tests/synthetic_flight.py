"""A made-up flight for tests of files, tables and pictures: plausible shapes, invented, no model behind."""

from dataclasses import dataclass, replace

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.constants import DEGREE, RPM
from simengine.results.catalogue import TRACES, EventKind
from simengine.results.dataset import flight_dataset
from simengine.results.records import Event, ModelFigures, PhaseBounds, PhaseSummary, Provenance, Setup
from simengine.results.summary import summarise_phase

Array = NDArray[np.float64]

COARSE, FINE, HUNG_AT = 15.0, 10.5, 12.6  # degree
FUEL_DENSITY = 745.0
REDUCTION = 2.9
GROUND_END, CLIMB_END, FLIGHT_END = 120.0, 1320.0, 3720.0  # s
SITE_HEIGHT, CRUISE_HEIGHT = 420.0, 2600.0  # m
SCENARIO_TEXT = "simengine: 1\ntitle: 'Invented: Flächenleistung +-2 °'\n"


@dataclass(frozen=True)
class Flight:
    """The parts that make up a dataset."""

    traces: dict[str, Array]
    events: tuple[Event, ...]
    phases: tuple[PhaseSummary, ...]
    provenance: Provenance
    setup: Setup

    def dataset(self) -> xarray.Dataset:
        return flight_dataset(self.traces, self.events, self.phases, self.provenance, self.setup)


def times() -> Array:
    return np.unique(
        np.concatenate(
            [np.arange(0.0, GROUND_END, 0.5), np.arange(GROUND_END, FLIGHT_END + 0.5, 2.0), [FLIGHT_END]]
        )
    )


def throttle_at(time: Array) -> Array:
    knots = [0, 5, 50, 75, 105, GROUND_END, GROUND_END + 3, CLIMB_END, CLIMB_END + 4, FLIGHT_END]
    return np.interp(time, knots, [0, 0, 1, 1, 0, 0, 1, 1, 0.42, 0.42])


def blade_angle_at(time: Array, hangs: bool) -> Array:
    """Degree: shift and return on the ground, shift at the start of the climb, return when it ends."""
    hung = HUNG_AT if hangs else FINE
    knots = [0, 34, 41, 86, 98, GROUND_END + 1.5, GROUND_END + 5, CLIMB_END + 2, CLIMB_END + 6, FLIGHT_END]
    angles = [COARSE, COARSE, FINE, FINE, COARSE, COARSE, hung, hung, COARSE, COARSE]
    return np.interp(time, knots, angles)


def state_of(angle: Array, time: Array) -> Array:
    moving = np.abs(np.gradient(angle, time)) > 1e-3
    between = (angle < COARSE - 1e-6) & (angle > FINE + 1e-6)
    return np.select([between & moving, between, angle <= FINE + 1e-6], [1, 2, 3], 0).astype(float)


def synthetic_traces(hangs: bool) -> dict[str, Array]:
    time = times()
    throttle, angle = throttle_at(time), blade_angle_at(time, hangs)
    airborne = time >= GROUND_END
    height = np.interp(
        time, [0, GROUND_END, CLIMB_END, FLIGHT_END], [SITE_HEIGHT, SITE_HEIGHT] + [CRUISE_HEIGHT] * 2
    )
    coarse_share = (angle - FINE) / (COARSE - FINE)
    rpm = 1900.0 + (5950.0 - 1200.0 * coarse_share) * np.sqrt(throttle) - 0.06 * (height - SITE_HEIGHT)
    flow = (0.5 + 5.6 * throttle**1.4) / 3.6e6  # m3/s
    used = np.concatenate([[0.0], np.cumsum(0.5 * (flow[1:] + flow[:-1]) * np.diff(time))]) * FUEL_DENSITY
    traces = {variable.name: np.full(time.size, 0.5) for variable in TRACES}
    traces |= {
        "time": time,
        "throttle": throttle,
        "bar": np.zeros(time.size),
        "engine_rpm": rpm * RPM,
        "propeller_rpm": rpm * RPM / REDUCTION,
        "blade_angle": angle * DEGREE,
        "pitch_rate": np.gradient(angle * DEGREE, time),
        "pitch_state": state_of(angle, time),
        "height": height,
        "distance": np.where(airborne, 10.5 * (time - GROUND_END), 0.0),
        "airspeed": np.where(airborne, 10.5, 0.0),
        "vertical_speed": np.gradient(height, time),
        "thrust": 650.0 * (rpm / 7800.0) ** 2,
        "fuel_flow": flow * FUEL_DENSITY,
        "fuel_flow_volume": flow,
        "fuel_used": used,
        "air_temperature": 288.15 - 0.0065 * height,
        "phase_index": np.digitize(time, [GROUND_END, CLIMB_END]).astype(float),
    }
    return traces


def event(traces: dict[str, Array], time: float, kind: EventKind, phase: int, note: str = "") -> Event:
    def at(name: str) -> float:
        return float(np.interp(time, traces["time"], traces[name]))

    return Event(
        time,
        kind,
        phase,
        at("engine_rpm"),
        at("propeller_rpm"),
        at("blade_angle"),
        at("height"),
        at("airspeed"),
        note,
    )


def synthetic_flight(*, hangs: bool = False, hub_kind: str = "two_stop", extra_events: int = 0) -> Flight:
    """Ground run with shift and return, climb, cruise; `hangs` stops the climb's shift half-way."""
    traces = synthetic_traces(hangs)
    kinds = EventKind
    rows: list[tuple[float, EventKind, int, str]] = [
        (0.0, kinds.PHASE_BEGINS, 0, ""),
        (GROUND_END, kinds.PHASE_ENDS, 0, ""),
        (GROUND_END, kinds.PHASE_BEGINS, 1, ""),
        (CLIMB_END, kinds.HEIGHT_REACHED, 1, ""),
        (CLIMB_END, kinds.PHASE_ENDS, 1, ""),
        (CLIMB_END, kinds.PHASE_BEGINS, 2, ""),
        (FLIGHT_END, kinds.PHASE_ENDS, 2, ""),
    ]
    if hub_kind == "two_stop":
        rows += [
            (34.0, kinds.SHIFT_BEGINS, 0, ""),
            (41.0, kinds.SHIFT_FINISHES, 0, ""),
            (86.0, kinds.RETURN_BEGINS, 0, ""),
            (98.0, kinds.RETURN_FINISHES, 0, ""),
            (GROUND_END + 1.5, kinds.SHIFT_BEGINS, 1, ""),
            (GROUND_END + 5, kinds.SHIFT_HANGS if hangs else kinds.SHIFT_FINISHES, 1, ""),
            (CLIMB_END + 2, kinds.RETURN_BEGINS, 2, ""),
            (CLIMB_END + 6, kinds.RETURN_FINISHES, 2, ""),
        ]
    rows += [
        (
            GROUND_END + 300.0 + 3.0 * number,
            (kinds.RPM_LIMIT_PASSED, kinds.RPM_LIMIT_REGAINED)[number % 2],
            1,
            "",
        )
        for number in range(extra_events)
    ]
    if hub_kind == "fixed":
        traces["blade_angle"][:] = FINE * DEGREE
        traces["pitch_state"][:] = 0.0
    events = tuple(event(traces, *row) for row in sorted(rows, key=lambda row: row[0]))
    bounds = (
        PhaseBounds("ground run", "ground_run", 0.0, GROUND_END, "the programme was flown to its end"),
        PhaseBounds("climb", "climb", GROUND_END, CLIMB_END, "the height was reached"),
        PhaseBounds("cruise", "cruise", CLIMB_END, FLIGHT_END, "the duration was flown"),
    )
    figures = (ModelFigures(1.9), ModelFigures(-0.4 if hangs else 1.1), None)
    phases = tuple(
        summarise_phase(index, each, traces, events, FUEL_DENSITY, figures[index])
        for index, each in enumerate(bounds)
    )
    fixed = hub_kind == "fixed"
    setup = Setup(
        hub_kind=hub_kind,
        coarse_stop=(FINE if fixed else COARSE) * DEGREE,
        fine_stop=FINE * DEGREE,
        engine_speed_limit=8000.0 * RPM,
        reduction=REDUCTION,
        fuel_density=FUEL_DENSITY,
        fuel_start=9.0 * FUEL_DENSITY * 1e-3,
        site_height=SITE_HEIGHT,
    )
    return Flight(traces, events, phases, PROVENANCE, setup)


PROVENANCE = Provenance(
    title="Invented demo: 28 m wing, two-stop hub",
    scenario_text=SCENARIO_TEXT,
    outcome="the flight was flown to its end",
    fidelity="dynamic",
    solver="Rosenbrock, order 4(3)",
    relative_tolerance=1e-4,
    steps=12345,
    rejected_steps=12,
    command="simengine fly demo.yaml",
    defaults_used=("installation.inflow_factor: 0.85", "drive.efficiency: 0.97"),
    model_limits=("The inner third of the blade was stalled for 12 s of the ground run.",),
)


def without_notes(flight: Flight) -> Flight:
    """The same with nothing to say about defaults or limits."""
    return replace(flight, provenance=replace(flight.provenance, defaults_used=(), model_limits=()))
