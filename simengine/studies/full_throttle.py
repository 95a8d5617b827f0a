"""One point of the envelope: what the machine does at full throttle, in the climb and on the ground."""

from math import isnan, nan, sin
from typing import NamedTuple

from simengine.balance.aircraft import rotor_state
from simengine.balance.pitch import PitchBalance, balance_at, pitch_balance, pitch_state, shift_speed
from simengine.balance.trim import SteadyFlight, steady_flight
from simengine.constants import DEGREE
from simengine.models.atmosphere import Air
from simengine.models.friction import TO_COARSE, TO_FINE
from simengine.studies.machine import Condition, Machine, held_flight

WALK = 0.25 * DEGREE  # between blade angles looked at on the way to the fine stop
ANGLE_TOLERANCE = 1e-9  # [rad]


class ShiftSpeeds(NamedTuple):
    """Engine speeds at which the moments on the stops change over [rad/s]; NaN where they never do.

    Of the shift, coarse to fine, `shift_begin` and `shift_finish`; back again `return_begin` and
    `return_finish`.
    """

    shift_begin: float
    shift_finish: float
    return_begin: float
    return_finish: float


class FullThrottle(NamedTuple):
    """Full throttle with the blade where it comes to stand, opened from coarse.

    Attributes
    ----------
    engine_speed, speed_coarse, speed_fine : float
        Of the engine: there, and with the blades held on either stop [rad/s].
    blade_angle : float
        Where the blade stands [rad].
    pitch_state : int
        COARSE, HUNG or FINE.
    margin_speed : float
        `speed_fine` less the engine speed at which the shift finishes [rad/s].
    margin_moment : float
        Fine-going moment of one blade left on the fine stop, friction paid [N m].
    drive : float
        The least of it on the way to the fine stop [N m]: above zero the shift finishes.
    thrust : float
        Left for the aircraft [N].
    airspeed, climb_rate : float
        [m/s].
    """

    engine_speed: float
    blade_angle: float
    pitch_state: int
    speed_coarse: float
    speed_fine: float
    margin_speed: float
    margin_moment: float
    drive: float
    thrust: float
    airspeed: float
    climb_rate: float


def shift_speeds(machine: Machine, air: Air, axial_speed: float) -> ShiftSpeeds:
    """Begin and finish of shift and return from the moment balance on the stops.

    `axial_speed` is the air speed at the disc [m/s]. A blade at rest must break away before it leaves a stop.
    A return that never happens, because the loads hold the blade fine at any speed, is not a number.
    """
    if not machine.shifts:
        return ShiftSpeeds(nan, nan, nan, nan)

    def at(angle: float, direction: int, breakaway: bool) -> float:
        speed = shift_speed(machine.aircraft, air, angle, axial_speed, direction, breakaway)
        return machine.reduction * speed if speed > 0.0 or direction == TO_FINE else nan

    return ShiftSpeeds(
        at(machine.coarse_edge, TO_FINE, True),
        at(machine.fine_stop, TO_FINE, False),
        at(machine.fine_stop, TO_COARSE, True),
        at(machine.coarse_edge, TO_COARSE, False),
    )


def drive_in(machine: Machine, air: Air, blade_angle: float, axial_speed: float, near: float) -> float:
    """Fine-going moment of one blade left at full throttle at a blade angle [rad], friction paid [N m].

    `axial_speed` is the air speed at the disc [m/s], `near` a rotor speed to look around, zero for none
    [rad/s].
    """
    here = balance_at(machine.aircraft, air, blade_angle, axial_speed, 1.0, near)
    return drive_left(machine, here)


def drive_left(machine: Machine, here: PitchBalance) -> float:
    """Fine-going moment of one blade left in a balance of the rotor, friction paid [N m]."""
    return -here.net - here.friction * friction_factor(machine, here.blade_angle)


def friction_factor(machine: Machine, blade_angle: float) -> float:
    """Factor on friction [1] at a blade angle [rad]: that of rest where the blade sets off, 1 elsewhere."""
    return machine.breakaway if blade_angle >= machine.coarse_stop else 1.0


def held_drive(machine: Machine, condition: Condition, blade_angle: float, near: float = 0.0) -> float:
    """`drive_in` [N m] in the steady climb or descent that a blade held at a blade angle [rad] gives.

    `near` is a rotor speed to look around, zero for none [rad/s].
    """
    flight = held_flight(machine, condition, blade_angle, near)
    axial_speed = machine.inflow_factor * flight.airspeed
    return drive_in(machine, condition.air, blade_angle, axial_speed, flight.rotor_speed)


def way_to_fine(machine: Machine) -> list[float]:
    """Blade angles from stop to stop, a walk apart [rad]."""
    travel = machine.coarse_stop - machine.fine_stop
    count = max(int(travel / WALK + 0.5), 4)
    return [machine.coarse_stop - travel * i / count for i in range(count)] + [machine.fine_stop]


def walk_of_drive(
    machine: Machine, condition: Condition, fine: SteadyFlight
) -> tuple[list[float], list[float]]:
    """Angles from coarse to fine [rad], and the drive at each [N m] at the air speed of the climb on fine."""
    axial_speed = machine.inflow_factor * fine.airspeed
    angles = way_to_fine(machine)
    drives, near = [], 0.0
    for angle in angles:
        here = balance_at(machine.aircraft, condition.air, angle, axial_speed, 1.0, near)
        near = here.rotor_speed
        drives.append(drive_left(machine, here))
    return angles, drives


