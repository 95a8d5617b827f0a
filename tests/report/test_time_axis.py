import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.report.flight.time_axis import spread, thinned, time_axis


def test_phases_of_like_length_are_drawn_to_scale():
    axis = time_axis([0.0, 100.0], [100.0, 200.0])
    assert not axis.stretched
    assert axis.place(50.0) == pytest.approx(0.25)


def test_a_short_ground_run_stays_readable_beside_a_long_cruise():
    axis = time_axis([0.0, 100.0], [100.0, 100.0 + 7200.0])
    assert axis.stretched
    assert float(axis.place(100.0)) > 0.15


@pytest.mark.parametrize("phases", [1, 2, 3, 7, 40, 200])
def test_ticks_are_rising_apart_and_inside(phases):
    edges = np.cumsum([0.0, *np.random.default_rng(phases).uniform(5.0, 4000.0, phases)])
    axis = time_axis(edges[:-1].tolist(), edges[1:].tolist())
    places = [place for place, _ in axis.ticks()]
    assert 1 <= len(places) <= 20
    assert all(np.diff(places) > 0.05)
    assert 0.0 <= min(places) <= max(places) <= 1.0
    for place, label in axis.ticks():
        assert float(axis.place(60.0 * float(label))) == pytest.approx(place)


def test_a_flight_of_no_length_can_still_be_drawn():
    assert float(time_axis([0.0], [0.0]).place(0.0)) == 0.0


def test_thinning_keeps_every_peak():
    places = np.linspace(0.0, 1.0, 100_000)
    values = np.sin(200.0 * places)
    values[54_321] = 7.0
    values[12_345] = -7.0
    kept_places, kept = thinned(places, values)
    assert kept.size <= 1002
    assert kept.max() == 7.0
    assert kept.min() == -7.0
    assert np.all(np.diff(kept_places) > 0.0)
    assert kept_places[0] == 0.0
    assert kept_places[-1] == 1.0


def test_a_short_line_is_not_thinned():
    places = np.linspace(0.0, 1.0, 50)
    assert thinned(places, places)[0] is places


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=20))
def test_labels_keep_their_order_and_distance(wishes):
    wanted = np.sort(np.array(wishes))
    placed = spread(wanted, 0.022)
    assert placed.shape == wanted.shape
    assert np.all(np.diff(placed) >= 0.022 - 1e-12)
    assert placed[0] >= -1e-12
    assert placed[-1] <= 1.0 + 1e-12


def test_labels_with_room_stay_where_they_belong():
    wanted = np.array([0.1, 0.5, 0.9])
    assert spread(wanted, 0.02) == pytest.approx(wanted)


def test_two_labels_in_one_place_part_to_both_sides():
    assert spread(np.array([0.5, 0.5]), 0.02) == pytest.approx([0.49, 0.51])
