"""Blade sections: lift, drag and moment at any angle of attack.

Attached flow is a straight lift line with a drag parabola; near the greatest lift the line rounds off
into a parabola, reaches that lift exactly, and from there on the section turns into a flat plate over the
stall width. Every curve has a continuous slope over the whole turn, so that root finders and finite
differences stay at ease.

Plate: normal force of S. F. Hoerner, Fluid-Dynamic Drag (1965), `1 / (0.222 + 0.283 / sin(alpha))` for the
flat plate, in the form scaled to the section's own value at 90 deg that C. Lindenburg, ECN-C-03-025 (2003),
uses (both from memory). Centre of pressure from 0.325 of the chord at 0 deg through the middle at 90 deg to
0.675 at 180 deg (form from memory, source not seen). Lift of reversed flow near 180 deg is that of the plate,
below measured values.

Rotation delays stall near the root: H. Snel, R. Houwink, J. Bosschers, ECN-C-93-052 (1993), add the share
`3 (chord/radius)^2` of the lift that stall has taken; bounded here by a tanh and let go between 30 and
60 deg, as is usual (from memory).

Drag rise with Mach number: Lock's fourth-power law from Korn's critical Mach number (from memory).
"""

from math import cos, exp, floor, log10, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel, kernel_part
from simengine.models.polars import (
    LIFT_SLOPE,
    NO_POLAR,
    STALL_ABOVE,
    STALL_BELOW,
    ZERO_LIFT_ANGLE,
    Polar,
    polar_coefficients,
    polar_line,
    polar_place,
    stretched,
)

LOWEST_REYNOLDS, HIGHEST_REYNOLDS = 2.0e4, 3.0e6  # range that the families are meant for
KNEE = 0.1  # decades of Reynolds number to either side of the reference over which its laws change
LOG_TEN = 2.302585092994046
PLATE_FLOOR, PLATE_SINE = 0.56, 0.44  # Hoerner, 0.283 and 0.222 over their sum, from memory
PLATE_CENTRE_START, PLATE_CENTRE_GROWTH = 0.325, 0.35  # share of chord; growth over 180 deg, from memory
QUARTER_CHORD = 0.25
PLATE_DRAG = 1.80  # 0021 at 90 deg: Sheldahl and Klimas, SAND80-2114 (1981)
LOCK_FACTOR = 20.0  # Lock's law 20 (M - critical)^4, from memory
NO_LIMIT = 1.0e6  # stands for never
KORN_LIFT = 0.1  # fall of the critical Mach number with lift, Korn's relation, from memory
DELAY_START, DELAY_FADE = pi / 6.0, pi / 6.0  # rad of attack: where stall delay begins to end, and over which


