"""Where the blades stand when the throttle is opened and closed again: at every height, and finely at one."""

import numpy as np
from numpy.typing import NDArray

from simengine.balance.envelope_kernels import throttle_branch
from simengine.balance.pitch import pitch_state
from simengine.balance.trim import flight_speed
from simengine.execution.where import on_threads
from simengine.models.atmosphere import Air, Atmosphere, air_at
from simengine.studies.machine import Machine

Array = NDArray[np.float64]


def trim_axial_speed(machine: Machine, air: Air, mass: float, bar: float) -> float:
    """Air speed at the disc in a straight glide without thrust [m/s]; all-up mass [kg], bar [1]."""
    return machine.inflow_factor * flight_speed(machine.aircraft, air, mass, bar, 0.0, 0.0)


def both_branches(
    machine: Machine, air: Air, axial_speed: float, throttles: Array
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Blade angle [rad] and rotor speed [rad/s], throttle opened, then closed; in order of opening.

    `throttles`, rising, and all results of shape (n,); `axial_speed` is the air speed at the disc [m/s].
    """
    start = machine.coarse_stop
    opened = np.empty((2, throttles.size))
    throttle_branch(machine.aircraft, air, axial_speed, throttles, start, opened[0], opened[1])
    closed = np.empty((2, throttles.size))
    throttle_branch(
        machine.aircraft, air, axial_speed, throttles[::-1].copy(), opened[0, -1], closed[0], closed[1]
    )
    return (opened[0], opened[1]), (closed[0, ::-1], closed[1, ::-1])


def pitch_states(machine: Machine, angles: Array) -> NDArray[np.int8]:
    """Flag of every one of some `angles` [rad]; both of any shape (...)."""
    hub = machine.aircraft.hub
    flat = [pitch_state(hub, float(angle), False) for angle in angles.ravel()]
    return np.array(flat, dtype=np.int8).reshape(angles.shape)


def throttle_map(
    machine: Machine, atmosphere: Atmosphere, mass: float, heights: Array, throttles: Array
) -> dict[str, object]:
    """Map of height and throttle with bar 0, both branches; variables of the catalogue in SI.

    All-up `mass` [kg]; `heights` of shape (n,) [m] and `throttles` of shape (m,) [1].
    """

    def row(height: float) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        air = air_at(atmosphere, height)
        return both_branches(machine, air, trim_axial_speed(machine, air, mass, 0.0), throttles)

    rows = on_threads(row, [float(height) for height in heights])
    result: dict[str, object] = {"map_height": heights, "map_throttle": throttles}
    for branch, name in enumerate(("opening", "closing")):
        angles = np.array([each[branch][0] for each in rows])
        result[f"map_blade_angle_{name}"] = angles
        result[f"map_rpm_{name}"] = machine.reduction * np.array([each[branch][1] for each in rows])
        result[f"map_pitch_state_{name}"] = pitch_states(machine, angles)
    return result


def throttle_sweep(
    machine: Machine, atmosphere: Atmosphere, mass: float, height: float, throttles: Array
) -> dict[str, object]:
    """Fine sweep at one height [m] in flight; all-up mass [kg], `throttles` of shape (m,) [1]."""
    air = air_at(atmosphere, height)
    branches = both_branches(machine, air, trim_axial_speed(machine, air, mass, 0.0), throttles)
    result: dict[str, object] = {"sweep_throttle": throttles, "sweep_height": height}
    for (angles, speeds), name in zip(branches, ("opening", "closing"), strict=True):
        result[f"sweep_blade_angle_{name}"] = angles
        result[f"sweep_rpm_{name}"] = machine.reduction * speeds
    return result
