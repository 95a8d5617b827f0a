"""Strength and fatigue of springs against handbook worked examples, each to its printed digits."""

from math import inf, isnan, pi

import pytest
from spring_formulas import INCH, PSI, bergstraesser_factor, music_wire_strength

from simengine.models.spring_strength import (
    BENDING_LIVES,
    FEW_STROKES,
    SHEAR_LIVES,
    STATIC_BENDING,
    disc_strength,
    helical_strength,
    torsion_bending_stress,
    torsion_strength,
)
from simengine.models.springs import DiscWasher, music_wire_strength_rational

POUND_FORCE = 0.45359237 * 9.80665  # N
KPSI = 1e3 * PSI


def coil(low_pounds, high_pounds, **changes):
    """The coil of Shigley's Example 10-4: music wire 0.092 in, outside 9/16 in."""
    wire = 0.092 * INCH
    given = {
        "wire_diameter": wire,
        "mean_diameter": 9.0 / 16.0 * INCH - wire,
        "low_force": low_pounds * POUND_FORCE,
        "high_force": high_pounds * POUND_FORCE,
        "tensile_strength": music_wire_strength(wire),
        "stress_factor": bergstraesser_factor,
    }
    return helical_strength(**(given | changes))


def test_shigley_example_10_4_whole():
    """5 to 35 lbf, unpeened: amplitude 29.7, mean 39.6 kpsi; Sines 1.18, Gerber 1.21, Goodman 1.23.

    Value from memory, reproduced. Zimmerli's figures stand here in MPa, 241 and 379 for 35 and 55 kpsi, which
    differ by 0.15 %: the last digit of the factors may move by that.
    """
    found = coil(5.0, 35.0)
    assert 0.5 * (found.stress_high - found.stress_low) / KPSI == pytest.approx(29.69, abs=0.005)
    assert 0.5 * (found.stress_high + found.stress_low) / KPSI == pytest.approx(39.59, abs=0.005)
    assert found.tensile_strength / KPSI == pytest.approx(284.1, abs=0.05)
    assert found.sines == pytest.approx(1.179, rel=0.002)
    assert found.gerber == pytest.approx(1.205, rel=0.002)
    assert found.goodman == pytest.approx(1.233, rel=0.002)
    assert found.strokes == inf


def test_shigley_example_10_8_and_10_9():
    """Torsion spring of music wire 0.072 in, outside 19/32 in, 1 to 5 lbf in (value from memory, redone).

    C 7.25, factor 1.115, amplitude 60.857 kpsi, mean 91.29 kpsi (the book carries the factor as 1.115),
    Gerber at the load line 2/3: Sa 68.85, factor 1.13. Static: 7.55 lbf in at 0.78 of the tensile strength.
    """
    wire = 0.072 * INCH
    mean = 19.0 / 32.0 * INCH - wire
    inch_pound = POUND_FORCE * INCH
    assert mean / wire == pytest.approx(7.25, abs=0.005)
    factor = torsion_bending_stress(1.0, wire, mean) * pi * wire**3 / 32.0
    assert factor == pytest.approx(1.115, abs=5e-4)
    tensile = music_wire_strength(wire)
    assert tensile / KPSI == pytest.approx(294.4, abs=0.05)
    found = torsion_strength(
        wire_diameter=wire,
        mean_diameter=mean,
        low_moment=1.0 * inch_pound,
        high_moment=5.0 * inch_pound,
        tensile_strength=tensile,
    )
    amplitude = 0.5 * (found.stress_high - found.stress_low)
    assert amplitude / KPSI * 1.115 / factor == pytest.approx(60.857, abs=0.01)
    assert found.gerber == pytest.approx(1.13, abs=0.005)
    static = STATIC_BENDING * tensile / torsion_bending_stress(1.0, wire, mean)
    assert static / inch_pound == pytest.approx(7.55, abs=0.01)


@pytest.mark.parametrize("millimetres", [0.5, 1.0, 2.0, 3.0, 5.0])
def test_the_strength_taken_is_the_lower_of_two_sources(millimetres):
    # a law A/d^m (handbook, from memory) and a rational fit (lecture notes, seen) of the same wire: the fit,
    # which is taken, lies 2 to 4 % lower up to 3 mm and 6 % lower at 5 mm
    law, fit = (f(1e-3 * millimetres) for f in (music_wire_strength, music_wire_strength_rational))
    assert 0.93 * law < fit < law


def test_wire_of_lecture_notes_by_hand():
    # (3370 + d (6560 - 230 d)) / (1 + 3.5 d) at d = 2: (3370 + 2 x 6100) / 8
    assert music_wire_strength_rational(2e-3) / 1e6 == pytest.approx(15570.0 / 8.0, rel=1e-12)


def test_din_2093_series_a_edge_ii():
    # DIN 2093, series A, 25 x 12.2 x 1.5, cone 0.55 mm, at 0.41 mm: 1410 N/mm2 (value from memory, in tens)
    washer = DiscWasher(25e-3, 12.2e-3, 1.5e-3, 0.55e-3)
    found = disc_strength(washer, 0.0, 0.41e-3)
    assert found.stress_high / 1e6 == pytest.approx(1410.0, abs=5.0)
    assert found.stress_low == 0.0
    assert isnan(found.goodman) and isnan(found.strokes)


# --- classes of life -------------------------------------------------------------------------------
def test_peening_and_a_smaller_stroke_are_better():
    plain, peened, shorter = coil(5.0, 35.0), coil(5.0, 35.0, peened=True), coil(20.0, 35.0)
    assert peened.goodman > plain.goodman
    assert shorter.goodman > plain.goodman
    assert shorter.stress_high == plain.stress_high


@pytest.mark.parametrize(("share", "strokes"), [(0.335, 1e5), (0.37, FEW_STROKES), (0.46, 0.0)])
def test_class_of_life_by_the_largest_stress(share, strokes):
    # handbook shares of tensile strength, music wire, unpeened, from no load (values from memory)
    at_one = coil(0.0, 1.0)
    found = coil(0.0, share / at_one.share)
    assert found.share == pytest.approx(share)
    assert found.goodman < 1.0
    assert found.strokes == strokes


def test_the_tables_fall_with_the_number_of_strokes():
    for table in (SHEAR_LIVES, BENDING_LIVES):
        for place in (0, 1):
            shares = [table[strokes][place] for strokes in sorted(table)]
            assert shares == sorted(shares, reverse=True)
        assert all(peened > plain for plain, peened in table.values())


def test_a_spring_that_does_not_move_lasts():
    found = coil(30.0, 30.0)
    assert found.sines == inf and found.strokes == inf
    assert coil(0.0, 0.0).goodman == inf


@pytest.mark.parametrize(
    "wrong",
    [{"low_force": -1.0}, {"low_force": 900.0}, {"mean_diameter": 1e-3}, {"wire_diameter": 0.0}],
)
def test_nonsense_is_refused(wrong):
    with pytest.raises(ValueError, match="spring: the"):
        coil(5.0, 35.0, **wrong)


def test_washers_must_be_pressed_in_order():
    with pytest.raises(ValueError, match="disc washers"):
        disc_strength(DiscWasher(25e-3, 12.2e-3, 1.5e-3, 0.55e-3), 0.2e-3, 0.1e-3)
