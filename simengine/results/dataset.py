"""From a flight's record in SI to a self-describing dataset in the units of the catalogue."""

import hashlib
import platform
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.results import catalogue
from simengine.results.catalogue import EventKind, PitchState, Variable
from simengine.results.cautions import CAUTIONS
from simengine.results.records import Event, PhaseSummary, Provenance, Setup

DISTRIBUTION = "simengine-flight"
CONVENTIONS = "CF-1.11"
LIBRARIES = ("numpy", "numba", "xarray", "netCDF4")
REFERENCES = (
    "ISO 2533:1975 (air); CF conventions 1.11 (this file); the sources of each formula stand beside it "
    "in the program's text"
)

Array = NDArray[np.float64]


def flight_dataset(
    traces: Mapping[str, Array],
    events: Sequence[Event],
    phases: Sequence[PhaseSummary],
    provenance: Provenance,
    setup: Setup,
) -> xarray.Dataset:
    """Put a flight into one dataset.

    Parameters
    ----------
    traces : mapping of str to array, shape (n,)
        `time` and every name of `catalogue.TRACES`, in SI (speeds of rotation in rad/s, angles in
        rad, flows in kg/s and m3/s). Of two rows at one instant the later is kept.
    events, phases : sequences
        In the order of time.
    provenance : Provenance
        Where the result comes from.
    setup : Setup
        Fixed figures of the machine.

    Returns
    -------
    xarray.Dataset
        Dimensions `time`, `event`, `phase`; units as in the catalogue.

    Raises
    ------
    ValueError
        If a trace is missing, unknown, of another length, or if the time runs back.
    """
    check_names(traces)
    rows = kept_rows(traces)
    time = catalogue.TIME
    data = {
        variable.name: stored(variable, "time", np.asarray(traces[variable.name])[rows])
        for variable in catalogue.TRACES
    }
    data |= columns(catalogue.EVENTS, "event", [event_row(event) for event in events])
    data |= columns(catalogue.PHASES, "phase", [phase_row(phase) for phase in phases])
    for variable, value in zip(catalogue.SETUP, setup_row(setup), strict=True):
        data[variable.name] = stored(variable, (), np.float64(value))
    return xarray.Dataset(
        data,
        coords={"time": stored(time, "time", np.asarray(traces["time"])[rows])},
        attrs=global_attributes(provenance, setup),
    )


def check_names(traces: Mapping[str, Array]) -> None:
    """Refuse `traces`, shape (n,) each, that are not exactly those of the catalogue, or differ in length.

    Raises
    ------
    ValueError
        With the names that are missing, unknown or of another length.
    """
    expected = {variable.name for variable in (catalogue.TIME, *catalogue.TRACES)}
    problems = [f"missing: {', '.join(sorted(expected - set(traces)))}"] if expected - set(traces) else []
    if set(traces) - expected:
        problems.append(f"unknown: {', '.join(sorted(set(traces) - expected))}")
    if problems:
        raise ValueError(f"traces do not fit the catalogue; {'; '.join(problems)}")
    length = len(traces["time"])
    if odd := sorted(name for name in traces if np.shape(traces[name]) != (length,)):
        raise ValueError(f"traces differ from `time` in length: {', '.join(odd)}")


def kept_rows(traces: Mapping[str, Array]) -> NDArray[np.bool_]:
    """Rows that leave a strictly rising time, shape (n,): the later of two at one instant.

    `traces` by name, shape (n,) each. Two phases meet in one instant; CF wants a coordinate that only rises.

    Raises
    ------
    ValueError
        If there is no row, or time runs back.
    """
    time = np.asarray(traces["time"], dtype=np.float64)
    steps = np.diff(time)
    if time.size == 0 or not np.all(steps >= 0.0):
        raise ValueError("`time` must hold at least one row and never run back")
    return np.append(steps > 0.0, True)


def stored(variable: Variable, dims: str | tuple[str, ...], values: object) -> xarray.Variable:
    """One variable along `dims` in its stored unit and type; `values` in SI."""
    attributes = variable.attributes()
    array: NDArray[np.generic]
    if variable.stored == "text":
        array = np.asarray(values, dtype=np.str_)
    elif variable.stored == "count":
        array = np.asarray(values).astype(np.int16)
    elif variable.stored == "flag":
        array = np.asarray(values).astype(np.int8)
        attributes["flag_values"] = np.arange(len(variable.flags), dtype=np.int8)
        attributes["flag_meanings"] = " ".join(variable.flags)
    else:
        array = np.asarray(values, dtype=np.float64) * variable.factor
    return xarray.Variable(dims, array, attributes)


