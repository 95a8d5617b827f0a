"""The figures of a tolerance study as one document of stable keys."""

import xarray

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import ToleranceDocument
from simengine.report.envelope.document import plain
from simengine.report.flight.table import DOCUMENT_VERSION, sentences
from simengine.report.tolerance.text import tolerance_conclusion

LEFT_TO_THE_FILE = ("_edges", "_histogram")  # too long for a document; in the NetCDF file


def tolerance_json(dataset: xarray.Dataset) -> ToleranceDocument:
    """Answer, yields, contributions, scatter; `null` for what is not known.

    Keys are the names of the result file; `units` tells the unit of each. Lists run along the
    dimensions that `dimensions` names, outermost first.
    """
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars if not str(name).endswith(LEFT_TO_THE_FILE)]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "tolerance",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "seed": int(attributes["seed"]),
        "conclusion": tolerance_conclusion(dataset),
        "coordinates": {str(name): plain(dataset[name]) for name in dataset.coords},
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "units": {name: dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs},
        "left_out": sentences(attributes, "left_out"),
        "model_limits": sentences(attributes, "model_limits"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
