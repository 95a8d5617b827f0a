"""The figures of a route as one document of stable keys."""

import xarray

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import RouteDocument
from simengine.report.envelope.document import plain
from simengine.report.flight.table import DOCUMENT_VERSION, sentences
from simengine.report.route.text import possible, route_conclusion
from simengine.results.route_catalogue import FLOWN, INPUTS, LEGS, SCALARS, SHARES, TRIPS

TOLD = (*LEGS, *FLOWN, *TRIPS, *INPUTS, *SHARES, *SCALARS)


def route_json(dataset: xarray.Dataset) -> RouteDocument:
    """Answer and figures by leg, hub and input; `null` for what does not happen.

    Keys are the names of the result file; `units` tells the unit of each, `dimensions` along what its lists
    run, outermost first. The way and the map are left to the file.
    """
    attributes = dataset.attrs
    names = [variable.name for variable in TOLD]
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "route",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "conclusion": route_conclusion(dataset),
        "hub_kind": attributes["hub_kind"],
        "possible": possible(dataset),
        "comparison_rule": attributes["comparison_rule"],
        "coordinates": {name: plain(dataset[name]) for name in ("leg", "hub", "input")},
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "units": {name: dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs},
        "model_limits": sentences(attributes, "model_limits"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }
