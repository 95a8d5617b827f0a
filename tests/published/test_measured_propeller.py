"""The model against measured propellers of known geometry: thrust and power, from rest to little thrust.

University test propellers of 5 to 19 in; `measured_propellers` names the sources and what is assumed. Their
chord Reynolds numbers are 2e4 to 1e5, a harder case than a paramotor's propeller at ten times that.

What is proof and what is not: six numbers of drag and greatest lift and one of the zero-lift angle were
fitted to these propellers together (`fit_sections.py`), and every propeller has one datum from its static
rows. The proof is in what is left out: the datum does not see rows in flight, and every propeller was left
out of the fit once, with errors alike.
"""

from functools import cache

import numpy as np
import pytest
from fit_sections import errors, fit, judged_rows, left_out_errors, pooled_medians, zero_lift_loss
from measured_propellers import (
    coefficients,
    comparison,
    measured_blade,
    measured_rows,
    open_propellers,
    static_datum,
)
from numpy.typing import NDArray
from standard_atmosphere import standard_air

from simengine.constants import RPM
from simengine.models.momentum import rotor_loads
from simengine.models.section_families import FITTED

PROPELLERS = {propeller.name: propeller for propeller in open_propellers()}
DA4002, DA4002_FINE = PROPELLERS["DA4002 9x6.75"], PROPELLERS["DA4002 9x2.85"]
THRUST_GOAL, POWER_GOAL, STATIC_GOAL, PITCH_GOAL = 5.0, 6.0, 6.0, 4.0  # %, about the scatter of such tests

# Propellers that miss a goal, by how much [%], and why. The bands are narrow: what gets better shows as well.
STATIC_MISSED = {
    # The chord doubles inboard; its zero-lift angle, read off the measurements, lies 4 deg above that of the
    # same section on the narrow blade, which no part of the model explains.
    "DA4052 9x6.75": (10.0, 14.0),
}
MEDIAN_MISSED = {
    "NR640 9 in 15 deg, 3 blades": (4.5, 5.5),  # on the edge; its like with 2 blades has half of it
    "DA4052 9x6.75": (7.0, 10.0),  # follows from the datum that the static rows ask for
    # Sections unknown; its lift rises more steeply with incidence than that of any rigid section.
    "sport 19x12": (5.0, 6.5),
}
# The same with the propeller left out of the fit.
LEFT_OUT_MISSED = {**MEDIAN_MISSED, "DA4052 9x6.75": (10.0, 13.0)}


@cache
def errors_of(name: str) -> dict[str, float]:
    """Errors of one propeller with the families as they are [%]."""
    return errors(PROPELLERS[name])


def test_reference_blade_angle() -> None:
    assert np.degrees(measured_blade(DA4002)[1]) == pytest.approx(18.786, abs=5e-4)


def test_fitted_numbers_are_those_of_the_script() -> None:
    again = {"zero_lift_loss": zero_lift_loss(), **fit(open_propellers())}
    assert set(again) == set(FITTED)
    for name, value in again.items():
        assert value == pytest.approx(FITTED[name], rel=5e-3), name


def test_median_error_over_all_rows() -> None:
    assert sum(len(judged_rows(propeller)) for propeller in open_propellers()) > 300
    thrust, power = pooled_medians()
    assert thrust < THRUST_GOAL
    assert power < POWER_GOAL


@pytest.mark.parametrize("name", PROPELLERS)
def test_at_rest(name: str) -> None:
    found = errors_of(name)
    assert abs(found["static CP"]) < STATIC_GOAL
    if name in STATIC_MISSED:
        least, most = STATIC_MISSED[name]
        assert least < found["static CT"] < most
    else:
        assert abs(found["static CT"]) < STATIC_GOAL


@pytest.mark.parametrize("name", PROPELLERS)
def test_down_to_a_fifth_of_the_static_thrust(name: str) -> None:
    found = errors_of(name)
    assert found["median CP"] < POWER_GOAL
    if name in MEDIAN_MISSED:
        least, most = MEDIAN_MISSED[name]
        assert least < found["median CT"] < most
    else:
        assert found["median CT"] < THRUST_GOAL


