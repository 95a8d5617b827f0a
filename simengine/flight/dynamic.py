"""Dynamic fidelity: rotor and pitch resolved in time."""

import numpy as np

from simengine.balance.aircraft import Aircraft
from simengine.flight.integrate import (
    ENDED_BY_EVENT,
    REACHED_END,
    RECORD_FULL,
    STEP_AFTER_EVENT,
    STEP_AT_REST,
    STEP_TOO_SMALL,
    integrate_leg,
)
from simengine.flight.record_rows import EVENT_ROW_SIZE, ROW_SIZE
from simengine.flight.state import STATE_SIZE, Command
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models.friction import REST

ROWS_AT_ONCE = 20_000
EVENTS_AT_ONCE = 2_000

FAILURES = {
    STEP_TOO_SMALL: (
        "the integration could not go on at {time:.3f} s: its steps became too small; "
        "try the steady fidelity, or send us the scenario"
    ),
}
TOO_MANY = (
    "more than {count} events on one leg by {time:.3f} s: the blades chatter between rest and movement; "
    "check damping and friction of the hub"
)


def fly_leg(
    aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
) -> LegResult:
    """Fly one command from `state`, which is moved to the leg's end; fills the track."""
    step = STEP_AT_REST if state.mode == REST else STEP_AFTER_EVENT
    while True:
        rows = np.empty((ROWS_AT_ONCE, ROW_SIZE))
        event_rows = np.empty((EVENTS_AT_ONCE, EVENT_ROW_SIZE))
        end = integrate_leg(
            aircraft,
            command,
            state.time,
            state.vector,
            step,
            state.mode,
            settings.relative_tolerance,
            settings.record_interval,
            rows,
            event_rows,
        )
        track.add_rows(rows[: end.row_count].copy(), command)
        for row in event_rows[: end.event_count]:
            track.add_event(float(row[0]), int(row[1]), row[2 : 2 + STATE_SIZE], command)
        track.steps += end.steps
        track.rejected += end.rejected
        state.time, state.mode, step = end.time, end.mode, end.step
        if end.status == RECORD_FULL:
            continue
        if end.status == REACHED_END:
            return LegResult()
        if end.status == ENDED_BY_EVENT:
            return LegResult(event=end.event)
        message = FAILURES.get(end.status, TOO_MANY)
        return LegResult(failure=message.format(time=end.time, count=EVENTS_AT_ONCE))
