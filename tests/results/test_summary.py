from math import isnan

import numpy as np
import pytest
from synthetic_flight import FUEL_DENSITY, synthetic_flight

from simengine.constants import RPM
from simengine.results.catalogue import EventKind, PitchState
from simengine.results.records import Event, ModelFigures, PhaseBounds
from simengine.results.summary import last_at_full_throttle, shift_speeds, summarise_phase

K = EventKind


def event(time, kind, rpm):
    return Event(time, kind, 0, rpm * RPM, 0.0, 0.0, 0.0, 0.0)


def flat_climb(rate=2.0, seconds=100.0):
    """Straight climb at a steady rate; every figure follows by hand."""
    time = np.linspace(0.0, seconds, 51)
    return {
        "time": time,
        "phase_index": np.zeros(51),
        "throttle": np.ones(51),
        "engine_rpm": np.linspace(8000.0, 7500.0, 51) * RPM,
        "thrust": np.linspace(600.0, 500.0, 51),
        "blade_angle": np.full(51, 0.2),
        "pitch_state": np.full(51, 3.0),
        "height": 100.0 + rate * time,
        "distance": 10.0 * time,
        "fuel_used": 1e-3 * time,
    }


def test_figures_of_a_straight_climb():
    phase = summarise_phase(
        0, PhaseBounds("c", "climb", 0.0, 100.0, "done"), flat_climb(), (), 800.0, ModelFigures(1.5)
    )
    assert phase.mean_climb_rate == pytest.approx(2.0)
    assert phase.initial_climb_rate == pytest.approx(2.0)
    assert phase.fuel == pytest.approx(0.1)
    assert phase.fuel_volume == pytest.approx(0.1 / 800.0)
    assert phase.fuel_flow_volume == pytest.approx(0.1 / 800.0 / 100.0)
    assert phase.distance == pytest.approx(1000.0)
    assert phase.full_throttle_speed == pytest.approx(7500.0 * RPM)
    assert phase.highest_engine_speed == pytest.approx(8000.0 * RPM)
    assert phase.highest_thrust == 600.0
    assert phase.final_pitch_state is PitchState.FINE
    assert phase.shift_margin_moment == 1.5
    assert all(
        isnan(value) for value in (phase.static_thrust, phase.shift_begin_speed, phase.shift_margin_speed)
    )


def test_on_the_ground_there_is_static_thrust_and_no_climb():
    phase = summarise_phase(0, PhaseBounds("g", "ground_run", 0.0, 100.0, ""), flat_climb(), (), 800.0)
    assert phase.static_thrust == 500.0
    assert isnan(phase.mean_climb_rate)
    assert isnan(phase.initial_climb_rate)


def test_a_phase_shorter_than_a_minute_has_no_initial_climb_rate():
    traces = flat_climb(seconds=50.0)
    phase = summarise_phase(0, PhaseBounds("c", "climb", 0.0, 50.0, ""), traces, (), 800.0)
    assert isnan(phase.initial_climb_rate)
    assert phase.mean_climb_rate == pytest.approx(2.0)


def test_fuel_of_the_phases_adds_up_to_the_whole():
    # The instant where two phases meet is recorded once; nothing may be lost between.
    flight = synthetic_flight()
    total = flight.traces["fuel_used"][-1] - flight.traces["fuel_used"][0]
    assert sum(phase.fuel for phase in flight.phases) == pytest.approx(total, rel=1e-12)
    assert sum(phase.fuel_volume for phase in flight.phases) == pytest.approx(total / FUEL_DENSITY)


def test_margin_is_full_throttle_minus_finish_unless_the_model_says_otherwise():
    traces, bounds = flat_climb(), PhaseBounds("c", "climb", 0.0, 100.0, "")
    events = [event(1.0, K.SHIFT_BEGINS, 5000.0), event(2.0, K.SHIFT_FINISHES, 7000.0)]
    read = summarise_phase(0, bounds, traces, events, 800.0)
    assert read.shift_margin_speed == pytest.approx(500.0 * RPM)
    given = ModelFigures(full_throttle_speed=7400.0 * RPM, shift_margin_speed=350.0 * RPM)
    told = summarise_phase(0, bounds, traces, events, 800.0, given)
    assert told.shift_margin_speed == pytest.approx(350.0 * RPM)
    assert told.full_throttle_speed == pytest.approx(7400.0 * RPM)


def test_a_finish_counts_only_after_its_beginning():
    events = [event(1.0, K.SHIFT_FINISHES, 7000.0), event(5.0, K.SHIFT_BEGINS, 5000.0)]
    begin, finish = shift_speeds(events, K.SHIFT_BEGINS, K.SHIFT_FINISHES)
    assert begin == pytest.approx(5000.0 * RPM)
    assert isnan(finish)


def test_a_finish_begun_in_the_phase_before_counts():
    begin, finish = shift_speeds([event(1.0, K.SHIFT_FINISHES, 7000.0)], K.SHIFT_BEGINS, K.SHIFT_FINISHES)
    assert isnan(begin)
    assert finish == pytest.approx(7000.0 * RPM)


def test_a_moment_of_full_throttle_is_no_full_throttle_speed():
    part = {
        "time": np.arange(20.0),
        "throttle": np.where(np.isin(np.arange(20), [0, 1, 5, 6, 7, 8, 9, 10, 18]), 1.0, 0.2),
        "engine_rpm": np.arange(20.0),
    }
    assert last_at_full_throttle(part, "engine_rpm") == 10.0
    part["throttle"][8] = 0.2
    assert isnan(last_at_full_throttle(part, "engine_rpm"))


def test_a_phase_without_rows_is_told():
    with pytest.raises(ValueError, match="no recorded row"):
        summarise_phase(3, PhaseBounds("lost", "climb", 0.0, 1.0, ""), flat_climb(), (), 800.0)
