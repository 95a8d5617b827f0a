"""Figures of many hubs counted part by part: nothing grows with the number of hubs."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from simengine.studies.tolerance.model import NONE_FITS, Criterion
from simengine.studies.tolerance.parts import Part

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

BINS = 240
CONFIDENCE = 0.95
MARGIN = 0.35  # of the range of the first hubs, to either side: the ends of the histogram


def histogram_edges(figures: Array) -> Array:
    """Edges for every figure in every place from some hubs, shape (places, figures, BINS + 1)."""
    with np.errstate(invalid="ignore"):
        finite = np.where(np.isfinite(figures), figures, np.nan)
    places, _, count = figures.shape
    edges = np.empty((places, count, BINS + 1))
    for place in range(places):
        for figure in range(count):
            column = finite[place, :, figure]
            column = column[np.isfinite(column)]
            low, high = (float(column.min()), float(column.max())) if column.size else (0.0, 0.0)
            reach = max(MARGIN * (high - low), 1e-9 * max(abs(low), abs(high), 1.0))
            edges[place, figure] = np.linspace(low - reach, high + reach, BINS + 1)
    return edges


@dataclass
class Tally:
    """Running counts and sums.

    Attributes
    ----------
    edges : NDArray
        Of the histograms, shape (places, figures, bins + 1).
    most_washers : int
        Largest number of washers counted.
    criteria : tuple of Criterion
        Counted one by one as well.
    """

    edges: Array
    most_washers: int
    criteria: tuple[Criterion, ...]
    count: int = 0
    passed: Counts = field(init=False)
    passed_all: int = 0
    known: Counts = field(init=False)
    total: Array = field(init=False)
    square: Array = field(init=False)
    lowest: Array = field(init=False)
    highest: Array = field(init=False)
    bins: Counts = field(init=False)
    washers: Counts = field(init=False)
    met: Counts = field(init=False)

    def __post_init__(self) -> None:
        """Nothing counted yet."""
        places, figures, edges = self.edges.shape
        self.passed = np.zeros(places, dtype=np.int64)
        self.known = np.zeros((places, figures), dtype=np.int64)
        self.total, self.square = np.zeros((places, figures)), np.zeros((places, figures))
        self.lowest, self.highest = (np.full((places, figures), end) for end in (np.inf, -np.inf))
        self.bins = np.zeros((places, figures, edges - 1), dtype=np.int64)
        # The first place is for hubs that no number of washers brings in.
        self.washers = np.zeros(self.most_washers + 2, dtype=np.int64)
        self.met = np.zeros((len(self.criteria), places), dtype=np.int64)

    def add(self, part: Part) -> None:
        """Count one part."""
        self.count += part.washers.size
        self.passed += part.inside.sum(axis=1)
        self.passed_all += int(part.inside.all(axis=0).sum())
        self.washers += np.bincount(part.washers.astype(np.int64) - NONE_FITS, minlength=self.washers.size)
        for number, criterion in enumerate(self.criteria):
            self.met[number] += criterion.holds(part.figures).sum(axis=1)
        for place, figure in np.ndindex(*self.known.shape):
            column = part.figures[place, :, figure]
            self.add_column(place, figure, column[np.isfinite(column)])

    def add_column(self, place: int, figure: int, column: Array) -> None:
        """Count one `figure` in one `place`, by number; hubs without it are left out.

        `column` of shape (n,), SI.
        """
        if column.size == 0:
            return
        edges = self.edges[place, figure]
        away = column - 0.5 * (edges[0] + edges[-1])  # close to the mean: keeps the digits
        self.known[place, figure] += column.size
        self.total[place, figure] += away.sum()
        self.square[place, figure] += (away**2).sum()
        self.lowest[place, figure] = min(self.lowest[place, figure], column.min())
        self.highest[place, figure] = max(self.highest[place, figure], column.max())
        inside = np.clip(column, edges[0], edges[-1])  # what lies beyond counts in the last bin
        self.bins[place, figure] += np.histogram(inside, edges)[0]

    def mean(self) -> Array:
        """Means, shape (places, figures); NaN where nothing is known."""
        with np.errstate(invalid="ignore", divide="ignore"):
            away = self.total / np.where(self.known > 0, self.known, np.nan)
        return np.asarray(0.5 * (self.edges[..., 0] + self.edges[..., -1]) + away)

    def deviation(self) -> Array:
        """Standard deviations, shape (places, figures)."""
        known = np.where(self.known > 1, self.known, np.nan)
        with np.errstate(invalid="ignore", divide="ignore"):
            variance = (self.square - self.total**2 / known) / (known - 1.0)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)))

    def quantile(self, share: float) -> Array:
        """Quantiles at a `share` [1], read from the histograms, shape (places, figures)."""
        places, figures, _ = self.bins.shape
        found = np.full((places, figures), np.nan)
        for place in range(places):
            for figure in range(figures):
                counts = self.bins[place, figure]
                if counts.sum() == 0:
                    continue
                below = np.concatenate([[0.0], np.cumsum(counts)]) / counts.sum()
                found[place, figure] = np.interp(share, below, self.edges[place, figure])
        return np.asarray(np.clip(found, self.lowest, self.highest))


def share_band(passed: int, count: int) -> tuple[float, float]:
    """Ends of the 95 % band of a share, `passed` over `count` [1].

    C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413. Exact for random draws; for a quasi-random
    sequence, which spreads its points, on the wide side.
    """
    tail = 0.5 * (1.0 - CONFIDENCE)
    low = 0.0 if passed == 0 else float(beta.ppf(tail, passed, count - passed + 1))
    high = 1.0 if passed == count else float(beta.ppf(1.0 - tail, passed + 1, count - passed))
    return low, high
