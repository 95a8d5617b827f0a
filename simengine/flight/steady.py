"""Steady fidelity: rotor, pitch and path in balance at every instant, the pitch on its own history.

Only distance, height and fuel are integrated (midpoint rule); the blade angle is carried from step to
step, so that hysteresis is kept. Meant for slow changes: what a quick throttle does to the rotor's
speed while the blades move is not in it.
"""

from math import ceil

import numpy as np

from simengine.balance.aircraft import Aircraft
from simengine.balance.pitch import pitch_balance, shift_speed
from simengine.balance.trim import level_flight, steady_flight
from simengine.compiled import kernel
from simengine.flight.dynamics import observe, throttle_and_trim_rate
from simengine.flight.events import (
    BREAKS_COARSE,
    BREAKS_FINE,
    COARSE_CONTACT,
    EVENT_COUNT,
    FINE_CONTACT,
    MEETS_STOP,
    TURNS,
    event_values,
    fires_both_ways,
    is_terminal,
)
from simengine.flight.integrate import ROW_SIZE
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    THROTTLE_TRIM,
    Command,
    Leg,
    Vector,
)
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models.atmosphere import air_at
from simengine.models.drive import drive_line
from simengine.models.engine import fuel_flow
from simengine.models.friction import REST, TO_COARSE, TO_FINE
from simengine.models.mechanism import CONTACT_BAND, SELECTED, TWO_STOP, coarse_edge

LARGEST_STEP = 10.0  # climbing or descending [s]
LARGEST_LEVEL_STEP = 20.0  # holding a height, where only the fuel changes [s]
# How a height that was missed is made good: in about half a minute, at no more than this climb or sink.
HEIGHT_CORRECTION = 0.03  # [1/s], estimate
LARGEST_CORRECTION = 1.0  # [m/s], estimate
LARGEST_THROTTLE_STEP = 0.005  # of full travel
EVENT_TIME_TOLERANCE = 1e-4  # [s]
SLOW_STATES = (DISTANCE, HEIGHT, FUEL_USED)


@kernel
def settle(aircraft: Aircraft, command: Command, time: float, state: Vector, rates: Vector) -> None:
    """Put the fast states into balance, in place, and write the slow states' rates, shape (9,)."""
    air = air_at(aircraft.atmosphere, state[HEIGHT])
    previous = command.pitch_target if aircraft.hub.kind == SELECTED else state[BLADE_ANGLE]
    throttle, _ = throttle_and_trim_rate(command, time, state)
    rates[:] = 0.0
    if command.airborne:
        mass = aircraft.dry_mass + aircraft.fuel_start - state[FUEL_USED]
        if command.hold_height:
            wanted = HEIGHT_CORRECTION * (command.target_height - state[HEIGHT])
            wanted = min(max(wanted, -LARGEST_CORRECTION), LARGEST_CORRECTION)
            flight = level_flight(
                aircraft,
                air,
                mass,
                command.bar,
                previous,
                state[ROTOR_SPEED],
                state[THROTTLE_TRIM],
                wanted / command.target_speed,
            )
            throttle = flight.throttle
        else:
            flight = steady_flight(aircraft, air, mass, command.bar, throttle, previous, state[ROTOR_SPEED])
        state[AIRSPEED], state[PATH_ANGLE] = flight.airspeed, flight.path_angle
        state[ROTOR_SPEED], state[BLADE_ANGLE] = flight.rotor_speed, flight.blade_angle
        rates[DISTANCE] = flight.airspeed * np.cos(flight.path_angle) + aircraft.tailwind
        rates[HEIGHT] = flight.airspeed * np.sin(flight.path_angle)
    else:
        axial_speed = aircraft.inflow_factor * command.headwind
        balance = pitch_balance(aircraft, air, previous, axial_speed, throttle, state[ROTOR_SPEED])
        state[ROTOR_SPEED], state[BLADE_ANGLE] = balance.rotor_speed, balance.blade_angle
    state[THROTTLE_TRIM] = throttle
    drive = drive_line(aircraft.engine, aircraft.drive, state[ROTOR_SPEED], throttle, air)
    rates[FUEL_USED] = fuel_flow(aircraft.engine, drive.engine_speed, throttle, air)


@kernel
def steady_step(
    aircraft: Aircraft, command: Command, time: float, state: Vector, rates: Vector, step: float
) -> tuple[Vector, Vector]:
    """State and rates after one midpoint step from a settled state."""
    middle = state.copy()
    middle_rates = np.empty(state.size)
    for i in SLOW_STATES:
        middle[i] = state[i] + 0.5 * step * rates[i]
    settle(aircraft, command, time + 0.5 * step, middle, middle_rates)
    end = middle.copy()
    for i in SLOW_STATES:
        end[i] = state[i] + step * middle_rates[i]
    end_rates = np.empty(state.size)
    settle(aircraft, command, time + step, end, end_rates)
    end[PITCH_RATE] = (end[BLADE_ANGLE] - state[BLADE_ANGLE]) / step
    return end, end_rates


@kernel
def steady_events(aircraft: Aircraft, command: Command, time: float, state: Vector) -> Vector:
    """Watched functions of a settled state, shape (15,); stick and slide are inside the balance."""
    values = np.empty(EVENT_COUNT)
    seen = observe(aircraft, command, time, state)
    event_values(Leg(aircraft, command, REST), seen, time, state, values)
    for inner in (BREAKS_FINE, BREAKS_COARSE, TURNS, MEETS_STOP):
        values[inner] = 1.0
    return values


