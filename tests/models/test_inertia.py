"""Mass properties of a blade: outlines, and centrifugal moments against sums over point masses."""

from math import cos, pi, radians, sin
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from simengine.models import inertia as kernels
from simengine.models.blade import along_blade, element_grid
from simengine.models.inertia import (
    BladeInertia,
    blade_pull,
    build_inertia,
    centrifugal_moment,
    counterweight_inertia,
    outline,
    section_area,
)

STATIONS: dict[str, Any] = {
    "radius": [0.10, 0.20, 0.35, 0.50, 0.60, 0.65],
    "chord": [0.065, 0.095, 0.098, 0.085, 0.065, 0.040],
    "blade_angle": np.radians([38.0, 26.0, 17.0, 12.5, 10.8, 10.2]),
    "thickness": [0.30, 0.20, 0.15, 0.125, 0.115, 0.11],
    "axis": [0.45, 0.40, 0.36, 0.34, 0.33, 0.33],
}
VALUES: dict[str, Any] = {
    **STATIONS,
    "section": "flat_bottom",
    "camber": None,
    "density": 700.0,
    "section_mass": None,
    "mass_centre": None,
    "hub_radius": 0.08,
    "reference_station": 0.75,
    "diameter": 1.3,
    "datum": 0.0,
    "cone_angle": 0.0,
    "axis_offset": 0.0,
    "elements": 24,
}


def inertia(**changes: Any) -> BladeInertia:
    """One blade of an invented propeller of 1.3 m."""
    return build_inertia(**(VALUES | changes))


