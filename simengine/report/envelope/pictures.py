"""Every picture of an envelope, by the name that its file gets."""

import xarray

from simengine.report.envelope.changes import changes_picture
from simengine.report.envelope.heights import heights_picture
from simengine.report.envelope.moments import moments_picture
from simengine.report.envelope.states import states_picture
from simengine.report.envelope.sweep import sweep_picture
from simengine.report.facts import moves_by_itself
from simengine.report.outputs import Drawers

DRAWERS: Drawers = {
    "heights": heights_picture,
    "states": states_picture,
    "moments": moments_picture,
    "sweep": sweep_picture,
    "changes": changes_picture,
}


def envelope_drawers(dataset: xarray.Dataset) -> Drawers:
    """The pictures that a hub has: all if it shifts by itself, else only height against rpm."""
    if moves_by_itself(dataset):
        return dict(DRAWERS)
    return {"heights": heights_picture}
