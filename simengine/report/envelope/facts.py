"""What an envelope says about the scenario's own machine, as plain arrays and numbers for the reports."""

from dataclasses import dataclass
from itertools import pairwise
from math import isfinite

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.report.facts import number
from simengine.results.catalogue import PitchState

Array = NDArray[np.float64]

STATES = tuple(PitchState)
POINT = ("temperature_offset", "mass", "bar")


@dataclass(frozen=True)
class Own:
    """The envelope at one temperature offset, all-up mass and bar position.

    Attributes
    ----------
    offset, mass, bar : int
        Places along the dimensions of the dataset.
    """

    dataset: xarray.Dataset
    offset: int
    mass: int
    bar: int

    def values(self, name: str) -> NDArray[np.generic]:
        """A variable at this point: along `height`, or a single value; ground figures have no mass."""
        variable = self.dataset[name]
        places = {"temperature_offset": self.offset, "mass": self.mass, "bar": self.bar}
        chosen = {dimension: place for dimension, place in places.items() if dimension in variable.dims}
        return np.asarray(variable.isel(chosen).values)

    def line(self, name: str) -> Array:
        """A figure along the heights, shape (n_heights,)."""
        return np.asarray(self.values(name), dtype=np.float64)

    def number(self, name: str) -> float:
        """A single figure, such as a ceiling."""
        return float(self.values(name))

    def words(self, name: str) -> str:
        """A single text."""
        return str(self.values(name))

    @property
    def height(self) -> Array:
        """Geometric heights above mean sea level [m]."""
        return np.asarray(self.dataset["height"].values, dtype=np.float64)

    @property
    def state(self) -> list[PitchState]:
        """Where the blades are at full throttle, height by height."""
        return [STATES[int(flag)] for flag in self.values("full_throttle_pitch_state")]

    @property
    def finishes(self) -> NDArray[np.bool_]:
        """Whether the shift finishes at full throttle, height by height."""
        return np.array([state is PitchState.FINE for state in self.state])

    @property
    def all_up_mass(self) -> float:
        """[kg]."""
        return float(self.dataset["mass"].values[self.mass])

    @property
    def bar_share(self) -> float:
        """Speed bar, 0 trim to 1 full."""
        return float(self.dataset["bar"].values[self.bar])

    @property
    def place(self) -> str:
        """`133 kg all-up, trim`."""
        return f"{self.all_up_mass:.0f} kg all-up, {bar_words(self.bar_share)}"

    def at(self, name: str, height: float) -> float:
        """A figure at a height between the computed ones."""
        return float(np.interp(height, self.height, self.line(name)))

    def density_altitude(self, height: float) -> float:
        """Density altitude of a height [m]."""
        return self.at("density_altitude", height)


def own(dataset: xarray.Dataset) -> Own:
    """The scenario's own machine: its temperature, its mass (or the middle one of the list), trim."""
    masses = np.asarray(dataset["mass"].values, dtype=np.float64)
    offsets = np.asarray(dataset["temperature_offset"].values, dtype=np.float64)
    mass = float(dataset.attrs.get("own_mass", masses[masses.size // 2]))
    offset = float(dataset.attrs.get("own_temperature_offset", offsets[0]))
    return Own(
        dataset,
        nearest(offsets, offset),
        nearest(masses, mass),
        nearest(np.asarray(dataset["bar"].values, dtype=np.float64), 0.0),
    )


def every_point(dataset: xarray.Dataset) -> list[Own]:
    """Every pairing of temperature offset, mass and bar, in file order."""
    shape = tuple(dataset.sizes[dimension] for dimension in POINT)
    return [Own(dataset, *map(int, places)) for places in np.ndindex(*shape)]


def nearest(values: Array, wanted: float) -> int:
    """Place of the value nearest to a wanted one."""
    return int(np.argmin(np.abs(values - wanted)))


def bar_words(share: float) -> str:
    """`trim`, `full bar` or the share between."""
    return {0.0: "trim", 1.0: "full bar"}.get(share, f"{100.0 * share:.0f} % bar")


def runs(states: list[PitchState]) -> list[tuple[int, int, PitchState]]:
    """First row, row after the last, and state of each stretch of one state."""
    edges = [0, *(row for row in range(1, len(states)) if states[row] is not states[row - 1]), len(states)]
    return [(first, end, states[first]) for first, end in pairwise(edges)]


def state_bands(point: Own) -> list[tuple[float, float, PitchState]]:
    """Lower and upper height of each stretch of one pitch state at full throttle [m].

    Between two computed heights the boundary is the shift ceiling if that lies there, else half-way.
    """
    height, found = point.height, runs(point.state)
    ceiling = point.number("shift_ceiling")
    slack = 0.01 * float(height[-1] - height[0])  # a ceiling may round to the wrong side of a height
    levels = [float(height[0])]
    for first, _, _ in found[1:]:
        below, above = float(height[first - 1]), float(height[first])
        near = below - slack <= ceiling <= above + slack
        levels.append(ceiling if near else (below + above) / 2.0)
    levels.append(float(height[-1]))
    return [(low, high, state) for (low, high), (_, _, state) in zip(pairwise(levels), found, strict=True)]


def handful(count: int, wanted: int = 6) -> list[int]:
    """A few rows from first to last, evenly apart."""
    return sorted({round(row) for row in np.linspace(0, count - 1, min(wanted, count))})


@dataclass(frozen=True)
class Change:
    """One change to the machine and what it does to the shift ceiling [m], NaN if no ceiling is met."""

    name: str
    ceiling: float
    gain: float
    words: str
    shift_begin_rpm: float
    shift_finish_rpm: float


def ranked_changes(dataset: xarray.Dataset) -> list[Change]:
    """Every change, the one that lifts the shift ceiling most first."""
    changes = [
        Change(
            name=str(dataset["change"].values[row]),
            ceiling=float(dataset["change_shift_ceiling"].values[row]),
            gain=float(dataset["change_gain"].values[row]),
            words=str(dataset["change_words"].values[row]),
            shift_begin_rpm=float(dataset["change_shift_begin_rpm"].values[row]),
            shift_finish_rpm=float(dataset["change_shift_finish_rpm"].values[row]),
        )
        for row in range(dataset.sizes["change"])
    ]
    return sorted(changes, key=change_rank)


def change_rank(change: Change) -> tuple[int, float, float]:
    """Changes after which the shift always finishes, then by gain, then by the speed of the finish."""
    finish = change.shift_finish_rpm if isfinite(change.shift_finish_rpm) else np.inf
    if isfinite(change.gain):
        return (1, -change.gain, finish)
    return (0 if lifts_beyond(change) else 2, 0.0, finish)


def lifts_beyond(change: Change) -> bool:
    """Whether the ceiling goes above every height searched."""
    return not isfinite(change.ceiling) and change.words.startswith("finishes above")


def stops(dataset: xarray.Dataset) -> tuple[float, float]:
    """Coarse and fine stop [degree]."""
    return number(dataset, "coarse_stop"), number(dataset, "fine_stop")
