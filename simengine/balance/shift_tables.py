"""Shift speeds and margins of thousands of hubs on one propeller, from tables of the air's pitch moment.

Springs, washers, friction, stops, counterweights and the mass of the blades do not change the air's loads.
So the air's moment (`air_tables`) and full throttle by the blade angle are tabulated once, and a blade set
wrong is only a shift along the angle. The moments are those of `mechanism`, blade by blade; blades that are
linked move together under the mean of theirs.
"""

from math import isnan, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.balance.air_tables import AirMoment, add_profile, air_moment_at, cubic_value
from simengine.compiled import kernel
from simengine.models.inertia import BladeInertia, centrifugal_moment
from simengine.models.mechanism import (
    TWO_STOP,
    Hub,
    Spring,
    counterweight_moment,
    friction_moment,
    spring_moment,
)

Array = NDArray[np.float64]

HUB_FIELDS = (
    "coarse_stop",
    "fine_stop",
    "lost_motion",
    "spring_linear",
    "spring_quadratic",
    "spring_cubic",
    "preload",
    "lever_arm",
    "lever_angle",
    "share",
    "friction_share",
    "friction_constant",
    "friction_arm",
    "breakaway",
    "counterweight_sin2",
    "counterweight_cos2",
    "first_moment",
    "inertia_sin2",
    "inertia_cos2",
    "inertia_sin1",
    "inertia_cos1",
)
BLADE_FIELDS = ("angle_error", "spring_factor", "mass_factor", "friction_factor")
FIGURES = (
    "shift_begin",
    "shift_finish",
    "return_begin",
    "return_finish",
    "speed_coarse",
    "speed_fine",
    "margin_speed",
    "margin_moment",
    "drive",
    "blade_angle",
    "full_throttle",
    "begin_spread",
    "finish_spread",
)
(BEGIN, FINISH, RETURN_BEGIN, RETURN_FINISH, COARSE_SPEED, FINE_SPEED, MARGIN_SPEED, MARGIN_MOMENT) = range(8)
DRIVE, ANGLE, FULL, BEGIN_SPREAD, FINISH_SPREAD = range(8, 13)

WALK = 0.004363323129985824  # 0.25 deg between blade angles looked at on the way to the fine stop [rad]


class FullThrottleLine(NamedTuple):
    """Full throttle with the blades held, by the blade angle.

    Attributes
    ----------
    angle_first, angle_step : float
        [rad].
    rotor_speed : NDArray
        Shape (angle,) [rad/s].
    axial_speed : NDArray
        Air speed at the disc, shape (angle,) [m/s].
    """

    angle_first: float
    angle_step: float
    rotor_speed: Array
    axial_speed: Array


class Standing(NamedTuple):
    """A blade (or the mean of the linked ones) at an angle: moments apart from the air's.

    `spring` [N m] and `inertial` [kg m2], `spring + inertial x
    speed2` toward coarse; `friction` [N m] and `friction_pull` [kg m2], `friction + friction_pull x speed2`
    the most friction holds.
    """

    spring: float
    inertial: float
    friction: float
    friction_pull: float


@kernel
def hub_of(row: Array) -> Hub:
    """A hub from its numbers in a `row`, shape (21,), in the order and SI units of `HUB_FIELDS`."""
    spring = Spring(row[3], row[4], row[5], row[6], row[7], row[8], row[9], row[10])
    return Hub(
        TWO_STOP,
        row[0],
        row[1],
        spring,
        row[2],
        row[11],
        row[12],
        row[13],
        row[14],
        row[15],
        0.0,
        0.0,
        1.0,
        0.0,
        0.0,
    )


@kernel
def inertia_of_row(row: Array) -> BladeInertia:
    """Mass properties of a blade from the end of the same `row`, shape (21,)."""
    return BladeInertia(0.0, row[16], 0.0, 0.0, row[17], row[18], row[19], row[20])


@kernel
def standing(hub: Hub, inertia: BladeInertia, blades: Array, blade_angle: float) -> Standing:
    """Mean over `blades`, shape (count, 4), in the order of `BLADE_FIELDS`, at a hub's blade angle [rad]."""
    spring, inertial, friction, pull = 0.0, 0.0, 0.0, 0.0
    count = blades.shape[0]
    for b in range(count):
        angle, mass = blade_angle + blades[b, 0], blades[b, 2]
        push = blades[b, 1] * spring_moment(hub, blade_angle)
        spring += push / count
        inertial += mass * centrifugal_moment(inertia, angle, 1.0) / count
        inertial += counterweight_moment(hub, angle, 1.0) / count
        at_rest = friction_moment(hub, inertia, push, 0.0)
        friction += blades[b, 3] * at_rest / count
        pull += blades[b, 3] * mass * (friction_moment(hub, inertia, push, 1.0) - at_rest) / count
    return Standing(spring, inertial, friction, pull)


