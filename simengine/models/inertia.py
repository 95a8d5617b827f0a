"""Mass of a blade about its pitch axis, and the centrifugal moments that follow from it.

Axes at a section: `xi` along the chord, positive toward the leading edge, `zeta` normal to it, positive
toward the suction side, both from the pitch axis, which lies on the chord line. With the chord at an angle
`b` from the plane of rotation a mass sits at `y = xi cos(b) - zeta sin(b)` along the rotation and
`n = xi sin(b) + zeta cos(b)` ahead. About a pitch axis coned forward by `g` and passing the shaft at a
distance `e` along the rotation the centrifugal load has the moment, toward coarse,

    M = -Omega^2 [cos(g)^2 int y n dm + sin(g) cos(g) int s y dm + e int n dm]

with `s` along the axis. With the twist in, that is a sum over sin and cos of the blade angle and of twice it.
"""

from math import cos, sin
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.compiled import kernel_part
from simengine.models.blade import along_blade, check_stations, element_grid
from simengine.models.section_families import section_camber

OUTLINE_POINTS = 200  # on each side of a section
FOUR_DIGIT_CAMBER_PLACE = 0.4
# NACA 4-digit thickness, closed trailing edge; Jacobs, Ward and Pinkerton, NACA Report 460 (1933), last
# coefficient -0.1036 in place of -0.1015 closes the edge (common practice).
FOUR_DIGIT_THICKNESS = (0.2969, -0.1260, -0.3516, 0.2843, -0.1036)
# Clark Y, upper and lower ordinates from the flat face, percent of chord (NACA Report 502 and others, from
# memory). The chord line runs from the nose, 3.5 % above the face, to the trailing edge.
CLARK_Y_THICKNESS = 0.117
CLARK_Y_STATION = (
    0.0,
    1.25,
    2.5,
    5.0,
    7.5,
    10.0,
    15.0,
    20.0,
    30.0,
    40.0,
    50.0,
    60.0,
    70.0,
    80.0,
    90.0,
    95.0,
    100.0,
)
CLARK_Y_UPPER = (
    3.5,
    5.45,
    6.5,
    7.9,
    8.85,
    9.6,
    10.69,
    11.36,
    11.7,
    11.4,
    10.52,
    9.15,
    7.35,
    5.22,
    2.8,
    1.49,
    0.12,
)
CLARK_Y_LOWER = (3.5, 1.93, 1.47, 0.93, 0.63, 0.42, 0.15, 0.03, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
CLARK_Y_NOSE = 3.5


class BladeInertia(NamedTuple):
    """Mass properties of one blade.

    Attributes
    ----------
    mass : float
        [kg].
    first_moment : float
        Pull along the pitch axis over Omega squared [kg m].
    second_moment : float
        About the shaft [kg m2].
    polar_inertia : float
        About the pitch axis [kg m2].
    sin2, cos2, sin1, cos1 : float
        Centrifugal moment over minus Omega squared: factors of sin and cos of twice the blade angle and
        of the blade angle [kg m2].
    """

    mass: float
    first_moment: float
    second_moment: float
    polar_inertia: float
    sin2: float
    cos2: float
    sin1: float
    cos1: float


class CounterweightInertia(NamedTuple):
    """One counterweight: `polar_inertia`, and `sin2`, `cos2` as in `BladeInertia`, about its axis [kg m2]."""

    polar_inertia: float
    sin2: float
    cos2: float


class ElementMasses(NamedTuple):
    """Mass of every element about the pitch axis, each field of shape (n,).

    Attributes
    ----------
    place : NDArray
        Along the pitch axis from the shaft [m].
    twist : NDArray
        Chord line against the measured blade angle, datum included [rad].
    mass : NDArray
        [kg].
    lead, rise : NDArray
        Centre of mass ahead of the axis (xi) and on its suction side (zeta) [m].
    chordwise, normal, product : NDArray
        Integrals of xi^2, zeta^2 and xi zeta over the mass [kg m2].
    """

    place: NDArray[np.float64]
    twist: NDArray[np.float64]
    mass: NDArray[np.float64]
    lead: NDArray[np.float64]
    rise: NDArray[np.float64]
    chordwise: NDArray[np.float64]
    normal: NDArray[np.float64]
    product: NDArray[np.float64]


class SectionArea(NamedTuple):
    """Area of an outline of unit chord, its centroid, and second moments about the centroid [1].

    `area`; centroid `along` and `above` the chord line; `along_along`, `above_above` and `along_above` [1].
    """

    area: float
    along: float
    above: float
    along_along: float
    above_above: float
    along_above: float


class SectionAreas(NamedTuple):
    """`area`, `along`, `above`, `along_along`, `above_above`, `along_above` of every element, shape (n,)."""

    area: NDArray[np.float64]
    along: NDArray[np.float64]
    above: NDArray[np.float64]
    along_along: NDArray[np.float64]
    above_above: NDArray[np.float64]
    along_above: NDArray[np.float64]


def outline(family: str, thickness: float, camber: float) -> NDArray[np.float64]:
    """Closed outline of a section, shape (m, 2): from the leading edge and above the chord line [1].

    Shares of the chord, counter-clockwise seen with the leading edge on the left: along the lower side to the
    trailing edge and back along the upper. Of `family` only "flat_bottom" has an outline of its own, the
    others that of the NACA 4-digit sections, NACA Report 460 (1933); `thickness` and `camber` are shares of
    the chord [1]. ValueError as `flat_bottom_outline`.
    """
    along = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, OUTLINE_POINTS + 1)))
    if family == "flat_bottom":
        return flat_bottom_outline(along, thickness)
    a, b, c, d, e = FOUR_DIGIT_THICKNESS
    half = 5.0 * thickness * (a * np.sqrt(along) + along * (b + along * (c + along * (d + along * e))))
    line, slope = four_digit_camber(along, camber)
    tilt = np.arctan(slope)
    lower = np.column_stack([along + half * np.sin(tilt), line - half * np.cos(tilt)])
    upper = np.column_stack([along - half * np.sin(tilt), line + half * np.cos(tilt)])
    return np.vstack([lower, upper[-2:0:-1]])


