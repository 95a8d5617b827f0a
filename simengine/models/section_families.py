"""Section families: their parameters in one table, and sections built from it for every blade element."""

from math import pi
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.models.sections import NO_LIMIT, PLATE_DRAG, Sections

# Korn's relation and Lock's law (both from memory): drag divergence at M = 0.87 - thickness - cl/10, and
# 20 (M - critical)^4 of drag, so that the critical Mach number lies (0.1/80)^(1/3) below divergence.
KORN_FACTOR, CRITICAL_BELOW_DIVERGENCE = 0.87, 0.1077
SNEL_FACTOR = 3.0  # Snel, Houwink and Bosschers, ECN-C-93-052 (1993), from memory


class Family(NamedTuple):
    """Parameters of a section family at 12 % thickness and no camber; names as in `Sections` say the same.

    Attributes
    ----------
    reynolds_reference, lift_max, lift_growth, rounding, suction_lost : float
        [1].
    lift_slope : float
        [1/rad].
    stall_width, zero_lift_loss : float
        [rad].
    drag_min, drag_rise, drag_exponent_low, drag_exponent_high : float
        [1].
    camber, camber_of_thickness : float
        Camber, share of the chord: a fixed part, and one in proportion to the thickness [1].
    zero_lift_of_camber : float
        Zero-lift angle over camber [rad].
    moment_of_camber : float
        Moment coefficient over camber [1].
    """

    reynolds_reference: float
    lift_slope: float
    lift_max: float
    lift_growth: float
    rounding: float
    suction_lost: float
    stall_width: float
    drag_min: float
    drag_rise: float
    drag_exponent_low: float
    drag_exponent_high: float
    camber: float
    camber_of_thickness: float
    zero_lift_of_camber: float
    moment_of_camber: float
    zero_lift_loss: float


# Fitted to nine measured propellers (chord Reynolds number 2e4 to 1e5) by tests/published/fit_sections.py,
# where no section data were at hand; the script prints them again.
FITTED = {
    "zero_lift_loss": 0.0302,  # rad for ten times less Reynolds number
    "smooth_drag_exponent_low": 0.7225,
    "flat_bottom_drag_rise": 0.01414,
    "thin_lift_max": 1.035,
    "thin_rounding": 0.5,
    "thin_drag_min": 0.02077,
    "thin_drag_rise": 0.01734,
}

