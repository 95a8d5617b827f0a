"""Which tolerance matters: shares of the variance by input with their bands, and what halving each brings."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from simengine.studies.tolerance.inputs import SMALLEST_SHARE, groups, shares_from
from simengine.studies.tolerance.model import ToleranceModel

Array = NDArray[np.float64]

BASE = 1024  # rows of each of the two base samples, a power of two
RESAMPLES = 200  # of the bootstrap
BAND = 0.95
HALVING_SAMPLES = 4096


class Contributions(NamedTuple):
    """Shares of the variance of each figure, shape (groups, figures): estimate and ends of a 95 % band.

    `first_order`: by the input alone; `total_order`: with all it has a part in.
    """

    first_order: Array
    first_low: Array
    first_high: Array
    total_order: Array
    total_low: Array
    total_high: Array


def variance_shares(base: Array, other: Array, mixed: Array, seed: int) -> Contributions:
    """Sobol' indices of groups of inputs, with bootstrap bands.

    First order after A. Saltelli and others, Comput. Phys. Commun. 181 (2010) 259-270, table 2 (b); total
    order after M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35-43; bands by the percentiles of a
    bootstrap over rows (Archer, Saltelli, Sobol', J. Stat. Comput. Simul. 58 (1997) 99-120).

    Parameters
    ----------
    base, other : figures of the two base samples, shape (n, figures)
    mixed : figures of the base sample with a group's columns from the other, shape (groups, n, figures)
    seed : for the bootstrap
    """
    usable = np.isfinite(base) & np.isfinite(other) & np.isfinite(mixed).all(axis=0)
    shape = (mixed.shape[0], base.shape[1])
    parts = [np.full(shape, np.nan) for _ in range(6)]
    for figure in range(base.shape[1]):
        rows = usable[:, figure]
        if rows.sum() < 16:
            continue
        found = shares_of(base[rows, figure], other[rows, figure], mixed[:, rows, figure], seed)
        for part, column in zip(parts, found, strict=True):
            part[:, figure] = column
    return Contributions(*parts)


def shares_of(base: Array, other: Array, mixed: Array, seed: int) -> list[Array]:
    """Those of one figure, each of shape (groups,)."""
    middle = 0.5 * (base.mean() + other.mean())
    base, other, mixed = base - middle, other - middle, mixed - middle
    count = base.size
    rng = np.random.default_rng(seed)
    weights = rng.multinomial(count, np.full(count, 1.0 / count), RESAMPLES) / count
    weights = np.vstack([np.full(count, 1.0 / count), weights])  # the sample itself comes first
    mean = weights @ (0.5 * (base + other))
    variance = weights @ (0.5 * (base**2 + other**2)) - mean**2
    with np.errstate(divide="ignore", invalid="ignore"):
        first = (weights @ (other * (mixed - base)).T) / variance[:, None]
        total = (weights @ (0.5 * (base - mixed) ** 2).T) / variance[:, None]
    if not variance[0] > 0.0:
        return [np.full(mixed.shape[0], np.nan)] * 6
    ends = [0.5 * (1.0 - BAND), 0.5 * (1.0 + BAND)]
    first_band = np.quantile(first[1:], ends, axis=0)
    total_band = np.quantile(total[1:], ends, axis=0)
    return [first[0], *first_band, total[0], *total_band]


def contributions(model: ToleranceModel, columns: Sequence[int], seed: int) -> Contributions:
    """Contributions to the computed figures numbered by `columns`, shape (groups, columns x places)."""
    dimensions = len(model.inputs)
    sequence = qmc.Sobol(2 * dimensions, scramble=True, rng=np.random.default_rng([seed, 1]))
    points = np.clip(sequence.random(BASE), SMALLEST_SHARE, 1.0 - SMALLEST_SHARE)
    base, other = points[:, :dimensions], points[:, dimensions:]

    def figures(shares: Array) -> Array:
        found = model.figures(model.values(shares))[..., list(columns)]
        return np.asarray(found.transpose(1, 2, 0).reshape(shares.shape[0], -1))

    mixed = []
    for places in groups(model.inputs).values():
        swapped = base.copy()
        swapped[:, places] = other[:, places]
        mixed.append(figures(swapped))
    return variance_shares(figures(base), figures(other), np.array(mixed), seed)


def yields(model: ToleranceModel, values: Array) -> Array:
    """Share of hubs inside the limits in each place, and in all of them last, shape (places + 1,) [1].

    `values` of the inputs, shape (n, inputs) [SI].
    """
    inside = model.inside(model.figures(values))
    return np.append(inside.mean(axis=1), inside.all(axis=0).mean())


def halving(model: ToleranceModel, seed: int) -> tuple[Array, Array]:
    """Yield as drawn, shape (places + 1,), and with each group held twice as closely, (groups, places + 1).

    All on the same draws, so that the difference is the tolerance's and not the draw's.
    """
    shares = shares_from(len(model.inputs), 0, HALVING_SAMPLES, seed)
    own = yields(model, model.values(shares))
    halved = []
    for places in groups(model.inputs).values():
        inputs = [item.halved() if i in places else item for i, item in enumerate(model.inputs)]
        halved.append(yields(model, model.values(shares, inputs)))
    return own, np.array(halved)
