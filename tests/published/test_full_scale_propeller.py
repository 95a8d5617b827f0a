"""A full-scale propeller of four blades at four settings: NACA Report 640.

E. P. Hartman, D. Biermann, NACA Report 640 (1938; citation from memory), propeller 5868-9 of 10 ft, Clark Y
sections, in front of a nacelle; second-hand digitisation, its faults and uncertainties (efficiency 0.01,
advance ratio 0.01, more by the wide steps of its points) stand in the header of the data file. Efficiency
there is that of propeller and body together.

Nothing was fitted to it but the datum, to the static row of the 15 deg setting; the other settings are the
same blade turned. What the blade stations lack is the round shank inboard of 0.30 R. Its drag, as of a
cylinder 0.3 of its width above the critical Reynolds number (S. F. Hoerner, Fluid-Dynamic Drag, from memory),
is a bound and not part of the model: its width, 0.09 R, and its beginning at the spinner, 0.15 R, are from
memory, and part of it stands in air that the nacelle slows.
"""

from functools import cache
from math import hypot, pi, radians
from typing import NamedTuple

import numpy as np
import pytest
from measured_propellers import (
    HUB_SHARE,
    MeasuredPropeller,
    coefficients,
    column,
    datum_from_static_rows,
    measured_blade,
    rows,
)
from numpy.typing import NDArray

TURNS = 1000.0 / 60.0  # 1/s, from memory; Reynolds number at 0.75 R about 1.5e6, where little depends on it
PROPELLER = MeasuredPropeller(
    "TR 640, 4 blades", "NR640", "uiuc_nr640_15deg_geom.csv", "", diameter=3.048, blades=4
)
SHANK_DRAG, SHANK_WIDTH, SHANK_INNER, SHANK_OUTER = 0.30, 0.09, HUB_SHARE, 0.30  # shares of the tip radius
EFFICIENCY_GOAL, ADVANCE_GOAL = 0.03, 0.05
ADVANCE = np.linspace(0.0, 2.9, 581)


class Peak(NamedTuple):
    """Greatest efficiency and the advance ratio at which it is reached."""

    efficiency: float
    advance: float


def measured(degrees: int, quantity: str) -> NDArray[np.float64]:
    """Advance ratio and value, shape (n, 2)."""
    table = [
        row
        for row in rows("naca_tr640_clarky_4blade_15_25_35_45deg.csv")
        if row["beta_75_deg"] == str(degrees) and row["quantity"] == quantity
    ]
    return np.column_stack([column(table, "j"), column(table, "value")])


@cache
def datum() -> float:
    """Datum of this propeller from its static row at 15 deg [rad]."""
    ct, cp = measured(15, "ct")[0, 1], measured(15, "cp_static")[0, 1]
    blade, angle = measured_blade(PROPELLER)
    return datum_from_static_rows(blade, angle, np.array([[0.0, 60.0 * TURNS, ct, cp]]))


def shank(advance: float) -> tuple[float, float]:
    """What the round shanks add to CT and to CP; momentum is left out of account."""
    ct, cp = 0.0, 0.0
    edges = np.linspace(SHANK_INNER, SHANK_OUTER, 13)
    for share, width in zip(0.5 * (edges[1:] + edges[:-1]), 0.5 * np.diff(edges), strict=True):
        turning = pi * share  # of n D
        force = 0.5 * PROPELLER.blades * SHANK_DRAG * 0.5 * SHANK_WIDTH * width * hypot(turning, advance)
        ct -= force * advance
        cp += force * turning * 2.0 * pi * 0.5 * share
    return ct, cp


@cache
def model(degrees: int, with_shank: bool = True) -> NDArray[np.float64]:
    """CT and CP at ADVANCE, shape (n, 2)."""
    blade, angle = measured_blade(PROPELLER, radians(degrees - 15.0) + datum())
    table = coefficients(blade, angle, np.full(ADVANCE.size, TURNS), ADVANCE)
    return table + np.array([shank(float(j)) for j in ADVANCE]) * with_shank


def model_peak(degrees: int, with_shank: bool = True) -> Peak:
    """Peak of the model."""
    ct, cp = model(degrees, with_shank).T
    efficiency = np.where((ct > 0.0) & (cp > 0.0), ADVANCE * ct / cp, 0.0)
    return Peak(float(efficiency.max()), float(ADVANCE[efficiency.argmax()]))


def measured_peak(degrees: int) -> Peak:
    """Peak of the parabola through the greatest measured point and its neighbours."""
    points = measured(degrees, "eta")
    top = int(points[:, 1].argmax())
    a, b, c = np.polyfit(points[top - 1 : top + 2, 0], points[top - 1 : top + 2, 1], 2)
    return Peak(float(c - b * b / (4.0 * a)), float(-b / (2.0 * a)))


# Without the shanks' drag. The goals are met at the settings that a paramotor knows. Above, efficiency comes
# out too high, since the air is fast and the shanks, which the stations lack, cost thrust: error bands.
@pytest.mark.parametrize("degrees", [15, 25])
def test_peak_of_efficiency(degrees: int) -> None:
    model_top, measured_top = model_peak(degrees, with_shank=False), measured_peak(degrees)
    assert model_top.efficiency == pytest.approx(measured_top.efficiency, abs=EFFICIENCY_GOAL)
    assert model_top.advance == pytest.approx(measured_top.advance, abs=ADVANCE_GOAL)


@pytest.mark.parametrize(
    ("degrees", "efficiency", "advance"),
    [(35, (0.030, 0.045), (0.0, 0.05)), (45, (0.055, 0.075), (0.15, 0.25))],
)
def test_peak_of_efficiency_of_coarse_settings_is_too_high(
    degrees: int, efficiency: tuple[float, float], advance: tuple[float, float]
) -> None:
    model_top, measured_top = model_peak(degrees, with_shank=False), measured_peak(degrees)
    assert efficiency[0] < model_top.efficiency - measured_top.efficiency < efficiency[1]
    assert advance[0] < model_top.advance - measured_top.advance < advance[1]


@pytest.mark.parametrize("degrees", [15, 25, 35, 45])
def test_measured_peak_lies_between_shanks_of_full_drag_and_none(degrees: int) -> None:
    reading = 0.01  # header of the data file
    low, high = model_peak(degrees).efficiency, model_peak(degrees, with_shank=False).efficiency
    assert low - reading < measured_peak(degrees).efficiency < high + reading


def test_datum_is_small() -> None:
    # The report's angle may be that of the flat face, about 1 deg from the chord line at 9 % thickness.
    assert abs(np.degrees(datum())) < 1.0


def test_thrust_at_15_degrees() -> None:
    points = measured(15, "ct")
    computed = np.interp(points[:, 0], ADVANCE, model(15, with_shank=False)[:, 0])
    assert np.abs(computed - points[:, 1]).max() < 0.10 * points[0, 1]


def test_stalled_blade_at_rest_comes_out_too_weak() -> None:
    # 35 and 45 deg at rest, stalled to the tip: rotation holds more lift than plate flow and its delay say;
    # thrust and power are a quarter to two fifths too low. 15 deg is within a tenth.
    for degrees, low, high in ((15, -0.10, 0.10), (35, -0.40, -0.20), (45, -0.40, -0.25)):
        power = measured(degrees, "cp_static")[0, 1]
        thrust = measured(degrees, "ct")[0, 1]
        computed = model(degrees, with_shank=False)[0]
        assert low < computed[0] / thrust - 1.0 < high
        assert low < computed[1] / power - 1.0 < high
