"""The fit against what is known in closed form."""

from types import SimpleNamespace

import numpy as np
import pytest
from machines import demo_aircraft, demo_blade, torsion_spring, two_stop_hub, untwisted_inertia
from synthetic_readings import reading

from simengine.constants import RPM
from simengine.studies.calibrate.candidates import remaining_variance
from simengine.studies.calibrate.fit import (
    Data,
    Prior,
    fit,
    jacobian_of,
    leave_one_out,
    profile_interval,
    put_back,
    screened_fit,
)
from simengine.studies.calibrate.forward import predicted
from simengine.studies.calibrate.identifiability import (
    collinearity_of,
    correlation_of,
    directions_narrowed,
    pairs_alike,
)
from simengine.studies.calibrate.subject import Subject
from simengine.studies.machine import machine_of

DESIGN = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0], [1.0, 3.0]])
READ = np.array([1.1, 2.9, 5.2, 6.8])
SIGMA = np.array([0.1, 0.2, 0.1, 0.3])
FREE = np.full(2, np.inf)


def recover_preload_and_friction(
    centrifugal_coefficient: float, speed_up: float, speed_down: float
) -> tuple[float, float]:
    """Spring moment and friction share from the rotor speeds of leaving a stop and of coming back to it.

    For a blade whose friction is proportional to Omega2, in balance at one blade angle going up
    (`K s Om_u2 - f Om_u2 = M0`) and coming back (`K s Om_d2 + f Om_d2 = M0`).

    Parameters
    ----------
    centrifugal_coefficient : float
        `K s`: fine-going moment over rotor speed squared at that angle [kg m2], positive.
    speed_up, speed_down : float
        Rotor speeds of the two passages [rad/s], `speed_up > speed_down > 0`.

    Returns
    -------
    spring : float
        Spring moment M0 at that angle [N m].
    friction : float
        Friction moment over rotor speed squared [kg m2].
    """
    up, down = 1.0 / speed_up**2, 1.0 / speed_down**2
    spring = 2.0 * centrifugal_coefficient / (up + down)
    return spring, centrifugal_coefficient * (down - up) / (down + up)


def independent_prior(values, deviations, lowest, highest):
    """Prior of parameters that know nothing of each other."""
    return Prior(values, np.diag(deviations), lowest, highest)


def line(values):
    return DESIGN @ values


def wide_prior(deviation=1e4):
    return independent_prior(np.zeros(2), np.full(2, deviation), -FREE, FREE)


def weighted(rows=slice(None)):
    """Ordinary weighted least squares by the normal equations."""
    design, weight = DESIGN[rows] / SIGMA[rows, None], READ[rows] / SIGMA[rows]
    covariance = np.linalg.inv(design.T @ design)
    return covariance @ design.T @ weight, covariance


def test_a_straight_line_is_that_of_the_normal_equations():
    answer = fit(line, wide_prior(), Data(READ, SIGMA))
    values, covariance = weighted()
    assert answer.values == pytest.approx(values, rel=1e-6)
    assert answer.covariance == pytest.approx(covariance, rel=1e-5)


def test_where_the_model_has_no_answer_on_one_side_the_other_gives_the_slope():
    def model(values):
        return np.where(values[0] > 0.0, np.nan, 1.0) * line(values)

    prior = wide_prior(1.0)
    free = jacobian_of(line, prior, np.zeros(2))
    assert jacobian_of(model, prior, np.zeros(2)) == pytest.approx(free)
    assert jacobian_of(model, prior, np.zeros(2), line(np.zeros(2))) == pytest.approx(free)


def test_a_prior_counts_like_a_reading_of_the_parameter():
    correlated = np.array([[0.04, 0.01], [0.01, 0.09]])
    prior = Prior(np.array([1.0, 2.0]), np.linalg.cholesky(correlated), -FREE, FREE)
    answer = fit(line, prior, Data(READ, SIGMA))
    precision = np.linalg.inv(correlated)
    design = DESIGN / SIGMA[:, None]
    covariance = np.linalg.inv(design.T @ design + precision)
    values = covariance @ (design.T @ (READ / SIGMA) + precision @ prior.values)
    assert answer.values == pytest.approx(values, rel=1e-8)
    assert answer.covariance == pytest.approx(covariance, rel=1e-8)


