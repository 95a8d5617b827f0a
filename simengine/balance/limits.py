"""Limits of the propeller model: which of them a blade runs into, and the words for it.

Flights and envelopes look at different points, but say the same about them. A sentence holds the figure, the
bound and the place; `where` is that place in words, such as "in the climb at 12 s".
"""

from collections.abc import Iterator
from math import pi
from typing import NamedTuple

import numpy as np

from simengine.compiled import kernel
from simengine.constants import DEGREE, RPM
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.distribution import rotor_distribution
from simengine.models.element import element_solution
from simengine.models.polars import FIRST_ANGLE, LAST_ANGLE, LOG_REYNOLDS, Polar
from simengine.models.sections import HIGHEST_REYNOLDS, LOWEST_REYNOLDS, Sections
from simengine.models.windup import TorsionBlade, centrifugal_twist, wind_up

STALLED_SHARE = 0.15  # more of the disc than this beyond its stall is worth a word
HIGH_TIP_MACH = 0.7  # the families' Mach rules are held from here on
PLATE_SHARE = 0.01  # more of the disc than this outside the angles of the user's polar is worth a word
NOTABLE_WIND_UP = 0.3 * DEGREE  # of the tip: a third of what nominally equal propellers differ by


class DiscPoint(NamedTuple):
    """What a propeller runs at: `blade_angle` at the reference station [rad], `rotor_speed` [rad/s], the air.

    `axial_speed` is the air speed at the disc [m/s].
    """

    blade_angle: float
    rotor_speed: float
    axial_speed: float
    air: Air


def polar_of(sections: Sections) -> Polar | None:
    """The user's own section, if the blade has one."""
    return sections.polar if len(sections.polar.lines) else None


def reynolds_range(sections: Sections) -> tuple[float, float]:
    """Lowest and highest Reynolds number that the section data are for [1]."""
    polar = polar_of(sections)
    if polar is None:
        return LOWEST_REYNOLDS, HIGHEST_REYNOLDS
    return float(np.exp(polar.lines[0, LOG_REYNOLDS])), float(np.exp(polar.lines[-1, LOG_REYNOLDS]))


def polar_angles(polar: Polar) -> tuple[float, float]:
    """First and last angle that the user's polar has at every Reynolds number [rad]."""
    return float(polar.lines[:, FIRST_ANGLE].max()), float(polar.lines[:, LAST_ANGLE].min())


@kernel
def share_outside(
    blade: Blade,
    first: float,
    last: float,
    blade_angle: float,
    rotor_speed: float,
    axial_speed: float,
    air: Air,
) -> float:
    """Share of the bladed disc [1] whose angle of attack is outside `first` to `last` [rad].

    At a blade angle [rad], a rotor speed [rad/s] and an `axial_speed` of the air at the disc [m/s].
    """
    outside, area = 0.0, 0.0
    for i in range(len(blade.radius)):
        attack = element_solution(blade, i, blade_angle, rotor_speed, axial_speed, air).attack_angle
        attack -= 2.0 * pi * np.floor(0.5 + attack / (2.0 * pi))
        ring = blade.radius[i] * blade.width[i]
        area += ring
        if attack < first or attack > last:
            outside += ring
    return outside / area


def stalled_words(blade: Blade, point: DiscPoint, share: float, where: str) -> Iterator[str]:
    """How much of the disc is beyond its stall, `share` [1], and which part at a point, told as `where`."""
    if share <= STALLED_SHARE:
        return
    along = rotor_distribution(blade, *point)
    stalled = along.radius[along.stalled > 0.0] / blade.tip_radius
    ends = (100.0 * stalled.min(), 100.0 * stalled.max()) if stalled.size else (0.0, 100.0)
    yield (
        f"up to {100 * share:.0f} % of the disc was beyond its stall, between {ends[0]:.0f} and "
        f"{ends[1]:.0f} % of the radius, {where}: thrust and torque are less certain there"
    )


def mach_words(mach: float, where: str) -> Iterator[str]:
    """Too fast a tip, at a Mach number `mach` [1], told as `where`."""
    if mach > HIGH_TIP_MACH:
        yield (
            f"the blade tip reached Mach {mach:.2f} {where}, above the {HIGH_TIP_MACH:.2f} that the section "
            "data are meant for: thrust comes out too high and drag too low there"
        )


def reynolds_words(sections: Sections, lowest: float, highest: float) -> Iterator[str]:
    """Reynolds numbers from `lowest` to `highest` [1] outside those of the section data."""
    low, high = reynolds_range(sections)
    data = "the section data are" if polar_of(sections) is None else "your polar is"
    if lowest < low:
        yield (
            f"a part of the blade ran at Reynolds numbers down to {lowest:.0f}, below the {low:.0f} that "
            f"{data} meant for: its drag and lift are held there"
        )
    if highest > high:
        yield (
            f"a part of the blade ran at Reynolds numbers up to {highest:.0f}, above the {high:.0f} that "
            f"{data} meant for: its drag and lift are held there"
        )


def outside_polar_words(polar: Polar, share: float, where: str) -> Iterator[str]:
    """Angles of attack beyond those of the user's polar on a `share` of the disc [1], told as `where`."""
    if share > PLATE_SHARE:
        first, last = polar_angles(polar)
        yield (
            f"up to {100 * share:.0f} % of the disc met angles of attack outside your polar, "
            f"{first / DEGREE:.0f} to {last / DEGREE:.0f} deg, {where}: there its lift and drag are "
            "extrapolated toward those of a flat plate"
        )


def air_moment_words(factor: float) -> str:
    """Every result of a hub that shifts by blade loads rests on a moment that nobody has measured.

    `factor` is the `air_moment_factor` of the machine [1].
    """
    scaled = "taken as computed" if factor == 1.0 else f"scaled by {factor:g}"
    return (
        f"the air's twisting moment has no measured source, it is {scaled}: fit air_moment_factor to a "
        "ground run before you trust a shift speed"
    )


def wind_up_words(
    blade: Blade, torsion: TorsionBlade | None, point: DiscPoint, factor: float
) -> Iterator[str]:
    """A blade that its twisting moments turn by an angle that matters, at full throttle.

    `factor` is the `air_moment_factor` of the machine [1]; nothing is said without a blade under torsion.
    """
    if torsion is None:
        return
    along = rotor_distribution(blade, *point)
    moment = factor * along.air_moment * blade.width
    moment = moment + centrifugal_twist(torsion.masses, point.blade_angle, point.rotor_speed)
    angle = float(wind_up(torsion, moment, point.rotor_speed)[-1])
    if abs(angle) > NOTABLE_WIND_UP:
        toward = "coarse" if angle > 0.0 else "fine"
        yield (
            f"at full throttle, {point.rotor_speed / RPM:.0f} propeller rpm, the blade's tip winds up by "
            f"about {abs(angle) / DEGREE:.1f} deg toward {toward}: the model's blade is stiff"
        )
