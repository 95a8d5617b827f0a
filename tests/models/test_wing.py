import math

import numpy as np
import pytest

from simengine.constants import STANDARD_GRAVITY
from simengine.models.wing import build_wing, glide, wing_coefficients

# a wing of the class, invented for the tests
POLAR = {
    "area": 26.0,
    "bar": [0.0, 0.5, 1.0],
    "speed": [10.5, 12.0, 14.0],
    "sink": [1.4, 1.75, 2.5],
    "mass": 125.0,
    "density": 1.2,
}


@pytest.mark.parametrize("row", [0, 1, 2])
def test_measured_glides_are_given_back(row):
    answer = glide(build_wing(**POLAR), POLAR["bar"][row], 125.0, 1.2)
    assert answer.speed == pytest.approx(POLAR["speed"][row], rel=1e-13)
    assert answer.sink == pytest.approx(POLAR["sink"][row], rel=1e-13)


def test_forces_of_a_glide_balance_the_weight():
    wing = build_wing(**POLAR)
    lift, drag = wing_coefficients(wing, 0.3)
    answer = glide(wing, 0.3, 125.0, 1.2)
    force = 0.5 * 1.2 * answer.speed**2 * 26.0 * math.hypot(lift, drag)
    assert force == pytest.approx(125.0 * STANDARD_GRAVITY, rel=1e-13)
    assert answer.sink / answer.speed == pytest.approx(drag / math.hypot(lift, drag), rel=1e-13)


def test_speed_goes_with_the_root_of_mass_over_density_and_the_glide_ratio_stays():
    wing = build_wing(**POLAR)
    light, heavy = glide(wing, 0.5, 100.0, 1.2), glide(wing, 0.5, 130.0, 0.9)
    assert heavy.ratio == light.ratio
    assert heavy.speed / light.speed == pytest.approx(math.sqrt(1.3 * 1.2 / 0.9), rel=1e-13)


def test_more_bar_less_lift_coefficient():
    wing = build_wing(**POLAR)
    lift = [wing_coefficients(wing, bar).lift for bar in np.linspace(0.0, 1.0, 21)]
    assert (np.diff(lift) < 0.0).all()


def test_beyond_the_measured_bar_the_last_row_holds():
    wing = build_wing(**POLAR | {"bar": [0.0, 0.4, 0.8]})
    assert wing_coefficients(wing, 1.0) == wing_coefficients(wing, 0.8)


def test_one_row_holds_at_every_bar():
    wing = build_wing(**POLAR | {"bar": [0.0], "speed": [10.5], "sink": [1.4]})
    assert wing_coefficients(wing, 0.0) == wing_coefficients(wing, 1.0)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"area": 0.0}, "area"),
        ({"mass": -1.0}, "mass"),
        ({"density": 0.0}, "density"),
        ({"sink": [1.4, 1.75]}, "one sink for each speed"),
        ({"sink": [1.4, 0.0, 2.5]}, "sink must be positive"),
        ({"sink": [1.4, 1.75, 15.0]}, "below the speed"),
        ({"bar": [0.0, 1.0, 0.5]}, "rise"),
    ],
)
def test_builder_says_what_to_change(changes, message):
    with pytest.raises(ValueError, match=message):
        build_wing(**POLAR | changes)


def test_compiled_equals_plain_python():
    wing = build_wing(**POLAR)
    for bar in (-0.2, 0.0, 0.37, 1.0, 1.3):
        assert wing_coefficients(wing, bar) == pytest.approx(wing_coefficients.py_func(wing, bar), rel=1e-15)
