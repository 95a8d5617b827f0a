"""One point of the envelope: the throttle, rpm, fuel and pitch of level flight."""

from math import nan
from typing import NamedTuple

from simengine.balance.aircraft import Aircraft
from simengine.balance.level import level_flight
from simengine.balance.pitch import balance_at, pitch_balance, pitch_state
from simengine.balance.trim import JUMPS, REACHED, TOO_LITTLE_POWER, SteadyFlight, steady_flight
from simengine.constants import DEGREE
from simengine.models.engine import fuel_flow
from simengine.studies.full_throttle import ANGLE_TOLERANCE, FullThrottle, friction_factor
from simengine.studies.machine import Condition, Machine, held_flight

JUST_OPEN = 1e-4  # throttle beyond that at which the blade leaves its stop
SNAPS = 0.3 * DEGREE  # a blade that goes farther at once does not slide
PATH_TOLERANCE = 1e-6  # [rad]


class Level(NamedTuple):
    """Level flight with the throttle opened from closed, blade from coarse.

    Attributes
    ----------
    throttle : float
        Opening, 0 to 1 [1].
    engine_speed : float
        [rad/s].
    fuel_flow : float
        [kg/s].
    blade_angle : float
        [rad].
    pitch_state : int
        COARSE, HUNG or FINE.
    status : int
        REACHED, or why it is not level, as in `balance.trim`.
    """

    throttle: float
    engine_speed: float
    fuel_flow: float
    blade_angle: float
    pitch_state: int
    status: int


def level(
    machine: Machine, condition: Condition, opening: float, near: float, full: FullThrottle | None = None
) -> Level:
    """Level flight; `opening` [1] and `near` [rad/s], of the rotor, are where to look first, zero for none.

    `full` is the full-throttle point of the same condition where it is known: one that sinks ends the search.
    """
    if full is not None and full.climb_rate < 0.0:
        return described(
            machine, condition, 1.0, full.engine_speed, full.blade_angle, status=TOO_LITTLE_POWER
        )
    flight, status = level_by_stops(machine, condition, opening, near)
    engine_speed = machine.reduction * flight.rotor_speed
    return described(machine, condition, flight.throttle, engine_speed, flight.blade_angle, status=status)


def described(
    machine: Machine,
    condition: Condition,
    throttle: float,
    engine_speed: float,
    blade_angle: float,
    *,
    status: int,
) -> Level:
    """Put the figures of a point together with fuel flow and pitch state; arguments, units as in `Level`."""
    return Level(
        throttle=throttle,
        engine_speed=engine_speed,
        fuel_flow=fuel_flow(machine.aircraft.engine, engine_speed, throttle, condition.air),
        blade_angle=blade_angle,
        pitch_state=pitch_state(machine.aircraft.hub, blade_angle, False),
        status=status,
    )


def level_by_stops(
    machine: Machine, condition: Condition, opening: float, near: float
) -> tuple[SteadyFlight, int]:
    """Try the blade on the coarse stop, then on the fine, then a snap; the long way only if none fits.

    The flight and its status; `opening` [1] and `near` [rad/s] as for `level`.
    """
    if machine.shifts:
        coarse = level_from(machine.held, machine, condition, machine.coarse_stop, opening, near)
        if coarse.status == REACHED and stays_coarse(machine, condition, coarse):
            return coarse, REACHED
        fine = level_from(machine.held, machine, condition, machine.fine_stop, opening, near)
        if fine.status == REACHED and reaches_fine(machine, condition, fine):
            return fine, REACHED
        snapped = snap_across(machine, condition)
        if snapped is not None:
            return snapped, JUMPS
    flight = level_from(machine.aircraft, machine, condition, machine.coarse_stop, opening, near)
    return flight, flight.status


def level_from(
    aircraft: Aircraft,
    machine: Machine,
    condition: Condition,
    blade_angle: float,
    opening: float,
    near: float,
) -> SteadyFlight:
    """Level flight of the machine or of its held twin, the blade at a blade angle [rad] before.

    `opening` [1] and `near` [rad/s] as for `level`.
    """
    return level_flight(
        aircraft, condition.air, condition.mass, condition.bar, blade_angle, near, opening, 0.0
    )


def fine_drive(machine: Machine, condition: Condition, flight: SteadyFlight) -> float:
    """Fine-going moment of one blade left in a flight with the blade held, friction paid [N m]."""
    axial_speed = machine.inflow_factor * flight.airspeed
    here = balance_at(
        machine.aircraft, condition.air, flight.blade_angle, axial_speed, flight.throttle, flight.rotor_speed
    )
    return -here.net - here.friction * friction_factor(machine, flight.blade_angle)


def stays_coarse(machine: Machine, condition: Condition, flight: SteadyFlight) -> bool:
    """Whether a blade held coarse would stay there."""
    return fine_drive(machine, condition, flight) <= 0.0


def reaches_fine(machine: Machine, condition: Condition, flight: SteadyFlight) -> bool:
    """Whether a blade let go from coarse in this flight ends on the fine stop."""
    axial_speed = machine.inflow_factor * flight.airspeed
    reached = pitch_balance(
        machine.aircraft, condition.air, machine.coarse_stop, axial_speed, flight.throttle, 0.0
    )
    return bool(reached.blade_angle <= machine.fine_stop + ANGLE_TOLERANCE)


def leaving_throttle(machine: Machine, condition: Condition) -> float:
    """Throttle at which the blade leaves the coarse stop [1]; NaN if none does."""

    def drive(throttle: float) -> float:
        flight = held_flight(machine, condition, machine.coarse_stop, 0.0, throttle)
        return fine_drive(machine, condition, flight)

    low, high = 0.0, 1.0
    if drive(low) > 0.0 or drive(high) <= 0.0:
        return nan
    while high - low > 0.1 * JUST_OPEN:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if drive(middle) > 0.0 else (middle, high)
    return high


def snap_across(machine: Machine, condition: Condition) -> SteadyFlight | None:
    """The flight just after the blade has left coarse, if it snapped and so jumped past level flight."""
    leaving = leaving_throttle(machine, condition)
    if not 0.0 <= leaving < 1.0 - JUST_OPEN:
        return None
    before = held_flight(machine, condition, machine.coarse_stop, 0.0, leaving)
    after = steady_flight(
        machine.aircraft,
        condition.air,
        condition.mass,
        condition.bar,
        leaving + JUST_OPEN,
        machine.coarse_stop,
        before.rotor_speed,
    )
    snapped = machine.coarse_stop - after.blade_angle > SNAPS
    past_level = before.path_angle < -PATH_TOLERANCE < PATH_TOLERANCE < after.path_angle
    return after if snapped and past_level else None