@kernel
def surplus(here: Standing, air_moment: float, rotor_speed: float, friction: float) -> float:
    """Fine-going moment with `friction` [1] times its limit added [N m].

    At an `air_moment` toward coarse [N m] and a rotor speed [rad/s].
    """
    square = rotor_speed * rotor_speed
    held = friction * (here.friction + here.friction_pull * square)
    return held - (here.spring + here.inertial * square + air_moment)


@kernel
def passage(table: AirMoment, profile: Array, here: Standing, friction: float) -> float:
    """Rotor speed above which the surplus is positive, first from below [rad/s].

    `profile` is the air's moment on the speeds of the table, shape (speed,) [N m], `friction` as for
    `surplus` [1]. As `shift_speed`: zero where it is so from the lowest on, not a number where it never is.
    """
    before = surplus(here, profile[0], table.speed_first, friction)
    if isnan(before):
        return nan
    if before > 0.0:
        return 0.0
    for k in range(1, profile.size):
        high = table.speed_first + k * table.speed_step
        after = surplus(here, profile[k], high, friction)
        if after > 0.0:
            return close_in_passage(table, profile, here, friction, high - table.speed_step, before, after)
        before = after
    return nan


@kernel
def close_in_passage(
    table: AirMoment,
    profile: Array,
    here: Standing,
    friction: float,
    low: float,
    at_low: float,
    at_high: float,
) -> float:
    """Root of the surplus in one step of the table [rad/s], by false position with the Illinois weight.

    From `low` [rad/s], where it is `at_low`, to a step on, where it is `at_high` [N m]; else as for
    `passage`.
    """
    high, side = low + table.speed_step, 0
    for _ in range(60):
        if high - low <= 1e-9 * high:
            break
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        air_moment = cubic_value(profile, middle, table.speed_first, table.speed_step)
        value = surplus(here, air_moment, middle, friction)
        if abs(value) < 1e-11:
            return middle
        if value > 0.0:
            high, at_high = middle, value
            at_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, at_low = middle, value
            at_high *= 0.5 if side == -1 else 1.0
            side = -1
    return 0.5 * (low + high)


@kernel
def drive_at(
    table: AirMoment,
    line: FullThrottleLine,
    hub: Hub,
    inertia: BladeInertia,
    blades: Array,
    blade_angle: float,
    error: float,
    axial_speed: float,
) -> float:
    """Fine-going moment left on one blade at full throttle, friction paid [N m].

    `blades` of shape (count, 4), at a blade angle [rad], `error` the mean angle error of all blades [rad],
    and an `axial_speed` at the disc [m/s].
    """
    speed = cubic_value(line.rotor_speed, blade_angle + error, line.angle_first, line.angle_step)
    moment = 0.0
    for b in range(blades.shape[0]):
        moment += air_moment_at(table, blade_angle + blades[b, 0], speed, axial_speed) / blades.shape[0]
    factor = hub.breakaway if blade_angle >= hub.coarse_stop else 1.0
    return surplus(standing(hub, inertia, blades, blade_angle), moment, speed, -factor)


@kernel
def way_to_fine(
    table: AirMoment,
    line: FullThrottleLine,
    hub: Hub,
    inertia: BladeInertia,
    blades: Array,
    error: float,
    axial_speed: float,
) -> tuple[float, float, float]:
    """Least drive on the way, drive on the fine stop [N m], and where the blade comes to rest [rad].

    Arguments as for `drive_at`.
    """
    travel = hub.coarse_stop - hub.fine_stop
    count = max(int(travel / WALK + 0.5), 4)
    least, resting, before, drive = np.inf, hub.fine_stop, hub.coarse_stop, nan
    held = False
    for i in range(count + 1):
        angle = hub.fine_stop if i == count else hub.coarse_stop - travel * i / count
        drive = drive_at(table, line, hub, inertia, blades, angle, error, axial_speed)
        least = drive if drive < least or isnan(drive) else least
        if drive <= 0.0 and not held:
            held, resting = True, angle
            moving = before
            for _ in range(40 if i > 0 else 0):
                middle = 0.5 * (moving + resting)
                # A blade that hangs climbs at an air speed of its own.
                axial = cubic_value(line.axial_speed, middle + error, line.angle_first, line.angle_step)
                if drive_at(table, line, hub, inertia, blades, middle, error, axial) > 0.0:
                    moving = middle
                else:
                    resting = middle
        before = angle
    return least, drive, resting


