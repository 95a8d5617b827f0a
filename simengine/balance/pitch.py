"""Where the blade stands, given where it stood before: steady pitch with friction and two stops.

The blade rests while the net moment is inside the friction band. Once the moment leaves the band the
blade moves, with the rotor speed following, until friction can hold it again or a stop does. Between
two balances the first one met is taken: that is what a slow change does, and it makes a snap a snap.
"""

from typing import NamedTuple

from simengine.balance.aircraft import Aircraft, no_inflow, propeller_loads, rotor_state, rotor_state_of
from simengine.balance.rotor import highest_searched_speed, steady_rotor_speed
from simengine.compiled import kernel, kernel_part
from simengine.constants import DEGREE
from simengine.models.atmosphere import Air
from simengine.models.friction import REST, TO_COARSE, movement_from_rest
from simengine.models.mechanism import (
    GOVERNED,
    TWO_STOP,
    Hub,
    net_moment,
    past_coarse_contact,
    past_fine_contact,
)

COARSE, SHIFTING, HUNG, FINE = range(4)

SCAN_STEP = 0.1 * DEGREE
ANGLE_TOLERANCE = 1e-11


class PitchBalance(NamedTuple):
    """Steady `blade_angle` [rad] and `rotor_speed` [rad/s]; `net` and `friction` of one blade [N m].

    `net` is positive toward coarse; `friction` is the limit of a moving blade, zero or positive.
    """

    blade_angle: float
    rotor_speed: float
    net: float
    friction: float


@kernel
def balance_at(
    aircraft: Aircraft, air: Air, blade_angle: float, axial_speed: float, throttle: float, near: float
) -> PitchBalance:
    """Net pitch moment with the rotor in torque balance at a given blade angle.

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    blade_angle : at the reference station [rad]
    axial_speed : air speed at the disc [m/s]
    throttle : opening, 0 to 1 [1]
    near : rotor speed to look around, zero for the highest [rad/s]
    """
    inflow = no_inflow(aircraft)
    rotor_speed = steady_rotor_speed(aircraft, air, blade_angle, axial_speed, throttle, near, inflow)
    loads = propeller_loads(aircraft, blade_angle, rotor_speed, axial_speed, air, inflow)
    state = rotor_state_of(aircraft, air, loads, blade_angle, rotor_speed, throttle)
    return PitchBalance(blade_angle, rotor_speed, net_moment(state.moments), state.moments.friction)


@kernel
def pitch_balance(
    aircraft: Aircraft, air: Air, previous_angle: float, axial_speed: float, throttle: float, near: float
) -> PitchBalance:
    """Steady pitch reached from a blade angle held before.

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    previous_angle : blade angle held before; only a governed hub does not ask for it [rad]
    axial_speed : air speed at the disc [m/s]
    throttle : opening, 0 to 1 [1]
    near : rotor speed held before, zero for the highest [rad/s]
    """
    hub = aircraft.hub
    if hub.kind == GOVERNED:
        return governed_balance(aircraft, air, axial_speed, throttle, near)
    here = balance_at(aircraft, air, previous_angle, axial_speed, throttle, near)
    if hub.kind != TWO_STOP:
        return here
    direction = movement_at(hub, here.net, here.friction, previous_angle)
    if direction == REST:
        return here
    return slide(aircraft, air, here, direction, axial_speed, throttle)


@kernel_part
def movement_at(hub: Hub, net: float, friction: float, blade_angle: float) -> int:
    """Where blades that rest at a blade angle [rad] move under a net moment [N m]: REST or a direction.

    `net` is positive toward coarse, `friction` that in motion [N m].
    """
    if hub.kind != TWO_STOP:
        return REST
    return movement_from_rest(
        net, hub.breakaway * friction, blade_angle < hub.coarse_stop, blade_angle > hub.fine_stop
    )


@kernel_part
def drive_past_friction(balance: PitchBalance, direction: int) -> float:
    """Moment left in the direction of travel once friction is paid [N m]; positive keeps it moving.

    `direction` is TO_COARSE or TO_FINE.
    """
    return direction * balance.net - balance.friction


@kernel_part
def slide(
    aircraft: Aircraft, air: Air, start: PitchBalance, direction: int, axial_speed: float, throttle: float
) -> PitchBalance:
    """Follow a moving blade from `start` to the first place where friction or a stop holds it.

    `direction` is TO_COARSE or TO_FINE; the other arguments as for `balance_at`.
    """
    stop = aircraft.hub.coarse_stop if direction == TO_COARSE else aircraft.hub.fine_stop
    here = start
    while True:
        angle = here.blade_angle + direction * SCAN_STEP
        if direction * (angle - stop) >= 0.0:
            angle = stop
        ahead = balance_at(aircraft, air, angle, axial_speed, throttle, here.rotor_speed)
        if drive_past_friction(ahead, direction) <= 0.0:
            return close_in_angle(aircraft, air, here, ahead, direction, axial_speed, throttle)
        if angle == stop:
            return ahead
        here = ahead