# Sources, parameter by parameter; "fitted" stands in FITTED:
#   reynolds_reference  where drag begins to rise steeply with laminar separation, 2e5; thin sections 1e5
#   lift_slope          0.105/deg for smooth 4-digit sections (Abbott and von Doenhoff, from memory);
#                       Clark Y and thin low-Reynolds sections: estimate, common practice
#   lift_max            of the uncambered section at the reference Reynolds number: estimate between the
#                       published 6e6 values and low-Reynolds tunnel tests, from memory; thin: fitted
#   lift_growth         NACA 0012 gains about 0.42 from 5e5 to 6e6 (from memory); others: estimate. None below
#                       the reference: a fit of it gave 0
#   rounding, stall_width  estimate, common practice (gentle stall of thick sections); thin rounding: fitted,
#                       at its bound
#   suction_lost        thick sections stall from the trailing edge: 0.4 gives cd of 0.03 to 0.04 at greatest
#                       lift, as tunnels find (from memory); thin ones lose it all; estimate
#   drag_min            about 0.0065 at 3e6 (Clark Y, 0012, from memory) and 0.0115 at 2e5; thin: fitted
#   drag_rise           0012: 0.0032 at 6e6, C. L. Ladson, NASA TM 4074, carried to 2e5; others: fitted
#   drag_exponent_high  from the two values of drag_min; thin: estimate between laminar and turbulent friction
#   drag_exponent_low   fitted; thin: 0.5 laminar (Blasius), steeper with bubbles, estimate
#   camber              fixed, or as a share of thickness: Clark Y 3.4 % at 11.7 % (from memory)
#   zero_lift_of_camber thin-aerofoil theory of the 4-digit mean line, greatest camber at 0.4: -1.81 rad
#                       times camber, which measured 24xx and 44xx sections meet (from memory)
#   moment_of_camber    measured 24xx, 44xx: -0.047, -0.093 (Abbott and von Doenhoff, from memory)
#   zero_lift_loss      read off the zero-thrust advance ratios of the measured propellers
FAMILIES = {
    "flat_bottom": Family(
        reynolds_reference=2.0e5,
        lift_slope=5.8,
        lift_max=1.10,
        lift_growth=0.30,
        rounding=0.25,
        suction_lost=0.4,
        stall_width=0.17,
        drag_min=0.0115,
        drag_rise=FITTED["flat_bottom_drag_rise"],
        drag_exponent_low=FITTED["smooth_drag_exponent_low"],
        drag_exponent_high=0.21,
        camber=0.0,
        camber_of_thickness=0.29,
        zero_lift_of_camber=-1.80,
        moment_of_camber=-2.35,
        zero_lift_loss=FITTED["zero_lift_loss"],
    ),
    "naca_4digit": Family(
        reynolds_reference=2.0e5,
        lift_slope=6.0,
        lift_max=0.95,
        lift_growth=0.42,
        rounding=0.20,
        suction_lost=0.4,
        stall_width=0.14,
        drag_min=0.0115,
        drag_rise=0.0057,
        drag_exponent_low=FITTED["smooth_drag_exponent_low"],
        drag_exponent_high=0.21,
        camber=0.02,
        camber_of_thickness=0.0,
        zero_lift_of_camber=-1.81,
        moment_of_camber=-2.35,
        zero_lift_loss=FITTED["zero_lift_loss"],
    ),
    "thin_low_reynolds": Family(
        reynolds_reference=1.0e5,
        lift_slope=5.8,
        lift_max=FITTED["thin_lift_max"],
        lift_growth=0.20,
        rounding=FITTED["thin_rounding"],
        suction_lost=1.0,
        stall_width=0.17,
        drag_min=FITTED["thin_drag_min"],
        drag_rise=FITTED["thin_drag_rise"],
        drag_exponent_low=0.60,
        drag_exponent_high=0.35,
        camber=0.0,
        camber_of_thickness=0.29,
        zero_lift_of_camber=-1.81,
        moment_of_camber=-2.35,
        zero_lift_loss=FITTED["zero_lift_loss"],
    ),
}
REFERENCE_THICKNESS = 0.12
# Greatest lift against thickness, relative to 12 %: shape of the 4-digit sections at 6e6 in Abbott and von
# Doenhoff as remembered, softened for thin sections at low Reynolds number. Estimate.
LIFT_MAX_THICKNESS = (0.0, 0.06, 0.09, 0.12, 0.15, 0.18, 0.24, 0.30, 0.40)
LIFT_MAX_FACTOR = (0.60, 0.75, 0.90, 1.0, 1.0, 0.97, 0.88, 0.80, 0.70)
LIFT_MAX_OF_CAMBER, LIFT_MIN_OF_CAMBER = 4.0, 8.0  # gain above, loss below; estimate from 24xx, 44xx, Clark Y
DESIGN_LIFT_OF_CAMBER = 12.0  # lift of least drag; 2 % camber gives 0.24, estimate
THICKEST_CAMBER = 0.20  # a root thicker than this gains no more camber; estimate
MACH_LIMIT = 0.70  # beyond it Prandtl-Glauert grows without sense; common practice
FORM_LINEAR, FORM_QUARTIC = 2.0, 60.0  # profile drag 1 + 2 t + 60 t^4, Hoerner, from memory


def build_sections(family: str, thickness: ArrayLike, camber: float | None = None) -> Sections:
    """Sections of one family.

    Parameters
    ----------
    family : a key of FAMILIES
    thickness : share of the chord, shape (n,), above 0 to 0.6 [1]
    camber : share of the chord, 0 to 0.12 [1]; left out, the family's own

    Raises
    ------
    ValueError
        Unknown family, thickness or camber out of range, or a camber for `flat_bottom`, whose camber is its
        thickness.
    """
    if family not in FAMILIES:
        raise ValueError(f"section family {family!r} is not one of {', '.join(sorted(FAMILIES))}")
    values = FAMILIES[family]
    share = np.asarray(thickness, dtype=np.float64)
    if not ((share > 0.0) & (share <= 0.6)).all():
        raise ValueError("thickness must lie above 0 and not above 0.6 of the chord at every station")
    bow = section_camber(family, share, camber)
    base = values.lift_max * np.interp(share, LIFT_MAX_THICKNESS, LIFT_MAX_FACTOR)
    form = form_factor(share) / form_factor(np.array(REFERENCE_THICKNESS))

    def every(value: float) -> NDArray[np.float64]:
        return np.full_like(share, value)

    return Sections(
        zero_lift_angle=values.zero_lift_of_camber * bow,
        lift_slope=every(values.lift_slope),
        lift_max=base + LIFT_MAX_OF_CAMBER * bow,
        lift_min=-base + LIFT_MIN_OF_CAMBER * bow,
        lift_growth=values.lift_growth * base / values.lift_max,
        rounding=every(values.rounding),
        suction_lost=every(values.suction_lost),
        stall_width=every(values.stall_width),
        drag_min=values.drag_min * form,
        drag_lift=DESIGN_LIFT_OF_CAMBER * bow,
        drag_rise=every(values.drag_rise),
        moment=values.moment_of_camber * bow,
        reynolds_reference=every(values.reynolds_reference),
        drag_exponent_low=every(values.drag_exponent_low),
        drag_exponent_high=every(values.drag_exponent_high),
        plate_drag=every(PLATE_DRAG),
        mach_limit=every(MACH_LIMIT),
        mach_critical=KORN_FACTOR - share - CRITICAL_BELOW_DIVERGENCE,
        stall_delay=every(0.0),
        zero_lift_loss=every(values.zero_lift_loss),
        slope_share=every(1.0),
    )