def outline_masses(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Point masses of a unit-density outline: x, y, mass, shape (n, 3).

    A fan of triangles, each with a third of its (signed) area at the middle of every side, which sums
    quadratics exactly.
    """
    a, b, c = points[0], points[1:-1], points[2:]
    area = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    middles = np.concatenate([0.5 * (a + b), 0.5 * (b + c), 0.5 * (a + c)])
    return np.column_stack([middles, np.tile(area / 3.0, 3)])


def blade_masses(values: dict[str, Any]) -> NDArray[np.float64]:
    """Point masses of a blade: along the axis, xi, zeta, twist, mass, shape (n, 5)."""
    tip = 0.5 * values["diameter"]
    middle, width = element_grid(0.10, tip, values["elements"], clustered=True)

    def along(name: str, at: Any = middle) -> NDArray[np.float64]:
        return along_blade(values["radius"], values[name], np.asarray(at))

    reference = along("blade_angle", [values["reference_station"] * tip])[0]
    rows = []
    for i, place in enumerate(middle):
        chord, share = along("chord")[i], along("thickness")[i]
        bow = 0.0 if values["camber"] is None else values["camber"]
        x, y, mass = outline_masses(outline(values["section"], share, bow)).T
        rows.append(
            np.column_stack(
                [
                    np.full_like(x, place),
                    (along("axis")[i] - x) * chord,
                    y * chord,
                    np.full_like(x, along("blade_angle")[i] - reference + values["datum"]),
                    mass * chord**2 * width[i] * values["density"],
                ]
            )
        )
    return np.concatenate(rows)


def moment_by_point_masses(
    masses: NDArray[np.float64], blade_angle: float, cone: float, offset: float, rotor_speed: float
) -> float:
    """Moment of Omega^2 times distance from the shaft about the pitch axis, by cross products."""
    place, xi, zeta, twist, mass = masses.T
    along = np.array([cos(cone), 0.0, sin(cone)])
    turning, ahead = np.array([0.0, 1.0, 0.0]), np.array([-sin(cone), 0.0, cos(cone)])
    angle = blade_angle + twist
    y, n = xi * np.cos(angle) - zeta * np.sin(angle), xi * np.sin(angle) + zeta * np.cos(angle)
    arm = y[:, None] * turning + n[:, None] * ahead
    position = place[:, None] * along + offset * turning + arm
    load = rotor_speed**2 * mass[:, None] * position * np.array([1.0, 1.0, 0.0])
    return float(np.cross(arm, load).sum(axis=0) @ along)


@pytest.mark.parametrize("section", ["flat_bottom", "naca_4digit", "thin_low_reynolds"])
@pytest.mark.parametrize("blade_angle", [-0.05, 0.2, 0.6])
@pytest.mark.parametrize(
    ("cone", "offset", "datum"), [(0.0, 0.0, 0.0), (0.05, 0.004, 0.03), (-0.2, -0.01, 0)]
)
def test_centrifugal_moment_equals_the_sum_over_point_masses(
    section: str, blade_angle: float, cone: float, offset: float, datum: float
) -> None:
    camber = None if section == "flat_bottom" else 0.04
    changes = {
        "section": section,
        "camber": camber,
        "datum": datum,
        "cone_angle": cone,
        "axis_offset": offset,
        "elements": 12,
    }
    built = inertia(**changes)
    masses = blade_masses(VALUES | changes)
    assert len(masses) > 10000
    expected = moment_by_point_masses(masses, blade_angle, cone, offset, 250.0)
    assert centrifugal_moment(built, blade_angle, 250.0) == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert built.mass == pytest.approx(masses[:, 4].sum(), rel=1e-9)
    polar = (masses[:, 4] * (masses[:, 1] ** 2 + masses[:, 2] ** 2)).sum()
    assert built.polar_inertia == pytest.approx(polar, rel=1e-9)
    pull = 250.0**2 * cos(cone) ** 2 * (masses[:, 4] * masses[:, 0]).sum()
    assert blade_pull(built, 250.0) == pytest.approx(pull, rel=1e-9)


def test_mass_elements_are_enough() -> None:
    coarse, fine = inertia(), inertia(elements=400)
    assert coarse == pytest.approx(fine, rel=1e-3)


def test_section_mass_scales_a_solid_blade() -> None:
    # Constant mass over length of a constant section is a density.
    plain = {"chord": [0.08] * 6, "thickness": [0.12] * 6, "section": "naca_4digit", "camber": 0.02}
    solid = inertia(**plain)
    area = section_area(outline("naca_4digit", 0.12, 0.02)).area * 0.08**2
    given = inertia(**plain, density=None, section_mass=[700.0 * area] * 6)
    assert given == pytest.approx(solid, rel=1e-12)


def test_mass_centre_moves_the_centroid() -> None:
    # Parallel axes: moving the mass by d from the axis adds m d^2 to the polar inertia.
    plain = {"chord": [0.08] * 6, "thickness": [0.12] * 6, "section": "naca_4digit", "camber": 0.0}
    axis = {"axis": [0.40] * 6}
    centred = inertia(**plain, **axis, mass_centre=[0.40] * 6)
    moved = inertia(**plain, **axis, mass_centre=[0.35] * 6)
    assert moved.polar_inertia - centred.polar_inertia == pytest.approx(
        centred.mass * (0.05 * 0.08) ** 2, rel=1e-9
    )


def test_balanced_blade_without_cone_has_no_first_harmonics() -> None:
    assert inertia().sin1 == 0.0
    assert inertia().cos1 == 0.0


def test_datum_turns_the_mass_as_it_turns_the_air() -> None:
    turned = inertia(datum=radians(2.0), cone_angle=0.03)
    straight = inertia(cone_angle=0.03)
    assert centrifugal_moment(turned, radians(11.0), 240.0) == pytest.approx(
        centrifugal_moment(straight, radians(13.0), 240.0), rel=1e-12
    )


def test_area_of_known_outlines() -> None:
    # Triangle and ellipse: closed forms of any handbook.
    triangle = section_area(np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 2.0]]))
    assert triangle.area == pytest.approx(3.0, rel=1e-14)
    assert (triangle.along, triangle.above) == pytest.approx((1.0, 2.0 / 3.0), rel=1e-14)
    assert triangle.along_along == pytest.approx(2.0 * 3.0**3 / 36.0, rel=1e-13)
    assert triangle.above_above == pytest.approx(3.0 * 2.0**3 / 36.0, rel=1e-13)
    assert triangle.along_above == pytest.approx(-(3.0**2) * 2.0**2 / 72.0, rel=1e-13)
    angle = np.linspace(0.0, 2.0 * pi, 20000, endpoint=False)
    ellipse = section_area(np.column_stack([0.5 + 0.5 * np.cos(angle), 0.06 * np.sin(angle)]))
    assert ellipse.area == pytest.approx(pi * 0.5 * 0.06, rel=1e-6)
    assert ellipse.along_along == pytest.approx(pi / 4.0 * 0.06 * 0.5**3, rel=1e-6)
    assert ellipse.above_above == pytest.approx(pi / 4.0 * 0.5 * 0.06**3, rel=1e-6)


@pytest.mark.parametrize("thickness", [0.06, 0.12, 0.30])
def test_outlines_have_their_thickness_and_camber(thickness: float) -> None:
    symmetric = outline("naca_4digit", thickness, 0.0)
    assert np.ptp(symmetric[:, 1]) == pytest.approx(thickness, rel=1e-3)
    assert section_area(symmetric).above == pytest.approx(0.0, abs=1e-15)
    # Area of a 4-digit section, 0.685 thickness (closed edge), from integrating its equation.
    assert section_area(symmetric).area == pytest.approx(0.681 * thickness, rel=2e-3)
    bent = outline("naca_4digit", thickness, 0.04)
    upper = bent[np.argmax(bent[:, 1])]
    assert upper[1] == pytest.approx(0.04 + 0.5 * thickness, rel=0.03)
    flat = outline("flat_bottom", thickness, 0.0)
    assert section_area(flat).area > 0.0
    assert flat[:, 0].min() == pytest.approx(0.0, abs=2e-3 + 0.1 * thickness**2)
    # The chord line runs from the nose to the trailing edge.
    assert flat[0] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert flat[len(flat) // 2 - 1] == pytest.approx([1.0, 0.0], abs=2e-3)


def test_counterweight_is_a_point_mass() -> None:
    weight = counterweight_inertia(0.05, 0.04, 1.1)
    assert weight.polar_inertia == pytest.approx(0.05 * 0.04**2, rel=1e-14)
    for angle in (0.0, 0.2, 0.7):
        moment = -(weight.sin2 * sin(2.0 * angle) + weight.cos2 * cos(2.0 * angle))
        assert moment == pytest.approx(-0.05 * 0.04**2 * sin(angle + 1.1) * cos(angle + 1.1), rel=1e-12)


def test_kernels_equal_their_python_source() -> None:
    built = inertia(cone_angle=0.04, axis_offset=0.003)
    assert kernels.centrifugal_moment.py_func(built, 0.2, 240.0) == pytest.approx(
        centrifugal_moment(built, 0.2, 240.0), rel=1e-14
    )
    assert kernels.blade_pull.py_func(built, 240.0) == blade_pull(built, 240.0)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"density": None}, "either density or section_mass"),
        ({"section_mass": [0.5] * 6}, "either density or section_mass"),
        ({"diameter": 1.6}, "add a station at the tip"),
    ],
)
def test_bad_input_says_what_to_change(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        inertia(**changes)


def test_negative_counterweight_is_refused() -> None:
    with pytest.raises(ValueError, match="must not be negative"):
        counterweight_inertia(-0.05, 0.04, 1.5)