class Sections(NamedTuple):
    """Section parameters of every blade element; every field is an array of shape (n,).

    Attributes
    ----------
    zero_lift_angle : NDArray
        Against the chord line [rad].
    lift_slope : NDArray
        Incompressible [1/rad].
    lift_max, lift_min : NDArray
        Greatest lift on either side at the reference Reynolds number [1].
    lift_growth : NDArray
        Rise of either greatest lift for ten times the Reynolds number, above the reference alone [1].
    rounding : NDArray
        Lift below (and, on the straight line, above) the greatest lift over which the line bends [1].
    suction_lost : NDArray
        Share of the lift lost in rounding that becomes drag, times the sine of the incidence [1].
    stall_width : NDArray
        Angle from greatest lift to plate flow [rad].
    drag_min, drag_lift, drag_rise : NDArray
        `cd = drag_min + drag_rise (cl - drag_lift)^2` at the reference Reynolds number [1].
    moment : NDArray
        Coefficient about the quarter chord, attached, nose up positive [1].
    reynolds_reference : NDArray
        Reynolds number of the values above [1].
    drag_exponent_low, drag_exponent_high : NDArray
        `cd ~ Re^-exponent` below and above the reference Reynolds number [1].
    plate_drag : NDArray
        Drag coefficient broadside on, two-dimensional [1].
    mach_limit : NDArray
        Mach number at which the Prandtl-Glauert factor is held [1].
    mach_critical : NDArray
        Mach number at which drag begins to rise at zero lift [1].
    stall_delay : NDArray
        Share of the lift lost in stall that rotation gives back, see `with_stall_delay` [1].
    zero_lift_loss : NDArray
        Rise of the zero-lift angle for ten times less Reynolds number, below the reference, where laminar
        separation takes camber away from the outer flow [rad].
    slope_share : NDArray
        Share of the lift slope that a wide chord leaves, see `with_wide_chord` [1].
    polar : Polar
        The user's own section on every element, in place of what stands above except drag rise with Mach
        number and stall delay; empty where a family is meant.
    """

    zero_lift_angle: NDArray[np.float64]
    lift_slope: NDArray[np.float64]
    lift_max: NDArray[np.float64]
    lift_min: NDArray[np.float64]
    lift_growth: NDArray[np.float64]
    rounding: NDArray[np.float64]
    suction_lost: NDArray[np.float64]
    stall_width: NDArray[np.float64]
    drag_min: NDArray[np.float64]
    drag_lift: NDArray[np.float64]
    drag_rise: NDArray[np.float64]
    moment: NDArray[np.float64]
    reynolds_reference: NDArray[np.float64]
    drag_exponent_low: NDArray[np.float64]
    drag_exponent_high: NDArray[np.float64]
    plate_drag: NDArray[np.float64]
    mach_limit: NDArray[np.float64]
    mach_critical: NDArray[np.float64]
    stall_delay: NDArray[np.float64]
    zero_lift_loss: NDArray[np.float64]
    slope_share: NDArray[np.float64]
    polar: Polar = NO_POLAR


class Section(NamedTuple):
    """One section at its Reynolds and Mach number: what is left depends on the angle of attack alone.

    Fields that `Sections` has too say the same, at these numbers.

    Attributes
    ----------
    zero_lift_angle, stall_above, stall_below, stall_width : float
        Of zero lift, of the greatest lift on either side, and from there to plate flow [rad].
    lift_slope : float
        [1/rad].
    lift_max, lift_min, rounding, suction_lost, drag_min, drag_lift, drag_rise, moment, plate_drag : float
        [1].
    mach, mach_critical, stall_delay, compression, stretch, polar_place : float
        Prandtl-Glauert factor, the same times `slope_share`, and row of the user's tables, -1 for none [1].
    polar_pieces : NDArray
        Those tables, shape (k, m, 13), see `Polar`.
    """

    zero_lift_angle: float
    lift_slope: float
    lift_max: float
    lift_min: float
    rounding: float
    suction_lost: float
    stall_above: float
    stall_below: float
    stall_width: float
    drag_min: float
    drag_lift: float
    drag_rise: float
    moment: float
    plate_drag: float
    mach: float
    mach_critical: float
    stall_delay: float
    compression: float
    stretch: float
    polar_place: float
    polar_pieces: NDArray[np.float64]


class SectionCoefficients(NamedTuple):
    """Lift `cl`, drag `cd` and moment about the quarter chord `cm`, nose up positive [1]."""

    cl: float
    cd: float
    cm: float


@kernel_part
def bent(x: float) -> float:
    """The greater of `x` [1] and 0 [1], the corner rounded by a parabola over `KNEE` to either side."""
    if x <= -KNEE:
        return 0.0
    return x if x >= KNEE else (x + KNEE) ** 2 / (4.0 * KNEE)


class AttachedRange(NamedTuple):
    """Straight line: `zero_lift_angle` [rad], `lift_slope` [1/rad]; `stall_above`, `stall_below` [rad]."""

    zero_lift_angle: float
    lift_slope: float
    stall_above: float
    stall_below: float


@kernel_part
def range_of_family(
    zero: float, slope: float, lift_max: float, lift_min: float, rounding: float
) -> AttachedRange:
    """Attached range of a family: ends where the line, bent over `rounding` [1], meets the greatest lift.

    `zero` lift angle [rad], `slope` [1/rad], greatest lifts `lift_max`, above, and `lift_min`, below [1].
    """
    return AttachedRange(
        zero, slope, zero + (lift_max + rounding) / slope, zero + (lift_min - rounding) / slope
    )


