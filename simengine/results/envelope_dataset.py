"""From the envelope's numbers in SI to a self-describing dataset in the units of its catalogue."""

from collections.abc import Mapping

import numpy as np
import xarray

from simengine.results import envelope_catalogue
from simengine.results.dataset import global_attributes, stored
from simengine.results.records import Provenance, Setup

STUDY = "study"  # attribute that says which study a result is of; a flight has none


def envelope_dataset(
    values: Mapping[str, object], sentences: Mapping[str, str], provenance: Provenance, setup: Setup
) -> xarray.Dataset:
    """Put an envelope into one dataset.

    Parameters
    ----------
    values : mapping of str to array
        Every name of the envelope's catalogue, in SI, shaped as its dimensions.
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
    expected = {variable.name for variable in envelope_catalogue.all_envelope_variables()}
    if odd := expected ^ set(values):
        raise ValueError(f"values do not fit the envelope's catalogue: {', '.join(sorted(odd))}")
    coordinates = {
        variable.name: stored(variable, variable.name, np.asarray(values[variable.name]))
        for variable in envelope_catalogue.COORDINATES
    }
    data = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, table in envelope_catalogue.TABLES
        for variable in table
    }
    attributes = global_attributes(provenance, setup) | {STUDY: "envelope"}
    attributes |= {name: sentence for name, sentence in sentences.items() if sentence}
    return xarray.Dataset(data, coords=coordinates, attrs=attributes)
