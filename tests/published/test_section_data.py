"""Section families against measured sections: lift, drag and moment over the whole turn.

NACA 0012: C. L. Ladson, NASA TM 4074 (1988). NACA 0021: R. E. Sheldahl, P. C. Klimas, SAND80-2114 (1981),
beyond 30 deg measured, below computed. Headers of the data files say how the numbers came here. The table of
cambered 4-digit sections is from memory (after I. H. Abbott, A. E. von Doenhoff, Theory of Wing Sections,
1959): plausibility.
"""

from math import radians

import numpy as np
import pytest
from measured_propellers import column, rows
from numpy.typing import NDArray

from simengine.models.section_families import build_sections
from simengine.models.sections import Section, section_at, section_coefficients

SANDIA_REYNOLDS = 3.6e5
FULL_TURN = "sandia_naca0021_re360k_full_range.csv"


def beside(
    name: str, thickness: float, reynolds: float, mach: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Angles of attack [deg], measured lift and drag, and those of the family, each of shape (n, 2)."""
    table = rows(name)
    sections = build_sections("naca_4digit", [thickness], camber=0.0)
    angles = column(table, "alpha_deg")
    model = [section_coefficients(sections, 0, radians(angle), reynolds, mach)[:2] for angle in angles]
    return angles, np.column_stack([column(table, "cl"), column(table, "cd")]), np.array(model)


@pytest.mark.parametrize("grit", [120, 180])
def test_naca_0012_of_nasa_tm_4074(grit: int) -> None:
    # Families are held at 3e6, the measurement is at 6e6 with fixed transition: its drag is that of a rough
    # section, 0.0015 above a smooth one's.
    angles, measured, model = beside(f"nasa_tm4074_naca0012_re6m_{grit}grit.csv", 0.12, 6.0e6, 0.15)
    attached = np.abs(angles) < 13.0
    # Readings are good to 0.005 and the two grits differ by 0.01 at one angle.
    assert np.abs(model - measured)[attached, 0].max() < 0.025
    gap = (measured - model)[attached, 1]
    assert gap.min() > -0.004
    assert gap.max() < 0.0025
    assert model[:, 0].max() == pytest.approx(measured[:, 0].max(), rel=0.12)


def test_naca_0021_below_stall_at_low_reynolds_number() -> None:
    angles, measured, model = beside(FULL_TURN, 0.21, SANDIA_REYNOLDS, 0.0)
    low = np.abs(angles) <= 8.0
    assert np.abs(model - measured)[low, 0].max() < 0.10
    assert np.abs(model - measured)[low, 1].max() < 0.006


@pytest.mark.parametrize(
    ("first", "last", "lift_error", "drag_error"),
    [(30.0, 90.0, 0.14, 0.06), (90.0, 150.0, 0.23, 0.06), (150.0, 180.0, 0.50, 0.20)],
)
def test_naca_0021_beyond_stall(first: float, last: float, lift_error: float, drag_error: float) -> None:
    # Hoerner's plate. The last range is reversed flow, whose attached lift the model leaves out: blades of a
    # propeller meet it only when it turns backwards.
    angles, measured, model = beside(FULL_TURN, 0.21, SANDIA_REYNOLDS, 0.0)
    for mirrored in (angles, -angles):
        there = (mirrored >= first) & (mirrored <= last)
        assert there.sum() >= 6
        assert np.abs(model - measured)[there, 0].max() < lift_error
        assert np.abs(model - measured)[there, 1].max() < drag_error


def test_flat_plate_moment_of_naca_0021() -> None:
    # The report's moments scatter by 0.15 between neighbours; the mean of the range is what can be held to.
    table = rows(FULL_TURN)
    angles, measured = column(table, "alpha_deg"), column(table, "cm_c4")
    sections = build_sections("naca_4digit", [0.21], camber=0.0)
    there = (angles >= 45.0) & (angles <= 135.0)
    model = [
        section_coefficients(sections, 0, radians(angle), SANDIA_REYNOLDS, 0.0).cm for angle in angles[there]
    ]
    assert np.mean(model) == pytest.approx(measured[there].mean(), abs=0.05)


@pytest.mark.parametrize(
    "row", rows("naca_4digit_section_summary_from_memory.csv"), ids=lambda row: str(row["section"])
)
def test_4digit_sections_as_remembered(row: dict[str, str]) -> None:
    # At 9e6, the families held at 3e6: greatest lift below by what the growth gives, 0.42 for ten times.
    digits = row["section"].removeprefix("naca")
    camber, thickness = int(digits[0]) / 100.0, int(digits[2:]) / 100.0
    section: Section = section_at(build_sections("naca_4digit", [thickness], camber), 0, 9.0e6, 0.0)
    assert np.degrees(section.zero_lift_angle) == pytest.approx(float(row["alpha_l0_deg"]), abs=0.4)
    assert section.moment == pytest.approx(float(row["cm_c4"]), abs=0.003)
    assert radians(section.lift_slope) == pytest.approx(float(row["cl_alpha_per_deg"]), rel=0.04)
    assert section.lift_max == pytest.approx(float(row["cl_max"]), rel=0.18)
