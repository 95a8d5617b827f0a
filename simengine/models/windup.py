"""How far a blade winds up about its pitch axis under its twisting moments: an order of magnitude.

A solid thin section resists torsion with `J = (1/3) int t(x)^3 dx` over its chord, `t` its thickness
(S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed. 1970, art. 109, from memory). The moments of
air and mass along the blade are those of the stiff blade: what the wind-up itself changes of them is of
second order. The blade's pull straightens it: it adds pull times the square of the section's polar radius of
gyration (J. C. Houbolt, G. W. Brooks, NACA Report 1346, 1958, from memory). Warping at the root, skins of
another material than the core, and bending are left out.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.models.blade import along_blade, element_grid
from simengine.models.inertia import OUTLINE_POINTS, ElementMasses, element_masses, outline
from simengine.models.section_families import section_camber


class TorsionBlade(NamedTuple):
    """One blade under torsion.

    Attributes
    ----------
    width : NDArray
        Radial width of the elements, shape (n,) [m].
    stiffness : NDArray
        Shear modulus times the torsion constant of the section, shape (n,) [N m2].
    masses : ElementMasses
        Of the same elements.
    """

    width: NDArray[np.float64]
    stiffness: NDArray[np.float64]
    masses: ElementMasses


def torsion_constant(family: str, thickness: float, camber: float) -> float:
    """Torsion constant of a thin solid section over the fourth power of its chord [1], `(1/3) int t^3 dx`.

    `family`, `thickness` [1] and `camber` [1] as in `outline`; ValueError as `outline`.
    """
    points = outline(family, thickness, camber)
    lower, upper = points[: OUTLINE_POINTS + 1], points[OUTLINE_POINTS + 1 :][::-1]
    across = np.maximum(np.interp(lower[:, 0], *upper.T) - lower[:, 1], 0.0)
    return float(np.trapezoid(across**3, lower[:, 0])) / 3.0


def build_torsion(shear_modulus: float, **shape: Any) -> TorsionBlade:
    """Torsion of a blade from its stations.

    Parameters
    ----------
    shear_modulus : of the solid blade, above zero [Pa]
    shape : see `element_masses`

    Raises
    ------
    ValueError
        If the shear modulus is not above zero, or as `element_masses`.
    """
    if not shear_modulus > 0.0:
        raise ValueError("the shear modulus must be above zero")
    radius, tip = shape["radius"], 0.5 * shape["diameter"]
    inner = max(shape["hub_radius"], float(np.min(radius)))
    points, width = element_grid(inner, tip, shape["elements"], clustered=True)
    chord, thickness = (along_blade(radius, shape[name], points) for name in ("chord", "thickness"))
    camber = section_camber(shape["section"], thickness, shape["camber"])
    constants = [torsion_constant(shape["section"], *pair) for pair in zip(thickness, camber, strict=True)]
    return TorsionBlade(width, shear_modulus * np.array(constants) * chord**4, element_masses(**shape))


def centrifugal_twist(masses: ElementMasses, blade_angle: float, rotor_speed: float) -> NDArray[np.float64]:
    """Centrifugal moment of every element about a radial pitch axis, toward coarse, shape (n,) [N m].

    `-Omega^2 [(J_xi - J_zeta) sin b cos b + J_xz cos 2b]` with `b` the blade angle of the element, at a blade
    angle of the reference station [rad] and a rotor speed Omega [rad/s]; as `inertia` derives it.
    """
    b = blade_angle + masses.twist
    half = 0.5 * (masses.chordwise - masses.normal)
    return np.asarray(-(rotor_speed**2) * (half * np.sin(2.0 * b) + masses.product * np.cos(2.0 * b)))


def wind_up(blade: TorsionBlade, moment: NDArray[np.float64], rotor_speed: float) -> NDArray[np.float64]:
    """Angle by which every element turns against the root, toward coarse, shape (n,) [rad].

    Parameters
    ----------
    blade : the blade, held at its root
    moment : on every element, toward coarse, shape (n,) [N m]
    rotor_speed : for the pull [rad/s]
    """
    masses = blade.masses
    pull = outboard(masses.mass * masses.place) * rotor_speed**2
    gyration = (masses.chordwise + masses.normal) / masses.mass
    turn = outboard(moment) / (blade.stiffness + pull * gyration) * blade.width
    return np.asarray(np.cumsum(turn) - 0.5 * turn)


def outboard(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sum of what is further out than the middle of every element; `values` and sum any unit, shape (n,)."""
    return np.asarray(np.cumsum(values[::-1])[::-1] - 0.5 * values)
