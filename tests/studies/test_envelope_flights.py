"""The envelope against dynamic flights through the same points: same model, other way there."""

from dataclasses import replace

import numpy as np
import pytest
from flights import EventKind, climb, demo_scenario, ramp, simulate

from simengine.balance.assembly import assemble
from simengine.constants import DEGREE, RPM
from simengine.scenario import records
from simengine.studies.full_throttle import full_throttle, shift_speeds
from simengine.studies.machine import condition_at, machine_of

RUN_UP = 150.0  # climbed first, so that the glide with the throttle closed stays above the ground [m]
RAMP = ((0.0, 1.0), (4.0, 0.1), (10.0, 0.1), (100.0, 1.0), (120.0, 1.0), (210.0, 0.1), (215.0, 0.1))
FINISHING = [
    ("second_engine", 400.0),
    ("second_engine", 800.0),
    ("climb_and_cruise", 300.0),
    ("climb_and_cruise", 1800.0),
    ("climb_and_cruise", 3200.0),
    ("torsion_hub", 1000.0),
]
HANGING = [
    ("second_engine", 1600.0),
    ("second_engine", 2200.0),
    ("second_engine", 2800.0),
    ("second_engine", 3500.0),
    ("second_engine", 4200.0),
    ("climb_and_cruise", 4700.0),
    ("climb_and_cruise", 5200.0),
]
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def flown():
    """Slow throttle up and down in the air, beginning at a height; each flown once."""
    kept = {}

    def fly(name, height):
        if (name, height) not in kept:
            scenario = demo_scenario(name)
            phase = records.ThrottleFlight(kind="throttle_programme", throttle=ramp(*RAMP))
            flight = records.Flight(phases=(climb(height), phase), fidelity="dynamic", record_interval=0.5)
            record = scenario.record.model_copy(
                update={"flight": flight, "site": records.Site(height=height - RUN_UP)}
            )
            kept[name, height] = assemble(record), simulate(replace(scenario, record=record))
        return kept[name, height]

    return fly


def events_with_height(dataset, kind):
    """Engine rpm and height [m] of events of one kind while the throttle is moved."""
    number = list(EventKind).index(kind)
    places = np.flatnonzero((dataset.event_kind.values == number) & (dataset.event_phase.values == 1))
    return [(float(dataset.event_engine_rpm[i]), float(dataset.event_height[i])) for i in places]


def envelope_at(aircraft, height):
    """Shift and return rpm and the full-throttle point of the envelope at a height."""
    machine = machine_of(aircraft)
    condition = condition_at(aircraft.atmosphere, height, aircraft.dry_mass + aircraft.fuel_start, 0.0)
    full = full_throttle(machine, condition)
    return shift_speeds(machine, condition.air, machine.inflow_factor * full.airspeed), full


@pytest.mark.parametrize(("name", "height"), FINISHING)
def test_shift_and_return_within_twenty_engine_rpm(flown, name, height):
    aircraft, dataset = flown(name, height)
    for kind, field in (
        (EventKind.SHIFT_BEGINS, "shift_begin"),
        (EventKind.SHIFT_FINISHES, "shift_finish"),
        (EventKind.RETURN_BEGINS, "return_begin"),
        (EventKind.RETURN_FINISHES, "return_finish"),
    ):
        found = events_with_height(dataset, kind)
        assert found, f"{kind} did not happen"
        rpm, at_height = found[0] if "shift" in kind else found[-1]
        expected = getattr(envelope_at(aircraft, at_height)[0], field) / RPM
        assert rpm == pytest.approx(expected, abs=20.0), kind


@pytest.mark.parametrize(("name", "height"), HANGING)
def test_hung_blade_stands_within_a_twentieth_of_a_degree(flown, name, height):
    aircraft, dataset = flown(name, height)
    assert not events_with_height(dataset, EventKind.SHIFT_FINISHES)
    opening = (dataset.phase_index.values == 1) & (dataset.time.values > float(dataset.phase_start[1]) + 50.0)
    full_throttle_rows = np.flatnonzero(opening & (dataset.throttle.values >= 1.0 - 1e-9))
    # Near a snap rotor and blade take seconds to settle; where the blade comes to stand it stays.
    angles = dataset.blade_angle.values[full_throttle_rows]
    row = int(full_throttle_rows[np.argmax(np.abs(angles - angles[-1]) < 1e-3)])
    shifts, full = envelope_at(aircraft, float(dataset.height[row]))
    assert float(dataset.blade_angle[row]) == pytest.approx(full.blade_angle / DEGREE, abs=0.05)
    assert aircraft.hub.fine_stop < full.blade_angle < aircraft.hub.coarse_stop
    assert full.margin_speed < 0.0
    ((rpm, at_height),) = events_with_height(dataset, EventKind.SHIFT_BEGINS)
    expected = envelope_at(aircraft, at_height)[0].shift_begin / RPM
    assert rpm == pytest.approx(expected, abs=20.0)
    assert shifts.shift_finish > full.speed_fine


def test_at_least_ten_points_are_compared():
    assert len(FINISHING) + len(HANGING) >= 10