def test_a_deleted_residual_is_that_of_a_fit_without_the_reading():
    deleted = leave_one_out(fit(line, wide_prior(), Data(READ, SIGMA)))
    for row in range(READ.size):
        others = np.arange(READ.size) != row
        values, covariance = weighted(others)
        spread = np.sqrt(SIGMA[row] ** 2 + DESIGN[row] @ covariance @ DESIGN[row])
        assert deleted[row] == pytest.approx((DESIGN[row] @ values - READ[row]) / spread, rel=1e-4)


def test_the_profile_of_a_straight_line_is_its_normal_interval():
    data, prior = Data(READ, SIGMA), wide_prior(10.0)
    answer = fit(line, prior, data)
    deviation = np.sqrt(np.diag(answer.scaled_covariance))
    for place in range(2):
        low, high = profile_interval(line, prior, data, answer, place)
        assert low == pytest.approx(
            answer.scaled[place] - 1.96 * deviation[place], abs=0.03 * 2 * deviation[place]
        )
        assert high == pytest.approx(
            answer.scaled[place] + 1.96 * deviation[place], abs=0.03 * 2 * deviation[place]
        )


def test_a_profile_is_lopsided_where_the_model_is():
    def model(values):
        return np.exp(values)

    prior = independent_prior(np.zeros(1), np.full(1, 10.0), np.full(1, -np.inf), np.full(1, np.inf))
    data = Data(np.array([1.0]), np.array([0.3]))
    answer = fit(model, prior, data)
    low, high = profile_interval(model, prior, data, answer, 0)
    assert 10 * low == pytest.approx(np.log(1.0 - 0.588), rel=0.05)  # exp(p) = 1 -+ 1.96 * 0.3
    assert 10 * high == pytest.approx(np.log(1.0 + 0.588), rel=0.05)


def test_a_reading_that_contradicts_is_set_aside_and_leaves_no_trace():
    right = DESIGN @ np.array([1.0, 2.0])
    wrong = right.copy()
    wrong[2] += 10 * 0.1
    data = Data(wrong, np.full(4, 0.1))
    screened = screened_fit(line, wide_prior(), data)
    assert screened.set_aside.tolist() == [False, False, True, False]
    assert screened.answer.values == pytest.approx([1.0, 2.0], rel=1e-5)


def test_a_good_reading_that_fell_with_a_bad_one_is_put_back():
    # By design the third of four readings of a straight line is put out wrongly; all agree once it is judged.
    right = DESIGN @ np.array([1.0, 2.0])
    right[3] += 20 * 0.1
    data = Data(right, np.full(4, 0.1))
    out = np.array([False, False, True, True])
    kept = data.without(out)
    answer = fit(lambda values: line(values)[~out], wide_prior(), kept)
    aside, again = put_back(line, wide_prior(), data, out, answer)
    assert aside.tolist() == [False, False, False, True]
    assert again.values == pytest.approx([1.0, 2.0], rel=1e-5)
    assert again.residuals.size == 3


def test_of_two_readings_that_exclude_each_other_the_kept_one_is_suspect():
    def same(values):
        return np.repeat(values, 2)

    prior = independent_prior(np.zeros(1), np.full(1, 1e3), -FREE[:1], FREE[:1])
    screened = screened_fit(same, prior, Data(np.array([1.0, 2.0]), np.full(2, 0.1)))
    assert screened.set_aside.sum() == 1
    assert (screened.together ^ screened.set_aside).all()

    # A third one decides between them.
    def thrice(values):
        return np.repeat(values, 3)

    screened = screened_fit(thrice, prior, Data(np.array([1.0, 2.0, 1.05]), np.full(3, 0.1)))
    assert screened.set_aside.tolist() == [False, True, False]
    assert not screened.together.any()


def test_within_four_deviations_nothing_is_set_aside():
    screened = screened_fit(line, wide_prior(), Data(READ, SIGMA))
    assert not screened.set_aside.any()


