"""Shift speeds from tables against closed forms: no air moment, centrifugal twist against a torsion spring.

The rpm with and without friction are own arithmetic from the formulas beside them (a guard against
regressions, not outside numbers).
"""

from math import cos, radians, sin, sqrt

import numpy as np
import pytest
from machines import torsion_spring, two_stop_hub, untwisted_inertia

from simengine.balance.air_tables import AirMoment, cubic_value
from simengine.balance.shift_tables import BLADE_FIELDS, FIGURES, FullThrottleLine, shift_figures
from simengine.constants import RPM
from simengine.studies.shift_evaluator import equal_blades
from simengine.studies.tolerance.hub_rows import hub_row

INERTIA = 5.38134e-4  # K [kg m2]
PRELOAD = 6.26099  # M0 [N m]: first movement at 1900 rpm, 18 deg


def still_air(moment=0.0):
    """A table with the same moment everywhere."""
    speeds = np.linspace(8.0, 420.0, 41)
    angles = np.radians(np.arange(8.0, 24.0, 0.5))
    table = AirMoment(
        0.0,
        2.0,
        angles[0],
        angles[1] - angles[0],
        speeds[0],
        speeds[1] - speeds[0],
        np.full((6, angles.size, speeds.size), moment),
    )
    line = FullThrottleLine(
        angles[0], angles[1] - angles[0], np.full(angles.size, 2800.0 * RPM), np.full(angles.size, 5.0)
    )
    return table, line


def figures(hub, blades=None, linked=True, moment=0.0):
    row = hub_row(hub, untwisted_inertia())[None, :]
    blades = equal_blades(1) if blades is None else blades
    out = np.empty((1, len(FIGURES)))
    shift_figures(*still_air(moment), linked, row, blades, out)
    return dict(zip(FIGURES, out[0], strict=True))


def rpm(found, name):
    return found[name] / RPM


@pytest.mark.parametrize(("rate", "finish"), [(0.0, 2200.1), (5.0, 2275.5), (20.0, 2487.9), (60.0, 2981.3)])
def test_begin_and_finish_without_friction(rate, finish):
    """Om1^2 = M0/(K s_c), Om2^2 = (M0 + k db)/(K s_f), s = sin b cos b."""
    found = figures(two_stop_hub(spring=torsion_spring(PRELOAD, rate)))
    assert rpm(found, "shift_begin") == pytest.approx(1900.0, abs=0.05)
    assert rpm(found, "shift_finish") == pytest.approx(finish, abs=0.05)


@pytest.mark.parametrize(
    ("friction", "expected"),
    [(0.3, (1945.0, 2534.1, 2440.9, 1853.9)), (1.0, (2046.1, 2638.7, 2327.4, 1741.7))],
)
def test_friction_parts_going_from_coming(friction, expected):
    found = figures(two_stop_hub(friction_constant=friction))
    names = ("shift_begin", "shift_finish", "return_begin", "return_finish")
    assert [rpm(found, name) for name in names] == pytest.approx(expected, abs=0.05)


def test_margin_and_drive_on_the_fine_stop():
    hub = two_stop_hub(friction_constant=0.4)
    found = figures(hub)
    speed, fine = 2800.0 * RPM, radians(13.0)
    moment = INERTIA * speed**2 * sin(fine) * cos(fine) - (PRELOAD + 20.0 * radians(5.0)) - 0.4
    assert found["margin_moment"] == pytest.approx(moment, abs=1e-9)
    assert found["margin_speed"] == pytest.approx(speed - found["shift_finish"], abs=1e-9)
    assert found["blade_angle"] == pytest.approx(fine)


def test_a_shift_that_hangs_rests_where_the_moments_balance():
    hub = two_stop_hub(spring=torsion_spring(PRELOAD, 70.0))
    found = figures(hub)
    angle, speed = found["blade_angle"], 2800.0 * RPM
    assert radians(13.0) < angle < radians(18.0)
    left = INERTIA * speed**2 * sin(angle) * cos(angle) - PRELOAD - 70.0 * (radians(18.0) - angle)
    assert left == pytest.approx(0.0, abs=1e-6)
    assert found["drive"] < 0.0


def test_a_helping_air_moment_counts_like_less_spring():
    helped = figures(two_stop_hub(), moment=-1.0)
    softer = figures(two_stop_hub(spring=torsion_spring(PRELOAD - 1.0, 20.0)))
    for name in ("shift_begin", "shift_finish", "return_finish", "margin_moment"):
        assert helped[name] == pytest.approx(softer[name], rel=1e-9)


def test_linked_blades_move_under_the_mean_of_their_moments():
    blades = equal_blades(1, 2)
    blades[0, :, BLADE_FIELDS.index("spring_factor")] = 0.9, 1.1
    blades[0, :, BLADE_FIELDS.index("angle_error")] = radians(0.5), radians(-0.5)
    found = figures(two_stop_hub(), blades)
    mean = 0.25 * (sin(radians(37.0)) + sin(radians(35.0)))
    assert found["shift_begin"] == pytest.approx(sqrt(PRELOAD / (INERTIA * mean)), rel=1e-9)
    assert found["begin_spread"] == 0.0


def test_free_blades_spread():
    blades = equal_blades(1, 3)
    blades[0, :, BLADE_FIELDS.index("spring_factor")] = 0.9, 1.0, 1.2
    together = figures(two_stop_hub(), blades, linked=False)
    alone = [figures(two_stop_hub(), blades[:, b : b + 1]) for b in range(3)]
    begins = [each["shift_begin"] for each in alone]
    finishes = [each["shift_finish"] for each in alone]
    assert together["shift_begin"] == pytest.approx(min(begins))
    assert together["shift_finish"] == pytest.approx(max(finishes))
    assert together["begin_spread"] == pytest.approx(max(begins) - min(begins))
    assert together["finish_spread"] == pytest.approx(max(finishes) - min(finishes))
    assert together["margin_moment"] == pytest.approx(min(each["margin_moment"] for each in alone))


def test_a_hub_that_cannot_be_built_has_no_figures():
    out = np.zeros((1, len(FIGURES)))
    shift_figures(*still_air(), True, np.full((1, 21), np.nan), equal_blades(1), out)
    assert np.isnan(out).all()


def test_outside_the_table_nothing_is_claimed():
    found = figures(two_stop_hub(coarse=30.0))
    assert np.isnan(found["shift_begin"])


def test_the_cubic_is_exact_for_a_cubic():
    places = np.arange(0.0, 5.0, 0.5)
    values = 2.0 - places + 0.5 * places**3
    for at in (0.0, 0.1, 2.3, 4.4, 4.6):
        assert cubic_value(values, at, 0.0, 0.5) == pytest.approx(2.0 - at + 0.5 * at**3, abs=1e-12)
    assert np.isnan(cubic_value(values, 5.0, 0.0, 0.5))
