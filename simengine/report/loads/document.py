"""Load figures as one document of stable keys; cautions, yardsticks and what was not checked always in it."""

from math import isfinite

import xarray

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import LoadsDocument
from simengine.report.envelope.document import plain
from simengine.report.facts import number
from simengine.report.flight.table import DOCUMENT_VERSION, sentences
from simengine.report.loads.facts import failures
from simengine.report.loads.text import (
    landing_words,
    life_words,
    loads_conclusion,
    not_checked_lines,
    yardstick_lines,
)

CURVES = (
    "campbell_",
    "coarse_stop_moment",
    "fine_stop_moment",
)  # too long for a document; in the NetCDF file


def loads_json(dataset: xarray.Dataset) -> LoadsDocument:
    """Conclusion and every figure under the names of the result file; `null` for what is not known.

    Lists run along the dimensions that `dimensions` names, outermost first.
    """
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars if not str(name).startswith(CURVES)]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "loads",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "conclusion": loads_conclusion(dataset),
        "hub_kind": attributes["hub_kind"],
        "coordinates": {
            str(name): plain(dataset[name])
            for name in dataset.coords
            if not str(name).startswith(("campbell_", "stop_"))
        },
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "landing": {row.name: landing_words(row) for row in failures(dataset)},
        "units": {name: dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs},
        "spring_life": life_words(dataset) if isfinite(number(dataset, "spring_goodman_factor")) else None,
        "spring_basis": attributes.get("spring_basis", ""),
        "yardsticks": yardstick_lines(dataset),
        "not_checked": not_checked_lines(dataset),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
