"""Figures of a flight, phase by phase: for the terminal, and as one stable document."""

from collections.abc import Callable, Sequence
from math import isfinite
from typing import Any

import numpy as np
import xarray
from rich import box
from rich.markup import escape
from rich.table import Table

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import Event, FlightDocument
from simengine.report.facts import moves_by_itself, time_words
from simengine.report.flight.conclusion import flight_conclusion
from simengine.report.flight.facts import PhaseFacts, event_facts, phase_facts
from simengine.results.catalogue import PHASES, SETUP, PitchState, Variable

NOTHING = "–"  # not asked for in this phase
DOCUMENT_VERSION = 1

Cell = Callable[[PhaseFacts], str]


def flight_table(dataset: xarray.Dataset) -> list[Table]:
    """Tables of a result: shift and return (only for a hub that shifts by itself), then the flight."""
    phases = phase_facts(dataset)
    tables = [flown_table(phases)]
    if moves_by_itself(dataset):
        tables.insert(0, shift_table(phases))
    return tables


def outcome_lines(dataset: xarray.Dataset) -> list[str]:
    """How each phase ended, one a line."""
    return [f"{phase.name}: {phase.outcome}" for phase in phase_facts(dataset) if phase.outcome]


def shift_table(phases: Sequence[PhaseFacts]) -> Table:
    """When the blades went fine and when they came back."""
    columns: tuple[tuple[str, Cell], ...] = (
        ("shift begins", shift_begin_cell),
        ("shift finishes", shift_finish_cell),
        ("return begins", lambda phase: figure(phase.return_begin_rpm)),
        ("return finishes", return_finish_cell),
        ("full throttle", lambda phase: figure(phase.full_throttle_rpm)),
        ("margin, rpm", lambda phase: figure(phase.shift_margin_rpm, "+.0f")),
        ("margin, N m per blade", lambda phase: figure(phase.shift_margin_moment, "+.2f")),
        ("blades at the end", blades_cell),
    )
    return table_of("Shift and return: ENGINE rpm", phases, columns)


def flown_table(phases: Sequence[PhaseFacts]) -> Table:
    """Time, climb, fuel and loads."""
    columns: tuple[tuple[str, Cell], ...] = (
        ("time", lambda phase: time_words(phase.duration)),
        ("distance, km", lambda phase: figure(phase.distance / 1000.0, ".1f")),
        ("climb at first, m/s", lambda phase: figure(phase.initial_climb_rate, "+.2f")),
        ("mean climb, m/s", lambda phase: figure(phase.mean_climb_rate, "+.2f")),
        ("fuel, L", lambda phase: figure(phase.fuel_volume, ".2f")),
        ("fuel, L/h", lambda phase: figure(phase.fuel_flow, ".2f")),
        ("highest ENGINE rpm", lambda phase: figure(phase.highest_engine_rpm)),
        ("static thrust, N", lambda phase: figure(phase.static_thrust)),
    )
    return table_of("Flight", phases, columns)


def table_of(title: str, phases: Sequence[PhaseFacts], columns: Sequence[tuple[str, Cell]]) -> Table:
    """One row a phase."""
    table = Table(
        title=title,
        title_justify="left",
        title_style="bold",
        header_style="",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
    )
    table.add_column("phase", overflow="fold", vertical="top")
    for heading, _ in columns:
        table.add_column(heading, justify="right", overflow="fold")
    for phase in phases:
        table.add_row(escape(phase.name), *(cell(phase) for _, cell in columns))
    return table


def figure(value: float, form: str = ".0f") -> str:
    """A number, or a dash where there is none."""
    return format(value, form) if isfinite(value) else NOTHING


def shift_begin_cell(phase: PhaseFacts) -> str:
    """Engine rpm, or why there is none."""
    if phase.never_shifted:
        return "did not begin"
    return figure(phase.shift_begin_rpm)


def shift_finish_cell(phase: PhaseFacts) -> str:
    """Engine rpm, or where the blades stopped instead."""
    if phase.left_unfinished:
        return f"hangs at {phase.hung_at:.1f}°" if isfinite(phase.hung_at) else "did not finish"
    return figure(phase.shift_finish_rpm)


def return_finish_cell(phase: PhaseFacts) -> str:
    """Engine rpm, or that the blades did not come home."""
    if isfinite(phase.return_begin_rpm) and not isfinite(phase.return_finish_rpm):
        return "did not finish"
    return figure(phase.return_finish_rpm)


def blades_cell(phase: PhaseFacts) -> str:
    """Where the blades were at the end of the phase."""
    if phase.final_pitch_state in (PitchState.HUNG, PitchState.SHIFTING):
        return f"{phase.final_pitch_state} at {phase.final_blade_angle:.1f}°"
    return str(phase.final_pitch_state)


def summary_json(dataset: xarray.Dataset) -> FlightDocument:
    """The figures as one document of stable keys; `null` for what did not happen.

    Keys are the names of the result file; `units` tells the unit of each.
    """
    attributes = dataset.attrs
    phases = [
        {variable.name: plain(dataset, variable, row) for variable in PHASES}
        for row in range(dataset.sizes["phase"])
    ]
    events: list[Event] = [
        {
            "event_time": event.time,
            "event_kind": str(event.kind),
            "event_phase": event.phase,
            "event_engine_rpm": finite(event.engine_rpm),
            "event_propeller_rpm": finite(event.propeller_rpm),
            "event_blade_angle": finite(event.blade_angle),
            "event_height": finite(event.height),
            "event_airspeed": finite(event.airspeed),
            "event_note": event.note,
        }
        for event in event_facts(dataset)
    ]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "fidelity": attributes.get("fidelity", ""),
        "outcome": attributes.get("outcome", ""),
        "conclusion": flight_conclusion(dataset),
        "hub_kind": attributes["hub_kind"],
        "setup": {variable.name: plain(dataset, variable, None) for variable in SETUP},
        "phases": phases,
        "events": events,
        "units": units(dataset),
        "model_limits": sentences(attributes, "model_limits"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }


def units(dataset: xarray.Dataset) -> dict[str, str]:
    """Unit of every number of the document."""
    names = [name for name in dataset.data_vars if "time" not in dataset[name].dims]
    return {str(name): dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs}


def plain(dataset: xarray.Dataset, variable: Variable, row: int | None) -> Any:
    """One value as JSON knows it."""
    values = np.asarray(dataset[variable.name].values)
    value = values[()] if row is None else values[row]
    if variable.stored == "text":
        return str(value)
    if variable.stored == "flag":
        return variable.flags[int(value)]
    return finite(float(value))


def finite(value: float) -> float | None:
    """A number, or None for NaN."""
    return value if isfinite(value) else None


def sentences(attributes: dict[str, Any], name: str) -> list[str]:
    """An attribute of several lines as a list."""
    return str(attributes.get(name, "")).splitlines()
