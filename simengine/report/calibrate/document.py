"""A calibration as one document of stable keys."""

import xarray

from simengine.report.calibrate.text import calibration_conclusion, failed
from simengine.report.cautions import caution_list
from simengine.report.document_shapes import CalibrationDocument
from simengine.report.envelope.document import plain
from simengine.report.flight.table import DOCUMENT_VERSION, sentences


def calibration_json(dataset: xarray.Dataset) -> CalibrationDocument:
    """Every figure under the names of the result file; `null` for what is not known.

    Lists run along the dimensions that `dimensions` names; the unit of a row stands in the variable of units
    along its dimension.
    """
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "calibrate",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "conclusion": calibration_conclusion(dataset),
        "contradiction": failed(dataset),
        "identifiability": sentences(attributes, "identifiability"),
        "chosen_question": attributes["chosen_question"],
        "fitted_scenario": attributes.get("fitted_scenario", ""),
        "coordinates": {str(name): plain(dataset[name]) for name in dataset.coords},
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "log_oddities": sentences(attributes, "log_oddities"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
