"""The figures of an envelope as one document of stable keys."""

from typing import Any

import numpy as np
import xarray

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import Change, EnvelopeDocument
from simengine.report.envelope.facts import own, ranked_changes
from simengine.report.envelope.text import envelope_conclusion
from simengine.report.facts import moves_by_itself
from simengine.report.flight.table import DOCUMENT_VERSION, finite, sentences

LEFT_TO_THE_FILE = ("map_", "sweep_", "budget_", "change_")  # too long for a document; in the NetCDF file
POINT = ("temperature_offset", "mass", "bar")


def envelope_json(dataset: xarray.Dataset) -> EnvelopeDocument:
    """Answer, ceilings, figures by height, changes; `null` for what does not happen.

    Keys are the names of the result file; `units` tells the unit of each. Lists run along the
    dimensions that `dimensions` names, outermost first.
    """
    attributes = dataset.attrs
    names = [str(name) for name in dataset.data_vars if not str(name).startswith(LEFT_TO_THE_FILE)]
    point = own(dataset)
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "envelope",
        "title": attributes.get("title", ""),
        "source": attributes.get("source", ""),
        "scenario_sha256": attributes.get("simengine_scenario_sha256", ""),
        "conclusion": envelope_conclusion(dataset),
        "hub_kind": attributes["hub_kind"],
        "finishes_at_every_height": bool(point.finishes.all()) if moves_by_itself(dataset) else None,
        "own": {"mass": point.all_up_mass, "bar": point.bar_share},
        "coordinates": {name: plain(dataset[name]) for name in (*POINT, "height")},
        "dimensions": {name: list(map(str, dataset[name].dims)) for name in names},
        "figures": {name: plain(dataset[name]) for name in names},
        "changes": changes_json(dataset),
        "units": {name: dataset[name].attrs["units"] for name in names if "units" in dataset[name].attrs},
        "balances": sentences(attributes, "balances"),
        "model_limits": sentences(attributes, "model_limits"),
        "defaults_used": sentences(attributes, "defaults_used"),
        "cautions": list(caution_list()),
    }


def changes_json(dataset: xarray.Dataset) -> list[Change]:
    """Every change, best first."""
    return [
        {
            "change_name": change.name,
            "change_gain": finite(change.gain),
            "change_shift_ceiling": finite(change.ceiling),
            "change_words": change.words,
            "change_shift_begin_rpm": finite(change.shift_begin_rpm),
            "change_shift_finish_rpm": finite(change.shift_finish_rpm),
        }
        for change in ranked_changes(dataset)
    ]


def plain(variable: xarray.DataArray) -> Any:
    """Values as JSON knows them: numbers, words, `null`."""
    values = np.asarray(variable.values)
    if "flag_meanings" in variable.attrs:
        meanings = np.array(str(variable.attrs["flag_meanings"]).split())
        return meanings[values.astype(int)].tolist()
    if values.dtype.kind in "fc":
        return nested(values)
    return values.tolist()


def nested(values: Any) -> Any:
    """Lists in lists, NaN replaced."""
    if np.ndim(values) == 0:
        return finite(float(values))
    return [nested(value) for value in values]
