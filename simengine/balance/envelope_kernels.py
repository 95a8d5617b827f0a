"""Pitch and rotor carried along a slow change of throttle, for maps and sweeps.

The balances are those of `pitch_balance`; only the way to them is shorter. A blade that rests needs the
rotor speed alone, by the secant method from the last; one that slides is followed by Broyden's method
from the last place. Whatever does not settle at once, snaps and stops among it, goes the long way.
"""

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft, rotor_state
from simengine.balance.pitch import PitchBalance, balance_at, pitch_balance
from simengine.compiled import kernel
from simengine.constants import DEGREE
from simengine.models.atmosphere import Air
from simengine.models.friction import REST, movement_from_rest
from simengine.models.mechanism import TWO_STOP, Hub, net_moment

FIRST_STEP = 0.003  # of the rotor speed
LARGEST_STEP = 0.12  # of the rotor speed, in one step of the secant
SPEED_TOLERANCE = 1e-7  # of the rotor speed
ANGLE_TOLERANCE = 1e-8  # [rad]
SLOWEST = 5.0  # below this rotor speed the long way [rad/s]
FARTHEST = 1.0 * DEGREE  # a blade that goes farther at one step of throttle may have met a balance before
INCREMENT = 1e-4  # of angle [rad] and of rotor speed [1], for the first slopes
NOTHING = PitchBalance(float("nan"), float("nan"), float("nan"), float("nan"))


@kernel
def throttle_branch(
    aircraft: Aircraft,
    air: Air,
    axial_speed: float,
    throttles: NDArray[np.float64],
    first_angle: float,
    angles: NDArray[np.float64],
    speeds: NDArray[np.float64],
) -> None:
    """Write blade angle [rad] and rotor speed [rad/s] for throttles taken one after the other.

    The blade begins at `first_angle` and is carried along, so that opening and closing the throttle give two
    branches where there are two.

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    axial_speed : air speed at the disc [m/s]
    throttles : openings, 0 to 1, shape (n,) [1]
    first_angle : where the blade begins [rad]
    angles, speeds : written, shape (n,) each [rad], [rad/s]
    """
    here = pitch_balance(aircraft, air, first_angle, axial_speed, throttles[0], 0.0)
    direction, change = REST, 0.0
    for i in range(throttles.size):
        near = here.rotor_speed + change
        after, direction = next_balance(aircraft, air, here, near, direction, axial_speed, throttles[i])
        change = after.rotor_speed - here.rotor_speed if direction == REST else 0.0
        here = after
        angles[i], speeds[i] = here.blade_angle, here.rotor_speed


@kernel
def next_balance(
    aircraft: Aircraft,
    air: Air,
    here: PitchBalance,
    near: float,
    direction: int,
    axial_speed: float,
    throttle: float,
) -> tuple[PitchBalance, int]:
    """The balance at a throttle a little changed, and which way the blade slid to it.

    `here` is the balance before, reached in a `direction` (REST, TO_COARSE, TO_FINE); `near` is a rotor speed
    to look around [rad/s], `axial_speed` the air speed at the disc [m/s], `throttle` the new opening [1].
    """
    hub = aircraft.hub
    if hub.kind != TWO_STOP or here.rotor_speed < SLOWEST:
        return pitch_balance(aircraft, air, here.blade_angle, axial_speed, throttle, here.rotor_speed), REST
    if direction != REST and hub.breakaway == 1.0:
        slid = slid_balance(aircraft, air, here, direction, axial_speed, throttle)
        if slid.rotor_speed > 0.0:
            return slid, direction
    resting = resting_balance(aircraft, air, here.blade_angle, near, axial_speed, throttle)
    direction = direction_from_rest(hub, resting)
    if direction == REST:
        return resting, REST
    slid = slid_balance(aircraft, air, resting, direction, axial_speed, throttle)
    if slid.rotor_speed > 0.0:
        return slid, direction
    return pitch_balance(aircraft, air, here.blade_angle, axial_speed, throttle, here.rotor_speed), REST


@kernel
def direction_from_rest(hub: Hub, resting: PitchBalance) -> int:
    """Which way a resting blade sets off, if it does."""
    return movement_from_rest(
        resting.net,
        hub.breakaway * resting.friction,
        resting.blade_angle < hub.coarse_stop,
        resting.blade_angle > hub.fine_stop,
    )