def columns(
    variables: Sequence[Variable], dimension: str, rows: Sequence[tuple[object, ...]]
) -> dict[str, xarray.Variable]:
    """Turn rows, one a record, into variables along a `dimension`."""
    return {
        variable.name: stored(variable, dimension, [row[place] for row in rows])
        for place, variable in enumerate(variables)
    }


def event_row(event: Event) -> tuple[object, ...]:
    """An event, SI, in the order of `catalogue.EVENTS`."""
    return (
        event.time,
        list(EventKind).index(EventKind(event.kind)),
        event.phase,
        event.engine_speed,
        event.propeller_speed,
        event.blade_angle,
        event.height,
        event.airspeed,
        event.note,
    )


def phase_row(phase: PhaseSummary) -> tuple[object, ...]:
    """A phase, SI, in the order of `catalogue.PHASES`."""
    states = list(PitchState)
    return (
        phase.name,
        phase.kind,
        phase.start,
        phase.end,
        phase.duration,
        phase.outcome,
        phase.shift_begin_speed,
        phase.shift_finish_speed,
        phase.return_begin_speed,
        phase.return_finish_speed,
        phase.full_throttle_speed,
        phase.shift_margin_speed,
        phase.shift_margin_moment,
        phase.highest_engine_speed,
        phase.static_thrust,
        phase.highest_thrust,
        phase.mean_climb_rate,
        phase.initial_climb_rate,
        phase.fuel,
        phase.fuel_volume,
        phase.fuel_flow_volume,
        phase.distance,
        states.index(phase.initial_pitch_state),
        states.index(phase.final_pitch_state),
        phase.final_blade_angle,
    )


def setup_row(setup: Setup) -> tuple[float, ...]:
    """Fixed figures, SI, in the order of `catalogue.SETUP`."""
    return (
        setup.coarse_stop,
        setup.fine_stop,
        setup.engine_speed_limit,
        setup.reduction,
        setup.fuel_density,
        setup.fuel_start,
        setup.site_height,
    )


def global_attributes(provenance: Provenance, setup: Setup) -> dict[str, object]:
    """Attributes of the file; no truth values and nothing empty, which NetCDF refuses or readers trip on."""
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    attributes: dict[str, object] = {
        "title": provenance.title,
        "Conventions": CONVENTIONS,
        "institution": provenance.institution,
        "source": f"simengine {program_version()}, a model of propeller, pitch hub, engine and wing",
        "history": f"{now}: {provenance.command or 'simengine.fly'}",
        "references": REFERENCES,
        "comment": lines(CAUTIONS),
        "note": provenance.note,
        "outcome": provenance.outcome,
        "hub_kind": setup.hub_kind,
        "fidelity": provenance.fidelity,
        "model_limits": lines(provenance.model_limits),
        "defaults_used": lines(provenance.defaults_used),
        "inputs_marked": lines(provenance.inputs_marked),
        "solver": provenance.solver,
        "solver_relative_tolerance": float(provenance.relative_tolerance),
        "solver_steps": np.int32(provenance.steps),
        "solver_rejected_steps": np.int32(provenance.rejected_steps),
        "versions": versions(),
        "simengine_version": program_version(),
        "simengine_scenario": provenance.scenario_text,
        "simengine_scenario_sha256": hashlib.sha256(provenance.scenario_text.encode()).hexdigest(),
    }
    return {name: value for name, value in attributes.items() if value != ""}


def lines(sentences: Iterable[str]) -> str:
    """Sentences, one a line."""
    return "\n".join(sentences)


def program_version() -> str:
    """Version of this program; `unknown` when it is run from a folder that was never installed."""
    try:
        return version(DISTRIBUTION)
    except PackageNotFoundError:
        return "unknown"


def versions() -> str:
    """Versions of what computed the result."""
    return ", ".join(
        [f"python {platform.python_version()}", *(f"{name} {version(name)}" for name in LIBRARIES)]
    )
