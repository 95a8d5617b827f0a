"""The state vector, the command of one leg, and what a leg is flown with."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft
from simengine.models.lane_table import WORK_SIZE

Vector = NDArray[np.float64]

(
    DISTANCE,  # along the ground [m]
    HEIGHT,  # geometric, above mean sea level [m]
    AIRSPEED,  # [m/s]
    PATH_ANGLE,  # of the flight through the air, positive up [rad]
    ROTOR_SPEED,  # of the propeller [rad/s]
    BLADE_ANGLE,  # at the reference station [rad]
    PITCH_RATE,  # positive toward coarse [rad/s]
    FUEL_USED,  # [kg]
    THROTTLE_TRIM,  # slow part of the throttle while holding a height [1]
) = range(9)
STATE_SIZE = 9

# Errors of one step that do not matter at a relative tolerance of 1e-4, in the units above.
ABSOLUTE_TOLERANCE = np.array([0.1, 0.01, 1e-4, 1e-5, 1e-3, 1e-7, 1e-5, 1e-7, 1e-5])
# Increments of the finite-difference Jacobian: far above the noise of the blade elements.
INCREMENTS = np.array([1.0, 0.5, 1e-4, 1e-5, 1e-3, 1e-6, 1e-4, 1e-4, 1e-5])


class Command(NamedTuple):
    """What the pilot does on one leg.

    Attributes
    ----------
    start, end : float
        Times since the start of the flight [s].
    throttle_start, throttle_end : float
        Opening at both ends, a straight line between [1].
    bar : float
        0 trim to 1 full bar [1].
    airborne : bool
        False while tied down.
    headwind : float
        Wind into the propeller while tied down [m/s].
    hold_height : bool
        The throttle holds `target_height`; the two openings are not used.
    target_height : float
        Height held, or the height at which the leg ends [m].
    target_speed : float
        Air speed of level flight at the height held [m/s].
    vertical_sense : float
        +1 the leg ends climbing through `target_height`, -1 descending through it, 0 never [1].
    distance_end : float
        Distance at which the leg ends [m]; infinite for none.
    ceiling_from : float
        Time from which too small a climb ends the leg [s]; infinite for never.
    pitch_target : float
        Blade angle selected by the pilot of a SELECTED hub [rad].
    ground_height : float
        [m].
    """

    start: float
    end: float
    throttle_start: float
    throttle_end: float
    bar: float
    airborne: bool
    headwind: float
    hold_height: bool
    target_height: float
    target_speed: float
    vertical_sense: float
    distance_end: float
    ceiling_from: float
    pitch_target: float
    ground_height: float


class Leg(NamedTuple):
    """One aircraft under one command, with the blades at rest or sliding, `mode` (`models.friction`).

    `inflow`, shape (turns, WORK_SIZE), goes from one instant to the next
    (`models.momentum.rotor_loads_near`).
    """

    aircraft: Aircraft
    command: Command
    mode: int
    inflow: Vector = np.empty((0, WORK_SIZE))
