"""Springs of the trade: helical, torsion and disc-washer, their loads, stresses and fatigue.

Nothing here proves a spring strong enough: no scatter of material, surface or temperature is in it.
"""

from math import log, pi, sqrt
from typing import NamedTuple

# Ultimate shear over ultimate tensile strength of spring wire: R. G. Budynas and J. K. Nisbett, Shigley's
# Mechanical Engineering Design, spring chapter (value from memory).
SHEAR_SHARE_OF_TENSILE = 0.67

# Endurance in shear of springs up to 10 mm wire, any steel (F. P. Zimmerli; figures as in formula sheets).
ZIMMERLI_UNPEENED = (241e6, 379e6)  # amplitude, mean [Pa]
ZIMMERLI_PEENED = (398e6, 534e6)


# --- helical and torsion ---------------------------------------------------------------------------
def helical_rate(
    wire_diameter: float, mean_diameter: float, active_coils: float, shear_modulus: float
) -> float:
    """Rate of a round-wire helical spring [N/m]: `G d^4 / (8 D^3 N)`.

    `wire_diameter` d, `mean_diameter` D of the coil [m], `active_coils` N [1], `shear_modulus` G [Pa], all
    above zero. Shigley's Mechanical Engineering Design, spring chapter.
    """
    return shear_modulus * wire_diameter**4 / (8.0 * mean_diameter**3 * active_coils)


def wahl_factor(spring_index: float) -> float:
    """Stress factor of curvature and direct shear [1], `spring_index` = D/d above 1 [1]; A. M. Wahl, 1963."""
    return (4.0 * spring_index - 1.0) / (4.0 * spring_index - 4.0) + 0.615 / spring_index


def helical_shear_stress(force: float, wire_diameter: float, mean_diameter: float, factor: float) -> float:
    """Largest shear stress [Pa] in the wire under a force [N]: `K 8 F D / (pi d^3)`.

    `wire_diameter` d, `mean_diameter` D [m]; `factor` K is a stress factor from above [1]. Shigley's
    Mechanical Engineering Design, spring chapter.
    """
    return factor * 8.0 * force * mean_diameter / (pi * wire_diameter**3)


# --- disc washers ----------------------------------------------------------------------------------
class DiscWasher(NamedTuple):
    """A conical disc washer.

    Attributes
    ----------
    outer_diameter, inner_diameter, thickness : float
        [m].
    cone_height : float
        Height of the unloaded cone without the thickness [m].
    elastic_modulus : float
        [Pa].
    poisson_ratio : float
        [1].
    """

    outer_diameter: float
    inner_diameter: float
    thickness: float
    cone_height: float
    elastic_modulus: float = 206e9
    poisson_ratio: float = 0.3


class Coefficients(NamedTuple):
    """Force against compression s, `F = linear s + quadratic s2 + cubic s3` [N/m, N/m2, N/m3]."""

    linear: float
    quadratic: float
    cubic: float


class DiscStresses(NamedTuple):
    """Tangential stress [Pa], tension positive, at the edges and points of DIN 2092.

    `inner_top` I, `inner_bottom` II, `outer_bottom` III, and at the `middle` of rotation OM.
    """

    inner_top: float
    inner_bottom: float
    outer_bottom: float
    middle: float


def disc_factors(diameter_ratio: float) -> tuple[float, float, float]:
    """K1, K2 and K3 of DIN 2092 [1] for a `diameter_ratio`, outer over inner, above 1 [1]; ValueError if not.

    This K1 lies up to 1 % from that of Almen and Laszlo (1936) for the usual ratios.
    """
    if not diameter_ratio > 1.0:
        raise ValueError("disc washer: the outer diameter must exceed the inner")
    less, logarithm = diameter_ratio - 1.0, log(diameter_ratio)
    k1 = (less / diameter_ratio) ** 2 / ((diameter_ratio + 1.0) / less - 2.0 / logarithm) / pi
    k2 = 6.0 / pi * (less / logarithm - 1.0) / logarithm
    k3 = 3.0 / pi * less / logarithm
    return k1, k2, k3


def disc_scale(washer: DiscWasher) -> float:
    """Common factor of loads and stresses [Pa], `4 E t^2 / ((1 - nu^2) K1 De^2)`.

    ValueError as `disc_factors`.
    """
    k1, _, _ = disc_factors(washer.outer_diameter / washer.inner_diameter)
    plate = 4.0 * washer.elastic_modulus / (1.0 - washer.poisson_ratio**2)
    return plate * washer.thickness**2 / (k1 * washer.outer_diameter**2)


