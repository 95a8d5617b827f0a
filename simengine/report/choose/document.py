"""The figures of a choice as one document of stable keys."""

import xarray

from simengine.report.cautions import caution_list
from simengine.report.choose.text import choose_conclusion, feasible
from simengine.report.document_shapes import ChooseDocument
from simengine.report.envelope.document import plain
from simengine.report.flight.table import DOCUMENT_VERSION, sentences


def choose_json(dataset: xarray.Dataset) -> ChooseDocument:
    """Answer, options, relaxations, shim table; `null` for what is not known.

    Keys are the names of the result file; `units` tells the unit of each. Lists run along the
    dimensions that `dimensions` names, outermost first.
    """
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "choose",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "conclusion": choose_conclusion(dataset),
        "feasible": feasible(dataset),
        "targets": sentences(attributes, "targets"),
        "coordinates": {str(name): plain(dataset[name]) for name in dataset.coords},
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "units": {name: dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs},
        "model_limits": sentences(attributes, "model_limits"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
