"""The air's twisting moment on a blade: two independent integrations, and limits of thin-aerofoil theory.

No measurement of this moment is at hand. What is checked is that the model sums its own sections rightly:
once by plain arithmetic from the flow at each element, written apart from the model's sum; once by forces as
vectors in space and cross products about the pitch axis. What thin-aerofoil theory says of a plate and of a
cambered line is derived here by integrating the theory's own pressure, not quoted. None of it confirms the
sections' moment coefficients or the induced flow: results say so, and a calibration scales the moment.
"""

from math import cos, pi, radians, sin

import numpy as np
import pytest
from machines import demo_aircraft, demo_blade
from scipy.integrate import quad
from standard_atmosphere import standard_air

from simengine.balance.aircraft import pitch_damping, rotor_state, with_parts
from simengine.constants import RPM
from simengine.models.blade import build_blade
from simengine.models.distribution import rotor_distribution
from simengine.models.momentum import air_pitch_damping, pitch_moment, rotor_loads

AIR = standard_air(500.0)
POINTS = [
    (8.0, 2400.0, 0.0),
    (13.0, 2400.0, 11.0),
    (18.0, 2000.0, 15.0),
    (10.0, 900.0, 14.0),
    (26.0, 2400.0, 0.0),
]


def section_coefficients_of(distribution, blade, i):
    """Lift, drag and moment coefficient of an element, moment read back from what it is of the sum."""
    pressure = 0.5 * AIR.density * distribution.speed[i] ** 2
    alpha, chord = distribution.attack_angle[i], blade.chord[i]
    normal = distribution.lift[i] * cos(alpha) + distribution.drag[i] * sin(alpha)
    whole = distribution.air_moment[i] / (pressure * chord)
    return distribution.lift[i], distribution.drag[i], (whole - normal * blade.axis_lead[i]) / chord


@pytest.mark.parametrize(("angle", "rpm", "airspeed"), POINTS)
def test_plain_sum_over_the_elements(angle, rpm, airspeed):
    # sum of 0.5 rho W^2 c [ (cl cos a + cd sin a) e + c cm ] dr, with W and the angle of attack formed here
    # from the inflow angle, the swirl-free identity of the velocity triangle, and the geometry.
    blade = demo_blade()
    along = rotor_distribution(blade, radians(angle), rpm * RPM, airspeed, AIR)
    total = 0.0
    for i, radius in enumerate(blade.radius):
        cl, cd, cm = section_coefficients_of(along, blade, i)
        alpha = radians(angle) + blade.twist[i] + blade.datum - along.inflow_angle[i]
        assert alpha == pytest.approx(along.attack_angle[i], abs=1e-12)
        # Speed back from thrust and torque per metre: they share one dynamic pressure.
        phi = along.inflow_angle[i]
        normal, tangential = cl * cos(phi) - cd * sin(phi), cl * sin(phi) + cd * cos(phi)
        q_chord = (along.thrust[i] * normal + along.torque[i] / radius * tangential) / (
            normal**2 + tangential**2
        )
        across = cl * cos(alpha) + cd * sin(alpha)
        total += q_chord * (across * blade.axis_lead[i] + cm * blade.chord[i]) * blade.width[i]
    assert rotor_loads(blade, radians(angle), rpm * RPM, airspeed, AIR).air_moment == pytest.approx(
        total, rel=1e-10
    )


@pytest.mark.parametrize(("angle", "rpm", "airspeed"), POINTS)
def test_forces_as_vectors_about_the_pitch_axis(angle, rpm, airspeed):
    # Axes: x outward along the pitch axis, y along the rotation, z along the thrust. Thrust and the force
    # against the rotation act at the quarter chord, which lies `axis_lead` ahead of the axis along the chord;
    # the moment about the axis is r x F, its outward part toward coarse with this handedness, plus the
    # section's own.
    blade = demo_blade()
    along = rotor_distribution(blade, radians(angle), rpm * RPM, airspeed, AIR)
    total, outward = np.zeros(3), np.array([1.0, 0.0, 0.0])
    for i, radius in enumerate(blade.radius):
        chord_angle = radians(angle) + blade.twist[i] + blade.datum
        ahead = np.array([0.0, cos(chord_angle), sin(chord_angle)])  # toward the leading edge
        arm = blade.axis_lead[i] * ahead
        force = np.array([0.0, -along.torque[i] / radius, along.thrust[i]])
        *_, cm = section_coefficients_of(along, blade, i)
        own = 0.5 * AIR.density * along.speed[i] ** 2 * blade.chord[i] ** 2 * cm
        total += (np.cross(arm, force) + own * outward) * blade.width[i]
    assert total[1] == pytest.approx(0.0, abs=1e-12)
    assert total[2] == pytest.approx(0.0, abs=1e-12)
    loads = rotor_loads(blade, radians(angle), rpm * RPM, airspeed, AIR)
    assert loads.air_moment == pytest.approx(total[0], rel=1e-10)


# --- thin aerofoils ---------------------------------------------------------------------------------
def thin_aerofoil(slope_of_line, alpha):
    """Lift, and moment about the leading edge (nose up), by integrating thin-aerofoil theory's vortex sheet.

    `slope_of_line(theta)` with x = (1 - cos theta)/2. Glauert's series A0 + sum An (form from memory): its
    loading 2 U [A0 (1 + cos t)/sin t + A1 sin t + A2 sin 2t] is summed here instead of quoting the results.
    """
    a0 = alpha - quad(slope_of_line, 0.0, pi)[0] / pi
    a = [2.0 / pi * quad(lambda t, k=k: slope_of_line(t) * cos(k * t), 0.0, pi)[0] for k in (1, 2)]

    def loading(t):  # (2 gamma / U) dx, the sine of dx = sin t / 2 dt taken in
        return 2.0 * (a0 * (1.0 + cos(t)) + (a[0] * sin(t) + a[1] * sin(2.0 * t)) * sin(t))

    lift = quad(loading, 0.0, pi)[0]
    moment = -quad(lambda t: loading(t) * 0.5 * (1.0 - cos(t)), 0.0, pi)[0]
    return lift, moment


