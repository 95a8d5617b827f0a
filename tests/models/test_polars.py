"""A user's own section: what goes in comes out, and it flies as the family it was sampled from."""

from math import log, pi, radians

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from standard_atmosphere import standard_air

from simengine.models.blade import build_blade
from simengine.models.momentum import rotor_loads
from simengine.models.polar_tables import FADE, build_polar, polar_sections
from simengine.models.polars import (
    FIRST_ANGLE,
    LAST_ANGLE,
    LIFT_SLOPE,
    STALL_ABOVE,
    STALL_BELOW,
    ZERO_LIFT_ANGLE,
    polar_coefficients,
    polar_place,
    stretched,
)
from simengine.models.section_families import build_sections
from simengine.models.sections import plate_coefficients, section_at, section_coefficients

FULL = np.radians(
    np.unique(np.r_[np.arange(-180, -30, 2.5), np.arange(-30, 40, 0.25), np.arange(40, 180.1, 2.5)])
)
AIR = standard_air(0.0)


def sampled(family, thickness, reynolds, angles=FULL):
    """Points of a family in slow flow, as a user would type them."""
    section = build_sections(family, np.array([thickness]))
    points = [(r, a, *section_coefficients(section, 0, a, r, 0.0)) for r in reynolds for a in angles]
    return dict(zip(("reynolds", "alpha", "cl", "cd", "cm"), np.array(points).T, strict=True))


def blade_of(family, **polar):
    """A two-blade propeller of 1.30 m of one thickness, invented."""
    return build_blade(
        blades=2,
        diameter=1.30,
        hub_radius=0.06,
        radius=(0.08, 0.22, 0.39, 0.4875, 0.57, 0.63, 0.65),
        chord=(0.052, 0.084, 0.088, 0.078, 0.064, 0.046, 0.030),
        blade_angle=tuple(radians(a) for a in (26.0, 21.5, 15.6, 13.0, 11.2, 10.2, 9.8)),
        thickness=(0.12,) * 7,
        axis=(0.30, 0.27, 0.20, 0.14, 0.08, 0.04, 0.02),
        section=family,
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=24,
        **polar,
    )


@pytest.mark.parametrize("family", ["flat_bottom", "naca_4digit", "thin_low_reynolds"])
def test_sampled_family_gives_the_family_s_loads(family):
    # Tip Mach numbers 0.2 to 0.6: the stretch for compressibility is in it. Reynolds numbers finely spaced,
    # since between them the table is straight in the logarithm and the families are powers.
    polar = build_polar(**sampled(family, 0.12, np.geomspace(2e4, 3e6, 25)))
    own, plain = blade_of(family, polar=polar), blade_of(family)
    compared = 0
    for angle in (5.0, 10.0, 14.0):
        for airspeed in (0.0, 11.0, 20.0):
            for speed in (110.0, 200.0, 300.0):
                at = (radians(angle), speed, airspeed, AIR)
                mine, theirs = rotor_loads(own, *at), rotor_loads(plain, *at)
                assert mine.status == 0.0
                # Near a stall several balances may exist; near zero thrust a share means nothing.
                if theirs.stalled_fraction > 0.15 or theirs.thrust < 10.0 or theirs.torque < 2.0:
                    continue
                compared += 1
                assert mine.thrust == pytest.approx(theirs.thrust, rel=0.005)
                assert mine.torque == pytest.approx(theirs.torque, rel=0.005)
                assert mine.air_moment == pytest.approx(theirs.air_moment, rel=0.005, abs=0.002)
                assert mine.stalled_fraction == pytest.approx(theirs.stalled_fraction, abs=0.06), (
                    "one element"
                )
    assert compared >= 15


def test_curves_are_the_monotone_cubic_of_a_general_library():
    points = sampled("naca_4digit", 0.12, [1e5, 1e6], np.radians([-12.0, -6, -2, 0, 3, 7, 10, 13, 16, 20]))
    polar = build_polar(**points)
    inside = np.radians(np.linspace(-11.9, 19.9, 37))
    place = polar_place(polar.lines, 10.0**5.5)
    assert place == pytest.approx(0.5)
    for column, name in enumerate(("cl", "cd", "cm")):
        halves = []
        for first, end in ((0, 10), (10, 20)):
            full = PchipInterpolator(points["alpha"][first:end], points[name][first:end])
            halves.append(full(inside[3:-3]))
        mine = [polar_coefficients(polar.pieces, place, a)[column] for a in inside[3:-3]]
        # At the ends the plate's points lie beyond, which changes the slope in the last interval only.
        middle = slice(6, 24)
        assert np.array(mine)[middle] == pytest.approx(0.5 * (halves[0] + halves[1])[middle], abs=1e-12)


