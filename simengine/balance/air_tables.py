"""Air's pitch moment on a blade, tabulated once for one air; between the places a cubic holds.

The cubic goes through the four nearest places along each of axial speed, blade angle and rotor speed.
"""

from math import nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.momentum import rotor_loads

Array = NDArray[np.float64]

BEYOND = 0.5  # of a step: so far outside its first or last place a table is still read


class AirMoment(NamedTuple):
    """Air's pitch moment on one blade in one air.

    Attributes
    ----------
    axial_first, axial_step : float
        Air speed at the disc [m/s].
    angle_first, angle_step : float
        [rad].
    speed_first, speed_step : float
        Of the rotor [rad/s].
    moment : NDArray
        Shape (axial, angle, speed) [N m], positive toward coarse.
    """

    axial_first: float
    axial_step: float
    angle_first: float
    angle_step: float
    speed_first: float
    speed_step: float
    moment: Array


@kernel
def fill_air_moment(
    blade: Blade, air: Air, axials: Array, angles: Array, speeds: Array, moment: Array
) -> None:
    """Write the air's moment on one blade at all places, toward coarse [N m].

    `axials` [m/s], `angles` [rad] and `speeds` of the rotor [rad/s] of shape (axial,), (angle,) and (speed,);
    `moment` of shape (axial, angle, speed) is written.
    """
    for i in range(axials.size):
        for j in range(angles.size):
            for k in range(speeds.size):
                moment[i, j, k] = rotor_loads(blade, angles[j], speeds[k], axials[i], air).air_moment


@kernel
def cubic_place(value: float, first: float, step: float, count: int) -> tuple[int, float]:
    """First of the four nearest places, and how far from it in steps [1]; the latter NaN outside the table.

    A table of `count` places, 4 or more, that begins at `first` and goes on by `step`, both in the unit of
    the `value` (any unit).
    """
    place = (value - first) / step
    start = min(max(int(np.floor(place)) - 1, 0), count - 4)
    inside = -BEYOND <= place <= count - 1 + BEYOND
    return start, place - start if inside else nan


@kernel
def cubic_weight(number: int, at: float) -> float:
    """Weight [1] of place `number` 0 to 3 in the cubic through those four (Lagrange), `at` steps on [1]."""
    if number == 0:
        return -(at - 1.0) * (at - 2.0) * (at - 3.0) / 6.0
    if number == 1:
        return 0.5 * at * (at - 2.0) * (at - 3.0)
    if number == 2:
        return -0.5 * at * (at - 1.0) * (at - 3.0)
    return at * (at - 1.0) * (at - 2.0) / 6.0


@kernel
def cubic_value(values: Array, value: float, first: float, step: float) -> float:
    """A line of a table, `values` of shape (n,), n 4 or more, in any unit, read at a `value`; NaN outside.

    The line begins at `first` and goes on by `step`, both in the unit of the `value` (any unit).
    """
    start, at = cubic_place(value, first, step, values.size)
    total = 0.0
    for number in range(4):
        total += cubic_weight(number, at) * values[start + number]
    return total


@kernel
def add_profile(table: AirMoment, angle: float, axial_speed: float, share: float, profile: Array) -> None:
    """Add a blade's moment over the rotor speeds of the table, [N m], to `profile`, shape (speed,).

    The table is read at a blade `angle` [rad] and an `axial_speed` [m/s]; `share` [1] multiplies it. NaN
    outside.
    """
    count_axial, count_angle, _ = table.moment.shape
    i, at_axial = cubic_place(axial_speed, table.axial_first, table.axial_step, count_axial)
    j, at_angle = cubic_place(angle, table.angle_first, table.angle_step, count_angle)
    for a in range(4):
        for b in range(4):
            weight = share * cubic_weight(a, at_axial) * cubic_weight(b, at_angle)
            for k in range(profile.size):
                profile[k] += weight * table.moment[i + a, j + b, k]


@kernel
def air_moment_at(table: AirMoment, angle: float, rotor_speed: float, axial_speed: float) -> float:
    """Air's moment on one blade, toward coarse [N m]; NaN outside the table.

    At a blade `angle` [rad], a rotor speed [rad/s] and an `axial_speed` of the air at the disc [m/s].
    """
    count_axial, count_angle, count_speed = table.moment.shape
    i, at_axial = cubic_place(axial_speed, table.axial_first, table.axial_step, count_axial)
    j, at_angle = cubic_place(angle, table.angle_first, table.angle_step, count_angle)
    k, at_speed = cubic_place(rotor_speed, table.speed_first, table.speed_step, count_speed)
    total = 0.0
    for a in range(4):
        for b in range(4):
            weight = cubic_weight(a, at_axial) * cubic_weight(b, at_angle)
            for c in range(4):
                total += weight * cubic_weight(c, at_speed) * table.moment[i + a, j + b, k + c]
    return total
