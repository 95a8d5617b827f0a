"""Limits of the model that an envelope met, in words with figure, height and day."""

from math import radians

import numpy as np
import pytest
from machines import STANDARD_DAY, demo_aircraft, two_stop_hub

from simengine.balance.aircraft import with_parts
from simengine.constants import RPM
from simengine.studies.envelope.model_limits import load_limits, loaded_points, model_limits, pitch_limits
from simengine.studies.machine import machine_of

MACHINE = machine_of(with_parts(demo_aircraft(), hub=two_stop_hub(13.0, 9.5)))
SHAPE = (1, 1, 1, 2)


def grid(**changes):
    """Two heights at full throttle and in level flight that nothing is wrong with; engine rpm."""
    values = {
        "temperature_offset": (0.0,),
        "height": np.array([0.0, 2500.0]),
        "airspeed": np.full(SHAPE, 11.0),
        "full_throttle_rpm": np.full(SHAPE, 7000.0 * RPM),
        "full_throttle_blade_angle": np.full(SHAPE, radians(10.0)),
        "level_rpm": np.full(SHAPE, 5000.0 * RPM),
        "level_blade_angle": np.full(SHAPE, radians(13.0)),
        "level_status": np.zeros(SHAPE),
    }
    values |= {
        f"{way}_{end}_rpm": np.full(SHAPE, np.nan)
        for way in ("shift", "return")
        for end in ("begin", "finish")
    }
    return values | changes


def points(**changes):
    return list(loaded_points(MACHINE, STANDARD_DAY, grid(**changes)))


def test_points_without_a_speed_are_left_out():
    assert len(points()) == 4
    assert [point.where for point in points()][:2] == [
        "at full throttle at 0 m and +0 K",
        "in level flight at 0 m and +0 K",
    ]
    begins = np.full(SHAPE, np.nan)
    begins[..., 1] = 6000.0 * RPM
    found = points(shift_begin_rpm=begins)
    assert len(found) == 5
    assert found[-1].where == "where the shift begins at 2500 m and +0 K"
    assert found[-1].disc.blade_angle == MACHINE.coarse_edge


def test_nothing_but_the_air_s_moment():
    (words,) = model_limits(MACHINE, STANDARD_DAY, grid(), None)
    assert "no measured source, it is taken as computed" in words


def test_stall_tip_and_windmill_with_their_places():
    angle = np.full(SHAPE, radians(10.0))
    angle[..., 1] = radians(26.0)
    (words,) = load_limits(MACHINE, points(full_throttle_blade_angle=angle))
    assert "of the disc was beyond its stall, between" in words
    assert "at full throttle at 2500 m and +0 K" in words
    fast = np.full(SHAPE, 7000.0 * RPM)
    fast[..., 0] = 9600.0 * RPM
    (words,) = load_limits(MACHINE, points(full_throttle_rpm=fast))
    assert "Mach 0.7" in words
    assert "at full throttle at 0 m" in words
    slow = np.full(SHAPE, 1500.0 * RPM)
    found = points(level_rpm=slow, airspeed=np.full(SHAPE, 16.0))
    assert "windmilled or braked at 2 of 4 points, such as in level flight at 0 m" in " ".join(
        load_limits(MACHINE, found)
    )


def test_fixed_blades_rest_on_no_air_moment():
    fixed = machine_of(MACHINE.held)
    assert list(pitch_limits(fixed, points(), None)) == []
    assert list(load_limits(MACHINE, [])) == []
    assert list(pitch_limits(fixed, [], None)) == []


def test_reynolds_numbers():
    slow = np.full(SHAPE, 60.0 * RPM)
    words = list(load_limits(MACHINE, points(level_rpm=slow, airspeed=np.full(SHAPE, 0.5))))
    assert any("at Reynolds numbers down to" in each for each in words)
    lowest = min(
        point.loads.lowest_reynolds for point in points(level_rpm=slow, airspeed=np.full(SHAPE, 0.5))
    )
    assert lowest == pytest.approx(
        float(next(w for w in words if "down to" in w).split("down to ")[1].split(",")[0]), abs=0.5
    )