def test_points_come_back():
    points = sampled("flat_bottom", 0.12, [8e4, 5e5], np.radians(np.arange(-10.0, 16.0, 2.0)))
    polar = build_polar(**points)
    for row in range(points["alpha"].size):
        place = polar_place(polar.lines, points["reynolds"][row])
        found = polar_coefficients(polar.pieces, place, points["alpha"][row])
        assert found == pytest.approx([points[name][row] for name in ("cl", "cd", "cm")], abs=1e-12)


def test_reynolds_numbers_are_held_outside_the_table():
    polar = build_polar(
        **sampled("flat_bottom", 0.12, [1e5, 3e5, 1e6], np.radians(np.arange(-10.0, 16.0, 2.0)))
    )
    assert polar_place(polar.lines, 10.0) == polar_place(polar.lines, 1e5) == 0.0
    assert polar_place(polar.lines, 1e6) == polar_place(polar.lines, 1e9) == 2.0
    assert polar_place(polar.lines, 5e5) == pytest.approx(1.0 + log(5 / 3) / log(10 / 3))


def test_beyond_the_angles_the_section_becomes_a_plate_without_a_jump():
    polar = build_polar(**sampled("naca_4digit", 0.12, [5e5], np.radians(np.arange(-8.0, 12.1, 1.0))))
    sections = polar_sections(polar, np.array([0.12]))
    angles = np.radians(np.arange(-180.0, 180.01, 0.1))
    found = np.array([polar_coefficients(polar.pieces, 0.0, a) for a in angles])
    assert np.abs(np.diff(found, axis=0)).max() < 0.04, "0.1 deg apart"
    plate = section_at(sections, 0, 5e5, 0.0)._replace(
        drag_min=sampled("naca_4digit", 0.12, [5e5])["cd"].min()
    )
    for angle in (radians(12.0) + FADE, radians(90.0), radians(-90.0), radians(150.0)):
        assert polar_coefficients(polar.pieces, 0.0, angle).cl == pytest.approx(
            plate_coefficients(plate, angle).cl, abs=0.02
        )
    assert polar.lines[0, FIRST_ANGLE] == pytest.approx(radians(-8.0))
    assert polar.lines[0, LAST_ANGLE] == pytest.approx(radians(12.0))


def test_zero_lift_slope_and_stall_are_read_from_the_points():
    alpha = np.radians(np.arange(-14.0, 20.1, 0.5))
    line = 5.9 * (alpha + 0.05)
    cl = np.where(line > 1.2, 1.2 - 0.8 * (alpha - (1.2 / 5.9 - 0.05)), np.maximum(line, -0.6))
    polar = build_polar(
        reynolds=np.full(alpha.size, 3e5),
        alpha=alpha,
        cl=cl,
        cd=0.01 + 0.01 * cl**2,
        cm=np.full(alpha.size, -0.06),
    )
    row = polar.lines[0]
    assert row[ZERO_LIFT_ANGLE] == pytest.approx(-0.05, abs=1e-6)
    assert row[LIFT_SLOPE] == pytest.approx(5.9, rel=1e-6)
    assert row[STALL_ABOVE] == pytest.approx(1.2 / 5.9 - 0.05, abs=radians(1.2))
    assert row[STALL_BELOW] == pytest.approx(-0.6 / 5.9 - 0.05, abs=radians(1.2))


def test_stretch_for_compressible_flow():
    # Prandtl and Glauert: slope up by the factor, zero lift where it was, greatest lift the same.
    factor, zero, above, below = 1.2, -0.06, 0.2, -0.15
    assert stretched(zero, zero, above, below, factor) == pytest.approx(zero)
    assert stretched(0.05, zero, above, below, factor) == pytest.approx(zero + factor * 0.11)
    assert stretched(pi / 2, zero, above, below, factor) == pytest.approx(pi / 2), (
        "a plate knows nothing of it"
    )
    assert stretched(0.1, zero, above, below, 1.0) == 0.1
    angles = np.linspace(-pi, pi, 2001)
    moved = np.array([stretched(a, zero, above, below, factor) for a in angles])
    assert np.diff(moved).min() > 0.0, "no angle is passed over twice"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"reynolds": [2e5, 2e5, 2e5, 1e5, 1e5, 1e5]}, "rise from block to block"),
        ({"alpha": [-0.1, 0.0, 0.0, -0.1, 0.0, 0.1]}, "must rise"),
        ({"cl": [0.1, 0.2, 0.5, 0.1, 0.2, 0.5]}, "lift does not rise through zero"),
    ],
)
def test_refused(change, words):
    points = {
        "reynolds": [1e5, 1e5, 1e5, 2e5, 2e5, 2e5],
        "alpha": [-0.1, 0.0, 0.1, -0.1, 0.0, 0.1],
        "cl": [-0.2, 0.3, 0.8, -0.2, 0.3, 0.8],
        "cd": [0.02] * 6,
        "cm": [-0.05] * 6,
    }
    build_polar(**points)
    with pytest.raises(ValueError, match=words):
        build_polar(**(points | change))
