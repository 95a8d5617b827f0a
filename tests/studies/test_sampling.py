import numpy as np
import pytest
from scipy.stats import norm

from simengine import units
from simengine.scenario.variation import UncertainInput
from simengine.studies.sampling import latin_hypercube

INPUTS = (
    UncertainInput("masses.pilot", 90.0, 4.0, units.MASS),
    UncertainInput("hub.spring.rate", 9.0e4, 1.0e3, units.STIFFNESS),
)


def test_one_draw_in_every_stratum():
    draws = latin_hypercube(INPUTS, 200, seed=1)
    for column, item in zip(draws.T, INPUTS, strict=True):
        shares = norm.cdf(column, item.value, item.deviation)
        assert sorted(np.floor(200 * shares).astype(int)) == list(range(200))


def test_spread_is_half_the_plus_minus():
    draws = latin_hypercube(INPUTS, 4000, seed=2)
    assert draws.mean(axis=0) == pytest.approx([90.0, 9.0e4], rel=1e-4)
    assert draws.std(axis=0) == pytest.approx([2.0, 500.0], rel=1e-2)
    assert abs(np.corrcoef(draws.T)[0, 1]) < 0.05


def test_equal_seeds_give_equal_draws():
    assert (latin_hypercube(INPUTS, 50, 3) == latin_hypercube(INPUTS, 50, 3)).all()
    assert not (latin_hypercube(INPUTS, 50, 3) == latin_hypercube(INPUTS, 50, 4)).any()
    assert latin_hypercube((), 5, 3).shape == (5, 0)
