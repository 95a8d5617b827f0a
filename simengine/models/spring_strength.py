"""What the two ends of a spring's stroke do to its wire or washers: stress, fatigue factors, class of life.

A yardstick, no proof: surface, corrosion, temperature, resonance of the coils and scatter are not in it, and
the strength is that of music wire by a printed fit (university lecture notes) unless another is given.
"""

from collections.abc import Callable
from math import inf, nan, pi
from typing import NamedTuple

from simengine.models.springs import (
    SHEAR_SHARE_OF_TENSILE,
    ZIMMERLI_PEENED,
    ZIMMERLI_UNPEENED,
    DiscWasher,
    disc_washer_stresses,
    gerber_factor,
    goodman_factor,
    helical_shear_stress,
    music_wire_strength_rational,
    sines_factor,
    wahl_factor,
)

# Largest stress over tensile strength for a number of strokes from no load, music wire, unpeened and peened;
# Shigley's Mechanical Engineering Design, spring chapter, tables of coil and of torsion springs in cyclic
# use (values from memory). A preloaded spring, whose stress never falls to zero, stays on the safe side.
SHEAR_LIVES = {1e7: (0.30, 0.36), 1e6: (0.33, 0.39), 1e5: (0.36, 0.42)}
BENDING_LIVES = {1e6: (0.50, 0.60), 1e5: (0.53, 0.62)}
FEW_STROKES = 1e4  # a spring that moves less often counts as loaded at rest, same chapter (from memory)
STATIC_SHEAR = 0.45  # of tensile strength, before the spring takes a set; music wire, same chapter
STATIC_BENDING = 0.78  # yield over tensile strength of music wire in bending, same chapter (from memory)

# Disc washers, DIN 2093 (from memory): largest stress at the middle of rotation with the washer flat.
DISC_MIDDLE_STRESS = 1600e6  # [Pa]


class SpringStrength(NamedTuple):
    """One spring worked between two loads.

    Attributes
    ----------
    stress_low, stress_high : float
        At the lower and the higher load [Pa]: shear of a coil spring, bending at the inside of a torsion
        spring, tension at the lower inner edge II of a disc washer.
    tensile_strength : float
        That the factors rest on [Pa]; NaN for disc washers.
    share : float
        Higher stress over the tensile strength [1]; of disc washers the stress at the middle of rotation over
        what DIN 2093 allows there.
    sines, gerber, goodman : float
        Fatigue factors for a life without end [1], infinite where the stress does not change (Goodman's then
        ultimate over mean); NaN where no endurance data stand behind.
    strokes : float
        Class of life [1]: strokes that the handbook allows at this stress, infinite for ever, 0 where the
        spring takes a set; NaN where no class is claimed.
    """

    stress_low: float
    stress_high: float
    tensile_strength: float
    share: float
    sines: float
    gerber: float
    goodman: float
    strokes: float


def helical_strength(
    *,
    wire_diameter: float,
    mean_diameter: float,
    low_force: float,
    high_force: float,
    tensile_strength: float | None = None,
    peened: bool = False,
    stress_factor: Callable[[float], float] = wahl_factor,
) -> SpringStrength:
    """Coil spring of round wire between two forces: shear against Zimmerli's endurance of any spring steel.

    Parameters
    ----------
    wire_diameter, mean_diameter : of the wire and of the coil [m]
    low_force, high_force : ends of the stroke [N]
    tensile_strength : of the wire [Pa]; left out, that of music wire
    peened : whether the wire is shot-peened
    stress_factor : of the spring index [1], such as Wahl's

    Raises
    ------
    ValueError
        Unless the coil is wider than the wire and `0 <= low_force <= high_force`.
    """
    check_wire(wire_diameter, mean_diameter, low_force, high_force)
    factor = stress_factor(mean_diameter / wire_diameter)
    low, high = (
        helical_shear_stress(force, wire_diameter, mean_diameter, factor) for force in (low_force, high_force)
    )
    tensile = tensile_strength or music_wire_strength_rational(wire_diameter)
    endurance = ZIMMERLI_PEENED if peened else ZIMMERLI_UNPEENED
    factors = fatigue_factors(low, high, endurance, SHEAR_SHARE_OF_TENSILE * tensile)
    strokes = class_of_life(high / tensile, factors[2], SHEAR_LIVES, STATIC_SHEAR, peened)
    return SpringStrength(low, high, tensile, high / tensile, *factors, strokes)


