"""Every picture of a comparison, by the name that its file gets."""

from simengine.report.compare.dots import figures_picture
from simengine.report.compare.traces import differences_picture, traces_picture
from simengine.report.outputs import Drawers

COMPARE_DRAWERS: Drawers = {
    "traces": traces_picture,
    "differences": differences_picture,
    "figures": figures_picture,
}