@kernel
def one_hub(
    table: AirMoment, line: FullThrottleLine, row: Array, blades: Array, error: float, work: Array, out: Array
) -> None:
    """Figures of a blade, or of linked ones, written to `out`, shape (13,), in the order of `FIGURES`.

    `row` as for `hub_of`, shape (21,); `blades` and `error` as for `drive_at`; `work` of shape (speed,),
    written.
    """
    hub, inertia = hub_of(row), inertia_of_row(row)
    edge = hub.coarse_stop - hub.lost_motion
    axial_speed = cubic_value(line.axial_speed, hub.fine_stop + error, line.angle_first, line.angle_step)
    for at_fine in range(2):
        angle = hub.fine_stop if at_fine == 1 else edge
        work[:] = 0.0
        for b in range(blades.shape[0]):
            add_profile(table, angle + blades[b, 0], axial_speed, 1.0 / blades.shape[0], work)
        here = standing(hub, inertia, blades, angle)
        going = passage(table, work, here, -1.0 if at_fine == 1 else -hub.breakaway)
        coming = passage(table, work, here, hub.breakaway if at_fine == 1 else 1.0)
        out[FINISH if at_fine == 1 else BEGIN] = going
        out[RETURN_BEGIN if at_fine == 1 else RETURN_FINISH] = coming if coming > 0.0 else nan
    coarse, fine = hub.coarse_stop + error, hub.fine_stop + error
    out[COARSE_SPEED] = cubic_value(line.rotor_speed, coarse, line.angle_first, line.angle_step)
    out[FINE_SPEED] = cubic_value(line.rotor_speed, fine, line.angle_first, line.angle_step)
    out[MARGIN_SPEED] = out[FINE_SPEED] - out[FINISH]
    least, on_fine, resting = way_to_fine(table, line, hub, inertia, blades, error, axial_speed)
    out[DRIVE], out[MARGIN_MOMENT], out[ANGLE] = least, on_fine, resting
    out[FULL] = cubic_value(line.rotor_speed, resting + error, line.angle_first, line.angle_step)
    out[BEGIN_SPREAD], out[FINISH_SPREAD] = 0.0, 0.0


@kernel
def shift_figures(
    table: AirMoment, line: FullThrottleLine, linked: bool, hubs: Array, blades: Array, out: Array
) -> None:
    """Figures of many hubs in one condition; speeds are those of the rotor [rad/s], the rest SI.

    Parameters
    ----------
    table, line : the air's moment and full throttle in that condition
    linked : whether the blades of a hub move together
    hubs : numbers in the order of `HUB_FIELDS`, shape (n, 21)
    blades : differences of the blades in the order of `BLADE_FIELDS`, shape (n, blades, 4)
    out : written, in the order of `FIGURES`, shape (n, 13)

    Notes
    -----
    Of blades that are not linked the first to leave a stop and the last to arrive on one counts, and the
    least margin; each is taken at the rotor speed of blades that all stand as it does.
    """
    work = np.empty(table.moment.shape[2])
    single = np.empty(len(FIGURES))
    count = blades.shape[1]
    for i in range(hubs.shape[0]):
        if isnan(hubs[i, 0]):  # a hub that cannot be built
            for k in range(out.shape[1]):
                out[i, k] = nan
            continue
        error = 0.0
        for b in range(count):
            error += blades[i, b, 0] / count
        if linked:
            one_hub(table, line, hubs[i], blades[i], error, work, out[i])
            continue
        for b in range(count):
            one_hub(table, line, hubs[i], blades[i, b : b + 1], error, work, single)
            worst_of(single, out[i], b == 0)


@kernel
def worst_of(one: Array, out: Array, first: bool) -> None:
    """Put figures of `one` more blade of a hub without a link to those before, `out`, shape (13,) each.

    The `first` is taken as it is; a NaN stays.
    """
    if first:
        for k in range(out.size):
            out[k] = one[k]
        return
    begin, finish = out[BEGIN], out[FINISH]
    latest_begin = max(begin + out[BEGIN_SPREAD], one[BEGIN])
    earliest_finish = min(finish - out[FINISH_SPREAD], one[FINISH])
    out[BEGIN] = keep_nan(begin, one[BEGIN], min(begin, one[BEGIN]))
    out[FINISH] = keep_nan(finish, one[FINISH], max(finish, one[FINISH]))
    out[BEGIN_SPREAD] = latest_begin - out[BEGIN]
    out[FINISH_SPREAD] = out[FINISH] - earliest_finish
    out[RETURN_BEGIN] = keep_nan(
        out[RETURN_BEGIN], one[RETURN_BEGIN], max(out[RETURN_BEGIN], one[RETURN_BEGIN])
    )
    out[RETURN_FINISH] = keep_nan(
        out[RETURN_FINISH], one[RETURN_FINISH], min(out[RETURN_FINISH], one[RETURN_FINISH])
    )
    for k in (MARGIN_SPEED, MARGIN_MOMENT, DRIVE):
        out[k] = keep_nan(out[k], one[k], min(out[k], one[k]))
    if one[ANGLE] > out[ANGLE]:
        out[ANGLE], out[FULL] = one[ANGLE], one[FULL]


@kernel
def keep_nan(one: float, other: float, value: float) -> float:
    """A `value` of two, any unit, not a number if `one` or the `other` is none, any unit too."""
    return nan if isnan(one) or isnan(other) else value
