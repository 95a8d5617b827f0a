"""Stick."""

import pytest

from simengine.models.friction import REST, TO_COARSE, TO_FINE, movement_from_rest


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
