"""Flights without a record: the same figures as with one, and the same for any number of threads."""

import numpy as np
import pytest
from flights import climb, cruise, demo_machine, demo_scenario, descend, simulate, with_phases

from simengine.balance.aircraft import with_parts
from simengine.flight.figures import fly_figures, fly_many

PHASES = (climb(700.0), cruise(120.0), descend(500.0))


# The steady flight takes longer steps where nothing is recorded, through a moving throttle too.
@pytest.mark.parametrize(("fidelity", "share"), [("dynamic", 1e-7), ("steady", 1e-3)])
def test_figures_are_those_of_the_recorded_flight(fidelity, share):
    scenario = with_phases(demo_scenario(), *PHASES)
    dataset = simulate(scenario, fidelity=fidelity)
    figures = fly_figures(demo_machine(), scenario.record, fidelity)
    assert figures.outcome == dataset.attrs["outcome"]
    assert [phase.name for phase in figures.phases] == [str(name) for name in dataset.phase_name.values]
    for index, phase in enumerate(figures.phases):
        ends = dataset.isel(time=np.flatnonzero(dataset.phase_index.values == index)[[0, -1]])
        assert phase.duration == pytest.approx(np.diff(ends.time)[0], rel=share, abs=2e-6)
        assert phase.fuel == pytest.approx(np.diff(ends.fuel_used)[0], rel=share, abs=1e-8)
        assert phase.distance == pytest.approx(np.diff(ends.distance)[0], rel=share, abs=1e-3)
        assert phase.height == pytest.approx(float(ends.height[-1]), rel=share)
        assert np.degrees(phase.blade_angle) == pytest.approx(float(ends.blade_angle[-1]), abs=1e-6)


def test_threads_change_no_digit():
    scenario, machine = with_phases(demo_scenario(), *PHASES), demo_machine()
    machines = [with_parts(machine, dry_mass=machine.dry_mass + 2.0 * i) for i in range(6)]
    alone = fly_many(machines, scenario.record, workers=1)
    assert fly_many(machines, scenario.record, workers=3) == alone
    fuel = [sum(phase.fuel for phase in each.phases) for each in alone]
    assert np.all(np.diff(fuel) > 0.0)  # the heavier burns more