def least_drive(machine: Machine, condition: Condition) -> float:
    """Least drive of one blade on the way to the fine stop [N m]: above zero the shift finishes in flight.

    Not a number where the engine does not turn the propeller.
    """
    fine = held_flight(machine, condition, machine.fine_stop)
    if fine.rotor_speed <= 0.0:
        return nan
    angles, drives = walk_of_drive(machine, condition, fine)
    least = min(range(len(angles)), key=drives.__getitem__)
    if angles[least] == machine.fine_stop:
        return drives[least]
    return held_drive(machine, condition, angles[least])


def resting_angle(machine: Machine, condition: Condition, angles: list[float], drives: list[float]) -> float:
    """Where a blade that sets off from coarse at full throttle comes to stand [rad].

    `angles` [rad] and `drives` [N m] as `walk_of_drive` gives them. Not a number where their air speed misled
    the walk: the caller asks the slow way.
    """
    first = next((i for i, drive in enumerate(drives) if drive <= 0.0), None)
    if first is None:
        return machine.fine_stop
    if first == 0 and held_drive(machine, condition, machine.coarse_stop) <= 0.0:
        return machine.coarse_stop
    first = max(first, 1)
    moving, resting = angles[first - 1], angles[first]
    drive_moving = held_drive(machine, condition, moving)
    drive_resting = held_drive(machine, condition, resting)
    if drive_moving <= 0.0 or drive_resting > 0.0:
        return nan  # the air speed of the fine stop misled the walk: the caller asks the slow way
    return close_in_angle(machine, condition, moving, resting, drive_moving, drive_resting)


def close_in_angle(
    machine: Machine,
    condition: Condition,
    moving: float,
    resting: float,
    drive_moving: float,
    drive_resting: float,
) -> float:
    """Angle between a moving and a resting blade where friction just holds it, by false position [rad].

    `moving`, `resting` [rad]; `drive_moving`, above zero, and `drive_resting`, not above, are the drives
    there [N m].
    """
    angle = resting
    for _ in range(40):
        if moving - resting < ANGLE_TOLERANCE:
            break
        share = min(max(drive_moving / (drive_moving - drive_resting), 0.02), 0.98)
        angle = moving + share * (resting - moving)
        drive = held_drive(machine, condition, angle)
        if abs(drive) < 1e-7:
            break
        if drive > 0.0:
            moving, drive_moving = angle, drive
        else:
            resting, drive_resting = angle, drive
    return angle


def full_throttle(machine: Machine, condition: Condition) -> FullThrottle:
    """Climb (or descent) at full throttle, the throttle opened with the blades coarse."""
    coarse = held_flight(machine, condition, machine.coarse_stop)
    fine = held_flight(machine, condition, machine.fine_stop)
    if not machine.shifts:
        real = steady_flight(
            machine.aircraft, condition.air, condition.mass, condition.bar, 1.0, machine.fine_stop, 0.0
        )
        return climb_figures(machine, real, coarse, fine, (nan, nan, nan))
    angles, drives = walk_of_drive(machine, condition, fine)
    angle = resting_angle(machine, condition, angles, drives)
    if isnan(angle):
        real = steady_flight(
            machine.aircraft, condition.air, condition.mass, condition.bar, 1.0, machine.coarse_stop, 0.0
        )
    else:
        real = fine if angle == machine.fine_stop else held_flight(machine, condition, angle)
    axial_speed = machine.inflow_factor * fine.airspeed
    finish = shift_speed(machine.aircraft, condition.air, machine.fine_stop, axial_speed, TO_FINE, False)
    return climb_figures(machine, real, coarse, fine, (fine.rotor_speed - finish, drives[-1], min(drives)))


def climb_figures(
    machine: Machine,
    real: SteadyFlight,
    coarse: SteadyFlight,
    fine: SteadyFlight,
    margins: tuple[float, float, float],
) -> FullThrottle:
    """Put the figures of a point together from flights as it is, and with the blades held on either stop.

    `margins` are rotor speed [rad/s] and moment [N m] left on the fine stop, and the least drive [N m].
    """
    return FullThrottle(
        engine_speed=machine.reduction * real.rotor_speed,
        blade_angle=real.blade_angle,
        pitch_state=pitch_state(machine.aircraft.hub, real.blade_angle, False),
        speed_coarse=machine.reduction * coarse.rotor_speed,
        speed_fine=machine.reduction * fine.rotor_speed,
        margin_speed=machine.reduction * margins[0],
        margin_moment=margins[1],
        drive=margins[2],
        thrust=real.thrust,
        airspeed=real.airspeed,
        climb_rate=real.airspeed * sin(real.path_angle),
    )


def ground(machine: Machine, air: Air) -> FullThrottle:
    """Full throttle tied down in still air."""
    resting = machine.coarse_stop if machine.shifts else machine.fine_stop
    real = pitch_balance(machine.aircraft, air, resting, 0.0, 1.0, 0.0)
    fine = balance_at(machine.aircraft, air, machine.fine_stop, 0.0, 1.0, 0.0)
    coarse = balance_at(machine.aircraft, air, machine.coarse_stop, 0.0, 1.0, 0.0)
    state = rotor_state(machine.aircraft, air, real.blade_angle, real.rotor_speed, 0.0, 1.0)
    finish = shift_speeds(machine, air, 0.0).shift_finish
    moment = -fine.net - fine.friction if machine.shifts else nan
    return FullThrottle(
        engine_speed=machine.reduction * real.rotor_speed,
        blade_angle=real.blade_angle,
        pitch_state=pitch_state(machine.aircraft.hub, real.blade_angle, False),
        speed_coarse=machine.reduction * coarse.rotor_speed,
        speed_fine=machine.reduction * fine.rotor_speed,
        margin_speed=machine.reduction * fine.rotor_speed - finish,
        margin_moment=moment,
        drive=moment,
        thrust=state.thrust,
        airspeed=0.0,
        climb_rate=0.0,
    )
