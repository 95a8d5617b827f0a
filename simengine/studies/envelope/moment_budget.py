"""What pushes one blade, by source: against rpm on either stop, and against blade angle."""

from math import isnan, nan

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import rotor_state
from simengine.models.atmosphere import Air, Atmosphere, air_at
from simengine.studies.full_throttle import shift_speeds
from simengine.studies.machine import Condition, Machine, held_flight

PARTS = ("spring", "centrifugal", "counterweight", "air", "friction")
RPM_POINTS, ANGLE_POINTS = 60, 41
ABOVE_LIMIT = 1.1  # the budget goes on to this multiple of the engine's limit
HIGH = 3000.0  # above the low case [m]
STOPS = ("coarse", "fine")


def cases(
    machine: Machine, atmosphere: Atmosphere, mass: float, lowest: float
) -> dict[str, tuple[Air, float]]:
    """Air and air speed at the disc [m/s] of every budget, on the ground and in the climb, low first.

    All-up mass [kg], `lowest` height [m].
    """
    found = {}
    for height in (lowest, lowest + HIGH):
        air = air_at(atmosphere, height)
        climb = held_flight(machine, Condition(air, mass, 0.0), machine.fine_stop)
        found[f"ground at {height:.0f} m"] = (air, 0.0)
        found[f"climb at {height:.0f} m"] = (air, machine.inflow_factor * climb.airspeed)
    return found


def moments_at(
    machine: Machine, air: Air, axial_speed: float, blade_angle: float, engine_speed: float
) -> NDArray[np.float64]:
    """Spring, centrifugal, counterweight, air and friction of one blade, shape (5,) [N m].

    At an `axial_speed` at the disc [m/s], a blade angle [rad] and an engine speed [rad/s]; toward coarse.
    """
    rotor_speed = engine_speed / machine.reduction
    moments = rotor_state(machine.aircraft, air, blade_angle, rotor_speed, axial_speed, 0.0).moments
    return np.array(moments, dtype=np.float64)


def air_share(machine: Machine, air: Air, axial_speed: float) -> float:
    """Part of the fine-going moment that the air gives where the shift finishes [1].

    `axial_speed` is the air speed at the disc [m/s].
    """
    finish = shift_speeds(machine, air, axial_speed).shift_finish
    if isnan(finish) or finish <= 0.0:
        return nan
    _, centrifugal, counterweight, of_air, _ = moments_at(
        machine, air, axial_speed, machine.fine_stop, finish
    )
    return float(of_air / (centrifugal + counterweight + of_air))


def moment_budget(machine: Machine, atmosphere: Atmosphere, mass: float, lowest: float) -> dict[str, object]:
    """Variables of the catalogue in SI; all-up mass [kg], `lowest` height [m]."""
    found = cases(machine, atmosphere, mass, lowest)
    speeds = np.linspace(machine.idle_speed, ABOVE_LIMIT * machine.speed_limit, RPM_POINTS)
    angles = np.linspace(machine.coarse_stop, machine.fine_stop, ANGLE_POINTS)
    table = np.array(
        [
            [
                [moments_at(machine, air, axial_speed, stop, float(speed)) for speed in speeds]
                for stop in (machine.coarse_stop, machine.fine_stop)
            ]
            for air, axial_speed in found.values()
        ]
    )
    (ground_air, _), (air, axial_speed), *_ = found.values()
    finish = shift_speeds(machine, ground_air, 0.0).shift_finish
    at_speed = machine.speed_limit if isnan(finish) or finish <= 0.0 else finish
    along = np.array([moments_at(machine, air, axial_speed, float(angle), at_speed) for angle in angles])
    result: dict[str, object] = {
        "budget_case": list(found),
        "budget_stop": list(STOPS),
        "budget_rpm": speeds,
        "budget_angle": angles,
        "budget_air_share": [air_share(machine, *case) for case in found.values()],
    }
    for place, part in enumerate(PARTS):
        result[f"budget_{part}"] = table[..., place]
        result[f"budget_angle_{part}"] = along[:, place]
    return result