# --- closed recovery of preload and friction from the rpm up and down -----------------------------
K = 5.38134e-4  # [kg m2], of an untwisted solid blade (own arithmetic)
STOP = np.radians(18.0)
PULL = 0.809325 * 0.3525  # first moment of that blade [kg m]


def closed_form_subject(preload, arm):
    """Centrifugal twist and bearing friction against a spring without rate; no air moment."""
    hub = two_stop_hub(18.0, 13.0, spring=torsion_spring(preload, 0.0), friction_arm=arm)
    aircraft = demo_aircraft(hub=hub, inertia=untwisted_inertia(), blade=demo_blade(air_moment=False))
    return Subject(None, machine_of(aircraft), 0.0)


def test_preload_and_friction_from_the_rpm_up_and_down():
    # Own arithmetic with the balance K s O2 = M0 + f O2 going, M0 - f O2 coming back; both sides are ours.
    up, down = 2053.97 * RPM, 1776.16 * RPM
    readings = [
        reading("shift_begin_rpm", 2.68 * up, "ground", airspeed=0.0),
        reading("return_finish_rpm", 2.68 * down, "ground", airspeed=0.0),
    ]

    record = SimpleNamespace(
        atmosphere=SimpleNamespace(
            measured=None, temperature_offset=0.0, qnh=101325.0, relative_humidity=0.0
        ),
        site=SimpleNamespace(height=0.0),
    )

    def model(values):
        subject = closed_form_subject(values[0], values[1])
        return predicted(Subject(record, subject.machine, 0.0), readings)

    data = Data(np.array([r.value for r in readings]), np.full(2, 1e-6))
    prior = independent_prior(np.array([5.0, 1e-4]), np.array([5.0, 1e-4]), np.zeros(2), FREE)
    answer = fit(model, prior, data)
    swing = K * np.sin(STOP) * np.cos(STOP)
    spring, friction = recover_preload_and_friction(swing, up, down)
    assert answer.values[0] == pytest.approx(spring, rel=1e-6)
    assert answer.values[1] * PULL == pytest.approx(friction, rel=1e-6)
    # Printed in the hand calculation: M0 6.2610 N m, bearing coefficient .0040 on a radius of 20 mm.
    assert answer.values[0] == pytest.approx(6.2610, abs=5e-5)
    assert answer.values[1] / 0.020 == pytest.approx(0.0040, abs=5e-5)


# --- what readings can tell -----------------------------------------------------------------------------
def test_two_inputs_that_act_alike_are_found_and_their_direction_is_blind():
    sensitivity = np.array([[10.0, -5.0, 0.1], [6.0, -3.0, 0.0]])  # the first two in one ratio throughout
    (pair,) = pairs_alike(np.eye(3), collinearity_of(sensitivity))
    assert (pair.first, pair.second) == (0, 1)
    assert pair.collinearity == pytest.approx(-1.0)
    values, vectors = directions_narrowed(sensitivity)
    assert values[0] > 100.0 and values[1] < 0.01
    assert abs(vectors[:, 0] @ np.array([10.0, -5.0, 0.0])) == pytest.approx(np.hypot(10, 5), rel=1e-3)


def test_correlation_of_a_known_covariance():
    assert correlation_of(np.array([[4.0, 3.0], [3.0, 9.0]]))[0, 1] == pytest.approx(0.5)


def test_the_expected_gain_of_a_reading_is_what_the_fit_with_it_gives():
    answer = fit(line, wide_prior(), Data(READ, SIGMA))
    question, candidate = np.array([[1.0, 5.0]]), np.array([[1.0, 4.0]]) / 0.2
    prior = wide_prior()
    slopes = question @ prior.factor
    after = remaining_variance(answer.scaled_covariance, slopes, candidate @ prior.factor)
    design = np.vstack([DESIGN / SIGMA[:, None], candidate])
    covariance = np.linalg.inv(design.T @ design)
    assert after[0, 0] == pytest.approx((question @ covariance @ question.T)[0, 0], rel=1e-5)
