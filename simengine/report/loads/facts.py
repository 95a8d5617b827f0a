"""What load figures say, condition by condition and failure by failure, as plain numbers and words."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

import numpy as np
import xarray

from simengine.report.facts import number
from simengine.results.catalogue import PitchState
from simengine.results.cautions import CAUTIONS
from simengine.results.loads_catalogue import FAILURES, LOADS

AS_BUILT = "as built"
NEAR = 0.1  # a frequency this close to an excitation, share of it, is told
STRUCTURE_CAUTION = next(caution for caution in CAUTIONS if caution.startswith("Structural figures"))
NO_MARGIN = "no margin claimed"
FAILURE_WORDS: Mapping[str, str] = {
    AS_BUILT: "as built",
    "broken_spring": "broken spring",
    "one_spring_broken": "one spring of several broken",
    "stuck_coarse": "stuck coarse",
    "stuck_fine": "stuck fine",
    "one_blade_stuck_coarse": "one blade stuck coarse",
    "one_blade_stuck_fine": "one blade stuck fine",
    "lost_washer": "lost washer",
    "dry_bearing": "dry bearing",
}
LEVEL_WORDS = ("held", "too little power", "too much power", "jumps past it")


@dataclass(frozen=True)
class Row:
    """One condition or one failure: its name, and its figures in stored units, by their names."""

    name: str
    figures: Mapping[str, float]
    words: str

    def __getitem__(self, name: str) -> float:
        return self.figures[name]


def conditions(dataset: xarray.Dataset) -> list[Row]:
    """Every condition that loads are told at, in order."""
    names = [variable.name for variable in LOADS if variable.stored != "text"]
    return rows_of(dataset, "load_condition", names, "load_words")


def failures(dataset: xarray.Dataset) -> list[Row]:
    """The machine as built and every failure."""
    names = [variable.name for variable in FAILURES if variable.stored != "text"]
    return rows_of(dataset, "failure", names, "failure_assumed")


def rows_of(dataset: xarray.Dataset, dimension: str, names: list[str], words: str) -> list[Row]:
    """Rows along a dimension."""
    columns = {name: np.asarray(dataset[name].values) for name in names}
    return [
        Row(
            str(dataset[dimension].values[row]),
            {name: float(column[row]) for name, column in columns.items()},
            str(dataset[words].values[row]),
        )
        for row in range(dataset.sizes[dimension])
    ]


def failed(row: Row) -> str:
    """Name of a failure in words."""
    return FAILURE_WORDS.get(row.name, row.name)


def state(row: Row, name: str) -> PitchState:
    """A pitch state of a row."""
    return tuple(PitchState)[int(row[name])]


def odd_blade(row: Row) -> bool:
    """Whether one blade stands apart in that failure."""
    return bool(row["failure_out_of_plane"] != 0.0 or row["failure_level_out_of_plane"] != 0.0)


def passes_limit(row: Row) -> bool:
    """Whether full throttle passes the engine's rpm limit."""
    return row["failure_rpm_margin"] < 0.0


def level_held(row: Row) -> bool:
    """Whether a throttle holds level flight."""
    return int(row["failure_level_status"]) == 0


@dataclass(frozen=True)
class Near:
    """A frequency close to an excitation."""

    mode: str
    setting: str
    engine_rpm: float
    frequency: float
    order: float
    nearest: str
    separation: float


def every_mode(dataset: xarray.Dataset) -> list[Near]:
    """Every mode at every setting; frequencies that are not known are left out."""
    found = []
    for i, mode in enumerate(dataset["mode"].values):
        for j, setting in enumerate(dataset["setting"].values):
            frequency = float(dataset["mode_frequency"].values[i, j])
            if isfinite(frequency):
                found.append(
                    Near(
                        str(mode),
                        str(setting),
                        float(dataset["setting_rpm"].values[j]),
                        frequency,
                        float(dataset["mode_order"].values[i, j]),
                        str(dataset["mode_nearest"].values[i, j]),
                        float(dataset["mode_separation"].values[i, j]),
                    )
                )
    return found


def close_modes(dataset: xarray.Dataset) -> list[Near]:
    """Those within a tenth of an excitation, nearest first."""
    close = [near for near in every_mode(dataset) if abs(near.separation) < NEAR]
    return sorted(close, key=lambda near: abs(near.separation))


def root_known(dataset: xarray.Dataset) -> bool:
    """Whether the root section is given."""
    return bool(np.isfinite(dataset["load_stress"].values).any())


def strength_known(dataset: xarray.Dataset) -> bool:
    """Whether its strength is given too."""
    return root_known(dataset) and isfinite(number(dataset, "root_strength"))


def spring_known(dataset: xarray.Dataset) -> bool:
    """Whether the spring's stress is known."""
    return bool(np.isfinite(dataset["spring_stress"].values).all())
