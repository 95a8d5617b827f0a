"""Repeats of a calibration: exact shares where the model is linear."""

from dataclasses import replace

import numpy as np
import pytest
from flights import demo_scenario
from scipy.stats import binomtest, norm
from synthetic_readings import SHIFTS, reading

from simengine.report.calibrate.text import coverage_sentences
from simengine.studies.calibrate import coverage as module
from simengine.studies.calibrate.coverage import Coverage, Repeats, coverage, drawn_prior, repeat, start_of
from simengine.studies.calibrate.coverage import with_coverage as put_into
from simengine.studies.calibrate.fit import Prior
from simengine.studies.calibrate.forward import predicted
from simengine.studies.calibrate.study import calibrate, calibrated
from simengine.studies.calibrate.subject import subject_of

COUNT = 3000
TWO_DEVIATIONS = 2.0 * norm.cdf(2.0) - 1.0  # 95.45 %


def unlimited(values, factor):
    """A prior that no limit of nature touches."""
    values = np.asarray(values, dtype=float)
    ends = np.full(values.size, 1e9)
    return Prior(values, np.asarray(factor, dtype=float), -ends, ends)


@pytest.fixture
def linear(monkeypatch):
    """Three readings of a linear machine with two inputs, known before with a correlation."""
    slopes = np.array([[3.0, 1.0], [0.2, -2.0], [1.0, 1.0]])
    monkeypatch.setattr(module, "subject_of", lambda record: None)
    monkeypatch.setattr(module, "predictor", lambda *_: lambda values: slopes @ values + 7.0)
    readings = tuple(
        replace(reading(name, 1.0, "ground"), value=7.0, plus_minus=width)
        for name, width in zip(SHIFTS, (1.0, 3.0, 0.5), strict=False)
    )
    prior = unlimited([1.0, 2.0], [[0.5, 0.0], [0.3, 0.4]])
    return Repeats(None, (), readings, prior, np.array([0.7, -1.1]))


def test_in_a_linear_case_the_shares_are_those_of_the_normal_distribution(linear):
    start = start_of(linear)
    pieces = [repeat(start, number) for number in range(COUNT)]
    for place in range(2):
        held = int(sum(piece["inside"][place] for piece in pieces))
        band = binomtest(held, COUNT).proportion_ci(0.999, method="exact")
        assert band.low < TWO_DEVIATIONS < band.high
    joint = int(sum(bool(piece["joint"]) for piece in pieces))
    band = binomtest(joint, COUNT).proportion_ci(0.999, method="exact")
    assert band.low < 0.95 < band.high


def test_too_narrow_readings_are_found_out(linear, monkeypatch):
    """Bands that are told for half the scatter that there is hold far less than they promise."""
    honest = start_of(linear)
    deviations = module.deviations_of
    monkeypatch.setattr(module.np.random, "default_rng", lambda key: Twice(key))
    assert deviations(linear.readings)[0] == 0.5
    pieces = [repeat(honest, number) for number in range(400)]
    assert np.mean([piece["inside"] for piece in pieces]) < 0.8


class Twice:
    """Draws of twice the deviation."""

    def __init__(self, key):
        self.own = np.random.Generator(np.random.PCG64(key))

    def standard_normal(self, count):
        return 2.0 * self.own.standard_normal(count)


def test_a_repeat_is_known_by_its_number(linear):
    start = start_of(linear)
    one, same, other = (drawn_prior(linear, np.random.default_rng([1, number])) for number in (3, 3, 4))
    assert one[0].values.tobytes() == same[0].values.tobytes()
    assert not np.array_equal(one[1], other[1])
    assert repeat(start, 5)["inside"].tobytes() == repeat(start, 5)["inside"].tobytes()


def test_values_known_before_keep_to_the_limits_of_nature(linear):
    narrow = replace(linear, prior=replace(linear.prior, lowest=np.array([1.2, -1e9])))
    for number in range(50):
        prior, off = drawn_prior(narrow, np.random.default_rng([1, number]))
        assert prior.values[0] >= 1.2
        expected = linear.prior.values + linear.prior.factor @ (linear.truth + off)
        assert prior.values == pytest.approx(expected)


def test_shares_and_their_bands():
    inside = np.ones((20, 2), dtype=bool)
    inside[:4, 1] = False
    values = Coverage(inside, np.ones(20, dtype=bool)).values()
    assert values["parameter_coverage"] == pytest.approx([1.0, 0.8])
    exact = binomtest(16, 20).proportion_ci(0.95, method="exact")
    assert values["parameter_coverage_low"][1] == pytest.approx(exact.low, abs=1e-9)
    assert values["parameter_coverage_high"][1] == pytest.approx(exact.high, abs=1e-9)
    assert values["coverage"] == pytest.approx(0.9)
    exact = binomtest(18, 20).proportion_ci(0.95, method="exact")
    assert values["coverage_low"] == pytest.approx(exact.low, abs=1e-9)


@pytest.mark.slow
def test_of_a_whole_scenario_in_words_and_numbers():
    scenario = demo_scenario()
    wanted = [reading(name, 1.0, "ground") for name in SHIFTS]
    read = zip(wanted, predicted(subject_of(scenario.record), wanted), strict=True)
    readings = [replace(item, value=float(value), plus_minus=6.0) for item, value in read]
    found = coverage(calibrated(scenario, readings), 6)
    assert found.inside.shape[0] == found.joint.size == 6
    assert found.inside.mean() > 0.8  # 95 % of 6 repeats of a dozen inputs: fewer than 80 % is a mistake
    dataset = put_into(calibrate(scenario, readings), found)
    assert dataset["parameter_coverage"].dims == ("parameter",)
    assert dataset["coverage_repeats"].item() == 6
    (sentence,) = coverage_sentences(dataset)
    assert "Repeated 6 times on made-up readings around the fit" in sentence.words
    assert f"{100.0 * found.inside.mean():.1f} % of the 95 % bands hold the truth" in sentence.words
    assert coverage_sentences(calibrate(scenario, readings)) == []
    worst = put_into(calibrate(scenario, readings), Coverage(~found.inside & False, found.joint))
    (told,) = coverage_sentences(worst)
    assert told.words.endswith("The bands promise too much.") and told.warns
