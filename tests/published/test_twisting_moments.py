"""Centrifugal and aerodynamic twisting moments of blades against worked figures.

No published figure for the centrifugal twist of a whole blade was found in readable form. The equation is
that of J. C. Houbolt and G. W. Brooks, NACA Report 1346 (1958), torsion term
`Omega^2 m (k_m2^2 - k_m1^2) sin(b) cos(b)` (cited from memory), and the direction, toward fine, is in every
training text. The figures here are our own arithmetic from that equation, made once by formula and once by a
sum over 24,000 point masses that agreed to 2e-6, apart from the code under test: they guard against
regressions. The kernels are held against point masses of a full blade in `tests/models/test_inertia.py`.
"""

from math import atan, pi, radians

import numpy as np
import pytest

from simengine.constants import RPM
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade, element_grid
from simengine.models.inertia import (
    BladeInertia,
    SectionAreas,
    blade_pull,
    centrifugal_moment,
    counterweight_inertia,
    inertia_of,
    section_area,
    solid_elements,
)
from simengine.models.momentum import rotor_loads
from simengine.models.section_families import linear_sections

CHORD, THICKNESS, DENSITY, ROOT, TIP = 0.090, 0.011, 1500.0, 0.08, 0.625
COUNT = 400


def rectangular_blade(
    *, twisted: bool, cone: float = 0.0, offset: float = 0.0, ahead: float = 0.0, above: float = 0.0
) -> BladeInertia:
    """Solid rectangular blade, pitch axis at mid-chord; its mass may be moved off the axis [m]."""
    radius, width = element_grid(ROOT, TIP, COUNT, clustered=False)
    half = 0.5 * THICKNESS / CHORD
    one = section_area(np.array([[0.0, -half], [1.0, -half], [1.0, half], [0.0, half]]))
    areas = SectionAreas(*(np.full(COUNT, value) for value in one))
    areas = areas._replace(above=areas.above + above / CHORD)
    twist = np.arctan(0.75 / (2.0 * pi * radius)) if twisted else np.zeros(COUNT)
    masses = solid_elements(
        radius,
        twist,
        DENSITY * CHORD * THICKNESS * width,
        np.full(COUNT, CHORD),
        areas,
        np.full(COUNT, 0.5),
        np.full(COUNT, 0.5 - ahead / CHORD),
    )
    return inertia_of(masses, cone, offset)


def test_mass_and_inertia_of_the_rectangular_blade() -> None:
    blade = rectangular_blade(twisted=False)
    assert blade.mass == pytest.approx(0.809325, abs=5e-7)
    assert blade.polar_inertia == pytest.approx(5.54455e-4, abs=5e-10)
    assert 2.0 * blade.sin2 == pytest.approx(5.381337e-4, abs=5e-11)
    assert 2.0 * blade.sin2 / blade.polar_inertia == pytest.approx(0.970563, abs=5e-7)


@pytest.mark.parametrize(
    ("rpm", "pull"), [(1600.0, 8009.0), (2000.0, 12514.1), (2400.0, 18020.3), (2800.0, 24527.6)]
)
def test_pull(rpm: float, pull: float) -> None:
    assert blade_pull(rectangular_blade(twisted=False), rpm * RPM) == pytest.approx(pull, abs=0.05)


def test_untwisted_blade() -> None:
    moment = centrifugal_moment(rectangular_blade(twisted=False), radians(15.0), 2400.0 * RPM)
    assert moment == pytest.approx(-8.49787, abs=5e-6)


@pytest.mark.parametrize(
    ("rpm", "moment"), [(1600.0, -4.92342), (2000.0, -7.69284), (2400.0, -11.07769), (2800.0, -15.07797)]
)
def test_twisted_blade(rpm: float, moment: float) -> None:
    # 400 equal elements of a twist that is not linear: within 1e-5 of the printed figures.
    blade = rectangular_blade(twisted=True)
    assert centrifugal_moment(blade, 0.0, rpm * RPM) == pytest.approx(moment, rel=1e-5)


