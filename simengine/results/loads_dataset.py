"""From the load figures in SI to a self-describing dataset in the units of their catalogue."""

from collections.abc import Mapping

import xarray

from simengine.results import loads_catalogue
from simengine.results.dataset import lines
from simengine.results.records import Provenance, Setup
from simengine.results.study_dataset import study_dataset
from simengine.results.yardsticks import NOT_CHECKED, OUTSIDE, YARDSTICKS


def loads_dataset(
    values: Mapping[str, object], sentences: Mapping[str, str], provenance: Provenance, setup: Setup
) -> xarray.Dataset:
    """As `study_dataset`; what was not checked and the yardsticks always go with load figures."""
    always = {
        "not_checked": lines(NOT_CHECKED),
        "yardsticks": lines([f"{clause}: {words}" for clause, words in YARDSTICKS] + [OUTSIDE]),
    }
    catalogue = (loads_catalogue.COORDINATES, loads_catalogue.TABLES)
    return study_dataset("loads", *catalogue, values, always | dict(sentences), provenance, setup)