def fired_events(before: Vector, after: Vector) -> list[int]:
    """Events between two sets of watched functions, in the order in which a shift would pass them."""
    fired = []
    for event in range(EVENT_COUNT):
        crossed = before[event] >= 0.0 > after[event]
        regained = fires_both_ways(event) and before[event] < 0.0 <= after[event]
        if crossed or regained or (is_terminal(event) and after[event] < 0.0):
            fired.append(event)
    returning = FINE_CONTACT in fired and before[FINE_CONTACT] >= 0.0
    if returning and COARSE_CONTACT in fired:
        fired.remove(FINE_CONTACT)
        fired.insert(fired.index(COARSE_CONTACT), FINE_CONTACT)
    return fired


def direction_of(change: float) -> int:
    """Mode that a change of blade angle over a step stands for."""
    if abs(change) < 1e-12:
        return REST
    return TO_COARSE if change > 0.0 else TO_FINE


def step_count(command: Command, time: float) -> int:
    """Steps for what is left of a command."""
    duration = command.end - time
    throttle_change = 0.0 if command.hold_height else abs(command.throttle_end - command.throttle_start)
    longest = LARGEST_LEVEL_STEP if command.hold_height else LARGEST_STEP
    return max(1, ceil(duration / longest), ceil(throttle_change / LARGEST_THROTTLE_STEP))


def fly_leg(
    aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
) -> LegResult:
    """Fly one command from `state`, which is moved to the leg's end; fills the track."""
    vector, rates = state.vector, np.empty(state.vector.size)
    entry_angle = vector[BLADE_ANGLE]
    settle(aircraft, command, state.time, vector, rates)
    vector[PITCH_RATE] = 0.0
    rows = [make_row(state.time, vector, direction_of(vector[BLADE_ANGLE] - entry_angle))]
    values = steady_events(aircraft, command, state.time, vector)
    length = (command.end - state.time) / step_count(command, state.time)
    ended_by = None
    while ended_by is None and state.time < command.end - 1e-9:
        step = min(length, command.end - state.time)
        step, end, end_rates, end_values, fired = located_step(
            aircraft, command, state.time, vector, rates, values, step
        )
        state.time += step
        track.steps += 1
        rows.append(make_row(state.time, end, direction_of(end[BLADE_ANGLE] - vector[BLADE_ANGLE])))
        for event in fired:
            track.add_event(state.time, event, at_contact(aircraft, command, event, values, end), command)
            if is_terminal(event):
                ended_by = event
        vector, rates, values = end, end_rates, end_values
    state.vector = vector
    track.add_rows(np.array(rows), command)
    return LegResult(event=ended_by)


def at_contact(aircraft: Aircraft, command: Command, event: int, before: Vector, end: Vector) -> Vector:
    """State to note an event with: a contact made or lost is noted with the rotor speed that makes it so.

    Where the blades snap, one step holds the whole shift, and the balance after it has another speed than
    the blade met when it let go, or than it had when it came home: the moments on the stop decide both.
    """
    hub = aircraft.hub
    if event not in (COARSE_CONTACT, FINE_CONTACT) or hub.kind != TWO_STOP:
        return end
    lost = before[event] >= 0.0
    noted = end.copy()
    noted[BLADE_ANGLE] = contact_angle(aircraft, event, lost)
    direction = TO_FINE if lost == (event == COARSE_CONTACT) else TO_COARSE
    stop = coarse_edge(hub) if event == COARSE_CONTACT else hub.fine_stop
    air = air_at(aircraft.atmosphere, end[HEIGHT])
    airspeed = end[AIRSPEED] if command.airborne else command.headwind
    speed = shift_speed(aircraft, air, stop, aircraft.inflow_factor * airspeed, direction, lost)
    if speed > 0.0:
        noted[ROTOR_SPEED] = speed
    return noted


def contact_angle(aircraft: Aircraft, event: int, lost: bool) -> float:
    """Blade angle just past the edge at which a stop's contact is made or lost [rad]."""
    hub = aircraft.hub
    if event == COARSE_CONTACT:
        edge = coarse_edge(hub) - CONTACT_BAND
        return edge - 1e-9 if lost else edge + 1e-9
    edge = hub.fine_stop + CONTACT_BAND
    return edge + 1e-9 if lost else edge - 1e-9


def make_row(time: float, vector: Vector, mode: int) -> Vector:
    """One row of the record, shape (11,)."""
    row = np.empty(ROW_SIZE)
    row[0], row[1:-1], row[-1] = time, vector, mode
    return row


def located_step(
    aircraft: Aircraft,
    command: Command,
    time: float,
    state: Vector,
    rates: Vector,
    values: Vector,
    step: float,
) -> tuple[float, Vector, Vector, Vector, list[int]]:
    """A step up to just past the first event in it, bisected: length, state, rates, values, events."""

    def try_step(length: float) -> tuple[float, Vector, Vector, Vector, list[int]]:
        end, end_rates = steady_step(aircraft, command, time, state, rates, length)
        end_values = steady_events(aircraft, command, time + length, end)
        return length, end, end_rates, end_values, fired_events(values, end_values)

    taken = try_step(step)
    low = 0.0
    while taken[4] and taken[0] - low > EVENT_TIME_TOLERANCE:
        middle = try_step(0.5 * (low + taken[0]))
        if middle[4]:
            taken = middle
        else:
            low = middle[0]
    return taken
