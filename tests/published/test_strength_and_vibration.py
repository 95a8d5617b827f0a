"""Pull, root stress, tip speed, sound, beams and cycle counts against textbook and published values."""

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
from machines import demo_aircraft, demo_blade, torsion_spring, two_stop_hub, untwisted_inertia

from simengine.constants import RPM
from simengine.models.atmosphere import Atmosphere, air_at
from simengine.scenario.loads_records import RootSection, section_of
from simengine.studies.loads.blade_frequencies import Surroundings, pitch_frequency
from simengine.studies.loads.blade_loads import (
    DOUBLE_PULL,
    Bending,
    Root,
    noise_trend,
    pull_of,
    root_stress,
    tip_mach,
)
from simengine.studies.loads.rainflow import rainflow, turning_points
from simengine.studies.loads.rotating_beam import beam_parameters, cantilever_frequency, turning_frequency
from simengine.studies.machine import machine_of

STANDARD = Atmosphere(0.0, 101325.0, 0.0)


# --- pull and root stress --------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("rpm", "newton"), [(1600, 8009.0), (2000, 12514.1), (2400, 18020.3), (2800, 24527.6)]
)
def test_pull_of_a_plain_blade(rpm, newton):
    # solid rectangle 90 x 11 mm, 1500 kg/m3, 0.08 to 0.625 m: mass times mean radius times Omega squared;
    # own arithmetic, a regression guard
    machine = machine_of(demo_aircraft(inertia=untwisted_inertia()))
    assert pull_of(machine, rpm * RPM) == pytest.approx(newton, abs=0.06)


def test_twice_the_pull_at_141_per_cent():
    # 14 CFR 35.35: twice the centrifugal load; 159 % of it belongs to 126.1 % of the speed
    machine = machine_of(demo_aircraft())
    assert pull_of(machine, DOUBLE_PULL * 200.0) == pytest.approx(2.0 * pull_of(machine, 200.0), rel=1e-12)
    assert abs(DOUBLE_PULL - 1.414) < 5e-4
    assert pull_of(machine, 1.261 * 200.0) == pytest.approx(1.59 * pull_of(machine, 200.0), rel=1e-3)


def test_root_stress_by_hand():
    # the same blade at 2400 rpm: pull 18020.3 N on 90 x 11 mm is 18.20 MPa; 350 N at 0.7 R bend the root at
    # 80 mm by 125.1 N m, 68.94 MPa on the plain section; own arithmetic from sigma = F/A + M/W
    root = Root(0.08, *section_of(RootSection(width=0.090, thickness=0.011)))
    bending = Bending(350.0 * (0.7 * 0.625 - 0.08), 0.0)
    assert bending.flap == pytest.approx(125.1, abs=0.05)
    stress = root_stress(18020.3, bending, root, 0.0)
    assert stress.pull / 1e6 == pytest.approx(18.20, abs=0.005)
    assert stress.flat / 1e6 == pytest.approx(68.94, abs=0.005)
    assert stress.edge == 0.0
    assert stress.total == pytest.approx(stress.pull + stress.flat)


def test_a_round_spigot_by_the_handbook():
    # area pi d^2 / 4, section modulus pi d^3 / 32
    area, flat, edge = section_of(RootSection(diameter=0.030))
    assert area == pytest.approx(pi * 0.030**2 / 4.0)
    assert flat == edge == pytest.approx(pi * 0.030**3 / 32.0)


def test_bending_turns_with_the_chord():
    # a moment of the thrust alone, chord at 30 deg: cos of it across, sin of it along the chord
    root = Root(0.08, 1.0, 1.0, 1.0)
    stress = root_stress(0.0, Bending(100.0, 0.0), root, radians(30.0))
    assert stress.flat == pytest.approx(100.0 * cos(radians(30.0)))
    assert stress.edge == pytest.approx(100.0 * sin(radians(30.0)))


def test_a_force_across_the_chord_bends_across_it_only():
    # a force normal to the chord gives thrust (cos) and drags back against the rotation (sin)
    root, angle = Root(0.08, 1.0, 1.0, 1.0), radians(25.0)
    normal = root_stress(0.0, Bending(100.0 * cos(angle), 100.0 * sin(angle)), root, angle)
    assert normal.flat == pytest.approx(100.0)
    assert normal.edge == pytest.approx(0.0, abs=1e-12)


