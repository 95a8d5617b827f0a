"""Fly a leg with an integrator of SciPy: the engine's own right-hand side and watched functions, compiled.

Stick, slide and stops are modes, as in the engine: an event that changes the mode ends a run of the library
and another begins. The library is spared what the engine does besides: it keeps no record and watches only
what changes the mode or ends the leg.
"""

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from simengine.balance.aircraft import Aircraft
from simengine.compiled import kernel
from simengine.flight.dynamics import derivatives, observe
from simengine.flight.events import (
    BREAKS_COARSE,
    BREAKS_FINE,
    CEILING,
    DISTANCE_REACHED,
    EMPTY,
    EVENT_COUNT,
    GROUND,
    HEIGHT_REACHED,
    MEETS_STOP,
    STEEP,
    TURNS,
    event_values,
    is_terminal,
)
from simengine.flight.integrate import LARGEST_STEP
from simengine.flight.phases import FlyLeg
from simengine.flight.state import ABSOLUTE_TOLERANCE, BLADE_ANGLE, HEIGHT, PITCH_RATE, Command, Leg
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models import blade
from simengine.models.friction import REST, TO_COARSE, TO_FINE, movement_from_rest
from simengine.models.mechanism import TWO_STOP

Array = NDArray[np.float64]

WATCHED = (
    BREAKS_FINE,
    BREAKS_COARSE,
    TURNS,
    MEETS_STOP,
    HEIGHT_REACHED,
    DISTANCE_REACHED,
    CEILING,
    EMPTY,
    GROUND,
    STEEP,
)


@kernel
def command_of(v: Array) -> Command:
    """A command from a row of numbers: handed over as a tuple it would cost more than the slope."""
    return Command(
        v[0],
        v[1],
        v[2],
        v[3],
        v[4],
        v[5] != 0.0,
        v[6],
        v[7] != 0.0,
        v[8],
        v[9],
        v[10],
        v[11],
        v[12],
        v[13],
        v[14],
    )


@kernel
def leg_of(aircraft: Aircraft, command: Command, mode: int, inflow: Array) -> Leg:
    """A leg whose propeller begins each search where the one before ended, as the engine's own."""
    return Leg(aircraft, command, mode, inflow)


def new_inflow(aircraft: Aircraft) -> Array:
    """Room for what one evaluation of the propeller hands on to the next."""
    return blade.nothing_known(aircraft.blade)


@kernel
def slope_of(aircraft: Aircraft, values: Array, mode: int, inflow: Array, time: float, state: Array) -> Array:
    """Slope of the state, shape (9,)."""
    slope = np.empty(state.size)
    derivatives(leg_of(aircraft, command_of(values), mode, inflow), time, state, slope)
    return slope


@kernel
def many_slopes(
    aircraft: Aircraft, values: Array, mode: int, inflow: Array, time: float, state: Array, count: int
) -> Array:
    """The slope worked out many times over, as the engine's step calls it."""
    slope, moved = np.empty(state.size), state.copy()
    leg = leg_of(aircraft, command_of(values), mode, inflow)
    for i in range(count):
        moved[HEIGHT] = state[HEIGHT] + 1e-6 * i
        derivatives(leg, time, moved, slope)
    return slope


@kernel
def watched_of(
    aircraft: Aircraft, values: Array, mode: int, inflow: Array, time: float, state: Array
) -> Array:
    """Watched functions, shape (EVENT_COUNT,)."""
    watched = np.empty(EVENT_COUNT)
    command = command_of(values)
    seen = observe(aircraft, command, time, state)
    event_values(leg_of(aircraft, command, mode, inflow), seen, time, state, watched)
    return watched


class Watch:
    """The watched functions as a library asks for them, one by one at the same instant; worked out once."""

    def __init__(self, aircraft: Aircraft, values: Array, mode: int, inflow: Array) -> None:
        self.function = partial(watched_of, aircraft, values, mode, inflow)
        self.time, self.state, self.kept = np.nan, np.empty(0), np.empty(0)

    def value(self, event: int, time: float, state: Array) -> float:
        """One of them."""
        if time != self.time or not np.array_equal(state, self.state):
            self.time, self.state, self.kept = time, state.copy(), self.function(time, state)
        return float(self.kept[event])

    def functions(self) -> list[Callable[[float, Array], float]]:
        """For `solve_ivp`: each ends the run where it falls through zero."""
        made = []
        for event in WATCHED:
            function = partial(self.value, event)
            function.terminal, function.direction = True, -1.0
            made.append(function)
        return made


def mode_from_rest(aircraft: Aircraft, command: Command, state: FlightState) -> int:
    """Mode of blades that stand still now."""
    hub = aircraft.hub
    if hub.kind != TWO_STOP:
        return REST
    seen = observe(aircraft, command, state.time, state.vector)
    angle = state.vector[BLADE_ANGLE]
    friction = hub.breakaway * seen.rotor.moments.friction
    return movement_from_rest(seen.net, friction, angle < hub.coarse_stop, angle > hub.fine_stop)


def change_mode(aircraft: Aircraft, command: Command, state: FlightState, event: int) -> None:
    """What an event does to the blades: they let go, or come to rest, on a stop or short of it."""
    hub = aircraft.hub
    if event in (BREAKS_FINE, BREAKS_COARSE):
        state.mode = TO_FINE if event == BREAKS_FINE else TO_COARSE
    elif event in (MEETS_STOP, TURNS):
        if event == MEETS_STOP:
            state.vector[BLADE_ANGLE] = hub.coarse_stop if state.mode == TO_COARSE else hub.fine_stop
        state.vector[PITCH_RATE] = 0.0
        state.mode = mode_from_rest(aircraft, command, state)


def library_leg(method: str) -> FlyLeg:
    """A way to fly a leg, by the name of the method."""

    def fly_leg(
        aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
    ) -> LegResult:
        values = np.array(command, dtype=np.float64)
        relative, inflow = settings.relative_tolerance, new_inflow(aircraft)
        while state.time < command.end - 1e-9:
            if state.mode == REST:
                state.mode = mode_from_rest(aircraft, command, state)
            run = solve_ivp(
                partial(slope_of, aircraft, values, state.mode, inflow),
                (state.time, command.end),
                state.vector,
                method=method,
                rtol=relative,
                atol=ABSOLUTE_TOLERANCE * (relative / 1e-4),
                max_step=LARGEST_STEP,
                events=Watch(aircraft, values, state.mode, inflow).functions(),
            )
            track.steps += run.nfev
            if run.status < 0:
                return LegResult(failure=run.message)
            state.time, state.vector = float(run.t[-1]), run.y[:, -1].copy()
            track.add_rows(np.array([[state.time, *state.vector, state.mode]]), command)
            fired = [event for event, times in zip(WATCHED, run.t_events, strict=True) if len(times)]
            if fired:
                event = fired[0]
                change_mode(aircraft, command, state, event)
                track.add_event(state.time, event, state.vector, command)
                if is_terminal(event):
                    return LegResult(event=event)
        return LegResult()

    return fly_leg
