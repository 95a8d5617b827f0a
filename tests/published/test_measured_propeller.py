"""Measured propellers of known geometry: university test propellers of 9 in, two blades.

R. W. Deters, G. K. Ananda, M. S. Selig, AIAA 2014-2151 (2014); numbers from the authors' database,
second-hand, see the headers of the data files. They are small (chord Reynolds number 45,000 to 70,000 at
5000 rpm), so a harder case than a paramotor's propeller at ten times that. Their sections' thickness is not
in the data and is assumed.

What is proof and what is not: in sight of the DA4002 9 x 6.75 results the delay of stall by rotation was
taken into the model, the drag of `thin_low_reynolds` sections was set higher, and the share of suction lost
in rounding, which all families have, was changed. No number was fitted to the other propellers, but their
measurements were at hand while the families were set up: none of this is a blind test.
"""

import csv
from functools import cache
from math import pi
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from simengine.constants import RPM
from simengine.models.atmosphere import standard_air
from simengine.models.blade import Blade, build_blade
from simengine.models.momentum import rotor_loads

DATA = Path(__file__).parent / "data"
DIAMETER = 0.2286
LOWEST_RPM = 4900.0  # below it the measurements scatter more and Reynolds numbers leave the families' range


class Propeller(NamedTuple):
    """A measured propeller, and what is assumed of its section."""

    geometry: str
    performance: str
    section: str
    thickness: float


DA4002 = Propeller(
    "uiuc_da4002_9x6.75_geom.csv", "uiuc_da4002_9x6.75_2blade_perf.csv", "thin_low_reynolds", 0.08
)
DA4002_FINE = Propeller(
    "uiuc_da4002_9x2.85_geom.csv", "uiuc_da4002_9x2.85_2blade_perf.csv", "thin_low_reynolds", 0.08
)
CLARK_Y = Propeller("uiuc_nr640_15deg_geom.csv", "uiuc_nr640_9in_15deg_2blade_perf.csv", "flat_bottom", 0.10)
DA4022 = Propeller(
    "uiuc_da4022_9x6.75_geom.csv", "uiuc_da4022_9x6.75_2blade_perf.csv", "thin_low_reynolds", 0.08
)


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a data file, its header comments left out."""
    with (DATA / name).open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def measured_blade(propeller: Propeller) -> tuple[Blade, float]:
    """The blade, and its blade angle at the reference station [rad]."""
    stations = rows(propeller.geometry)
    names = ("r_over_r_tip", "c_over_r_tip", "beta_deg")
    share, chord, angle = (np.array([float(row[name]) for row in stations]) for name in names)
    blade = build_blade(
        blades=2,
        diameter=DIAMETER,
        hub_radius=0.5 * DIAMETER * share[0],
        radius=0.5 * DIAMETER * share,
        chord=0.5 * DIAMETER * chord,
        blade_angle=np.radians(angle),
        thickness=np.full(len(share), propeller.thickness),
        axis=np.full(len(share), 0.25),
        section=propeller.section,
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=24,
    )
    return blade, float(np.radians(np.interp(0.75, share, angle)))


@cache
def comparison(propeller: Propeller) -> NDArray[np.float64]:
    """Advance ratio, CT measured and computed, CP measured and computed: shape (n, 5)."""
    blade, angle = measured_blade(propeller)
    air = standard_air(0.0)
    table = []
    for row in rows(propeller.performance):
        rpm, advance = float(row["rpm"]), float(row["j"])
        if rpm < LOWEST_RPM:
            continue
        turns = rpm / 60.0
        loads = rotor_loads(blade, angle, rpm * RPM, advance * turns * DIAMETER, air)
        assert loads.status == 0.0
        ct = loads.thrust / (air.density * turns**2 * DIAMETER**4)
        cp = loads.torque * 2.0 * pi / (air.density * turns**2 * DIAMETER**5)
        table.append([advance, float(row["ct"]), ct, float(row["cp"]), cp])
    return np.array(table)


def test_reference_blade_angle() -> None:
    assert np.degrees(measured_blade(DA4002)[1]) == pytest.approx(18.786, abs=5e-4)


@pytest.mark.parametrize(
    "propeller",
    [
        pytest.param(DA4002, id="DA4002 9x6.75"),
        pytest.param(DA4002_FINE, id="DA4002 9x2.85"),
        pytest.param(CLARK_Y, id="Clark Y 15 deg"),
        pytest.param(
            DA4022,
            id="DA4022 9x6.75",
            marks=pytest.mark.xfail(
                reason="wide blades (chord 0.23 of the radius): thrust in flight too high by 10 % and more; "
                "the measured zero-lift angle moves by 2 deg from the narrow blade to this one, which a "
                "blade-element model without flow curvature cannot know",
                strict=True,
            ),
        ),
    ],
)
def test_at_rest_and_down_to_half_the_static_thrust(propeller: Propeller) -> None:
    # Common practice: thrust within 10 %, power within 15 %. At higher advance ratio thrust goes to zero, and
    # shares of it mean nothing.
    table = comparison(propeller)
    static = table[table[:, 0] == 0.0]
    _, ct, ct_model, cp, cp_model = table[table[:, 1] > 0.5 * static[:, 1].mean()].T
    assert len(static) >= 5
    assert len(ct) > 12
    assert ct_model == pytest.approx(ct, rel=0.10)
    assert cp_model == pytest.approx(cp, rel=0.15)


@pytest.mark.parametrize("propeller", [DA4002, DA4002_FINE], ids=["9x6.75", "9x2.85"])
def test_toward_windmilling(propeller: Propeller) -> None:
    # Thrust vanishes here, so errors are taken on the coefficients at rest, in the same shares as above. The
    # Clark Y propeller does not meet this: it windmills from an advance ratio of 0.66, the model from 0.75.
    table = comparison(propeller)
    static, moving = table[table[:, 0] == 0.0], table[table[:, 0] > 0.0]
    assert np.abs(moving[:, 2] - moving[:, 1]).max() < 0.10 * static[:, 1].mean()
    assert np.abs(moving[:, 4] - moving[:, 3]).max() < 0.15 * static[:, 3].mean()


def test_windmilling_begins_near_the_measured_advance_ratio() -> None:
    table = comparison(DA4002)
    fast = table[table[:, 0] > 0.8]
    measured = np.interp(0.0, -fast[:, 1], fast[:, 0])
    computed = np.interp(0.0, -fast[:, 2], fast[:, 0])
    assert measured == pytest.approx(0.89, abs=0.005)
    assert computed == pytest.approx(measured, abs=0.03)


def test_thrust_and_power_rise_with_reynolds_number_as_measured() -> None:
    # DA4002 at rest, 1547 to 5943 rpm: thrust coefficient rises, power coefficient falls.
    blade, angle = measured_blade(DA4002)
    air = standard_air(0.0)
    slow, fast = (rotor_loads(blade, angle, rpm * RPM, 0.0, air) for rpm in (2253.333, 5943.333))
    assert fast.thrust / 5943.333**2 > 1.01 * slow.thrust / 2253.333**2
    assert fast.torque / 5943.333**2 < 0.99 * slow.torque / 2253.333**2
