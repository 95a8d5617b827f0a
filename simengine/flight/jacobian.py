"""Derivatives of the equations of motion with the state and with time, for the implicit step.

Forward differences, but the propeller's loads, which are nearly all the work, are worked out again only for
the states that they depend on, and for none that stands still on the leg: such a state takes part in no step.
"""

from simengine.compiled import kernel_part
from simengine.flight.dynamics import Observation, fill_slope, loads_at, observe_loads
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    HEIGHT,
    INCREMENTS,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    STATE_SIZE,
    THROTTLE_TRIM,
    Leg,
    Vector,
)
from simengine.models.atmosphere import Air, air_at
from simengine.models.friction import REST
from simengine.models.mechanism import FIXED, TWO_STOP
from simengine.models.momentum import RotorLoads

TIME_INCREMENT = 1e-4  # [s]


@kernel_part
def counts(leg: Leg, column: int) -> bool:
    """Whether a state, its `column`, both moves on this leg and is felt by the equations."""
    kind = leg.aircraft.hub.kind
    if column in (HEIGHT, AIRSPEED, PATH_ANGLE):
        return leg.command.airborne
    if column == BLADE_ANGLE:
        return kind != FIXED and (kind != TWO_STOP or leg.mode != REST)
    if column == PITCH_RATE:
        return kind == TWO_STOP and leg.mode != REST
    if column == THROTTLE_TRIM:
        return leg.command.hold_height
    return column != DISTANCE


@kernel_part
def moves_loads(column: int) -> bool:
    """Whether the propeller's loads depend on a state, its `column`."""
    return column in (HEIGHT, AIRSPEED, ROTOR_SPEED, BLADE_ANGLE)


@kernel_part
def column_loads(leg: Leg, column: int, moved: Vector, air: Air, seen: Observation) -> RotorLoads:
    """Propeller loads for one `column`, whose state is `moved`, shape (9,)."""
    if not moves_loads(column):
        return seen.rotor.loads
    return loads_at(leg.aircraft, leg.command, moved, air, leg.inflow)


@kernel_part
def fill_jacobian(
    leg: Leg, time: float, state: Vector, seen: Observation, slope: Vector, matrix: Vector
) -> None:
    """Write the derivatives of the slope with the state to `matrix`, shape (9, 9).

    `seen` and `slope` are those at `state`, shape (9,), and `time` [s]. The column of a state that stands
    still is zero.
    """
    moved, shifted = state.copy(), state.copy()
    for j in range(STATE_SIZE):
        if not counts(leg, j):
            for i in range(STATE_SIZE):
                matrix[i, j] = 0.0
            continue
        moved[j] = state[j] + INCREMENTS[j]
        air = air_at(leg.aircraft.atmosphere, moved[HEIGHT]) if j == HEIGHT else seen.air
        loads = column_loads(leg, j, moved, air, seen)
        there = observe_loads(leg.aircraft, leg.command, time, moved, air, loads)
        fill_slope(leg, there, moved, shifted)
        moved[j] = state[j]
        for i in range(STATE_SIZE):
            matrix[i, j] = (shifted[i] - slope[i]) / INCREMENTS[j]


@kernel_part
def fill_time_slope(
    leg: Leg, time: float, state: Vector, seen: Observation, slope: Vector, slope_of_time: Vector
) -> None:
    """Write the slope's partial derivative with time to `slope_of_time`, shape (9,): a throttle on the move.

    `seen` and `slope` are those at `state`, shape (9,), and `time` [s].
    """
    command = leg.command
    if command.hold_height or command.throttle_end == command.throttle_start:
        for i in range(STATE_SIZE):
            slope_of_time[i] = 0.0
        return
    later = observe_loads(leg.aircraft, command, time + TIME_INCREMENT, state, seen.air, seen.rotor.loads)
    fill_slope(leg, later, state, slope_of_time)
    for i in range(STATE_SIZE):
        slope_of_time[i] = (slope_of_time[i] - slope[i]) / TIME_INCREMENT
