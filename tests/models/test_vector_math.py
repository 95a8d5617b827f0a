"""The branch-free functions against those of the standard library, over the range each is meant for."""

import math

import numpy as np
import pytest

from simengine.models import vector_math


@pytest.mark.parametrize(
    ("name", "reference", "low", "high", "units"),
    [
        ("sine", math.sin, -math.pi / 2, math.pi / 2, 4),
        ("small_exponential", math.exp, -0.6, 0.6, 4),
        ("logarithm", math.log, 1.0, 512.0, 8),
        ("arc_cosine", math.acos, 0.0, 1.0, 4),
    ],
)
def test_to_a_few_units_in_the_last_place(name, reference, low, high, units):
    function = getattr(vector_math, name)
    for x in np.linspace(low, high, 4001):
        exact = reference(float(x))
        assert function(float(x)) == pytest.approx(exact, rel=units * 2.3e-16, abs=units * 1e-17)


def test_exponential_over_its_whole_range():
    # Six squarings multiply the relative error by 64.
    for x in np.linspace(-37.0, 37.0, 2001):
        assert vector_math.exponential(float(x)) == pytest.approx(math.exp(x), rel=128 * 2.3e-16)
