"""From a track to what the results hold: events in the maker's words, phase figures."""

from math import isnan

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft
from simengine.balance.margin import shift_margin
from simengine.balance.pitch import HUNG
from simengine.flight import events as watched
from simengine.flight.dynamics import observe
from simengine.flight.phases import OUT_OF_TIME
from simengine.flight.state import AIRSPEED, BLADE_ANGLE, HEIGHT, ROTOR_SPEED, Leg
from simengine.flight.track import Track, TrackEvent
from simengine.models.atmosphere import air_at
from simengine.models.friction import REST
from simengine.models.mechanism import TWO_STOP
from simengine.results.catalogue import EventKind
from simengine.results.records import Event, ModelFigures, PhaseBounds
from simengine.results.summary import FULL_THROTTLE

Traces = dict[str, NDArray[np.float64]]

DRIFTS_BEYOND = 0.1  # a hung blade that moves by more than this drifts [deg]
HANGS_AFTER = 5.0  # a blade between its stops hangs if it has stood for this long [s]

SIMPLE_KINDS = {
    watched.HEIGHT_REACHED: EventKind.HEIGHT_REACHED,
    watched.DISTANCE_REACHED: EventKind.DISTANCE_REACHED,
    watched.CEILING: EventKind.CEILING,
    watched.RESERVE: EventKind.FUEL_RESERVE,
    watched.EMPTY: EventKind.FUEL_EMPTY,
    watched.GROUND: EventKind.GROUND_REACHED,
}


def flight_events(aircraft: Aircraft, track: Track, bounds: list[PhaseBounds], traces: Traces) -> list[Event]:
    """Events of a flight in the order of time."""
    listed = [event for raw in track.events if (event := named_event(aircraft, raw)) is not None]
    listed.extend(phase_events(traces, bounds))
    listed.extend(limits_at_the_start(aircraft, traces))
    if aircraft.hub.kind == TWO_STOP:
        listed.extend(hanging_events(traces))
    order = {EventKind.PHASE_BEGINS: 0, EventKind.PHASE_ENDS: 2}
    return sorted(listed, key=lambda event: (event.time, event.phase, order.get(event.kind, 1)))


def phase_events(traces: Traces, bounds: list[PhaseBounds]) -> list[Event]:
    """Beginning and end of every phase, and running out of time."""
    listed = []
    for index, phase in enumerate(bounds):
        rows = np.flatnonzero(traces["phase_index"] == index)
        listed.append(trace_event(traces, rows[0], phase.start, EventKind.PHASE_BEGINS, phase.name))
        listed.append(trace_event(traces, rows[-1], phase.end, EventKind.PHASE_ENDS, phase.outcome))
        if phase.outcome.startswith(OUT_OF_TIME):
            listed.append(trace_event(traces, rows[-1], phase.end, EventKind.OUT_OF_TIME, phase.outcome))
    return listed


def limits_at_the_start(aircraft: Aircraft, traces: Traces) -> list[Event]:
    """Limits that are passed already when the flight begins, and so are never crossed."""
    listed = []
    speed = float(traces["engine_rpm"][0])
    if speed > aircraft.engine.speed_limit:
        listed.append(trace_event(traces, 0, 0.0, EventKind.RPM_LIMIT_PASSED, "at the start"))
    if beyond_bench_curve(aircraft, np.array([speed])).size:
        listed.append(trace_event(traces, 0, 0.0, EventKind.ENGINE_TABLE_LEFT, "at the start"))
    if aircraft.fuel_start < aircraft.fuel_reserve:
        listed.append(trace_event(traces, 0, 0.0, EventKind.FUEL_RESERVE, "starts below the reserve"))
    return listed


def named_event(aircraft: Aircraft, raw: TrackEvent) -> Event | None:
    """A watched zero in the maker's words; None for those only the integrator cares about."""
    kind = event_kind(aircraft, raw)
    if kind is None:
        return None
    state = raw.vector
    seen = observe(aircraft, raw.command, raw.time, state)
    return Event(
        time=raw.time,
        kind=kind,
        phase=raw.phase,
        engine_speed=seen.rotor.drive.engine_speed,
        propeller_speed=float(state[ROTOR_SPEED]),
        blade_angle=float(state[BLADE_ANGLE]),
        height=float(state[HEIGHT]),
        airspeed=float(state[AIRSPEED]),
    )