@kernel_part
def range_of_polar(lines: NDArray[np.float64], place: float, stretch: float) -> AttachedRange:
    """Attached range of a polar, incidences over `stretch` [1]; other arguments as for `polar_line`."""
    zero = polar_line(lines, place, ZERO_LIFT_ANGLE)
    return AttachedRange(
        zero,
        polar_line(lines, place, LIFT_SLOPE) * stretch,
        zero + (polar_line(lines, place, STALL_ABOVE) - zero) / stretch,
        zero + (polar_line(lines, place, STALL_BELOW) - zero) / stretch,
    )


@kernel_part
def section_at(sections: Sections, i: int, reynolds: float, mach: float) -> Section:
    """One element's section at an operating point.

    Parameters
    ----------
    sections : Sections
        Of all elements.
    i : int
        Number of the element.
    reynolds : float
        Reynolds number of the chord; held between 2e4 and 3e6, which the families are meant for [1].
    mach : float
        Mach number; held at the section's `mach_limit` where it stretches the lift line [1].

    Returns
    -------
    Section
        What depends on the angle of attack alone [rad, 1]. Nothing is raised.

    Notes
    -----
    Drag goes with a power of the Reynolds number, greatest lift with its logarithm, either side of the
    reference: estimates, sources in `section_families`. Compressibility: Prandtl-Glauert factor.
    """
    held = min(max(reynolds, LOWEST_REYNOLDS), HIGHEST_REYNOLDS)
    decades = log10(held / sections.reynolds_reference[i])
    above = bent(decades)
    below = above - decades
    drag_factor = exp(
        LOG_TEN * (sections.drag_exponent_low[i] * below - sections.drag_exponent_high[i] * above)
    )
    growth, rounding = sections.lift_growth[i] * above, sections.rounding[i]
    compression = 1.0 / sqrt(1.0 - min(mach, sections.mach_limit[i]) ** 2)
    stretch = compression * sections.slope_share[i]
    lift_max = max(sections.lift_max[i] + growth, rounding)
    lift_min = min(sections.lift_min[i] - growth, -rounding)
    zero = sections.zero_lift_angle[i] + sections.zero_lift_loss[i] * below
    attached = range_of_family(zero, sections.lift_slope[i] * stretch, lift_max, lift_min, rounding)
    place = polar_place(sections.polar.lines, reynolds)
    if place >= 0.0:  # the user's own section
        attached = range_of_polar(sections.polar.lines, place, stretch)
    return Section(
        attached.zero_lift_angle,
        attached.lift_slope,
        lift_max,
        lift_min,
        rounding,
        sections.suction_lost[i],
        attached.stall_above,
        attached.stall_below,
        sections.stall_width[i],
        sections.drag_min[i] * drag_factor,
        sections.drag_lift[i],
        sections.drag_rise[i] * drag_factor,
        sections.moment[i] * compression,
        sections.plate_drag[i],
        mach,
        sections.mach_critical[i],
        sections.stall_delay[i],
        compression,
        stretch,
        place,
        sections.polar.pieces,
    )


@kernel_part
def rounded_lift(section: Section, line: float) -> float:
    """Lift [1] of the straight `line` [1], bent into the greatest lift on either side by a parabola."""
    above = line - (section.lift_max - section.rounding)
    below = line - (section.lift_min + section.rounding)
    if above > 0.0:
        if above > 2.0 * section.rounding:
            return section.lift_max
        return line - above * above / (4.0 * section.rounding)
    if below < 0.0:
        if below < -2.0 * section.rounding:
            return section.lift_min
        return line + below * below / (4.0 * section.rounding)
    return line


@kernel_part
def separated_share(section: Section, angle: float) -> float:
    """How far stall has gone at an angle of attack within +-pi [rad]: 0 attached, 1 flat plate [1]."""
    beyond = max(angle - section.stall_above, section.stall_below - angle)
    if beyond <= 0.0:
        return 0.0
    part = min(beyond / section.stall_width, 1.0)
    return part * part * (3.0 - 2.0 * part)


