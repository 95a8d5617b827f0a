"""From numbers of a study to a self-describing dataset, by the tables of its catalogue."""

from collections.abc import Mapping, Sequence

import numpy as np
import xarray

from simengine.results.catalogue import STUDY, Variable
from simengine.results.dataset import global_attributes, stored
from simengine.results.records import Provenance, Setup

Tables = Sequence[tuple[tuple[str, ...], tuple[Variable, ...]]]


def study_dataset(
    study: str,
    coordinates: Sequence[Variable],
    tables: Tables,
    values: Mapping[str, object],
    sentences: Mapping[str, str],
    provenance: Provenance,
    setup: Setup,
) -> xarray.Dataset:
    """Put the figures of a study into one dataset.

    Parameters
    ----------
    study : str
        Its name, kept in the attribute `study`.
    coordinates, tables : Variables
        The catalogue: coordinates, and for each tuple of dimensions its variables.
    values : mapping of str to array
        Every name of the catalogue.
    sentences : mapping of str to str
        Attributes in words; empty ones are left out.
    provenance, setup : Provenance, Setup
        As for every result.

    Raises
    ------
    ValueError
        If a variable is missing, unknown or of another shape than its coordinates.
    """
    expected = {variable.name for variable in (*coordinates, *(v for _, table in tables for v in table))}
    if odd := expected ^ set(values):
        raise ValueError(f"values do not fit the catalogue of the study: {', '.join(sorted(odd))}")
    coords = {v.name: stored(v, v.name, np.asarray(values[v.name])) for v in coordinates}
    data = {
        v.name: stored(v, dimensions, np.asarray(values[v.name]))
        for dimensions, table in tables
        for v in table
    }
    attributes = global_attributes(provenance, setup) | {STUDY: study}
    attributes |= {name: sentence for name, sentence in sentences.items() if sentence}
    return xarray.Dataset(data, coords=coords, attrs=attributes)
