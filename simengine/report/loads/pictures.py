"""Every picture of load figures, by the name that its file gets; each carries the caution on structure."""

import xarray

from simengine.report.facts import moves_by_itself
from simengine.report.loads.bars import loads_picture
from simengine.report.loads.facts import every_mode
from simengine.report.loads.failures_picture import failures_picture
from simengine.report.loads.frequencies_picture import frequencies_picture
from simengine.report.loads.stops_picture import stops_picture
from simengine.report.outputs import Drawer, Drawers


def loads_drawers(dataset: xarray.Dataset) -> Drawers:
    """The pictures that a machine has: what is not known, or not there, is not drawn."""
    drawers: dict[str, Drawer] = {"blade": loads_picture}
    if every_mode(dataset):
        drawers["frequencies"] = frequencies_picture
    if dataset.sizes["failure"] > 1:
        drawers["failures"] = failures_picture
    if moves_by_itself(dataset):
        drawers["stops"] = stops_picture
    return drawers