def four_digit_camber(
    along: NDArray[np.float64], camber: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean line and its slope, each of shape (m,) [1], at places `along` the chord, shape (m,) [1].

    `camber` is its greatest height [1], at `FOUR_DIGIT_CAMBER_PLACE`; NACA Report 460 (1933).
    """
    place = FOUR_DIGIT_CAMBER_PLACE
    length = np.where(along < place, place, 1.0 - place)
    line = camber * (1.0 - ((along - place) / length) ** 2)
    return line, -2.0 * camber * (along - place) / length**2


def flat_bottom_outline(along: NDArray[np.float64], thickness: float) -> NDArray[np.float64]:
    """Clark Y with its ordinates in proportion to `thickness` [1], turned onto its own chord line.

    `along` the flat face from the leading edge, shape (k,) [1]; returns shape (2 k, 2) [1], as `outline`.
    ValueError if the thickness is not finite.
    """
    scale = 0.01 * thickness / CLARK_Y_THICKNESS
    station = np.sqrt(np.array(CLARK_Y_STATION) / 100.0)  # the nose is round: smooth against the square root
    upper, lower = (
        scale * along_blade(station, values, np.sqrt(along)) for values in (CLARK_Y_UPPER, CLARK_Y_LOWER)
    )
    points = np.vstack([np.column_stack([along, lower]), np.column_stack([along, upper])[::-1]])
    tilt = np.arctan(scale * CLARK_Y_NOSE)
    points[:, 1] -= scale * CLARK_Y_NOSE
    turn = np.array([[np.cos(tilt), -np.sin(tilt)], [np.sin(tilt), np.cos(tilt)]])
    return np.asarray(points @ turn.T * np.cos(tilt), dtype=np.float64)


def section_area(points: NDArray[np.float64]) -> SectionArea:
    """Area moments of a closed polygon, `points` of shape (m, 2) [1], counter-clockwise (Green's theorem)."""
    x, y = points.T
    x_next, y_next = np.roll(x, -1), np.roll(y, -1)
    cross = x * y_next - x_next * y
    area = 0.5 * cross.sum()
    along = (cross * (x + x_next)).sum() / (6.0 * area)
    above = (cross * (y + y_next)).sum() / (6.0 * area)
    xx = (cross * (x * x + x * x_next + x_next * x_next)).sum() / 12.0
    yy = (cross * (y * y + y * y_next + y_next * y_next)).sum() / 12.0
    xy = (cross * (x * y_next + 2.0 * (x * y + x_next * y_next) + x_next * y)).sum() / 24.0
    return SectionArea(
        area, along, above, xx - area * along**2, yy - area * above**2, xy - area * along * above
    )


def build_inertia(*, cone_angle: float, axis_offset: float, **shape: Any) -> BladeInertia:
    """Mass properties of one blade from its stations; the part inside the hub radius is the hub's.

    Parameters
    ----------
    cone_angle : pitch axis ahead of the plane of rotation [rad]
    axis_offset : distance at which the pitch axis passes the shaft, along the rotation [m]
    shape : see `element_masses`

    Raises
    ------
    ValueError
        As `element_masses`.
    """
    return inertia_of(element_masses(**shape), cone_angle, axis_offset)


def element_masses(
    *,
    radius: ArrayLike,
    chord: ArrayLike,
    blade_angle: ArrayLike,
    thickness: ArrayLike,
    axis: ArrayLike,
    section: str,
    camber: float | None,
    density: float | None,
    section_mass: ArrayLike | None,
    mass_centre: ArrayLike | None,
    hub_radius: float,
    reference_station: float,
    diameter: float,
    datum: float,
    elements: int,
) -> ElementMasses:
    """Mass of every element of a blade from its stations.

    Parameters
    ----------
    radius, chord, blade_angle, thickness, axis, section, camber, hub_radius, diameter : see `build_blade`
    density : of a solid blade [kg/m3]
    section_mass : instead of `density`, shape (n,) [kg/m]; spread over the section as if it were solid
    mass_centre : centre of mass from the leading edge, share of the chord, shape (n,) [1]; left out, the
        centroid of the outline
    reference_station, datum, elements : see `build_blade`

    Raises
    ------
    ValueError
        Unless exactly one of `density` and `section_mass` is given, or if the stations do not cover the blade
        or do not rise, there are less than 2 elements, or the camber does not suit the section.
    """
    tip = 0.5 * diameter
    check_stations(radius, hub_radius, tip)
    points, width = element_grid(max(hub_radius, float(np.min(radius))), tip, elements, clustered=True)
    chords, shares, axes = (along_blade(radius, values, points) for values in (chord, thickness, axis))
    reference = along_blade(radius, blade_angle, np.array([reference_station * tip]))
    bows = section_camber(section, shares, camber)
    areas = SectionAreas(
        *np.array([section_area(outline(section, *pair)) for pair in zip(shares, bows, strict=True)]).T
    )
    mass = width * mass_per_length(radius, section_mass, points, density, areas.area * chords**2)
    centre = areas.along if mass_centre is None else along_blade(radius, mass_centre, points)
    twist = along_blade(radius, blade_angle, points) - reference + datum
    return solid_elements(points, twist, mass, chords, areas, axes, centre)


def mass_per_length(
    radius: ArrayLike,
    section_mass: ArrayLike | None,
    points: NDArray[np.float64],
    density: float | None,
    area: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Mass over length [kg/m] at `points`, shape (m,) [m].

    From `section_mass` [kg/m] at the stations `radius` [m], shape (n,) each, or from a `density` [kg/m3]
    times the section's `area`, shape (m,) [m2]. ValueError unless exactly one of the two is given.
    """
    if section_mass is not None and density is None:
        return along_blade(radius, section_mass, points)
    if density is not None and section_mass is None:
        return density * area
    raise ValueError("a blade's mass needs either density or section_mass, and not both")


def solid_elements(
    place: NDArray[np.float64],
    twist: NDArray[np.float64],
    mass: NDArray[np.float64],
    chord: NDArray[np.float64],
    areas: SectionAreas,
    axis: NDArray[np.float64],
    centre: NDArray[np.float64],
) -> ElementMasses:
    """Elements whose mass is spread evenly over their sections; all arguments hold arrays of shape (n,).

    `place` [m], `twist` [rad] and `mass` [kg] as in `ElementMasses`, `chord` [m]; pitch `axis` and mass
    `centre` from the leading edge, shares of the chord [1].
    """
    lead, rise = (axis - centre) * chord, areas.above * chord
    spread = mass * chord**2 / areas.area
    return ElementMasses(
        place=place,
        twist=twist,
        mass=mass,
        lead=lead,
        rise=rise,
        chordwise=spread * areas.along_along + mass * lead**2,
        normal=spread * areas.above_above + mass * rise**2,
        product=-spread * areas.along_above + mass * lead * rise,
    )


def inertia_of(elements: ElementMasses, cone_angle: float, axis_offset: float) -> BladeInertia:
    """Mass properties of a blade; `cone_angle` [rad] and `axis_offset` [m] as in `build_inertia`."""
    straight, leaning = cos(cone_angle) ** 2, sin(cone_angle) * cos(cone_angle)
    s, c = np.sin(elements.twist), np.cos(elements.twist)
    s2, c2 = np.sin(2.0 * elements.twist), np.cos(2.0 * elements.twist)
    half = 0.5 * (elements.chordwise - elements.normal)
    # First moments of y and n at blade angle zero; turning the blade by b mixes them.
    y, n = elements.lead * c - elements.rise * s, elements.lead * s + elements.rise * c
    pull, offset = leaning * elements.mass * elements.place, axis_offset * elements.mass
    return BladeInertia(
        mass=float(elements.mass.sum()),
        first_moment=straight * float((elements.mass * elements.place).sum()),
        second_moment=straight * float((elements.mass * elements.place**2).sum()),
        polar_inertia=float((elements.chordwise + elements.normal).sum()),
        sin2=straight * float((half * c2 - elements.product * s2).sum()),
        cos2=straight * float((half * s2 + elements.product * c2).sum()),
        sin1=float((offset * y - pull * n).sum()),
        cos1=float((offset * n + pull * y).sum()),
    )


def counterweight_inertia(mass: float, arm: float, angle_from_chord: float) -> CounterweightInertia:
    """A point `mass` [kg] on an `arm` [m] fixed to the blade root; ValueError if either is negative.

    `angle_from_chord` [rad] is that of the arm from the chord at the reference station, leading edge 0,
    suction side 90 deg; the moment is `-Omega^2 m a^2 sin(b + q) cos(b + q)`, toward coarse at 90 deg.
    """
    if mass < 0.0 or arm < 0.0:
        raise ValueError("a counterweight's mass and arm must not be negative")
    polar = mass * arm * arm
    return CounterweightInertia(
        polar, 0.5 * polar * cos(2.0 * angle_from_chord), 0.5 * polar * sin(2.0 * angle_from_chord)
    )


@kernel_part
def centrifugal_moment(inertia: BladeInertia, blade_angle: float, rotor_speed: float) -> float:
    """Centrifugal moment of ONE blade about its pitch axis [N m], positive toward coarse.

    At a blade angle, on the measured face, [rad] and a rotor speed [rad/s].
    """
    return -(rotor_speed * rotor_speed) * (
        inertia.sin2 * sin(2.0 * blade_angle)
        + inertia.cos2 * cos(2.0 * blade_angle)
        + inertia.sin1 * sin(blade_angle)
        + inertia.cos1 * cos(blade_angle)
    )


@kernel_part
def blade_pull(inertia: BladeInertia, rotor_speed: float) -> float:
    """Centrifugal pull of ONE blade along its pitch axis [N] at a rotor speed [rad/s]."""
    return rotor_speed * rotor_speed * inertia.first_moment
