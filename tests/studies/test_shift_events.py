"""Shift events out of raw logs whose truth is known."""

import numpy as np
import pytest

from simengine.constants import RPM
from simengine.scenario.raw_log import load_log
from simengine.studies.calibrate.shift_events import readings_of_log

RATE = 100.0  # of the made-up log [rpm/s]
BEGIN, FINISH, BACK, HOME = 4000.0, 4600.0, 4500.0, 3800.0  # [rpm]


def log(tmp_path, interval=0.05, scatter=5.0, lost=0.0, pulses=0.0, bounce=0, seed=3, snap=False):
    """Up and down at a steady rate with the lights going where they are told to."""
    random = np.random.default_rng(seed)
    up = np.arange(3000.0, 5500.0, RATE * interval)
    rpm = np.concatenate([up, up[::-1]])
    light = np.array(["off"] * rpm.size, dtype="<U6")
    light[: up.size][up < BEGIN] = "coarse"
    light[: up.size][up >= (BEGIN if snap else FINISH)] = "fine"
    light[up.size :][up[::-1] >= BACK] = "fine"
    light[up.size :][up[::-1] < HOME] = "coarse"
    shown = light.copy()
    for row in np.flatnonzero(light[1:] != light[:-1]):
        for step in range(1, bounce + 1):  # open, closed, open, ...
            shown[row + 1 + step] = light[row] if step % 2 else light[row + 1]
    rows = ["time s,engine_speed rpm,light"]
    for n, (value, state) in enumerate(
        zip(rpm + scatter * random.standard_normal(rpm.size), shown, strict=True)
    ):
        value *= 2.0 if random.random() < pulses else 1.0
        gone = random.random() < lost
        rows.append(f"{n * interval:.3f},{'' if gone else f'{value:.1f}'},{'' if gone else state}")
    file = tmp_path / "log.csv"
    file.write_text("\n".join(rows) + "\n")
    return load_log(file, 2.68)


@pytest.mark.parametrize(
    "more", [{}, {"lost": 0.1}, {"pulses": 0.03}, {"bounce": 2}, {"lost": 0.05, "pulses": 0.02, "bounce": 2}]
)
def test_four_events_inside_their_bands(tmp_path, more):
    readings, _ = readings_of_log(log(tmp_path, **more))
    assert [r.kind.name for r in readings] == [
        "shift_begin_rpm",
        "shift_finish_rpm",
        "return_begin_rpm",
        "return_finish_rpm",
    ]
    for found, true in zip(readings, (BEGIN, FINISH, BACK, HOME), strict=True):
        assert abs(found.value / RPM - true) < found.plus_minus / RPM
        assert found.plus_minus / RPM < 60.0
        assert found.row > 1 and found.phase == "ground"


def test_bounce_and_scatter_widen_the_band(tmp_path):
    clean, _ = readings_of_log(log(tmp_path, scatter=2.0))
    rough, _ = readings_of_log(log(tmp_path, scatter=60.0))
    slow, _ = readings_of_log(log(tmp_path, interval=0.5))
    assert clean[0].plus_minus < rough[0].plus_minus
    assert clean[0].plus_minus < slow[0].plus_minus


def test_a_snap_gives_the_rpm_at_which_it_left_only(tmp_path):
    readings, _ = readings_of_log(log(tmp_path, snap=True))
    assert [r.kind.name for r in readings][:2] == ["shift_begin_rpm", "return_begin_rpm"]


def test_dropouts_are_told(tmp_path):
    _, oddities = readings_of_log(log(tmp_path, lost=0.1))
    assert "without a believable rpm" in oddities[0]
