"""From the load figures in SI to a self-describing dataset in the units of their catalogue."""

from collections.abc import Mapping

import numpy as np
import xarray

from simengine.results import loads_catalogue
from simengine.results.dataset import global_attributes, lines, stored
from simengine.results.envelope_dataset import STUDY
from simengine.results.records import Provenance, Setup
from simengine.results.yardsticks import NOT_CHECKED, OUTSIDE, YARDSTICKS


def loads_dataset(
    values: Mapping[str, object], sentences: Mapping[str, str], provenance: Provenance, setup: Setup
) -> xarray.Dataset:
    """Put load figures into one dataset; what was not checked and the yardsticks always go with them.

    Parameters
    ----------
    values : mapping of str to array
        Every name of the catalogue, in SI, shaped as its dimensions.
    sentences : mapping of str to str
        Attributes in words; empty ones are left out.
    provenance : Provenance
        Where the result comes from.
    setup : Setup
        Fixed figures of the machine.

    Raises
    ------
    ValueError
        If a variable is missing, unknown or of another shape than its coordinates.
    """
    expected = {variable.name for variable in loads_catalogue.all_loads_variables()}
    if odd := expected ^ set(values):
        raise ValueError(f"values do not fit the catalogue of loads: {', '.join(sorted(odd))}")
    coordinates = {
        variable.name: stored(variable, variable.name, np.asarray(values[variable.name]))
        for variable in loads_catalogue.COORDINATES
    }
    data = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, table in loads_catalogue.TABLES
        for variable in table
    }
    attributes = global_attributes(provenance, setup) | {
        STUDY: "loads",
        "not_checked": lines(NOT_CHECKED),
        "yardsticks": lines([f"{clause}: {words}" for clause, words in YARDSTICKS] + [OUTSIDE]),
    }
    attributes |= {name: sentence for name, sentence in sentences.items() if sentence}
    return xarray.Dataset(data, coords=coordinates, attrs=attributes)
