"""Headline figures of a result by name: what comparisons show and expectations are about."""

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Literal

import numpy as np

from simengine.results.catalogue import PHASES
from simengine.results.envelope_catalogue import CEILINGS

if TYPE_CHECKING:
    import xarray

Merit = Literal["more", "less", "neither"]

# Which way is better for the maker, everything else equal; what is not named here is neither.
MORE = (
    "full_throttle_rpm",
    "shift_margin_rpm",
    "shift_margin_moment",
    "static_thrust",
    "highest_thrust",
    "mean_climb_rate",
    "initial_climb_rate",
    "shift_ceiling",
    "service_ceiling",
    "climb_rate",
    "full_throttle_thrust",
    "ground_thrust",
    "ground_shift_margin_rpm",
    "ground_shift_margin_moment",
)
LESS = ("highest_engine_rpm", "phase_fuel", "phase_fuel_volume", "phase_fuel_flow", "level_fuel_flow")
NOT_COMPARED = ("phase_name", "phase_kind", "phase_start", "phase_end", "phase_outcome")

ENVELOPE_FIGURES = tuple(v for v in CEILINGS if v.name in ("shift_ceiling", "service_ceiling"))


@dataclass(frozen=True)
class Figure:
    """One headline figure.

    Attributes
    ----------
    name : str
        That of the result's variable.
    phase : str
        Name of the phase; empty for a figure of an envelope.
    value : float
        In `units`, as stored; NaN for what did not happen. For a state in words NaN, with `words`.
    units : str
        As stored.
    long_name : str
        In words.
    better : {"more", "less", "neither"}
        Which way is better for the maker.
    words : str
        A state in words, for example `fine`; empty for a number.
    """

    name: str
    phase: str
    value: float
    units: str
    long_name: str
    better: Merit
    words: str = ""


def merit(name: str) -> Merit:
    """Which way a figure is better."""
    if name in MORE:
        return "more"
    return "less" if name in LESS else "neither"


def flight_figures(dataset: "xarray.Dataset") -> list[Figure]:
    """Every figure of every phase of a flight, in the order of the phases."""
    names = [str(name) for name in dataset["phase_name"].values]
    found = []
    for row, phase in enumerate(names):
        for variable in PHASES:
            if variable.name in NOT_COMPARED:
                continue
            value = dataset[variable.name].values[row]
            words = variable.flags[int(value)] if variable.flags else ""
            found.append(
                Figure(
                    name=variable.name,
                    phase=phase,
                    value=nan if words else float(value),
                    units=variable.units,
                    long_name=variable.long_name,
                    better=merit(variable.name),
                    words=words,
                )
            )
    return found


def envelope_figures(dataset: "xarray.Dataset") -> list[Figure]:
    """Ceilings of an envelope at the scenario's own mass and day, without bar."""
    point = {
        "temperature_offset": dataset.attrs["own_temperature_offset"],
        "mass": dataset.attrs["own_mass"],
        "bar": 0.0,
    }
    found = []
    for variable in ENVELOPE_FIGURES:
        own = dataset[variable.name].sel(point, method="nearest")
        found.append(
            Figure(
                name=variable.name,
                phase="",
                value=float(np.asarray(own.values)),
                units=variable.units,
                long_name=variable.long_name,
                better=merit(variable.name),
            )
        )
    return found
