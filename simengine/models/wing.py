"""A paraglider from its measured glide: lift and drag coefficient at each bar position."""

from math import atan2, cos, sin, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.compiled import kernel
from simengine.constants import STANDARD_GRAVITY
from simengine.models.interpolation import held_inside, pchip, pchip_value


class Wing(NamedTuple):
    """Wing with lines and pilot as measured in the glide.

    Attributes
    ----------
    area : float
        Area that the coefficients refer to [m2].
    lift_table, drag_table : NDArray
        Coefficients against bar position, `pchip` tables of shape (n, 5).
    """

    area: float
    lift_table: NDArray[np.float64]
    drag_table: NDArray[np.float64]


class WingCoefficients(NamedTuple):
    """Lift and drag coefficient on the wing's area [1]."""

    lift: float
    drag: float


class Glide(NamedTuple):
    """Steady glide without thrust: `speed` along the path and `sink` [m/s], lift over drag `ratio` [1]."""

    speed: float
    sink: float
    ratio: float


def build_wing(
    *, area: float, bar: ArrayLike, speed: ArrayLike, sink: ArrayLike, mass: float, density: float
) -> Wing:
    """Wing from glides measured without motor at a stated mass and density.

    Parameters
    ----------
    area : [m2]
    bar : shape (n,), rising, 0 = trim, 1 = full bar; one row gives the same coefficients at every bar
    speed : air speed along the path, shape (n,) [m/s]
    sink : shape (n,) [m/s]
    mass : all-up mass of the glides [kg]
    density : air density of the glides [kg/m3]

    Raises
    ------
    ValueError
        If a value is not positive, sink is not below speed, or bar positions do not rise.

    Notes
    -----
    Balance along and across a steady path inclined by g, `sin g = sink / speed`:
    `CL q S = W cos g`, `CD q S = W sin g`.
    """
    path_speed, fall = np.asarray(speed, dtype=np.float64), np.asarray(sink, dtype=np.float64)
    for name, value in (("area", area), ("mass", mass), ("density", density)):
        if not value > 0.0:
            raise ValueError(f"wing: {name} must be positive, got {value:g}")
    if path_speed.shape != fall.shape:
        raise ValueError(
            f"wing: {path_speed.size} speeds but {fall.size} sinks; give one sink for each speed"
        )
    if not ((fall > 0.0) & (fall < path_speed)).all():
        raise ValueError("wing: sink must be positive and below the speed along the path in every row")
    sine = fall / path_speed
    loading = mass * STANDARD_GRAVITY / (0.5 * density * path_speed**2 * area)
    return Wing(
        float(area),
        pchip(bar, loading * np.sqrt(1.0 - sine**2), "wing: bar"),
        pchip(bar, loading * sine, "wing: bar"),
    )


@kernel
def wing_coefficients(wing: Wing, bar: float) -> WingCoefficients:
    """Coefficients at a `bar` position, 0 trim to 1 full [1]; held beyond the measured bar positions."""
    inside = held_inside(wing.lift_table, bar)
    return WingCoefficients(pchip_value(wing.lift_table, inside), pchip_value(wing.drag_table, inside))


def glide(wing: Wing, bar: float, mass: float, density: float) -> Glide:
    """Steady glide at a `bar` position [1], another all-up mass [kg] and air density [kg/m3]."""
    coefficients = wing_coefficients(wing, bar)
    path = atan2(coefficients.drag, coefficients.lift)
    speed = sqrt(2.0 * mass * STANDARD_GRAVITY * cos(path) / (density * wing.area * coefficients.lift))
    return Glide(speed, speed * sin(path), coefficients.lift / coefficients.drag)
