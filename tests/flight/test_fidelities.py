"""Dynamic and steady fidelity are one model: they agree where nothing is quick."""

import numpy as np
import pytest
from flights import (
    EventKind,
    climb,
    cruise,
    demo_scenario,
    descend,
    events,
    ground_run,
    simulate,
    with_phases,
)

SLOW = (
    ground_run((0.0, 0.0), (5.0, 0.0), (65.0, 1.0), (70.0, 1.0), (130.0, 0.2)),
    climb(3000.0, throttle_time=60.0),
    cruise(1200.0, throttle_time=60.0),
    descend(200.0, throttle_time=60.0),
)


@pytest.fixture(scope="module", params=["climb_and_cruise", "second_engine"])
def both(request):
    scenario = with_phases(demo_scenario(request.param), *SLOW, record_interval=2.0)
    return tuple(simulate(scenario, fidelity=fidelity) for fidelity in ("dynamic", "steady"))


def test_fuel_and_time_agree_within_half_a_percent(both):
    dynamic, steady = both
    for figure in ("phase_fuel", "phase_duration"):
        assert steady[figure].values[1:3] == pytest.approx(dynamic[figure].values[1:3], rel=5e-3)
    assert float(steady.fuel_used[-1]) == pytest.approx(float(dynamic.fuel_used[-1]), rel=5e-3)


@pytest.mark.parametrize(
    "kind",
    [
        EventKind.SHIFT_BEGINS,
        EventKind.SHIFT_FINISHES,
        EventKind.RETURN_BEGINS,
        EventKind.RETURN_FINISHES,
    ],
)
def test_shift_and_return_agree_within_twenty_engine_rpm(both, kind):
    dynamic, steady = (events(dataset, kind) for dataset in both)
    assert len(dynamic) == len(steady) >= 2
    assert [e[1] for e in steady] == pytest.approx([e[1] for e in dynamic], abs=20.0)


def test_hung_blade_stands_at_the_same_angle(both):
    angles = [float(dataset.final_blade_angle[1]) for dataset in both]
    assert angles[1] == pytest.approx(angles[0], abs=0.05)


def test_both_end_alike(both):
    dynamic, steady = both
    assert steady.attrs["outcome"] == dynamic.attrs["outcome"] == "all 4 phases flown"
    assert np.array_equal(steady.final_pitch_state, dynamic.final_pitch_state)