# --- tip speed and sound ---------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("diameter", "rpm", "height", "mach"),
    [
        (1.25, 2400, 0.0, 0.4629),
        (1.25, 2400, 3000.0, 0.4795),
        (1.25, 2800, 0.0, 0.5397),
        (1.25, 2800, 3000.0, 0.5589),
        (1.40, 2600, 0.0, 0.5612),
        (1.40, 2600, 3000.0, 0.5812),
    ],
)
def test_tip_mach_at_12_metres_per_second(diameter, rpm, height, mach):
    # own arithmetic with the speed of sound of ISO 2533
    sound = air_at(STANDARD, height).speed_of_sound
    assert tip_mach(diameter, rpm * RPM, 12.0, sound) == pytest.approx(mach, abs=6e-5)


def test_sound_by_tip_mach():
    # 14 CFR 36 G36.201(d)(3), k log10 of the ratio, k = 150 from memory: own arithmetic
    assert -noise_trend(0.50, 0.60) == pytest.approx(11.9, abs=0.05)
    assert -noise_trend(0.42, 0.52) == pytest.approx(13.9, abs=0.05)


# --- frequencies -----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("spin", "frequency"),
    [
        (0, 3.51602),
        (1, 3.68165),
        (2, 4.13732),
        (3, 4.79728),
        (4, 5.58500),
        (5, 6.44954),
        (6, 7.36037),
        (12, 13.17015),
    ],
)
def test_turning_uniform_cantilever(spin, frequency):
    # A. D. Wright et al., J. Appl. Mech. 49 (1982) 197, hub radius 0 (values from memory)
    assert beam_parameters(float(spin))[0] == pytest.approx(frequency, abs=5e-6)


def test_second_mode_at_rest():
    # 22.0345, any textbook of vibration
    assert beam_parameters(0.0)[1] == pytest.approx(22.0345, abs=5e-5)


def test_a_string_that_turns():
    """Without stiffness the first mode is that of a rigid blade hinged at the clamp: own derivation.

    Inertia m L^3 / 3, pull back m w^2 L^3 (1/3 + e/2), hinge at the radius e L: f = w sqrt(1 + 1.5 e).
    """
    for hinge in (0.0, 0.1, 0.3):
        expected = 1e5 * np.sqrt(1.0 + 1.5 * hinge)
        assert beam_parameters(1e5, hinge)[0] == pytest.approx(expected, rel=0.006)


def test_southwell_factor_of_the_table():
    # K_s = (eta-dependent square less that at rest) over eta squared: 1.192 at 1, 1.161 at 6 (own arithmetic)
    at_rest = beam_parameters(0.0)[0]
    for spin, factor in ((1.0, 1.192), (6.0, 1.161)):
        rise = (beam_parameters(spin)[0] ** 2 - at_rest**2) / spin**2
        assert rise == pytest.approx(factor, abs=5e-4)


def test_slow_turning_with_a_hub():
    # first order in Omega squared: rise = int T phi'^2 / int phi^2 with the textbook's mode of a cantilever,
    # phi = cosh bx - cos bx - 0.734096 (sinh bx - sin bx), b = 1.875104, T = (1 - x^2)/2 + hub (1 - x)
    b, sigma, hub, spin = 1.875104069, 0.734095514, 0.3, 0.01
    x = np.linspace(0.0, 1.0, 20001)
    mode = np.cosh(b * x) - np.cos(b * x) - sigma * (np.sinh(b * x) - np.sin(b * x))
    slope = b * (np.sinh(b * x) + np.sin(b * x) - sigma * (np.cosh(b * x) - np.cos(b * x)))
    pull = 0.5 * (1.0 - x**2) + hub * (1.0 - x)
    expected = np.trapezoid(pull * slope**2, x) / np.trapezoid(mode**2, x)
    rise = (beam_parameters(spin, hub)[0] ** 2 - beam_parameters(0.0, hub)[0] ** 2) / spin**2
    assert rise == pytest.approx(expected, rel=1e-4)