def pitch_change(datum: tuple[float, float]) -> NDArray[np.float64]:
    """Error of the change of CT, CP from fine to coarse DA4002 [% of its static values], shape (n, 2)."""
    coarse, fine = measured_rows(DA4002), measured_rows(DA4002_FINE)
    advance = np.linspace(0.13, 0.45, 9)
    measured, model = [], []
    for propeller, table, added in ((DA4002, coarse, datum[0]), (DA4002_FINE, fine, datum[1])):
        moving = table[table[:, 0] > 0.0]
        moving = moving[np.argsort(moving[:, 0])]
        at = np.column_stack([np.interp(advance, moving[:, 0], moving[:, k]) for k in (2, 3)])
        rest = table[table[:, 0] == 0.0].mean(axis=0)
        measured.append(np.vstack([rest[2:], at]))
        blade, angle = measured_blade(propeller, added)
        turns = np.append(rest[1], np.full(9, np.median(moving[:, 1]))) / 60.0
        model.append(coefficients(blade, angle, turns, np.append(0.0, advance)))
    error = (model[0] - model[1]) - (measured[0] - measured[1])
    return np.asarray(100.0 * error / measured[0][0])


def test_change_between_two_pitch_settings_of_one_planform() -> None:
    # What a pitch hub lives on. Full scale: thrust and power of the coarse setting at rest.
    error = np.abs(pitch_change((static_datum(DA4002), static_datum(DA4002_FINE))))
    assert error[1:].max() < PITCH_GOAL  # in flight
    assert error[0, 1] < PITCH_GOAL  # power at rest
    # Thrust at rest misses it: the coarse blade is stalled inboard and comes out 5 % too weak.
    assert 5.0 < error[0, 0] < 7.5


def test_change_between_two_pitch_settings_with_one_datum() -> None:
    # As a hub would turn one blade. These are two blades, whose angles are known to 0.5 deg each, and a
    # degree is 5 % of full scale: the change comes out too small by that, and the goal is missed.
    one = 0.5 * (static_datum(DA4002) + static_datum(DA4002_FINE))
    thrust, power = np.median(pitch_change((one, one)), axis=0)
    assert -7.5 < thrust < -PITCH_GOAL
    assert -8.5 < power < -PITCH_GOAL


def test_windmilling_begins_near_the_measured_advance_ratio() -> None:
    table = comparison(DA4002)
    fast = (table["j"] > 0.8) & (table["rpm"] < 5100.0)
    order = np.argsort(table["j"][fast])
    j, measured, computed = (table[key][fast][order] for key in ("j", "ct", "ct_model"))
    assert np.interp(0.0, -measured, j) == pytest.approx(0.89, abs=0.005)
    assert np.interp(0.0, -computed, j) == pytest.approx(0.89, abs=0.05)


def test_thrust_and_power_change_with_reynolds_number_as_measured() -> None:
    # DA4002 at rest, 2253 to 5943 rpm: thrust coefficient rises, power coefficient falls.
    blade, angle = measured_blade(DA4002)
    air = standard_air(0.0)
    slow, fast = (rotor_loads(blade, angle, rpm * RPM, 0.0, air) for rpm in (2253.333, 5943.333))
    assert fast.thrust / 5943.333**2 > 1.01 * slow.thrust / 2253.333**2
    assert fast.torque / 5943.333**2 < 0.99 * slow.torque / 2253.333**2


@pytest.mark.slow
@pytest.mark.parametrize("name", PROPELLERS)
def test_left_out_of_the_fit(name: str) -> None:
    # The same numbers fitted without this propeller: what a propeller that nobody measured would meet.
    without = left_out_errors(PROPELLERS[name])
    assert without["median CP"] < POWER_GOAL
    if name in LEFT_OUT_MISSED:
        least, most = LEFT_OUT_MISSED[name]
        assert least < without["median CT"] < most
    else:
        assert without["median CT"] < THRUST_GOAL
