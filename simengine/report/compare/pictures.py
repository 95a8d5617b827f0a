"""Every picture of a comparison, by the name that its file gets."""

from collections.abc import Callable, Mapping

import xarray
from matplotlib.figure import Figure

from simengine.report.compare.dots import figures_picture
from simengine.report.compare.traces import differences_picture, traces_picture

COMPARE_DRAWERS: Mapping[str, Callable[[xarray.Dataset], Figure]] = {
    "traces": traces_picture,
    "differences": differences_picture,
    "figures": figures_picture,
}
