"""A measured propeller of known geometry: the university test propeller DA4002, 9 x 6.75 in, two blades.

R. W. Deters, G. K. Ananda, M. S. Selig, AIAA 2014-2151 (2014); numbers from the authors' database,
second-hand, see the headers of the data files. It is small (chord Reynolds number 65,000 at 5000 rpm), so a harder case
than a paramotor's propeller at ten times that. Its section is not in the data: `thin_low_reynolds` with 8 %
thickness is assumed, and no parameter was fitted to these files.
"""

import csv
from math import pi, radians
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from simengine.constants import RPM
from simengine.models.atmosphere import standard_air
from simengine.models.blade import Blade, build_blade
from simengine.models.momentum import rotor_loads

DATA = Path(__file__).parent / "data"
DIAMETER = 0.2286
ASSUMED_THICKNESS = 0.08


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a data file, its header comments left out."""
    with (DATA / name).open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def measured_blade() -> tuple[Blade, float]:
    """The blade, and its blade angle at the reference station [rad]."""
    stations = rows("uiuc_da4002_9x6.75_geom.csv")
    share, chord, angle = (
        np.array([float(row[name]) for row in stations])
        for name in ("r_over_r_tip", "c_over_r_tip", "beta_deg")
    )
    blade = build_blade(
        blades=2,
        diameter=DIAMETER,
        hub_radius=0.075 * DIAMETER,
        radius=0.5 * DIAMETER * share,
        chord=0.5 * DIAMETER * chord,
        blade_angle=np.radians(angle),
        thickness=np.full(len(share), ASSUMED_THICKNESS),
        axis=np.full(len(share), 0.25),
        section="thin_low_reynolds",
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=24,
    )
    return blade, radians(float(np.interp(0.75, share, angle)))


def comparison(lowest_rpm: float, highest_rpm: float) -> NDArray[np.float64]:
    """Advance ratio, CT measured and computed, CP measured and computed: shape (n, 5)."""
    blade, angle = measured_blade()
    air = standard_air(0.0)
    table = []
    for row in rows("uiuc_da4002_9x6.75_2blade_perf.csv"):
        rpm, advance = float(row["rpm"]), float(row["j"])
        if not lowest_rpm < rpm < highest_rpm:
            continue
        turns = rpm / 60.0
        loads = rotor_loads(blade, angle, rpm * RPM, advance * turns * DIAMETER, air)
        assert loads.status == 0.0
        ct = loads.thrust / (air.density * turns**2 * DIAMETER**4)
        cp = loads.torque * 2.0 * pi / (air.density * turns**2 * DIAMETER**5)
        table.append([advance, float(row["ct"]), ct, float(row["cp"]), cp])
    return np.array(table)


ROWS = comparison(4900.0, 5300.0)


def test_reference_blade_angle() -> None:
    assert np.degrees(measured_blade()[1]) == pytest.approx(18.786, abs=5e-4)


@pytest.mark.parametrize(("first", "last", "count"), [(-0.01, 0.01, 2), (0.01, 0.63, 21)])
def test_at_rest_and_up_to_the_best_efficiency(first: float, last: float, count: int) -> None:
    # Common practice: thrust within 10 %, power within 15 %.
    advance, ct, ct_model, cp, cp_model = ROWS[(ROWS[:, 0] > first) & (ROWS[:, 0] < last)].T
    assert len(advance) == count
    assert ct_model == pytest.approx(ct, rel=0.10)
    assert cp_model == pytest.approx(cp, rel=0.15)


def test_toward_windmilling() -> None:
    # Thrust vanishes here, so errors are taken on the coefficients at rest, in the same shares as above.
    static, fast = ROWS[ROWS[:, 0] == 0.0], ROWS[ROWS[:, 0] > 0.63]
    assert len(fast) > 7
    assert np.abs(fast[:, 2] - fast[:, 1]).max() < 0.10 * static[:, 1].mean()
    assert np.abs(fast[:, 4] - fast[:, 3]).max() < 0.15 * static[:, 3].mean()


def test_windmilling_begins_near_the_measured_advance_ratio() -> None:
    fast = ROWS[ROWS[:, 0] > 0.8]
    measured = np.interp(0.0, -fast[:, 1], fast[:, 0])
    computed = np.interp(0.0, -fast[:, 2], fast[:, 0])
    assert measured == pytest.approx(0.89, abs=0.005)
    assert computed == pytest.approx(measured, abs=0.03)
