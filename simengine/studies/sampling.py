"""Draws of uncertain inputs, the same for everything that is to be compared."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from simengine.scenario.variation import UncertainInput

Array = NDArray[np.float64]


def latin_hypercube(inputs: Sequence[UncertainInput], count: int, seed: int) -> Array:
    """Normal draws of independent inputs by Latin hypercube.

    M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979) 239-245.

    Parameters
    ----------
    inputs : sequence of UncertainInput
        k of them.
    count : int
        Number of draws, at least 1.
    seed : int
        Equal seeds give equal draws, on every machine.

    Returns
    -------
    NDArray, shape (count, k)
        Values in SI.
    """
    if not inputs:
        return np.empty((count, 0))
    shares = qmc.LatinHypercube(d=len(inputs), rng=np.random.default_rng(seed)).random(count)
    middle = np.array([item.value for item in inputs])
    deviation = np.array([item.deviation for item in inputs])
    return np.asarray(middle + deviation * norm.ppf(shares), dtype=np.float64)
