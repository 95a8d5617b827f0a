"""Weighted nonlinear least squares with a normal prior, in scaled parameters.

Parameters are `p = p0 + S z`, `S S'` the covariance of the prior, so that the prior says `z ~ N(0, 1)` and
each reading `(predicted(p) - value) / deviation ~ N(0, 1)`. Covariance of the answer: `S (J'J + 1)^-1 S'`,
J the Jacobian of the scaled readings (Gauss and Laplace; GUM JCGM 100:2008 5.1.2 for what follows from it).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from simengine.execution.where import on_threads

Array = NDArray[np.float64]
Model = Callable[[Array], Array]

STEP = 0.02  # of a difference quotient, in deviations of the prior
OUT_OF_REACH = 1e3  # residual of what the model cannot do: far beyond any other
NEAR = 1e-3  # where the search hands over to steps with a Jacobian that is kept
FINE, COARSE = 1e-9, 2e-2  # of the last step, in deviations of the prior
CONTRADICTION = 4.0  # deviations beyond which a reading and the fit of the others exclude each other
ROUNDS = 25  # of a search with a Jacobian that is kept


@dataclass(frozen=True)
class Prior:
    """What is known before: values and a factor S of their covariance, in SI.

    Attributes
    ----------
    values : NDArray, shape (p,)
    factor : NDArray, shape (p, p)
    lowest, highest : NDArray, shape (p,)
        Limits of nature; a parameter beyond is taken at its limit.
    """

    values: Array
    factor: Array
    lowest: Array
    highest: Array

    def at(self, scaled: Array) -> Array:
        """Parameters [SI], shape (p,), of `scaled` ones, shape (p,); held at the limits of nature."""
        return np.clip(self.values + self.factor @ scaled, self.lowest, self.highest)


@dataclass(frozen=True)
class Data:
    """Readings as numbers: values and standard deviations in SI, shape (n,)."""

    values: Array
    deviations: Array

    def without(self, rows: NDArray[np.bool_]) -> "Data":
        """Only the rows that are not marked by `rows`, shape (n,)."""
        return Data(self.values[~rows], self.deviations[~rows])


@dataclass(frozen=True)
class Fit:
    """The answer.

    Attributes
    ----------
    scaled, values : NDArray, shape (p,)
        Scaled and in SI.
    predicted : NDArray, shape (n,)
        What the model says of the readings then [SI].
    jacobian : NDArray, shape (n, p)
        Of scaled readings by scaled parameters.
    scaled_covariance, covariance : NDArray, shape (p, p)
        Of the scaled parameters, and in SI.
    residuals : NDArray, shape (n,)
        (predicted - value) / deviation.
    cost : float
        Sum of squares, prior included [1].
    """

    scaled: Array
    values: Array
    predicted: Array
    jacobian: Array
    scaled_covariance: Array
    covariance: Array
    residuals: Array
    cost: float

    @property
    def deviations(self) -> Array:
        """Standard deviations of the parameters, shape (p,) [SI]."""
        return np.sqrt(np.diag(self.covariance))


def jacobian_of(model: Model, prior: Prior, scaled: Array, here: Array | None = None) -> Array:
    """Differences of the model by scaled parameters at `scaled`, shape (p,); shape (n, p) [SI].

    Central ones; one-sided where what the model says `here`, shape (n,), is given, which halves the work.
    """

    def at(place: int, way: float) -> Array:
        moved = scaled.copy()
        moved[place] += way * STEP
        return model(prior.at(moved))

    central = here is None
    ways = (1.0, -1.0) if central else (1.0,)
    moves = [(place, way) for way in ways for place in range(scaled.size)]
    found = np.array(on_threads(lambda move: at(*move), moves))
    up = found[: scaled.size]
    middle = here if here is not None else np.full(up.shape[1:], np.nan)
    slopes = (up - found[scaled.size :]) / (2.0 * STEP) if central else (up - middle) / STEP
    for place in np.flatnonzero(~np.isfinite(slopes).all(axis=1)):
        slopes[place] = one_sided(model(prior.at(scaled)), at, int(place), slopes[place])
    return np.asarray(np.nan_to_num(slopes.T), dtype=np.float64)


def one_sided(here: Array, at: Callable[[int, float], Array], place: int, slope: Array) -> Array:
    """A difference quotient with what is missing taken from whichever side the model has an answer on.

    `here` is what the model says, `at` what it says moved by a step of a parameter, `place`, either way;
    `slope` the quotient with its gaps: all of shape (n,).
    """
    for way in (1.0, -1.0):
        missing = ~np.isfinite(slope)
        slope = np.where(missing, way * (at(place, way) - here) / STEP, slope)
    return slope


def scaled_residuals(predicted: Array, data: Data) -> Array:
    """Residuals `(predicted - value) / deviation`, shape (n,); large where the model has no answer.

    `predicted` of shape (n,) [SI].
    """
    residuals = (predicted - data.values) / data.deviations
    return np.asarray(np.where(np.isfinite(residuals), residuals, OUT_OF_REACH), dtype=np.float64)


def fit(model: Model, prior: Prior, data: Data, start: Array | None = None) -> Fit:
    """Find the parameters that readings and prior agree on.

    Parameters
    ----------
    model : callable
        Parameters [SI], shape (p,) -> predicted readings [SI], shape (n,).
    prior : Prior
    data : Data
    start : NDArray, shape (p,), optional
        Scaled parameters to begin with; those of the prior if left out.
    """

    known: dict[bytes, Array] = {}

    def predicted_at(scaled: Array) -> Array:
        place = scaled.tobytes()
        if place not in known:
            known[place] = model(prior.at(scaled))
        return known[place]

    def residuals(scaled: Array) -> Array:
        return np.concatenate([scaled_residuals(predicted_at(scaled), data), scaled])

    def derivatives(scaled: Array) -> Array:
        slopes = jacobian_of(model, prior, scaled, predicted_at(scaled))
        return np.vstack([slopes / data.deviations[:, None], np.eye(scaled.size)])

    begin = np.zeros(prior.values.size) if start is None else start
    found = least_squares(residuals, begin, jac=derivatives, xtol=NEAR, ftol=NEAR, gtol=NEAR, max_nfev=40)
    near = fit_at(model, prior, data, found.x)
    polished = quick_fit(model, prior, data, near, tolerance=FINE)
    return polished if polished.cost <= near.cost else near


def fit_at(model: Model, prior: Prior, data: Data, scaled: Array) -> Fit:
    """Everything about an answer at given `scaled` parameters, shape (p,)."""
    predicted = model(prior.at(scaled))
    jacobian = jacobian_of(model, prior, scaled) / data.deviations[:, None]
    return assembled(prior, data, scaled, predicted, jacobian)


def assembled(prior: Prior, data: Data, scaled: Array, predicted: Array, jacobian: Array) -> Fit:
    """Covariance and residuals of an answer; arguments and shapes as in `Fit`, shape (p,) and on.

    `scaled`, `predicted` and `jacobian`.
    """
    covariance: Array = np.linalg.inv(jacobian.T @ jacobian + np.eye(scaled.size)).astype(np.float64)
    residuals = scaled_residuals(predicted, data)
    return Fit(
        scaled=scaled,
        values=prior.at(scaled),
        predicted=predicted,
        jacobian=jacobian,
        scaled_covariance=covariance,
        covariance=prior.factor @ covariance @ prior.factor.T,
        residuals=residuals,
        cost=float(residuals @ residuals + scaled @ scaled),
    )


def quick_fit(
    model: Model,
    prior: Prior,
    data: Data,
    near: Fit,
    fixed: tuple[int, float] | None = None,
    tolerance: float = COARSE,
) -> Fit:
    """Gauss-Newton steps with the Jacobian of an answer that is near; `fixed` holds one scaled parameter.

    That is its number and value [1]; `tolerance` of the last step, in deviations of the prior [1]. For the
    many repeats of coverage and profiles, where only the readings or one parameter differ a little.
    """
    free = [place for place in range(near.scaled.size) if fixed is None or place != fixed[0]]
    scaled = near.scaled.copy()
    if fixed is not None:
        scaled[fixed[0]] = fixed[1]
    slopes = near.jacobian[:, free]
    step_matrix = np.linalg.inv(slopes.T @ slopes + np.eye(len(free)))
    predicted = near.predicted if fixed is None else model(prior.at(scaled))
    for _ in range(ROUNDS):
        residuals = scaled_residuals(predicted, data)
        step = step_matrix @ (slopes.T @ residuals + scaled[free])
        scaled[free] -= step
        predicted = model(prior.at(scaled))
        if np.abs(step).max(initial=0.0) < tolerance:
            break
    return assembled(prior, data, scaled, predicted, near.jacobian)


def leave_one_out(answer: Fit) -> Array:
    """Each residual against the fit of the others, in deviations of their difference, shape (n,).

    `r / sqrt(1 - h)`, h the reading's share in its own prediction (R. D. Cook and S. Weisberg, Residuals and
    Influence in Regression, 1982, deleted residuals); exact where the model is linear.
    """
    own = np.einsum("ij,jk,ik->i", answer.jacobian, answer.scaled_covariance, answer.jacobian)
    return np.asarray(answer.residuals / np.sqrt(np.maximum(1.0 - own, 1e-12)), dtype=np.float64)


@dataclass(frozen=True)
class Screened:
    """A fit without the readings that contradict it.

    Attributes
    ----------
    answer : Fit
        Of the readings that were kept.
    set_aside : NDArray of bool, shape (n,)
        Readings that were not.
    together : NDArray of bool, shape (n,)
        Kept readings without which the others would agree as well: one may be the wrong one instead.
    """

    answer: Fit
    set_aside: NDArray[np.bool_]
    together: NDArray[np.bool_]


def screened_fit(model: Model, prior: Prior, data: Data) -> Screened:
    """Fit; take out the reading that contradicts the others most, and fit again, until none does.

    Deleted residuals point at a reading; whether it is set aside is decided by a fit without it. A reading
    that was set aside because of another one's error, and agrees once that one is out, is put back.
    """
    aside = np.zeros(data.values.size, dtype=bool)
    together = aside.copy()
    answer = fit_without(model, prior, data, aside, None)
    while True:
        rows = np.flatnonzero(~aside)
        deleted = np.abs(leave_one_out(answer))
        suspects = rows[np.argsort(-deleted)][: int((deleted > CONTRADICTION).sum())]
        for row in suspects:
            trial = aside.copy()
            trial[row] = True
            without = fit_without(model, prior, data, trial, answer.scaled)
            if distance_from(model, prior, data, without, int(row)) > CONTRADICTION:
                left = {int(other): contradictions_without(answer, rows == other) for other in suspects}
                together[[other for other in left if left[other] <= left[int(row)]]] = True
                aside, answer = trial, without
                break
        else:
            aside, answer = put_back(model, prior, data, aside, answer)
            return Screened(answer, aside, together & ~aside)


def contradictions_without(answer: Fit, out: NDArray[np.bool_]) -> int:
    """How many readings of a fit would still contradict it without some, `out`, shape (n,).

    By the linear model, which costs no model. Of two readings that leave as few of them behind, either may be
    the wrong one.
    """
    slopes, residuals = answer.jacobian[~out], answer.residuals[~out]
    covariance = np.linalg.inv(slopes.T @ slopes + np.eye(answer.scaled.size))
    left = residuals - slopes @ covariance @ (slopes.T @ residuals + answer.scaled)
    own = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    return int((np.abs(left) > CONTRADICTION * np.sqrt(np.maximum(1.0 - own, 1e-12))).sum())


def put_back(
    model: Model, prior: Prior, data: Data, aside: NDArray[np.bool_], answer: Fit
) -> tuple[NDArray[np.bool_], Fit]:
    """Take readings in again that agree with the fit of the kept ones, the nearest first.

    `aside` marks those that were set aside, shape (n,).
    """
    while aside.any():
        rows = np.flatnonzero(aside)
        distances = np.array([distance_from(model, prior, data, answer, int(row)) for row in rows])
        if distances.min() > CONTRADICTION:
            break
        aside = aside.copy()
        aside[rows[distances.argmin()]] = False
        answer = fit_without(model, prior, data, aside, answer.scaled)
    return aside, answer


def fit_without(model: Model, prior: Prior, data: Data, aside: NDArray[np.bool_], start: Array | None) -> Fit:
    """The fit of the readings that are not set `aside`, shape (n,).

    Begun at scaled parameters `start`, shape (p,); at the prior's if None.
    """
    return fit(lambda values: model(values)[~aside], prior, data.without(aside), start)


def distance_from(model: Model, prior: Prior, data: Data, answer: Fit, row: int) -> float:
    """A reading, by its `row`, against a fit without it, in deviations of their difference [1]."""
    here = model(prior.at(answer.scaled))
    slope = jacobian_of(model, prior, answer.scaled, here)[row]
    spread = float(slope @ answer.scaled_covariance @ slope)
    return float(abs(here[row] - data.values[row]) / np.sqrt(data.deviations[row] ** 2 + spread))


def profile_interval(
    model: Model, prior: Prior, data: Data, answer: Fit, place: int, level: float = 3.841458820694124
) -> tuple[float, float]:
    """Interval of one scaled parameter [1] in which the best cost of all others rises by `level` [1] at most.

    `place` is the parameter's number. 3.84 is the 95 % point of chi-squared with one degree of freedom. The
    signed root of the rise is close to a straight line, so that a secant finds each end in a few searches.
    """
    deviation = float(np.sqrt(answer.scaled_covariance[place, place]))
    wanted = float(np.sqrt(level))
    ends = []
    for way in (-1.0, 1.0):
        reach = wanted * deviation
        for _ in range(3):
            held = quick_fit(model, prior, data, answer, (place, float(answer.scaled[place]) + way * reach))
            rise = float(np.sqrt(max(held.cost - answer.cost, 1e-12)))
            if abs(rise - wanted) < 0.03 * wanted:
                break
            reach *= min(max(wanted / rise, 0.5), 2.0)
        ends.append(float(answer.scaled[place]) + way * reach)
    return ends[0], ends[1]