def torsion_strength(
    *,
    wire_diameter: float,
    mean_diameter: float,
    low_moment: float,
    high_moment: float,
    tensile_strength: float | None = None,
    peened: bool = False,
) -> SpringStrength:
    """Torsion spring of round wire between two moments, wound up; the rest as `helical_strength`.

    `low_moment` and `high_moment` [N m]; bending against the handbook's classes of life. ValueError unless
    the coil is wider than the wire and the moments are not negative and rise.
    """
    check_wire(wire_diameter, mean_diameter, low_moment, high_moment)
    low, high = (
        torsion_bending_stress(moment, wire_diameter, mean_diameter) for moment in (low_moment, high_moment)
    )
    tensile = tensile_strength or music_wire_strength_rational(wire_diameter)
    repeated = 0.5 * BENDING_LIVES[1e6][peened] * tensile
    factors = fatigue_factors(low, high, (repeated, repeated), tensile)
    strokes = class_of_life(high / tensile, factors[2], BENDING_LIVES, STATIC_BENDING, peened)
    return SpringStrength(low, high, tensile, high / tensile, *factors, strokes)


def disc_strength(washer: DiscWasher, low_compression: float, high_compression: float) -> SpringStrength:
    """One disc washer from a `low_compression` to a `high_compression` [m].

    No endurance data are at hand, so no life is claimed. ValueError unless `0 <= low <= high`, or as
    `disc_factors`.
    """
    if not 0.0 <= low_compression <= high_compression:
        raise ValueError("disc washers: the compressions must not be negative and must rise")
    low, high = (disc_washer_stresses(washer, each) for each in (low_compression, high_compression))
    return SpringStrength(
        low.inner_bottom, high.inner_bottom, nan, -high.middle / DISC_MIDDLE_STRESS, nan, nan, nan, nan
    )


def check_wire(wire_diameter: float, mean_diameter: float, low: float, high: float) -> None:
    """Refuse a coil that cannot be wound, and loads that do not rise.

    `wire_diameter`, `mean_diameter` [m]; loads `low` and `high` [N] or [N m]. ValueError unless the coil is
    wider than the wire and `0 <= low <= high`.
    """
    if not 0.0 < wire_diameter < mean_diameter:
        raise ValueError("spring: the wire diameter must be positive and below the mean diameter of the coil")
    if not 0.0 <= low <= high:
        raise ValueError("spring: the loads must not be negative and must rise from low to high")


def torsion_bending_stress(moment: float, wire_diameter: float, mean_diameter: float) -> float:
    """Largest bending stress [Pa], at the inside of the coil, of a torsion spring under a moment [N m].

    `K 32 M / (pi d^3)`, `K = (4 C^2 - C - 1) / (4 C (C - 1))`, C = D/d of `wire_diameter` d, `mean_diameter`
    D [m]: Shigley's Mechanical Engineering Design, spring chapter (from memory).
    """
    index = mean_diameter / wire_diameter
    factor = (4.0 * index**2 - index - 1.0) / (4.0 * index * (index - 1.0))
    return factor * 32.0 * moment / (pi * wire_diameter**3)


def fatigue_factors(
    low: float, high: float, endurance: tuple[float, float], ultimate: float
) -> tuple[float, float, float]:
    """Sines, Gerber and Goodman factor [1] of a stress that goes from `low` to `high` [Pa].

    `endurance` is amplitude and mean that last for ever [Pa], `ultimate` the ultimate strength [Pa], of the
    same kind of stress. Of a stress that does not change the first two are infinite.
    """
    amplitude, mean = 0.5 * (high - low), 0.5 * (high + low)
    if amplitude <= 0.0:
        return inf, inf, ultimate / mean if mean > 0.0 else inf
    return (
        sines_factor(amplitude, endurance[0]),
        gerber_factor(amplitude, mean, endurance, ultimate),
        goodman_factor(amplitude, mean, endurance, ultimate),
    )


def class_of_life(
    share: float, goodman: float, lives: dict[float, tuple[float, float]], static: float, peened: bool
) -> float:
    """Strokes allowed [1] at a `share` [1], largest stress over tensile strength: infinite, some or none.

    For ever where the `goodman` factor [1] is 1 or more; short of that the longest of `lives`, a table of
    shares [1], unpeened and `peened`, by strokes, or `FEW_STROKES`; none beyond a share `static` [1], where a
    spring takes a set.
    """
    if share > static:
        return 0.0
    if goodman >= 1.0:
        return inf
    allowed = [strokes for strokes, shares in lives.items() if share <= shares[peened]]
    return max(allowed, default=FEW_STROKES)
