import numpy as np
import pytest

from simengine.studies.check.trace_norm import COMPARED, Samples, distances, moved_times, sample_times


def samples(times, values):
    return Samples(times, dict.fromkeys(COMPARED, values))


def test_samples_lie_inside_the_stretches_and_short_ones_are_left_out():
    times = sample_times(np.array([0.0, 5.0, 5.1, 5.1, 105.1]))
    assert times.size == 5 + 12
    assert not np.any((times >= 5.0) & (times <= 5.1))
    assert np.all(np.diff(times) > 0.0)


def test_an_event_that_comes_later_is_no_difference_of_the_traces():
    """A step at 10 s and the same step at 13 s: laid over at the event, nothing is left."""
    before, now = np.array([0.0, 10.0, 20.0]), np.array([0.0, 13.0, 23.0])
    times = sample_times(before)
    moved = moved_times(times, before, now)
    (first, *_) = distances(samples(times, (times > 10.0) * 1.0), samples(moved, (moved > 13.0) * 1.0))
    assert first.norm == 0.0
    np.testing.assert_allclose(moved[times > 10.0], times[times > 10.0] + 3.0)


@pytest.mark.parametrize("offset", [0.01, 0.3])
def test_the_norm_is_the_mean_difference_over_the_range(offset):
    times = np.linspace(0.0, 10.0, 50)
    (first, *_) = distances(samples(times, 2.0 * times), samples(times, 2.0 * times + offset))
    assert first.norm == pytest.approx(offset / 20.0)
    assert first.worst == pytest.approx(offset)


def test_a_trace_that_stands_still_is_measured_by_its_own_size():
    times, still = np.linspace(0.0, 1.0, 9), np.full(9, 12.0)
    (first, *_) = distances(samples(times, still), samples(times, still + 0.6))
    assert first.norm == pytest.approx(0.05)
    (zero, *_) = distances(samples(times, still * 0.0), samples(times, still * 0.0))
    assert zero.norm == 0.0
    (risen, *_) = distances(samples(times, still * 0.0), samples(times, still))
    assert risen.norm == np.inf