def event_kind(aircraft: Aircraft, raw: TrackEvent) -> EventKind | None:
    """What a watched zero means, with its direction read from the state just past it."""
    if raw.kind in SIMPLE_KINDS:
        return SIMPLE_KINDS[raw.kind]
    values = np.empty(watched.EVENT_COUNT)
    leg = Leg(aircraft, raw.command, REST)
    watched.event_values(
        leg, observe(aircraft, raw.command, raw.time, raw.vector), raw.time, raw.vector, values
    )
    past = values[raw.kind] < 0.0
    return {
        watched.COARSE_CONTACT: EventKind.SHIFT_BEGINS if past else EventKind.RETURN_FINISHES,
        watched.FINE_CONTACT: EventKind.RETURN_BEGINS if past else EventKind.SHIFT_FINISHES,
        watched.SPEED_LIMIT: EventKind.RPM_LIMIT_PASSED if past else EventKind.RPM_LIMIT_REGAINED,
        watched.ENGINE_TABLE: EventKind.ENGINE_TABLE_LEFT if past else EventKind.ENGINE_TABLE_REGAINED,
    }.get(raw.kind)


def trace_event(traces: Traces, row: int, time: float, kind: EventKind, note: str) -> Event:
    """An event of a `kind` at a recorded `row` of `traces`, shape (n,), at a `time` [s]; with a `note`."""
    return Event(
        time=time,
        kind=kind,
        phase=int(traces["phase_index"][row]),
        engine_speed=float(traces["engine_rpm"][row]),
        propeller_speed=float(traces["propeller_rpm"][row]),
        blade_angle=float(traces["blade_angle"][row]),
        height=float(traces["height"][row]),
        airspeed=float(traces["airspeed"][row]),
        note=note,
    )


def hanging_events(traces: Traces) -> list[Event]:
    """Where the blades came to stand between their stops and stayed."""
    state, time = traces["pitch_state"], traces["time"]
    edges = np.flatnonzero(np.diff(np.concatenate([[False], state == HUNG, [False]]).astype(int)))
    listed = []
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        lasted = time[min(after, len(time) - 1)] - time[first]
        if lasted < HANGS_AFTER:
            continue
        angles = np.degrees(traces["blade_angle"][first:after])
        note = f"stands between the stops at {angles[0]:.2f} deg for {lasted:.0f} s"
        if np.ptp(angles) > DRIFTS_BEYOND:
            note = f"drifts between the stops from {angles[0]:.2f} to {angles[-1]:.2f} deg in {lasted:.0f} s"
        listed.append(trace_event(traces, int(first), float(time[first]), EventKind.SHIFT_HANGS, note))
    return listed


def model_figures(aircraft: Aircraft, traces: Traces, phase: int) -> ModelFigures:
    """Margins of the shift where a `phase`'s full throttle ends: at the top of a climb.

    `traces` in SI, shape (n,) each; nothing is given for another hub, or a phase without full throttle.
    """
    rows = np.flatnonzero((traces["phase_index"] == phase) & (traces["throttle"] >= FULL_THROTTLE))
    if aircraft.hub.kind != TWO_STOP or rows.size == 0:
        return ModelFigures()
    row = rows[-1]
    air = air_at(aircraft.atmosphere, float(traces["height"][row]))
    axial_speed = aircraft.inflow_factor * float(traces["airspeed"][row])
    margin = shift_margin(aircraft, air, axial_speed, float(traces["blade_angle"][row]))
    reduction = aircraft.drive.reduction
    return ModelFigures(
        shift_margin_moment=margin.moment,
        full_throttle_speed=reduction * margin.full_throttle_speed,
        shift_margin_speed=None if isnan(margin.speed) else reduction * margin.speed,
    )


def beyond_bench_curve(aircraft: Aircraft, speed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Engine speeds, of those of `speed`, shape (n,) [rad/s], outside the bench curve, shape (m,)."""
    table = aircraft.engine.torque_table
    outside: NDArray[np.bool_] = (speed < table[0, 0]) | (speed > table[-1, 0])
    return np.asarray(speed[outside])
