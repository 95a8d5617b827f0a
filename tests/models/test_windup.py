"""Torsional wind-up of a blade against closed forms of a uniform shaft."""

from math import cosh, pi, radians, sqrt, tan

import numpy as np
import pytest
from scipy.integrate import quad

from simengine.models.blade import element_grid
from simengine.models.inertia import ElementMasses
from simengine.models.windup import (
    TorsionBlade,
    build_torsion,
    centrifugal_twist,
    torsion_constant,
    wind_up,
)

LENGTH, STIFFNESS = 0.545, 28.0  # m, N m2
CHORD, THICKNESS, DENSITY = 0.090, 0.011, 1500.0


def uniform_blade(count=400):
    """Solid rectangular blade without twist, axis at mid-chord, root at 80 mm."""
    place, width = element_grid(0.08, 0.08 + LENGTH, count, clustered=True)
    mass = DENSITY * CHORD * THICKNESS * width
    zero = np.zeros(count)
    masses = ElementMasses(
        place, zero, mass, zero, zero, mass * CHORD**2 / 12.0, mass * THICKNESS**2 / 12.0, zero
    )
    return TorsionBlade(width, np.full(count, STIFFNESS), masses)


def test_uniform_moment():
    # Shaft held at one end under a moment m for each metre: m L^2 / (2 G J), elementary strength of
    # materials.
    blade = uniform_blade()
    tip = wind_up(blade, 9.0 * blade.width, 0.0)[-1]
    assert tip == pytest.approx(9.0 * LENGTH**2 / (2.0 * STIFFNESS), rel=1e-4)


def test_moment_at_the_tip_alone():
    blade = uniform_blade()
    moment = np.zeros(blade.width.size)
    moment[-1] = 2.0
    assert wind_up(blade, moment, 0.0)[-1] == pytest.approx(2.0 * LENGTH / STIFFNESS, rel=1e-4)


def test_centrifugal_moment_of_a_uniform_blade():
    # With what the wind-up changes of the moment the tip turns by -(tan 2b)/2 (1 - 1/cosh(k L)),
    # k^2 = Omega^2 (J_xi - J_zeta) cos 2b / (G J), the solution of G J t'' = Omega^2 J (sin b cos b + t cos
    # 2b). The estimate leaves that change out: it is the limit of small k L, 5/12 (k L)^2 too large beyond.
    blade, angle = uniform_blade(), radians(15.0)
    difference = DENSITY * CHORD * THICKNESS * (CHORD**2 - THICKNESS**2) / 12.0
    for speed, excess in ((10.0, 0.0004), (2400.0 * pi / 30.0, 0.25)):
        estimate = wind_up(blade, centrifugal_twist(blade.masses, angle, speed), 0.0)[-1]
        k = speed * sqrt(difference * np.cos(2.0 * angle) / STIFFNESS)
        exact = -0.5 * tan(2.0 * angle) * (1.0 - 1.0 / cosh(k * LENGTH))
        assert estimate < 0.0, "toward fine"
        assert estimate / exact == pytest.approx(
            1.0 + 5.0 / 12.0 * (k * LENGTH) ** 2, abs=0.1 * excess + 1e-4
        )
        assert 0.5 * excess < estimate / exact - 1.0 < 1.1 * excess


def test_sum_of_centrifugal_moments():
    # The same blade untwisted, 15 deg, 2400 rpm: -8.49787 N m (own formula and a sum over point masses
    # agree).
    blade = uniform_blade()
    total = centrifugal_twist(blade.masses, radians(15.0), 2400.0 * pi / 30.0).sum()
    assert total == pytest.approx(-8.49787, abs=5e-5)


def test_the_pull_straightens_the_blade():
    blade, speed = uniform_blade(), 250.0
    line = DENSITY * CHORD * THICKNESS
    gyration = (CHORD**2 + THICKNESS**2) / 12.0
    tip = 0.08 + LENGTH

    def turn(r):
        pull = 0.5 * line * speed**2 * (tip**2 - r**2)
        return 9.0 * (tip - r) / (STIFFNESS + pull * gyration)

    expected = quad(turn, 0.08, tip)[0]
    assert wind_up(blade, 9.0 * blade.width, speed)[-1] == pytest.approx(expected, rel=1e-4)
    assert expected < 0.9 * 9.0 * LENGTH**2 / (2.0 * STIFFNESS)


def test_torsion_constant_of_an_ellipse_like_section():
    # Thin solid sections: J = (1/3) int t^3 dx, Timoshenko and Goodier (from memory). The four-digit
    # thickness put in and integrated by a general library.
    a, b, c, d, e = 0.2969, -0.1260, -0.3516, 0.2843, -0.1036
    shape = (
        quad(lambda x: (10.0 * (a * sqrt(x) + x * (b + x * (c + x * (d + x * e))))) ** 3, 0.0, 1.0)[0] / 3.0
    )
    assert torsion_constant("naca_4digit", 0.12, 0.0) == pytest.approx(shape * 0.12**3, rel=2e-3)
    assert torsion_constant("naca_4digit", 0.12, 0.04) == pytest.approx(shape * 0.12**3, rel=0.02)
    # Between a rectangle, 1/3, and nothing: a Clark Y of the same thickness is near the four-digit one.
    assert torsion_constant("flat_bottom", 0.12, 0.0) == pytest.approx(shape * 0.12**3, rel=0.1)


def test_built_from_stations():
    shape = {
        "radius": (0.08, 0.625),
        "chord": (0.09, 0.09),
        "blade_angle": (0.2, 0.2),
        "thickness": (0.12, 0.12),
        "axis": (0.4, 0.4),
        "section": "naca_4digit",
        "camber": 0.0,
        "density": 700.0,
        "section_mass": None,
        "mass_centre": None,
        "hub_radius": 0.06,
        "reference_station": 0.75,
        "diameter": 1.25,
        "datum": 0.0,
        "elements": 24,
    }
    blade = build_torsion(5.0e9, **shape)
    constant = torsion_constant("naca_4digit", 0.12, 0.0)
    assert blade.stiffness == pytest.approx(np.full(24, 5.0e9 * constant * 0.09**4))
    with pytest.raises(ValueError, match="shear modulus must be above zero"):
        build_torsion(0.0, **shape)
