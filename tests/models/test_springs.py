import math
from itertools import pairwise

import pytest
from spring_formulas import bergstraesser_factor, disc_washer_load, music_wire_strength

from simengine.models.springs import (
    DiscWasher,
    disc_factors,
    disc_stack_coefficients,
    disc_washer_coefficients,
    disc_washer_stresses,
    goodman_factor,
    helical_rate,
    music_wire_strength_rational,
    wahl_factor,
)

WASHER = DiscWasher(0.025, 0.0122, 0.0015, 0.00055)


def polynomial(coefficients, compression):
    linear, quadratic, cubic = coefficients
    return compression * (linear + compression * (quadratic + compression * cubic))


@pytest.mark.parametrize("share", [0.0, 0.2, 0.75, 1.0])
@pytest.mark.parametrize("cone_height", [0.0, 0.00055, 0.0022])
def test_polynomial_is_the_washer_load(share, cone_height):
    washer = WASHER._replace(cone_height=cone_height)
    compression = share * max(cone_height, 1e-4)
    assert polynomial(disc_washer_coefficients(washer), compression) == pytest.approx(
        disc_washer_load(washer, compression), rel=1e-13, abs=1e-12
    )


def test_stack_adds_force_in_packs_and_compression_between_them():
    stack = disc_stack_coefficients(**WASHER._asdict(), parallel=3, series=5)
    assert polynomial(stack, 5 * 0.0003) == pytest.approx(3 * disc_washer_load(WASHER, 0.0003), rel=1e-13)
    assert disc_stack_coefficients(**WASHER._asdict(), parallel=1, series=1) == pytest.approx(
        disc_washer_coefficients(WASHER), rel=1e-15
    )


@pytest.mark.parametrize(("ratio", "snaps"), [(1.40, False), (1.43, True)])
def test_tall_cones_snap_and_low_ones_do_not(ratio, snaps):
    # standard result of the load law: the load has a maximum once cone height exceeds root two thicknesses
    washer = WASHER._replace(cone_height=ratio * WASHER.thickness)
    loads = [disc_washer_load(washer, k / 400.0 * washer.cone_height) for k in range(401)]
    assert any(later < load for load, later in pairwise(loads)) == snaps


def rigid_ring_stress(washer, compression, radius, height):
    """Stress at a place of a rigid cross-section turned about its neutral point, Almen and Laszlo's model.

    `height` is measured upward from mid-thickness; written down from the geometry, without K factors.
    """
    outer, inner = washer.outer_diameter / 2, washer.inner_diameter / 2
    neutral = (outer - inner) / math.log(outer / inner)
    turned, cone = compression / (outer - inner), washer.cone_height / (outer - inner)
    strain = -turned * ((neutral - radius) * (cone - turned / 2) + height) / radius
    return washer.elastic_modulus / (1 - washer.poisson_ratio**2) * strain


@pytest.mark.parametrize("share", [0.25, 0.75, 1.0])
def test_stresses_follow_from_turning_the_cross_section(share):
    # the two forms differ in K1 alone: that of 1936 here, that of DIN 2092 in the package
    outer, inner, thickness = WASHER.outer_diameter, WASHER.inner_diameter, WASHER.thickness
    ratio = outer / inner
    k1_of_1936 = 6 / (math.pi * math.log(ratio)) * ((ratio - 1) / ratio) ** 2
    factor = disc_factors(ratio)[0] / k1_of_1936
    compression = share * WASHER.cone_height
    neutral = (outer - inner) / 2 / math.log(ratio)
    stresses = disc_washer_stresses(WASHER, compression)
    places = {
        "inner_top": (inner / 2, thickness / 2),
        "inner_bottom": (inner / 2, -thickness / 2),
        "outer_bottom": (outer / 2, -thickness / 2),
        "middle": (neutral, thickness / 2),
    }
    for name, (radius, height) in places.items():
        expected = rigid_ring_stress(WASHER, compression, radius, height)
        assert getattr(stresses, name) * factor == pytest.approx(expected, rel=1e-12)


def test_unloaded_washer_is_free_of_stress():
    assert disc_washer_stresses(WASHER, 0.0) == (0.0, 0.0, 0.0, 0.0)
    assert disc_washer_load(WASHER, 0.0) == 0.0


def test_stress_factors_agree_for_usual_indices_and_fall_to_one():
    for index in (4.0, 6.0, 8.0, 12.0):
        assert bergstraesser_factor(index) == pytest.approx(wahl_factor(index), rel=0.015)
    assert wahl_factor(1e6) == pytest.approx(1.0, abs=1e-5)


def test_rate_falls_with_coils_and_grows_with_the_fourth_power_of_wire():
    rate = helical_rate(0.003, 0.024, 6.0, 79.3e9)
    assert helical_rate(0.003, 0.024, 12.0, 79.3e9) == pytest.approx(rate / 2, rel=1e-14)
    assert helical_rate(0.006, 0.024, 6.0, 79.3e9) == pytest.approx(16 * rate, rel=1e-14)


@pytest.mark.parametrize("diameter", [0.001, 0.002, 0.003, 0.004])
def test_two_published_fits_of_music_wire_agree(diameter):
    # they differ by 2.7 % at 1 mm and 4.6 % at 4 mm, which is how far either can be trusted
    assert music_wire_strength_rational(diameter) == pytest.approx(music_wire_strength(diameter), rel=0.05)


def test_goodman_line_passes_through_the_endurance_point():
    assert goodman_factor(241e6, 379e6, (241e6, 379e6), 1200e6) == pytest.approx(1.0, rel=1e-14)


@pytest.mark.parametrize(("parallel", "series"), [(0, 1), (1, 0)])
def test_empty_stack_is_refused(parallel, series):
    with pytest.raises(ValueError, match="at least one washer"):
        disc_stack_coefficients(**WASHER._asdict(), parallel=parallel, series=series)


def test_washer_without_a_ring_is_refused():
    with pytest.raises(ValueError, match="outer diameter"):
        disc_washer_load(WASHER._replace(inner_diameter=0.025), 1e-4)