def test_coned_axis_with_mass_ahead_of_it() -> None:
    # Pitch axis coned forward 2 deg, mass 3 mm ahead: extra -1.886 N m with the chord in the plane of
    # rotation, where the blade has no other moment.
    coned = rectangular_blade(twisted=False, ahead=0.003, cone=radians(2.0))
    assert centrifugal_moment(coned, 0.0, 2400.0 * RPM) == pytest.approx(-1.886, abs=5e-4)


def test_axis_past_the_shaft_with_mass_on_the_suction_side() -> None:
    # Axis 5 mm past the shaft, mass 2 mm to the suction side: extra -0.511 N m; with z = 2 mm at flat pitch.
    plain = centrifugal_moment(rectangular_blade(twisted=False, above=0.002), 0.0, 2400.0 * RPM)
    offset = centrifugal_moment(
        rectangular_blade(twisted=False, above=0.002, offset=0.005), 0.0, 2400.0 * RPM
    )
    assert offset - plain == pytest.approx(-0.511, abs=5e-4)


def test_mass_ahead_of_the_axis_alone() -> None:
    # 5 mm ahead, second-order term at 15 deg: -0.320 N m.
    plain = centrifugal_moment(rectangular_blade(twisted=False), radians(15.0), 2400.0 * RPM)
    ahead = centrifugal_moment(rectangular_blade(twisted=False, ahead=0.005), radians(15.0), 2400.0 * RPM)
    assert ahead - plain == pytest.approx(-0.320, abs=5e-4)


def test_counterweight() -> None:
    # 50 g on 40 mm square to the chord, 15 deg, 2400 rpm: +1.2633 N m, toward coarse.
    weight = counterweight_inertia(0.050, 0.040, 0.5 * pi)
    as_blade = BladeInertia(0.0, 0.0, 0.0, weight.polar_inertia, weight.sin2, weight.cos2, 0.0, 0.0)
    assert centrifugal_moment(as_blade, radians(15.0), 2400.0 * RPM) == pytest.approx(1.2633, abs=5e-5)


# --- air ------------------------------------------------------------------------------------------
SEA_LEVEL = Air(288.15, 101325.0, 1.225, 340.294, 1.78938e-5)


def reference_blade(axis_lead: float, moment: float) -> Blade:
    """Blade of `test_propeller_theory`, with an axis off the quarter chord [m] and a section moment [1]."""
    radius, width = element_grid(0.10, 0.625, 30, clustered=False)
    return Blade(
        blades=2.0,
        tip_radius=0.625,
        hub_radius=0.10,
        hub_loss=0.0,
        tip_loss=1.0,
        datum=0.0,
        radius=radius,
        width=width,
        chord=np.full(30, 0.085),
        twist=np.arctan(0.60 / (2.0 * pi * radius)) - atan(0.60 / (2.0 * pi * 0.75 * 0.625)),
        axis_lead=np.full(30, axis_lead),
        sections=linear_sections(30, moment=moment),
    )


@pytest.mark.parametrize(
    ("airspeed", "density", "lead", "moment", "printed", "digit"),
    [
        (11.0, 1.225, 1.0, 0.0, 171.44, 0.01),  # one metre of lead gives the integral of N itself
        (11.0, 1.225, 0.005, 0.0, 0.857, 0.001),
        (11.0, 1.225, 0.0, -0.05, -1.137, 0.001),
        (0.0, 1.225, 1.0, 0.0, 231.67, 0.01),
        (0.0, 1.225, 0.005, 0.0, 1.158, 0.001),
        (0.0, 1.225, 0.0, -0.05, -1.107, 0.001),
        (11.0, 0.909122, 1.0, 0.0, 127.23, 0.01),  # 3000 m: falls with density alone
        (11.0, 0.909122, 0.005, 0.0, 0.636, 0.001),
        (11.0, 0.909122, 0.0, -0.05, -0.844, 0.001),
    ],
)
def test_air_moment(
    airspeed: float, density: float, lead: float, moment: float, printed: float, digit: float
) -> None:
    angle = atan(0.60 / (2.0 * pi * 0.75 * 0.625))
    air = SEA_LEVEL._replace(density=density)
    loads = rotor_loads(reference_blade(lead, moment), angle, 2400.0 * RPM, airspeed, air)
    assert loads.air_moment == pytest.approx(printed, abs=0.5 * digit)