def with_stall_delay(sections: Sections, chord_over_radius: NDArray[np.float64]) -> Sections:
    """Sections on a rotating blade; `chord_over_radius` has shape (n,) [1].

    H. Snel, R. Houwink, J. Bosschers, ECN-C-93-052 (1993), from memory; bounded by a tanh, as `sections`
    tells.
    """
    return sections._replace(stall_delay=np.tanh(SNEL_FACTOR * chord_over_radius**2))


def with_wide_chord(sections: Sections, chord_over_span: NDArray[np.float64]) -> Sections:
    """Sections of a blade that is a lifting surface; `chord_over_span` has shape (n,) [1].

    Momentum balance and tip loss are those of a lifting line: the induced flow at the quarter chord. What
    makes the lift is the flow at three quarters of the chord, where the wake of a wide blade induces more.
    For a wing of aspect ratio A the two together have the slope `a / (sqrt(1 + q^2) + q)`, `q = a / (pi A)`
    (H. B. Helmbold 1942, from memory), of which the lifting line is answerable for `q`; what is left,
    `a / sqrt(1 + q^2)`, is the slope of the section. Own derivation, with A the tip radius over the local
    chord: nothing for narrow blades, 4 % at a chord of 0.15, 9 % at 0.25 of the radius. A factor on q, left
    free against the measured propellers of `tests/published`, came out at 1.25 and not 1, and was not taken.
    """
    spread = sections.lift_slope / np.pi * chord_over_span
    return sections._replace(slope_share=1.0 / np.sqrt(1.0 + spread**2))


def section_camber(family: str, thickness: NDArray[np.float64], camber: float | None) -> NDArray[np.float64]:
    """Camber at every `thickness`, shape (n,) [1], share of the chord, shape (n,) [1].

    Parameters
    ----------
    family : a key of FAMILIES
    thickness : shape (n,), share of the chord [1]
    camber : share of the chord, 0 to 0.12 [1]; left out, the family's own

    Raises
    ------
    ValueError
        If the camber is out of range, or given for `flat_bottom`, whose camber is its thickness.
    """
    values = FAMILIES[family]
    if camber is None:
        own = values.camber + values.camber_of_thickness * np.minimum(thickness, THICKEST_CAMBER)
        return np.asarray(own, dtype=np.float64)
    if family == "flat_bottom":
        raise ValueError("a flat_bottom section has the camber of its thickness: leave camber out")
    if not 0.0 <= camber <= 0.12:
        raise ValueError("camber must lie between 0 and 0.12 of the chord")
    return np.full_like(thickness, camber)


def form_factor(thickness: NDArray[np.float64]) -> NDArray[np.float64]:
    """Profile drag over that of a thin plate, shape (n,) [1], at a `thickness`, share of the chord [1].

    S. F. Hoerner, Fluid-Dynamic Drag (1965), from memory.
    """
    return np.asarray(1.0 + FORM_LINEAR * thickness + FORM_QUARTIC * thickness**4, dtype=np.float64)


def linear_sections(
    count: int,
    *,
    lift_slope: float = 5.7,
    zero_lift_angle: float = -4.0 * pi / 180.0,
    drag_min: float = 0.012,
    drag_rise: float = 0.010,
    drag_lift: float = 0.5,
    moment: float = 0.0,
) -> Sections:
    """Sections that never stall and know neither Reynolds nor Mach number, for closed-form checks.

    `count` elements, each field of shape (count,); `lift_slope` [1/rad], `zero_lift_angle` [rad]; `drag_min`,
    `drag_rise`, `drag_lift` as in `Sections` and `moment` about the quarter chord [1].
    """

    def every(value: float) -> NDArray[np.float64]:
        return np.full(count, value)

    return Sections(
        zero_lift_angle=every(zero_lift_angle),
        lift_slope=every(lift_slope),
        lift_max=every(NO_LIMIT),
        lift_min=every(-NO_LIMIT),
        lift_growth=every(0.0),
        rounding=every(1.0),
        suction_lost=every(0.0),
        stall_width=every(1.0),
        drag_min=every(drag_min),
        drag_lift=every(drag_lift),
        drag_rise=every(drag_rise),
        moment=every(moment),
        reynolds_reference=every(1.0e6),
        drag_exponent_low=every(0.0),
        drag_exponent_high=every(0.0),
        plate_drag=every(PLATE_DRAG),
        mach_limit=every(0.0),
        mach_critical=every(NO_LIMIT),
        stall_delay=every(0.0),
        zero_lift_loss=every(0.0),
        slope_share=every(1.0),
    )
