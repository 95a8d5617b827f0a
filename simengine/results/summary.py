"""Figures of a phase that follow from what was recorded."""

from collections.abc import Mapping, Sequence
from math import isfinite, nan

import numpy as np
from numpy.typing import NDArray

from simengine.results.catalogue import EventKind, PitchState
from simengine.results.records import Event, ModelFigures, PhaseBounds, PhaseSummary

Array = NDArray[np.float64]
Traces = Mapping[str, Array]

GROUND_RUN = "ground_run"
FULL_THROTTLE = 0.999  # opening from which a throttle counts as full
FULL_THROTTLE_HELD = 5.0  # shorter stretches leave rotor and blades no time to settle (own choice) [s]
# A paraglider's pendulum swing after opening the throttle has died out by then (own choice).
INITIAL_CLIMB_FROM, INITIAL_CLIMB_TO = 20.0, 60.0  # since the start of the phase [s]


def summarise_phase(
    index: int,
    bounds: PhaseBounds,
    traces: Traces,
    events: Sequence[Event],
    fuel_density: float,
    figures: ModelFigures | None = None,
) -> PhaseSummary:
    """Sum up one phase.

    Parameters
    ----------
    index : int
        Number of the phase, from 0.
    traces : mapping of str to array, shape (n,)
        The record of the whole flight, SI; rows of this phase are those of its `phase_index`.
    events : sequence of Event
        Those of the whole flight.
    fuel_density : float
        [kg/m3].
    figures : ModelFigures, optional
        What only the model can tell; counts only if the throttle was held full.

    Raises
    ------
    ValueError
        If no row was recorded in the phase.
    """
    rows = np.flatnonzero(traces["phase_index"] == index)
    if rows.size == 0:
        raise ValueError(f"phase {index} ('{bounds.name}') has no recorded row; record its start and its end")
    part = {name: traces[name][rows] for name in ("time", "throttle", "engine_rpm", "thrust")}
    first, last = (at_instant(traces, instant) for instant in (bounds.start, bounds.end))
    own_events = [event for event in events if event.phase == index]
    airborne = bounds.kind != GROUND_RUN
    fuel = last["fuel_used"] - first["fuel_used"]
    begin, finish = shift_speeds(own_events, EventKind.SHIFT_BEGINS, EventKind.SHIFT_FINISHES)
    return_begin, return_finish = shift_speeds(own_events, EventKind.RETURN_BEGINS, EventKind.RETURN_FINISHES)
    read_speed = last_at_full_throttle(part, "engine_rpm")
    # A throttle on its way down from the phase before is no full throttle to draw a margin from.
    figures = figures if figures and isfinite(read_speed) else ModelFigures()
    full_speed = given_or(figures.full_throttle_speed, read_speed)
    return PhaseSummary(
        name=bounds.name,
        kind=bounds.kind,
        start=bounds.start,
        end=bounds.end,
        outcome=bounds.outcome,
        initial_pitch_state=pitch_state(traces, bounds.start),
        final_pitch_state=pitch_state(traces, bounds.end),
        final_blade_angle=last["blade_angle"],
        fuel=fuel,
        fuel_volume=fuel / fuel_density,
        distance=last["distance"] - first["distance"],
        highest_engine_speed=float(part["engine_rpm"].max()),
        highest_thrust=float(part["thrust"].max()),
        static_thrust=nan if airborne else last_at_full_throttle(part, "thrust"),
        mean_climb_rate=climb_rate(traces, bounds.start, bounds.end) if airborne else nan,
        initial_climb_rate=initial_climb_rate(traces, bounds) if airborne else nan,
        full_throttle_speed=full_speed,
        shift_begin_speed=begin,
        shift_finish_speed=finish,
        return_begin_speed=return_begin,
        return_finish_speed=return_finish,
        shift_margin_speed=given_or(figures.shift_margin_speed, full_speed - finish),
        shift_margin_moment=figures.shift_margin_moment,
    )


# Continuous across the instant at which two phases meet, which is recorded once, in the later one.
CONTINUOUS = ("blade_angle", "distance", "fuel_used")


def at_instant(traces: Traces, instant: float) -> dict[str, float]:
    """What is continuous at one `instant` [s], between rows if need be; SI."""
    return {name: float(np.interp(instant, traces["time"], traces[name])) for name in CONTINUOUS}


def given_or(given: float | None, read: float) -> float:
    """A figure of the model, `given`, if it gave one, otherwise the one `read` from the record; any unit."""
    return read if given is None else given


def shift_speeds(events: Sequence[Event], begins: EventKind, finishes: EventKind) -> tuple[float, float]:
    """Engine speeds at the first beginning and at the first finish not before it [rad/s]; NaN for none.

    A phase that opens with the blades already under way has a finish and no beginning.
    """
    first = next((event for event in events if event.kind == begins), None)
    since = first.time if first else -np.inf
    last = next((event for event in events if event.kind == finishes and event.time >= since), None)
    return (first.engine_speed if first else nan, last.engine_speed if last else nan)


def last_at_full_throttle(part: Traces, name: str) -> float:
    """Value of a trace at the end of the last stretch of full throttle, SI; NaN for none long enough.

    `part` of the traces, shape (n,) each, and the `name` of one. The end and not the highest: an overshoot of
    the rotor is no full-throttle speed, and at the top of a climb the engine is weakest.
    """
    full = part["throttle"] >= FULL_THROTTLE
    edges = np.diff(np.concatenate([[False], full, [False]]).astype(np.int8))
    firsts, lasts = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    held = part["time"][lasts] - part["time"][firsts] >= FULL_THROTTLE_HELD
    return float(part[name][lasts[held][-1]]) if held.any() else nan


def climb_rate(traces: Traces, start: float, end: float) -> float:
    """Height gained from `start` to `end` [s] over the time between [m/s]; NaN for no time."""
    if end <= start:
        return nan
    low, high = np.interp([start, end], traces["time"], traces["height"])
    return float((high - low) / (end - start))


def initial_climb_rate(traces: Traces, bounds: PhaseBounds) -> float:
    """Climb rate once the start's swing has died out [m/s]; NaN for a phase too short."""
    if bounds.end - bounds.start < INITIAL_CLIMB_TO:
        return nan
    return climb_rate(traces, bounds.start + INITIAL_CLIMB_FROM, bounds.start + INITIAL_CLIMB_TO)


def pitch_state(traces: Traces, instant: float) -> PitchState:
    """Pitch state in the last row not after an `instant` [s]."""
    row = max(int(np.searchsorted(traces["time"], instant, side="right")) - 1, 0)
    return tuple(PitchState)[int(traces["pitch_state"][row])]