class Flow:
    """What `pitch_moment` looks at."""

    def __init__(self, lift, moment, alpha=0.0):
        self.lift, self.moment, self.drag, self.attack_angle = lift, moment, 0.0, alpha


def test_flat_plate_carries_no_moment_about_its_quarter_chord():
    lift, leading_edge = thin_aerofoil(lambda _: 0.0, 0.1)
    assert lift == pytest.approx(2.0 * pi * 0.1)
    assert leading_edge + 0.25 * lift == pytest.approx(0.0, abs=1e-12)
    chord = 0.09
    at_quarter = pitch_moment.py_func(Flow(lift, 0.0), chord, 0.0)
    at_middle = pitch_moment.py_func(Flow(lift, 0.0), chord, 0.25 * chord)
    assert at_quarter == 0.0
    assert at_middle == pytest.approx(lift * chord * chord / 4.0), (
        "normal force times a quarter chord, toward coarse"
    )
    assert at_middle == pytest.approx((leading_edge + 0.5 * lift) * chord**2)


def test_parabolic_line_of_camber():
    # z = 4 f x (1 - x), dz/dx = 4 f cos(theta): A0 = alpha, A1 = 4 f, A2 = 0, so cl = 2 pi (alpha + 2 f) and
    # cm about the quarter chord = -(pi/4)(A1 - A2) = -pi f.
    camber = 0.03
    lift, leading_edge = thin_aerofoil(lambda t: 4.0 * camber * cos(t), 0.02)
    assert lift == pytest.approx(2.0 * pi * (0.02 + 2.0 * camber))
    assert leading_edge + 0.25 * lift == pytest.approx(-pi * camber)


@pytest.mark.parametrize("section", ["flat_bottom", "naca_4digit", "thin_low_reynolds"])
def test_families_stay_near_the_thin_line_of_the_same_camber(section):
    # Section moments of real cambered sections are 70 to 100 % of thin-aerofoil theory's (viscous loss at the
    # tail; common practice, no source). A sign or a factor of two would show here. The line is that of the
    # four-digit sections, greatest camber at 0.4.
    from simengine.models.section_families import build_sections, section_camber

    thickness = np.array([0.12])
    camber = float(section_camber(section, thickness, None)[0])

    def slope(t):
        x = 0.5 * (1.0 - cos(t))
        length = 0.4 if x < 0.4 else 0.6
        return -2.0 * camber * (x - 0.4) / length**2

    lift, leading_edge = thin_aerofoil(slope, 0.0)
    theory = leading_edge + 0.25 * lift
    assert theory < 0.0
    assert 0.65 < float(build_sections(section, thickness).moment[0]) / theory < 1.1


def plate_blade(axis):
    """A blade of symmetric sections with its pitch axis somewhere in the chord."""
    return build_blade(
        blades=2,
        diameter=1.25,
        hub_radius=0.1,
        radius=(0.1, 0.3, 0.625),
        chord=(0.08, 0.08, 0.08),
        blade_angle=(0.3, 0.25, 0.2),
        thickness=(0.1, 0.1, 0.1),
        axis=(axis, axis, axis),
        section="naca_4digit",
        camber=0.0,
        reference_station=0.75,
        datum=0.0,
        elements=24,
    )


def test_symmetric_blade_about_its_quarter_chord_and_its_middle():
    at = (0.21, 2400.0 * RPM, 11.0, AIR)
    quarter, middle = (rotor_loads(plate_blade(axis), *at) for axis in (0.25, 0.5))
    along = rotor_distribution(plate_blade(0.25), *at)
    phi_free = along.lift * np.cos(along.attack_angle) + along.drag * np.sin(along.attack_angle)
    normal = 0.5 * AIR.density * along.speed**2 * 0.08 * phi_free
    assert quarter.air_moment == pytest.approx(0.0, abs=1e-9)
    assert middle.air_moment == pytest.approx(
        float((normal * plate_blade(0.25).width).sum()) * 0.08 / 4.0, rel=1e-10
    )


# --- scaled by calibration --------------------------------------------------------------------------
def test_factor_scales_moment_and_damping_and_nothing_else():
    aircraft = demo_aircraft()
    scaled = with_parts(aircraft, air_moment_factor=1.7)
    at = (AIR, 0.21, 250.0, 9.0, 1.0)
    plain, much = rotor_state(aircraft, *at), rotor_state(scaled, *at)
    assert much.moments.air == pytest.approx(1.7 * plain.moments.air)
    assert abs(plain.moments.air) > 0.01
    assert much.loads == plain.loads
    assert much.moments.centrifugal == plain.moments.centrifugal
    air_damping = air_pitch_damping(aircraft.blade, 250.0, AIR)
    assert pitch_damping(aircraft, 250.0, AIR) == pytest.approx(aircraft.hub.damping + air_damping)
    assert pitch_damping(scaled, 250.0, AIR) == pytest.approx(aircraft.hub.damping + 1.7 * air_damping)
    assert air_damping != 0.0