@kernel_part
def plate_coefficients(section: Section, angle: float) -> SectionCoefficients:
    """Flat plate at an angle of attack within +-pi [rad]; sources in the head of this file."""
    s, c = sin(angle), cos(angle)
    normal = section.plate_drag * s / (PLATE_FLOOR + PLATE_SINE * abs(s))
    along = section.drag_min * c
    centre = PLATE_CENTRE_START + PLATE_CENTRE_GROWTH * abs(angle) / pi
    return SectionCoefficients(
        normal * c - along * s, normal * s + along * c, -normal * (centre - QUARTER_CHORD)
    )


@kernel_part
def delayed_lift(section: Section, angle: float, line: float, cl: float) -> float:
    """Lift [1] with what rotation gives back of the stalled part, upper side only.

    At an `angle` of attack [rad]; `line` is the lift of the straight line [1], `cl` that without rotation
    [1].
    """
    if section.stall_delay == 0.0 or line <= cl:
        return cl
    part = min(max((angle - DELAY_START) / DELAY_FADE, 0.0), 1.0)
    return cl + section.stall_delay * (1.0 - part * part * (3.0 - 2.0 * part)) * (line - cl)


@kernel_part
def drag_rise_with_mach(section: Section, cl: float) -> float:
    """Drag above the critical Mach number at a lift `cl` [1], Lock's law (from memory) [1]."""
    excess = section.mach - section.mach_critical + KORN_LIFT * abs(cl)
    return LOCK_FACTOR * excess**4 if excess > 0.0 else 0.0


@kernel
def tabled_coefficients(section: Section, angle: float, line: float) -> SectionCoefficients:
    """Coefficients of the user's own section at an `angle` of attack within +-pi [rad].

    `line` is the lift of the straight line there [1].
    """
    zero = section.zero_lift_angle
    above, below = section.stall_above, section.stall_below
    tabled = polar_coefficients(
        section.polar_pieces,
        section.polar_place,
        stretched(angle, zero, above, below, section.stretch),
    )
    cl, cd, cm = tabled.cl, tabled.cd, tabled.cm
    if below < angle < above:
        cd += drag_rise_with_mach(section, cl)
        cm *= section.compression
    return SectionCoefficients(delayed_lift(section, angle, line, cl), cd, cm)


@kernel
def coefficients(section: Section, alpha: float) -> SectionCoefficients:
    """Lift, drag and moment at an angle of attack `alpha` [rad], any value.

    Where the lift line rounds off, part of the lift that is missing against the straight line is paid for
    with drag, as lost leading-edge suction.
    """
    angle = alpha if abs(alpha) <= pi else alpha - 2.0 * pi * floor(0.5 + alpha / (2.0 * pi))
    incidence = angle - section.zero_lift_angle
    line = section.lift_slope * incidence
    if section.polar_place >= 0.0:  # the user's own section
        return tabled_coefficients(section, angle, line)
    share = separated_share(section, angle)
    if share >= 1.0:
        plate = plate_coefficients(section, angle)
        return SectionCoefficients(delayed_lift(section, angle, line, plate.cl), plate.cd, plate.cm)
    cl, cd = rounded_lift(section, line), section.drag_min
    cd += section.drag_rise * (cl - section.drag_lift) ** 2
    if line != cl:
        cd += section.suction_lost * (line - cl) * sin(incidence)
    cd += drag_rise_with_mach(section, cl)
    cm = section.moment
    if share > 0.0:
        plate = plate_coefficients(section, angle)
        cl += share * (plate.cl - cl)
        cd += share * (plate.cd - cd)
        cm += share * (plate.cm - cm)
    return SectionCoefficients(delayed_lift(section, angle, line, cl), cd, cm)


@kernel
def section_coefficients(
    sections: Sections, i: int, alpha: float, reynolds: float, mach: float
) -> SectionCoefficients:
    """Lift, drag and moment of element `i` at an angle `alpha` [rad], Reynolds and Mach number [1]."""
    return coefficients(section_at(sections, i, reynolds, mach), alpha)
