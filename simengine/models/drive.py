"""From crankshaft to propeller: reduction, its loss, and a centrifugal clutch where there is one."""

from typing import NamedTuple

from simengine.compiled import kernel_part
from simengine.models.atmosphere import Air
from simengine.models.engine import Engine, engine_torque


class Drive(NamedTuple):
    """Reduction drive.

    Attributes
    ----------
    reduction : float
        Engine turns for one turn of the propeller [1].
    efficiency : float
        Power out over power in, either way [1].
    """

    reduction: float
    efficiency: float


class DriveState(NamedTuple):
    """What the drive line does at one moment.

    Attributes
    ----------
    engine_speed : float
        [rad/s].
    engine_torque : float
        Brake torque that the engine gives to the drive [N m].
    rotor_torque : float
        Torque on the propeller, driving it [N m].
    clutch_slipping : float
        1 while a clutch slips or is free, else 0 [1].
    """

    engine_speed: float
    engine_torque: float
    rotor_torque: float
    clutch_slipping: float


def build_drive(*, reduction: float, efficiency: float) -> Drive:
    """Drive of a `reduction`, engine turns for one of the propeller [1], and an `efficiency` [1].

    Raises
    ------
    ValueError
        Unless the reduction is positive and the efficiency above 0 and at most 1.
    """
    if not reduction > 0.0:
        raise ValueError(f"drive: reduction must be positive, got {reduction:g}")
    if not 0.0 < efficiency <= 1.0:
        raise ValueError(f"drive: efficiency must be above 0 and at most 1, got {efficiency:g}")
    return Drive(float(reduction), float(efficiency))


@kernel_part
def torque_at_rotor(drive: Drive, torque: float) -> float:
    """Propeller torque for an engine torque [N m]; losses oppose the flow of power either way."""
    if torque >= 0.0:
        return drive.reduction * drive.efficiency * torque
    return drive.reduction * torque / drive.efficiency


@kernel_part
def drive_line(engine: Engine, drive: Drive, rotor_speed: float, throttle: float, air: Air) -> DriveState:
    """Engine and propeller torque at a rotor speed [rad/s] and throttle opening, 0 to 1 [1].

    A clutch is taken as quasi-steady: while it slips the engine's own inertia is neglected, the engine stays
    at the speed of engagement and passes on all its torque there; with none to pass on it idles, free.
    """
    engine_speed = drive.reduction * rotor_speed
    if engine.clutch_speed <= 0.0 or engine_speed >= engine.clutch_speed:
        torque = engine_torque(engine, engine_speed, throttle, air)
        return DriveState(engine_speed, torque, torque_at_rotor(drive, torque), 0.0)
    torque = engine_torque(engine, engine.clutch_speed, throttle, air)
    if torque <= 0.0:
        return DriveState(engine.idle_speed, 0.0, 0.0, 1.0)
    return DriveState(engine.clutch_speed, torque, torque_at_rotor(drive, torque), 1.0)


def rotor_inertia(propeller_inertia: float, drive: Drive, engine_inertia: float) -> float:
    """Inertia [kg m2] of propeller and engine about the propeller's axis, clutch closed.

    `propeller_inertia` about its own axis [kg m2], `engine_inertia` about the crankshaft's [kg m2], which
    counts with the square of the reduction.
    """
    return propeller_inertia + drive.reduction**2 * engine_inertia