@kernel
def left_over(
    aircraft: Aircraft, air: Air, blade_angle: float, rotor_speed: float, axial_speed: float, throttle: float
) -> tuple[float, float, float]:
    """Torque left to speed the rotor up, net pitch moment and friction of one blade [N m].

    Arguments as for `rotor_state`; the moment is positive toward coarse, the friction that in motion.
    """
    state = rotor_state(aircraft, air, blade_angle, rotor_speed, axial_speed, throttle)
    return state.drive.rotor_torque - state.loads.torque, net_moment(state.moments), state.moments.friction


@kernel
def resting_balance(
    aircraft: Aircraft, air: Air, blade_angle: float, near: float, axial_speed: float, throttle: float
) -> PitchBalance:
    """Rotor in torque balance with the blade at rest at a blade angle [rad], by the secant method.

    `near` is a rotor speed to begin at, above zero [rad/s], `axial_speed` the air speed at the disc [m/s],
    `throttle` the opening [1].
    """
    before = near
    torque_before, _, _ = left_over(aircraft, air, blade_angle, before, axial_speed, throttle)
    speed = before * (1.0 + (FIRST_STEP if torque_before > 0.0 else -FIRST_STEP))
    for _ in range(12):
        torque, net, friction = left_over(aircraft, air, blade_angle, speed, axial_speed, throttle)
        slope = (torque - torque_before) / (speed - before)
        if not slope < 0.0:
            break
        step = -torque / slope
        if abs(step) < SPEED_TOLERANCE * speed:
            return PitchBalance(blade_angle, speed, net, friction)
        step = min(max(step, -LARGEST_STEP * speed), LARGEST_STEP * speed)
        before, torque_before = speed, torque
        speed += step
    return balance_at(aircraft, air, blade_angle, axial_speed, throttle, near)


@kernel
def slid_balance(
    aircraft: Aircraft, air: Air, start: PitchBalance, direction: int, axial_speed: float, throttle: float
) -> PitchBalance:
    """Where a blade that slides one way comes to rest between the stops, by Broyden's method.

    From `start` in a `direction`, TO_COARSE or TO_FINE, at an `axial_speed` of the air at the disc [m/s] and
    a `throttle` [1]. Not a number if it does not settle near, if it would go the other way, or if the balance
    found is one that a sliding blade runs through: C. G. Broyden, Math. Comp. 19 (1965) 577 (good update).
    """
    hub = aircraft.hub
    angle, speed = start.blade_angle, start.rotor_speed
    torque, net, friction = left_over(aircraft, air, angle, speed, axial_speed, throttle)
    drive = direction * net - friction
    d_angle, d_speed = direction * INCREMENT, INCREMENT * speed
    torque_a, net_a, friction_a = left_over(aircraft, air, angle + d_angle, speed, axial_speed, throttle)
    torque_s, net_s, friction_s = left_over(aircraft, air, angle, speed + d_speed, axial_speed, throttle)
    a11, a12 = (torque_a - torque) / d_angle, (torque_s - torque) / d_speed
    a21 = (direction * net_a - friction_a - drive) / d_angle
    a22 = (direction * net_s - friction_s - drive) / d_speed
    for _ in range(12):
        determinant = a11 * a22 - a12 * a21
        if determinant == 0.0:
            break
        step_a = -(a22 * torque - a12 * drive) / determinant
        step_s = -(a11 * drive - a21 * torque) / determinant
        angle, speed = angle + step_a, speed + step_s
        moved = direction * (angle - start.blade_angle)
        inside = hub.fine_stop < angle < hub.coarse_stop
        if not (inside and -ANGLE_TOLERANCE < moved < FARTHEST and speed > SLOWEST):
            break
        if abs(step_a) < ANGLE_TOLERANCE and abs(step_s) < SPEED_TOLERANCE * speed:
            runs_through = direction * (a21 * a12 - a22 * a11) * (1.0 if a12 > 0.0 else -1.0) > 0.0
            return NOTHING if runs_through or a12 >= 0.0 else PitchBalance(angle, speed, net, friction)
        torque, net, friction = left_over(aircraft, air, angle, speed, axial_speed, throttle)
        drive = direction * net - friction
        # scaled so that a degree of angle weighs as much as one per cent of speed
        weight_a, weight_s = step_a / DEGREE**2, step_s / (0.01 * start.rotor_speed) ** 2
        length = step_a * weight_a + step_s * weight_s
        a11, a12 = a11 + torque * weight_a / length, a12 + torque * weight_s / length
        a21, a22 = a21 + drive * weight_a / length, a22 + drive * weight_s / length
    return NOTHING