@kernel_part
def close_in_angle(
    aircraft: Aircraft,
    air: Air,
    moving: PitchBalance,
    held: PitchBalance,
    direction: int,
    axial_speed: float,
    throttle: float,
) -> PitchBalance:
    """The place between a moving and a held blade where friction just holds it, by false position.

    `direction` is TO_COARSE or TO_FINE; the other arguments as for `balance_at`.
    """
    drive_moving = drive_past_friction(moving, direction)
    drive_held = drive_past_friction(held, direction)
    side = 0
    for _ in range(100):
        if abs(held.blade_angle - moving.blade_angle) < ANGLE_TOLERANCE or drive_moving - drive_held == 0.0:
            break
        share = min(max(drive_moving / (drive_moving - drive_held), 0.02), 0.98)
        angle = moving.blade_angle + share * (held.blade_angle - moving.blade_angle)
        middle = balance_at(aircraft, air, angle, axial_speed, throttle, moving.rotor_speed)
        drive = drive_past_friction(middle, direction)
        if abs(drive) < 1e-10:
            return middle
        # The Illinois weight: an end that stays twice counts half, so that a kink cannot stall the search.
        if drive > 0.0:
            moving, drive_moving = middle, drive
            if side == 1:
                drive_held *= 0.5
            side = 1
        else:
            held, drive_held = middle, drive
            if side == -1:
                drive_moving *= 0.5
            side = -1
    return held


@kernel_part
def governed_balance(
    aircraft: Aircraft, air: Air, axial_speed: float, throttle: float, near: float
) -> PitchBalance:
    """Blade angle at which a governed hub holds its speed, or the stop that it runs into.

    Arguments as for `balance_at`.
    """
    hub = aircraft.hub
    fine = balance_at(aircraft, air, hub.fine_stop, axial_speed, throttle, near)
    if fine.rotor_speed <= hub.governed_speed:
        return fine
    coarse = balance_at(aircraft, air, hub.coarse_stop, axial_speed, throttle, near)
    if coarse.rotor_speed >= hub.governed_speed:
        return coarse
    middle = fine
    for _ in range(60):
        if coarse.blade_angle - fine.blade_angle < ANGLE_TOLERANCE:
            break
        share = (fine.rotor_speed - hub.governed_speed) / (fine.rotor_speed - coarse.rotor_speed)
        share = min(max(share, 0.02), 0.98)
        angle = fine.blade_angle + share * (coarse.blade_angle - fine.blade_angle)
        middle = balance_at(aircraft, air, angle, axial_speed, throttle, hub.governed_speed)
        if abs(middle.rotor_speed - hub.governed_speed) < 1e-9:
            break
        if middle.rotor_speed > hub.governed_speed:
            fine = middle
        else:
            coarse = middle
    return middle


@kernel_part
def on_coarse_stop(hub: Hub, blade_angle: float) -> bool:
    """Whether a blade at a blade angle [rad] counts as coarse: on the stop or inside the lost motion."""
    return past_coarse_contact(hub, blade_angle) >= 0.0


@kernel_part
def on_fine_stop(hub: Hub, blade_angle: float) -> bool:
    """Whether a blade at a blade angle [rad] counts as fine."""
    return past_fine_contact(hub, blade_angle) >= 0.0


@kernel_part
def pitch_state(hub: Hub, blade_angle: float, moving: bool) -> int:
    """COARSE, SHIFTING, HUNG or FINE at a blade angle [rad]; `moving` tells the middle two apart.

    A fixed hub, whose stops are one, is always COARSE; blades that are driven never hang.
    """
    if on_coarse_stop(hub, blade_angle):
        return COARSE
    if on_fine_stop(hub, blade_angle):
        return FINE
    return SHIFTING if moving or hub.kind != TWO_STOP else HUNG


@kernel
def shift_speed(
    aircraft: Aircraft, air: Air, blade_angle: float, axial_speed: float, direction: int, breakaway: bool
) -> float:
    """Rotor speed at which the moments on a blade at a given angle just pay for friction [rad/s].

    Coming up from low speed the first passage counts. Zero if the lowest speed looked at is beyond it
    already, not a number if there is none below the top of the search.

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    blade_angle : at the reference station [rad]
    axial_speed : air speed at the disc [m/s]
    direction : TO_FINE for the speed above which the blade moves on toward fine, TO_COARSE for that below
        which it moves toward coarse
    breakaway : whether the friction is that of a blade at rest
    """
    top = highest_searched_speed(aircraft)
    steps = 40
    low = 0.02 * top
    if fine_surplus(aircraft, air, blade_angle, low, axial_speed, direction, breakaway) > 0.0:
        return 0.0
    for i in range(1, steps + 1):
        high = top * (0.02 + 0.98 * i / steps)
        if fine_surplus(aircraft, air, blade_angle, high, axial_speed, direction, breakaway) > 0.0:
            return close_in_shift_speed(
                aircraft, air, blade_angle, axial_speed, direction, breakaway, low, high
            )
        low = high
    return float("nan")


@kernel_part
def fine_surplus(
    aircraft: Aircraft,
    air: Air,
    blade_angle: float,
    rotor_speed: float,
    axial_speed: float,
    direction: int,
    breakaway: bool,
) -> float:
    """Fine-going moment less the spring and, with its sign, friction [N m], throttle closed.

    At a rotor speed [rad/s]; the other arguments as for `shift_speed`.
    """
    state = rotor_state(aircraft, air, blade_angle, rotor_speed, axial_speed, 0.0)
    factor = aircraft.hub.breakaway if breakaway else 1.0
    return -net_moment(state.moments) + direction * factor * state.moments.friction


@kernel_part
def close_in_shift_speed(
    aircraft: Aircraft,
    air: Air,
    blade_angle: float,
    axial_speed: float,
    direction: int,
    breakaway: bool,
    low: float,
    high: float,
) -> float:
    """Bisect the rotor speed of a shift [rad/s], robust against kinks of the section data.

    Between rotor speeds `low` and `high` [rad/s]; the other arguments as for `shift_speed`.
    """
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        if fine_surplus(aircraft, air, blade_angle, middle, axial_speed, direction, breakaway) > 0.0:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
