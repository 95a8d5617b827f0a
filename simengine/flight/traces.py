"""From the rows of a track to traces: every quantity of the results at every recorded instant, in SI."""

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft, no_inflow
from simengine.balance.pitch import pitch_state
from simengine.compiled import kernel, kernel_part
from simengine.constants import DEGREE
from simengine.flight.dynamics import Observation, observe_near
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    STATE_SIZE,
    Command,
    Vector,
)
from simengine.flight.track import Track
from simengine.models.atmosphere import Air, density_altitude
from simengine.models.blade import Inflow
from simengine.models.inertia import blade_pull
from simengine.models.mechanism import stop_reaction

# Slower than this a blade between its stops is said to hang rather than to shift.
HUNG_BELOW = 0.02 * DEGREE  # [rad/s]

PHASE_GAP = 1e-6  # between the last row of a phase and the first of the next [s]

PATH_NAMES = (
    "time",
    "throttle",
    "bar",
    "height",
    "distance",
    "airspeed",
    "vertical_speed",
    "path_angle",
    "drag",
    "fuel_flow",
    "fuel_used",
)
ROTOR_NAMES = (
    "engine_rpm",
    "propeller_rpm",
    "thrust",
    "propeller_torque",
    "engine_torque",
    "shaft_power",
    "tip_mach",
    "stalled_fraction",
    "lowest_reynolds",
    "advance_ratio",
    "propeller_efficiency",
)
PITCH_NAMES = (
    "blade_angle",
    "pitch_rate",
    "pitch_state",
    "spring_moment",
    "centrifugal_moment",
    "counterweight_moment",
    "air_moment",
    "friction_limit",
    "stop_reaction",
    "blade_pull",
    "stop_force",
)
AIR_NAMES = ("air_temperature", "air_pressure", "air_density", "density_altitude")
ROW_NAMES = PATH_NAMES + ROTOR_NAMES + PITCH_NAMES + AIR_NAMES


@kernel_part
def path_traces(command: Command, seen: Observation, time: float, state: Vector) -> tuple[float, ...]:
    """Values of `PATH_NAMES`, SI, at a `time` [s] and a `state`, shape (9,)."""
    airspeed = state[AIRSPEED] if command.airborne else command.headwind
    return (
        time,
        seen.throttle,
        command.bar,
        state[HEIGHT],
        state[DISTANCE],
        airspeed,
        airspeed * np.sin(state[PATH_ANGLE]) if command.airborne else 0.0,
        state[PATH_ANGLE],
        seen.drag if command.airborne else 0.0,
        seen.fuel_flow,
        state[FUEL_USED],
    )


@kernel_part
def rotor_traces(aircraft: Aircraft, seen: Observation, state: Vector) -> tuple[float, ...]:
    """Values of `ROTOR_NAMES`, SI, speeds of rotation in [rad/s], at a `state`, shape (9,)."""
    drive, loads = seen.rotor.drive, seen.rotor.loads
    rotor_speed = state[ROTOR_SPEED]
    airspeed = seen.axial_speed / aircraft.inflow_factor
    power = loads.torque * rotor_speed
    advance = rotor_speed * aircraft.blade.tip_radius / np.pi
    return (
        drive.engine_speed,
        rotor_speed,
        seen.rotor.thrust,
        loads.torque,
        drive.engine_torque,
        power,
        loads.tip_mach,
        loads.stalled_fraction,
        loads.lowest_reynolds,
        seen.axial_speed / advance if advance > 0.0 else 0.0,
        seen.rotor.thrust * airspeed / power if power > 0.0 else 0.0,
    )


@kernel_part
def pitch_traces(aircraft: Aircraft, seen: Observation, state: Vector) -> tuple[float, ...]:
    """Values of `PITCH_NAMES`, SI, moments of one blade and toward coarse, at a `state`, shape (9,)."""
    hub, moments = aircraft.hub, seen.rotor.moments
    angle, rate = state[BLADE_ANGLE], state[PITCH_RATE]
    reaction = stop_reaction(hub, angle, seen.net)
    return (
        angle,
        rate,
        float(pitch_state(hub, angle, abs(rate) > HUNG_BELOW)),
        moments.spring,
        moments.centrifugal,
        moments.counterweight,
        moments.air,
        moments.friction,
        reaction,
        blade_pull(aircraft.inertia, state[ROTOR_SPEED]),
        abs(reaction) / hub.stop_radius,
    )


@kernel_part
def air_traces(air: Air) -> tuple[float, ...]:
    """Values of `AIR_NAMES`, SI."""
    return (air.temperature, air.pressure, air.density, density_altitude(air.density))


@kernel_part
def store(out: Vector, start: int, values: tuple[float, ...]) -> int:
    """Write `values` side by side into `out`, shape (n,), from `start` on, any unit; the place after them."""
    for i in range(len(values)):
        out[start + i] = values[i]
    return start + len(values)


@kernel_part
def trace_row(aircraft: Aircraft, command: Command, row: Vector, out: Vector, inflow: Inflow) -> None:
    """Write the traces of one `row`, shape (11,), to `out`, shape (n,), in the order of `ROW_NAMES`.

    `inflow` is handed on from row to row, shape (turns, WORK_SIZE).
    """
    time, state = row[0], row[1 : STATE_SIZE + 1]
    seen = observe_near(aircraft, command, time, state, inflow)
    place = store(out, 0, path_traces(command, seen, time, state))
    place = store(out, place, rotor_traces(aircraft, seen, state))
    place = store(out, place, pitch_traces(aircraft, seen, state))
    store(out, place, air_traces(seen.air))


@kernel
def trace_rows(aircraft: Aircraft, command: Command, rows: Vector, out: Vector) -> None:
    """Traces of a block of `rows`, shape (n, 11), written to `out`, shape (n, many)."""
    inflow = no_inflow(aircraft)
    for i in range(rows.shape[0]):
        trace_row(aircraft, command, rows[i], out[i], inflow)


def traces(aircraft: Aircraft, track: Track, fuel_density: float) -> dict[str, NDArray[np.float64]]:
    """All traces of a flight, by name, SI, shape (n,) each; `fuel_density` [kg/m3] gives the fuel's volume.

    Where two legs of one phase meet, the instant is kept once, as the later leg begins it. Where two phases
    meet both rows are kept, the later one a microsecond on, so that `time` rises strictly.
    """
    blocks = []
    for rows, command, phase in zip(track.rows, track.commands, track.phases, strict=True):
        out = np.empty((rows.shape[0], len(ROW_NAMES) + 1))
        trace_rows(aircraft, command, rows, out)
        out[:, -1] = phase
        blocks.append(out)
    table = np.vstack(blocks)
    first_of_phase = np.append(False, np.diff(table[:, -1]) > 0.0)
    table[first_of_phase, 0] += PHASE_GAP
    table = table[np.append(np.diff(table[:, 0]) > 0.0, True)]
    named = {name: table[:, i].copy() for i, name in enumerate((*ROW_NAMES, "phase_index"))}
    named["fuel_flow_volume"] = named["fuel_flow"] / fuel_density
    return named
