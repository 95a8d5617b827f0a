"""From a route's numbers in SI to a self-describing dataset in the units of its catalogue."""

from collections.abc import Mapping

import numpy as np
import xarray

from simengine.results import route_catalogue
from simengine.results.dataset import global_attributes, stored
from simengine.results.envelope_dataset import STUDY
from simengine.results.records import Provenance, Setup


def route_dataset(
    values: Mapping[str, object], sentences: Mapping[str, str], provenance: Provenance, setup: Setup
) -> xarray.Dataset:
    """Put a route into one dataset.

    Parameters
    ----------
    values : mapping of str to array
        Every name of the route's catalogue, in SI, shaped as its dimensions.
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
    expected = {variable.name for variable in route_catalogue.all_route_variables()}
    if odd := expected ^ set(values):
        raise ValueError(f"values do not fit the route's catalogue: {', '.join(sorted(odd))}")
    coordinates = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, variable in route_catalogue.COORDINATES
    }
    data = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, table in route_catalogue.TABLES
        for variable in table
    }
    attributes = global_attributes(provenance, setup) | {STUDY: "route"}
    attributes |= {name: sentence for name, sentence in sentences.items() if sentence}
    return xarray.Dataset(data, coords=coordinates, attrs=attributes)
