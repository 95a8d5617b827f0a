"""Every picture of a route, by the name that its file gets."""

import xarray

from simengine.report.outputs import Drawer, Drawers
from simengine.report.route.bars import bars_picture
from simengine.report.route.map_picture import map_picture
from simengine.report.route.profile import profile_picture


def route_drawers(dataset: xarray.Dataset) -> Drawers:
    """The pictures that a route has; no map without a hub to compare with."""
    drawers: dict[str, Drawer] = {"profile": profile_picture, "fuel": bars_picture}
    return drawers | ({"saving": map_picture} if dataset.sizes["hub"] > 1 else {})