def disc_washer_coefficients(washer: DiscWasher) -> Coefficients:
    """The force of `disc_washer_load` as a polynomial in the compression; ValueError as `disc_factors`."""
    thickness, cone = washer.thickness, washer.cone_height / washer.thickness
    force = disc_scale(washer) * thickness**2
    return Coefficients(
        force * (cone**2 + 1.0) / thickness, -1.5 * force * cone / thickness**2, 0.5 * force / thickness**3
    )


def disc_stack_coefficients(
    *,
    outer_diameter: float,
    inner_diameter: float,
    thickness: float,
    cone_height: float,
    elastic_modulus: float,
    poisson_ratio: float,
    parallel: int,
    series: int,
) -> Coefficients:
    """Stack of packs, friction left out: packs share the compression, each washer of a pack adds its force.

    Parameters
    ----------
    outer_diameter, inner_diameter, thickness, cone_height : of one washer, see `DiscWasher` [m]
    elastic_modulus : [Pa]
    poisson_ratio : [1]
    parallel : washers the same way round in a pack, 1 or more
    series : packs, 1 or more

    Raises
    ------
    ValueError
        If there is no washer or no pack, or the outer diameter does not exceed the inner.
    """
    if parallel < 1 or series < 1:
        raise ValueError("disc washers: a stack needs at least one washer and one pack")
    washer = DiscWasher(
        outer_diameter, inner_diameter, thickness, cone_height, elastic_modulus, poisson_ratio
    )
    one = disc_washer_coefficients(washer)
    return Coefficients(
        parallel * one.linear / series,
        parallel * one.quadratic / series**2,
        parallel * one.cubic / series**3,
    )


def disc_washer_stresses(washer: DiscWasher, compression: float) -> DiscStresses:
    """Tangential stresses [Pa] at a compression [m]; DIN 2092 (equations from memory).

    ValueError as `disc_factors`.
    """
    ratio = washer.outer_diameter / washer.inner_diameter
    _, k2, k3 = disc_factors(ratio)
    share, cone = compression / washer.thickness, washer.cone_height / washer.thickness
    scale, slope = disc_scale(washer) * share, cone - share / 2.0
    return DiscStresses(
        inner_top=-scale * (k2 * slope + k3),
        inner_bottom=-scale * (k2 * slope - k3),
        outer_bottom=-scale * ((k2 - 2.0 * k3) * slope - k3) / ratio,
        middle=-scale * 3.0 / pi,
    )


# --- strength and fatigue --------------------------------------------------------------------------


def music_wire_strength_rational(wire_diameter: float) -> float:
    """The same [Pa] by a rational fit printed in university lecture notes; `wire_diameter` [m]."""
    millimetres = 1e3 * wire_diameter
    return 1e6 * (3370.0 + millimetres * (6560.0 - 230.0 * millimetres)) / (1.0 + 3.5 * millimetres)


def sines_factor(amplitude: float, endurance_amplitude: float) -> float:
    """Fatigue factor [1] if steady torsion does no harm (Sines).

    `endurance_amplitude` over `amplitude` [Pa]. Shigley's Mechanical Engineering Design, spring chapter.
    """
    return endurance_amplitude / amplitude


def goodman_factor(amplitude: float, mean: float, endurance: tuple[float, float], ultimate: float) -> float:
    """Fatigue factor [1] by the straight line from endurance at no mean stress to the ultimate.

    `amplitude` and `mean` of the shear stress [Pa], which grow together; `endurance` is a pair of amplitude
    and mean that lasts [Pa], such as ZIMMERLI_UNPEENED; `ultimate` the ultimate shear strength [Pa].
    Shigley's Mechanical Engineering Design, spring chapter.
    """
    at_no_mean = endurance[0] / (1.0 - endurance[1] / ultimate)
    return 1.0 / (amplitude / at_no_mean + mean / ultimate)


def gerber_factor(amplitude: float, mean: float, endurance: tuple[float, float], ultimate: float) -> float:
    """Fatigue factor [1] by Gerber's parabola; arguments as for `goodman_factor`, mean above zero.

    Shigley's Mechanical Engineering Design, spring chapter.
    """
    at_no_mean = endurance[0] / (1.0 - (endurance[1] / ultimate) ** 2)
    lead = 0.5 * (ultimate / mean) ** 2 * amplitude / at_no_mean
    return lead * (sqrt(1.0 + (2.0 * mean * at_no_mean / (ultimate * amplitude)) ** 2) - 1.0)
