"""Headline figures of a result by name: what comparisons show and expectations are about."""

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Literal

from simengine.results.catalogue import PHASES
from simengine.results.envelope_catalogue import CEILINGS

if TYPE_CHECKING:
    import xarray

Merit = Literal["more", "less", "neither"]

# Which way is better for the maker, everything else equal; what is not named here is neither. Engine speeds
# are neither: more at full throttle is more power up to the engine's best speed and less beyond it, which
# thrust and climb tell, and the rpm limit has an event of its own.
MORE = (
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
LESS = ("phase_fuel", "phase_fuel_volume", "phase_fuel_flow", "level_fuel_flow")
# Kinds of phase in which a figure is better one way; elsewhere it is neither. Fuel of an engine check or an
# idle descent says nothing of a hub, less fuel flow at full throttle is less power, and a cruise asks for no
# thrust.
ONLY_IN = {
    "highest_thrust": ("climb",),
    "mean_climb_rate": ("climb",),
    "initial_climb_rate": ("climb",),
    "phase_fuel": ("climb", "cruise"),
    "phase_fuel_volume": ("climb", "cruise"),
    "phase_fuel_flow": ("cruise",),
}
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


def merit(name: str, phase_kind: str = "") -> Merit:
    """Which way a figure is better.

    Parameters
    ----------
    name : str
        As stored.
    phase_kind : str
        Kind of the phase, for example `climb`; empty for a figure of an envelope.
    """
    if name in ONLY_IN and phase_kind not in ONLY_IN[name]:
        return "neither"
    if name in MORE:
        return "more"
    return "less" if name in LESS else "neither"


def flight_figures(dataset: "xarray.Dataset") -> list[Figure]:
    """Every figure of every phase of a flight, in the order of the phases.

    Parameters
    ----------
    dataset : xarray.Dataset
        The flight, as `simulate` or `read_netcdf` gives it.

    Returns
    -------
    list of Figure
        For each phase those of `simengine.results.catalogue.PHASES` that are numbers or states, in its units.

    Raises
    ------
    KeyError
        If the dataset is no flight.
    """
    names = [str(name) for name in dataset["phase_name"].values]
    kinds = [str(kind) for kind in dataset["phase_kind"].values]
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
                    better=merit(variable.name, kinds[row]),
                    words=words,
                )
            )
    return found
