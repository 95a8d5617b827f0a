"""Every picture of a route, by the name that its file gets."""

from collections.abc import Callable

import xarray
from matplotlib.figure import Figure

from simengine.report.route.bars import bars_picture
from simengine.report.route.map_picture import map_picture
from simengine.report.route.profile import profile_picture

Drawer = Callable[[xarray.Dataset], Figure]


def route_drawers(dataset: xarray.Dataset) -> dict[str, Drawer]:
    """The pictures that a route has; no map without a hub to compare with."""
    drawers: dict[str, Drawer] = {"profile": profile_picture, "fuel": bars_picture}
    return drawers | ({"saving": map_picture} if dataset.sizes["hub"] > 1 else {})
