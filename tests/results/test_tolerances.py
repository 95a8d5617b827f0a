"""The bounds follow the solver's tolerance, cover what a tighter one changes, and know every figure."""

import numpy as np
import pytest
from flights import climb, demo_scenario, ground_run, simulate, with_phases

from simengine.results.catalogue import PHASES
from simengine.results.envelope_catalogue import all_envelope_variables
from simengine.results.figures import NOT_COMPARED, flight_figures
from simengine.results.tolerances import EVENTS, difference_tolerance, figure_tolerance

PHASES_FLOWN = (ground_run((0, 0), (3, 0), (20, 1), (27, 1), (40, 0)), climb(500.0))


@pytest.fixture(scope="module")
def flown():
    """A ground run and a climb of other lengths than the demos', at three relative tolerances."""
    return {
        tolerance: simulate(
            with_phases(demo_scenario(), *PHASES_FLOWN, record_interval=0.5, relative_tolerance=tolerance)
        )
        for tolerance in (1e-3, 1e-4, 1e-6)
    }


def test_every_figure_has_a_bound():
    for variable in (*PHASES, *all_envelope_variables()):
        bound = figure_tolerance(variable.name, 1e-4)
        assert (bound > 0) == (variable.stored == "number"), variable.name
    with pytest.raises(KeyError, match="no result has a figure"):
        figure_tolerance("wing_colour", 1e-4)
    assert {v.name for v in PHASES if v.stored == "number"} - set(NOT_COMPARED)


def test_a_looser_solver_has_a_wider_bound_and_two_results_have_both():
    loose, default, tight = (figure_tolerance("shift_finish_rpm", t) for t in (1e-3, 1e-4, 1e-6))
    assert loose > default > tight
    assert difference_tolerance("shift_finish_rpm", 1e-3, 1e-6) == pytest.approx(loose + tight)


@pytest.mark.parametrize("tolerance", [1e-3, 1e-4])
def test_a_flight_a_hundred_times_finer_stays_within_the_bounds(flown, tolerance):
    """The bounds were measured on the demo flights; these phases were not among them."""
    for coarse, fine in zip(flight_figures(flown[tolerance]), flight_figures(flown[1e-6]), strict=True):
        if coarse.words or np.isnan(coarse.value):
            assert coarse.words == fine.words
            continue
        allowed = difference_tolerance(coarse.name, tolerance, 1e-6)
        assert abs(coarse.value - fine.value) <= allowed, (coarse.phase, coarse.name)


@pytest.mark.parametrize("name", sorted(EVENTS))
def test_events_of_a_finer_flight_stay_within_the_bounds(flown, name):
    ours, fine = flown[1e-4], flown[1e-6]
    assert ours["event_kind"].values.tolist() == fine["event_kind"].values.tolist()
    apart = np.abs(ours[name].values - fine[name].values)
    assert apart.max() <= difference_tolerance(name, 1e-4, 1e-6)


def test_the_bounds_are_far_below_what_a_maker_would_notice():
    """Common practice, no source: a tachometer on a paramotor reads to 10 rpm, a fuel gauge to 0.1 L."""
    assert figure_tolerance("shift_finish_rpm", 1e-4) < 1.0
    assert figure_tolerance("phase_fuel_volume", 1e-4) < 1e-3
