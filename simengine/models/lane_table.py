"""Layout of the vector loops of `lanes.py`: rows of a flat workspace, and the table they begin from."""

from math import pi

import numpy as np
from numpy.typing import NDArray

from simengine.models.sections import LOWEST_REYNOLDS

Array = NDArray[np.float64]

LANES = 24  # elements that go in step; a blade of more goes in several turns
UNFELT = 1.0e6  # factor that stands for no loss
STEEPEST_EXPONENT = (
    0.9  # of drag against Reynolds number, so that its power stays in the range of `exponential`
)

ROWS = 47  # of the workspace; those of the table come first
TABLE = (
    "radius",
    "chord",
    "twist",
    "solidity",
    "tip_factor",
    "hub_factor",
    "log_reference",
    "zero_lift_angle",
    "lift_slope",
    "lift_max",
    "lift_min",
    "lift_growth",
    "rounding",
    "suction_lost",
    "drag_min",
    "drag_lift",
    "drag_rise",
    "moment",
    "drag_exponent_low",
    "drag_exponent_high",
    "mach_limit",
    "mach_critical",
    "stall_delay",
    "zero_lift_loss",
    "slope_share",
)
(
    RADIUS,
    CHORD,
    TWIST,
    SOLIDITY,
    TIP_FACTOR,
    HUB_FACTOR,
    LOG_REFERENCE,
    BARE_ZERO,
    BARE_SLOPE,
    BARE_MAX,
    BARE_MIN,
    GROWTH,
    ROUNDING,
    SUCTION,
    BARE_DRAG,
    DRAG_LIFT,
    BARE_RISE,
    BARE_MOMENT,
    EXPONENT_LOW,
    EXPONENT_HIGH,
    MACH_LIMIT,
    MACH_CRITICAL,
    DELAY,
    ZERO_LOSS,
    SLOPE_SHARE,
    # from here on: what belongs to an operating point
    ANGLE,
    TURNING,
    REYNOLDS,
    ZERO_LIFT,
    SLOPE,
    LIFT_MAX,
    LIFT_MIN,
    DRAG_MIN,
    DRAG_RISE,
    MOMENT,
    EXCESS,
    LOW,
    HIGH,
    PHI,
    VALUE,
    STEP,
    GAIN,
    STATE,
    NORMAL,
    TANGENTIAL,
    SPEED,
    ACROSS,
) = range(0, ROWS * LANES, LANES)
SHAPE = len(TABLE) * LANES  # where the blade's shape stands, behind the rows of the table
KNOWN = ROWS * LANES  # behind the rows: 1 where the workspace holds a solution to begin the next one from
TABLE_SIZE, WORK_SIZE = SHAPE + 5, KNOWN + 1


def lane_table(shape: tuple[float, ...], columns: dict[str, Array]) -> Array:
    """What does not depend on the operating point, laid out for the vector loops.

    Parameters
    ----------
    shape : number of blades [1], tip and hub radius [m], tip and hub loss (1 with, 0 without) [1]
    columns : radius, chord, twist and every field of `Sections`, each of shape (n,)

    Returns
    -------
    NDArray, shape (turns, TABLE_SIZE)
        Lanes beyond the last element repeat it. No turns where a section is outside what the vector loops can
        do.
    """
    blades, tip_radius, hub_radius, tip_loss, hub_loss = shape
    steepest = max(np.max(columns["drag_exponent_low"]), np.max(columns["drag_exponent_high"]))
    if steepest > STEEPEST_EXPONENT:
        return np.empty((0, TABLE_SIZE))
    radius = columns["radius"]
    unfelt = np.full_like(radius, UNFELT)
    rows = columns | {
        "solidity": blades * columns["chord"] / (2.0 * pi * radius),
        "tip_factor": 0.5 * blades * (tip_radius - radius) / radius if tip_loss else unfelt,
        "hub_factor": 0.5 * blades * (radius - hub_radius) / hub_radius if hub_loss else unfelt,
        "log_reference": np.log10(columns["reynolds_reference"] / LOWEST_REYNOLDS),
    }
    turns = -(-radius.size // LANES)
    places = np.minimum(np.arange(turns * LANES), radius.size - 1).reshape(turns, LANES)
    return np.stack([np.concatenate([*(rows[name][place] for name in TABLE), shape]) for place in places])
