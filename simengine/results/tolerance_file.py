"""A tolerance study as one NetCDF file: the summary, and all single hubs appended part by part."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.results.catalogue import Variable
from simengine.results.tolerance_catalogue import FIGURES, PLACE, SAMPLE

Array = NDArray[np.float64]

CHUNK = 4096  # hubs kept together in the file; left to the library, each would be stored by itself


class HubColumn(NamedTuple):
    """An input of the single hubs: `name` of its variable, `units` and what it is, `long_name`."""

    name: str
    units: str
    long_name: str


class HubRows(NamedTuple):
    """Some of the hubs in SI, n of them.

    `values` of shape (n, inputs), `figures` of shape (places, n, figures), `inside` all limits,
    shape (places, n), `washers` to fit, shape (n,), and their `names`.
    """

    values: Array
    figures: Array
    inside: NDArray[np.bool_]
    washers: NDArray[np.int16]
    names: Sequence[str]


INSIDE = {
    "long_name": "whether a hub is inside all limits of the place",
    "flag_values": np.array([0, 1], dtype=np.int8),
    "flag_meanings": "outside inside",
}
WASHERS = {
    "long_name": "washers nearest to the drawing's that bring the hub inside all limits",
    "units": "1",
    "comment": "-1 where no number of washers does",
}


def append_hubs(
    path: Path, count: int, inputs: Sequence[HubColumn], parts: Iterable[HubRows], named: bool
) -> None:
    """Append single hubs to a file that holds the summary; one part is in memory at a time.

    `count` hubs come in `parts`. `figures` are in the order of the catalogue, speeds of the engine [rad/s];
    `named` says that hubs have names.
    """
    import netCDF4

    with netCDF4.Dataset(path, "a") as file:
        file.createDimension(SAMPLE, count)
        if named:
            file.createVariable("hub", str, (SAMPLE,)).long_name = "name of the hub"
        columns = [new_variable(file, Variable(*column), (SAMPLE,)) for column in inputs]
        figures = [new_variable(file, figure, (SAMPLE, PLACE)) for figure in FIGURES]
        inside = packed(file, "inside_limits", "i1", (SAMPLE, PLACE), None)
        inside.setncatts(INSIDE)
        washers = packed(file, "washers_to_fit", "i2", (SAMPLE,), None)
        washers.setncatts(WASHERS)
        start = 0
        for part in parts:
            rows = slice(start, start + part.washers.size)
            for place, column in enumerate(columns):
                column[rows] = part.values[:, place]
            for place, (variable, figure) in enumerate(zip(figures, FIGURES, strict=True)):
                variable[rows, :] = part.figures[:, :, place].T * figure.factor
            inside[rows, :] = part.inside.T.astype(np.int8)
            washers[rows] = part.washers
            if named:
                file.variables["hub"][rows] = np.array(part.names, dtype=object)
            start = rows.stop


def new_variable(file: Any, variable: Variable, dimensions: tuple[str, ...]) -> Any:
    """A packed variable of doubles along `dimensions` of an open NetCDF `file`, with its attributes."""
    made = packed(file, variable.name, "f8", dimensions, np.nan)
    made.setncatts(variable.attributes())
    return made


def packed(file: Any, name: str, kind: str, dimensions: tuple[str, ...], fill: float | None) -> Any:
    """A packed variable of a `kind` of number along `dimensions`, hubs first; `fill` where none is set."""
    hubs, *others = (file.dimensions[each].size for each in dimensions)
    chunks = (min(hubs, CHUNK), *others)
    return file.createVariable(
        name, kind, dimensions, zlib=True, complevel=1, fill_value=fill, chunksizes=chunks
    )
