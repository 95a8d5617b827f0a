"""What a set of readings can tell apart, and what not, in numbers and in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from simengine.scenario.readings import Reading

Array = NDArray[np.float64]
ALIKE = 0.95  # correlation beyond which two parameters are not told apart
NOTICED = 1.0  # reading deviations that one prior deviation must move to count as seen
NARROWED = 0.9  # of the band before: above that a reading has told nothing
WORTH = 0.8  # of the pair's bands after a measurement: above that it does not help
PAIRS_TOLD = 6
SCALE = 0.05  # share by which all moments are made larger to see whether any reading notices
SCALE_PATHS = (  # inputs to which one of the moments about the pitch axis is in proportion
    "hub.spring.rate",
    "hub.spring.wire.shear_modulus",
    "hub.spring.elastic_modulus",
    "hub.friction.constant",
    "propeller.density",
    "propeller.stations.mass_per_length",
    "propeller.air_moment_factor",
)


@dataclass(frozen=True)
class Pair:
    """Two parameters, `first` and `second` by number, that the readings move alike.

    `correlation` is that of the answer [1], `collinearity` the cosine between their effects on the readings
    [1].
    """

    first: int
    second: int
    correlation: float
    collinearity: float


def correlation_of(covariance: Array) -> Array:
    """Correlation coefficients of a `covariance`, shape (p, p) each [1]."""
    deviations = np.sqrt(np.diag(covariance))
    found = covariance / np.outer(deviations, deviations)
    np.fill_diagonal(found, 1.0)
    return np.asarray(np.clip(found, -1.0, 1.0), dtype=np.float64)


def collinearity_of(sensitivity: Array) -> Array:
    """Cosines between the effects of parameters on the readings, shape (p, p) [1]; zero for none noticed.

    `sensitivity` of scaled readings by scaled parameters, shape (n, p).
    """
    sizes = np.linalg.norm(sensitivity, axis=0)
    seen = sizes > NOTICED
    units = np.where(seen, sensitivity / np.where(seen, sizes, 1.0), 0.0)
    return np.asarray(units.T @ units, dtype=np.float64)


def pairs_alike(correlation: Array, collinearity: Array) -> list[Pair]:
    """Pairs beyond the limit by either measure, the most alike first.

    `correlation` and `collinearity` of shape (p, p) each [1].
    """
    found = [
        Pair(i, j, float(correlation[i, j]), float(collinearity[i, j]))
        for i, j in combinations(range(len(correlation)), 2)
        if max(abs(correlation[i, j]), abs(collinearity[i, j])) > ALIKE
    ]
    return sorted(found, key=lambda pair: -max(abs(pair.correlation), abs(pair.collinearity)))


def directions_narrowed(sensitivity: Array) -> tuple[Array, Array]:
    """Eigenvalues of what the readings tell in prior deviations, largest first, and their directions.

    Shape (p,) and, a direction a column, shape (p, p); `sensitivity` of shape (n, p). An eigenvalue of 1
    halves the variance along its direction; far below 1 the readings say nothing there.
    """
    values, vectors = np.linalg.eigh(sensitivity.T @ sensitivity)
    return np.asarray(values[::-1]), np.asarray(vectors[:, ::-1])


def scale_sentence(paths: Sequence[str], changes: Array, sensitivity: Array) -> str:
    """Whether the readings fix ratios of the moments only; nothing if they fix their size too.

    Parameters
    ----------
    paths : sequence of str
        Key paths of the parameters.
    changes : NDArray, shape (p,)
        What `SCALE` of each value is in its prior deviations.
    sensitivity : NDArray, shape (n, p)
        As in `identifiability_sentences`.
    """
    scaled = np.array([path in SCALE_PATHS for path in paths])
    if not np.any(np.linalg.norm(sensitivity[:, scaled], axis=0) > NOTICED):
        return ""
    if np.abs(sensitivity @ np.where(scaled, changes, 0.0)).max() >= 1.0:
        return ""
    return (
        f"Only ratios of the moments are fixed: spring, blade mass, air twist and friction could all be "
        f"{100 * SCALE:.0f} % larger together and no reading would notice; a spring torque on the bench, a "
        f"weighed or a swung blade sets the size."
    )


def identifiability_sentences(
    words: Sequence[str],
    sensitivity: Array,
    shares: Array,
    pairs: Sequence[Pair],
    helpers: Sequence[str],
) -> list[str]:
    """What the readings fix and what not.

    Parameters
    ----------
    words : sequence of str
        Names of the parameters.
    sensitivity : NDArray, shape (n, p)
        Effect of one prior deviation on each reading in its deviations.
    shares : NDArray, shape (p,)
        Deviation after over deviation before.
    pairs : sequence of Pair
    helpers : sequence of str
        For each pair the cheapest measurement that would tell it apart; empty if none would.
    """
    values, _ = directions_narrowed(sensitivity)
    told = int((values > 1.0).sum())
    narrowed = [word for word, share in zip(words, shares, strict=True) if share < NARROWED]
    rest = [word for word, share in zip(words, shares, strict=True) if share >= NARROWED]
    sentences = [
        f"{len(sensitivity)} readings narrow {told} combination{'s' if told != 1 else ''} of {len(words)} "
        "uncertain inputs."
    ]
    sentences.append(f"Narrowed by a tenth or more: {', '.join(narrowed) or 'none'}.")
    if rest:
        sentences.append(f"Hardly touched, still as good as before: {', '.join(rest)}.")
    for pair, helper in list(zip(pairs, helpers, strict=True))[:PAIRS_TOLD]:
        first, second = words[pair.first], words[pair.second]
        strength = max(abs(pair.correlation), abs(pair.collinearity))
        sentences.append(
            f"These readings fix {first} against {second}, but not both (alike to {strength:.3f})"
            + (f": {helper} would." if helper else ".")
        )
    if len(pairs) > PAIRS_TOLD:
        sentences.append(f"{len(pairs) - PAIRS_TOLD} more pairs are alike; see the correlation picture.")
    return sentences


def helper_for(
    pair: Pair,
    covariance: Array,
    candidate_slopes: Array,
    candidates: Sequence[tuple[Reading, str]],
    names: Sequence[str],
) -> str:
    """The cheapest measurement that would narrow both of a pair; the best of its class."""
    places = [pair.first, pair.second]
    shared = candidate_slopes @ covariance[:, places]
    own = np.einsum("mi,ij,mj->m", candidate_slopes, covariance, candidate_slopes)
    before = np.diag(covariance)[places]
    after = before - shared**2 / (1.0 + own)[:, None]
    best = np.sqrt(after / before).min(axis=1)
    for cost in ("bench", "ground run", "flight"):
        rows = [row for row, (_, its_cost) in enumerate(candidates) if its_cost == cost and best[row] < WORTH]
        if rows:
            return f"{names[min(rows, key=best.__getitem__)]} ({cost})"
    return ""
