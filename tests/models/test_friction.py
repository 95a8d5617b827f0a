"""Stick, play, and what two rpm readings tell of preload and friction."""

from math import pi, radians, sin

import pytest

from simengine.models.friction import (
    REST,
    TO_COARSE,
    TO_FINE,
    movement_from_rest,
    play,
    recover_preload_and_friction,
)

RPM = 2.0 * pi / 60.0


@pytest.mark.parametrize(
    ("net", "coarse", "fine", "expected"),
    [
        (0.0, True, True, REST),
        (0.99, True, True, REST),
        (-1.0, True, True, REST),
        (1.01, True, True, TO_COARSE),
        (-1.01, True, True, TO_FINE),
        (5.0, False, True, REST),
        (-5.0, True, False, REST),
    ],
)
def test_a_resting_blade_moves_only_beyond_friction_and_off_no_stop(net, coarse, fine, expected):
    assert movement_from_rest(net, 1.0, coarse, fine) == expected


def test_play_operator_sequence():
    # Own arithmetic from the definition of the play operator: a guard, not a validation.
    output, outputs = 0.0, []
    for driven in (0.0, 1.0, 2.0, 1.0, 0.0, -1.0, 0.0, 2.5):
        output = play(output, driven, 0.5)
        outputs.append(output)
    assert outputs == [0.0, 0.5, 1.5, 1.5, 0.5, -0.5, -0.5, 2.0]


def test_play_stays_within_its_width_and_does_not_depend_on_rate():
    path = [0.0, 0.4, 1.3, 0.9, -0.2, 0.6]
    coarse_output = 0.0
    for driven in path:
        coarse_output = play(coarse_output, driven, 0.3)
        assert abs(driven - coarse_output) <= 0.3 + 1e-15
    fine_output = 0.0
    for start, end in zip([0.0, *path[:-1]], path, strict=True):
        for i in range(1, 51):
            fine_output = play(fine_output, start + (end - start) * i / 50, 0.3)
    assert fine_output == pytest.approx(coarse_output, abs=1e-14)


def test_preload_and_friction_from_the_rpm_up_and_down():
    # Own arithmetic: solid rectangular blade, K 5.38134e-4 kg m2, coarse stop 18 deg, pull arm
    # 0.809325 kg * 0.3525 m, bearing radius 20 mm, mu 0.004; a guard, not a validation.
    coefficient = 0.5 * 5.381337e-4 * sin(radians(36.0))
    pull_arm = 0.020 * 0.809325 * 0.3525
    spring, friction = recover_preload_and_friction(coefficient, 2053.97 * RPM, 1776.16 * RPM)
    assert friction / pull_arm == pytest.approx(0.0040, abs=0.00005)
    # The preload that lets the frictionless blade go at 1900 rpm at this angle.
    assert spring == pytest.approx(coefficient * (1900.0 * RPM) ** 2, rel=1e-5)
    assert spring == pytest.approx(6.2610, abs=0.00005)


def test_recovery_inverts_the_balance_exactly():
    coefficient, spring, friction = 1.3e-4, 6.0, 2.2e-5
    up = (spring / (coefficient - friction)) ** 0.5
    down = (spring / (coefficient + friction)) ** 0.5
    assert recover_preload_and_friction(coefficient, up, down) == pytest.approx((spring, friction), rel=1e-12)


def test_speeds_out_of_order_are_refused():
    with pytest.raises(ValueError, match="rotor speed going up"):
        recover_preload_and_friction(1e-4, 100.0, 120.0)