def test_turning_blade_of_zero_angle_rises_by_southwell():
    # f0 30 Hz at 40 turns a second, hub radius 0, chord in the plane: across it f^2 = f0^2 + K n^2 with K of
    # that speed; along it K - 1
    standing, turns = 30.0, 40.0
    spin = beam_parameters(0.0)[0] * turns / standing
    factor = (beam_parameters(spin)[0] ** 2 - beam_parameters(0.0)[0] ** 2) / spin**2
    across = turning_frequency(standing, 2.0 * pi * turns, 0.0, 0.0, False)
    along = turning_frequency(standing, 2.0 * pi * turns, 0.0, 0.0, True)
    assert across == pytest.approx(sqrt(standing**2 + factor * turns**2), rel=1e-7)
    assert along == pytest.approx(sqrt(standing**2 + (factor - 1.0) * turns**2), rel=1e-7)


def test_cantilever_at_rest():
    # f = 1.875104^2 / (2 pi) sqrt(EI / (m L^4)) with m over length: the textbook's first root
    length, mass, stiffness = 0.5, 0.3, 200.0
    expected = 1.875104**2 / (2.0 * pi) * sqrt(stiffness / (mass / length * length**4))
    assert cantilever_frequency(stiffness, mass, length) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("rate", "per_turn"), [(0.0, 0.886), (20.0, 1.165)])
def test_pitch_mode_of_a_floating_blade(rate, per_turn):
    # sqrt((k + Omega^2 K cos 2b) / I), 2400 rpm, 18 deg, K 5.38134e-4, I 5.54455e-4, no air: own arithmetic
    hub = two_stop_hub(20.0, 13.0, spring=torsion_spring(6.0, rate), pitch_inertia=5.54455e-4)
    machine = machine_of(demo_aircraft(hub=hub, blade=demo_blade(air_moment=False)))
    around = Surroundings(air_at(STANDARD, 0.0), 11.0)
    frequency = pitch_frequency(machine, around, radians(18.0), 2400 * RPM)
    assert frequency / 40.0 == pytest.approx(per_turn, abs=1e-3)


# --- cycle counting --------------------------------------------------------------------------------
def test_example_of_the_standard():
    """ASTM E1049-85, rainflow example: peaks and valleys A to I (value from memory).

    Halves A-B 3, B-C 4, C-D 8, D-G 9, G-H 8, H-I 6; one whole cycle E-F of 4.
    """
    found = rainflow([-2, 1, -3, 5, -1, 3, -4, 4, -2])
    assert [(stroke.range, stroke.cycles) for stroke in found] == [
        (3, 0.5),
        (4, 0.5),
        (4, 1.0),
        (8, 0.5),
        (9, 0.5),
        (8, 0.5),
        (6, 0.5),
    ]


def test_example_printed_by_a_public_package():
    """The package `rainflow` 3.1 on the public index prints this for its sample signal (seen)."""
    time = [4.0 * i / 200 for i in range(200 + 1)]
    signal = [0.2 + 0.5 * sin(t) + 0.2 * cos(10 * t) + 0.2 * sin(4 * t) for t in time]
    found = sorted((stroke.range, stroke.cycles) for stroke in rainflow(signal))
    printed = [
        (0.04258965150708488, 0.5),
        (0.10973439445727551, 1.0),
        (0.11294628078612906, 0.5),
        (0.2057106991158965, 1.0),
        (0.21467990941625242, 1.0),
        (0.4388985979776988, 1.0),
        (0.48305748051348263, 0.5),
        (0.5286423866535466, 0.5),
        (0.7809330293159786, 0.5),
        (1.4343610172143002, 0.5),
    ]
    assert [cycles for _, cycles in found] == [cycles for _, cycles in printed]
    assert [size for size, _ in found] == pytest.approx([size for size, _ in printed], rel=1e-12)


def test_odd_histories():
    assert rainflow([]) == []
    assert rainflow([1.0, 1.0, 1.0]) == []
    assert [(stroke.range, stroke.cycles) for stroke in rainflow([0.0, 1.0, 1.0, 2.0])] == [(2.0, 0.5)]
    assert turning_points([0.0, float("nan"), 2.0, 2.0, 1.0]) == [0.0, 2.0, 1.0]
