"""Fit a scenario to a maker's readings; say what is known then, what is not, and what to measure next."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simengine import units
from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.execution.progress import Progress, told_to
from simengine.execution.where import on_threads
from simengine.scenario import Scenario, records
from simengine.scenario.quantities import in_rpm
from simengine.scenario.readings import Reading
from simengine.scenario.variation import COVERAGE_FACTOR
from simengine.studies.calibrate.candidates import candidates
from simengine.studies.calibrate.fit import (
    Data,
    Fit,
    Prior,
    Screened,
    jacobian_of,
    leave_one_out,
    profile_interval,
    screened_fit,
)
from simengine.studies.calibrate.forward import predicted, predicted_at
from simengine.studies.calibrate.identifiability import NARROWED
from simengine.studies.calibrate.parameters import Parameter, changes, parameters_of, prior_of
from simengine.studies.calibrate.questions import QUESTIONS, answers
from simengine.studies.calibrate.subject import Subject, subject_of, varied, varied_if_possible

if TYPE_CHECKING:
    import xarray

Array = NDArray[np.float64]
LOWEST_SHARE_OF_IDLE = 0.9  # an engine that turns slower than this share of its idle speed was not read


@dataclass(frozen=True)
class Calibrated:
    """A fitted scenario with everything that is told of it.

    Attributes
    ----------
    scenario : Scenario
        Before the fit.
    subject : Subject
        Fitted.
    parameters : tuple of Parameter
        p of them, as before the fit.
    prior : Prior
    readings : tuple of Reading
        n of them, in the order of the files.
    kept : NDArray of bool, shape (n,)
        Readings that the fit rests on.
    set_aside : NDArray of bool, shape (n,)
        Readings that contradict it.
    answer : Fit
        Of the kept readings.
    intervals : NDArray, shape (p, 2)
        95 % intervals by profile likelihood [SI].
    before, after, after_deviation : NDArray, shape (n,)
        What the model says of every reading before and after the fit [SI].
    reading_slopes : NDArray, shape (n, p)
        Of every reading by scaled parameters, over its deviation.
    candidates : list of (Reading, cost)
    candidate_slopes : NDArray, shape (m, p)
        The same for candidates.
    questions : NDArray, shape (q,)
    question_slopes, question_slopes_before : NDArray, shape (q, p)
        By scaled parameters [SI].
    together : NDArray of bool, shape (n,)
        Kept readings of which one may be the wrong one instead of that set aside.
    """

    scenario: Scenario
    subject: Subject
    parameters: tuple[Parameter, ...]
    prior: Prior
    readings: tuple[Reading, ...]
    kept: NDArray[np.bool_]
    set_aside: NDArray[np.bool_]
    together: NDArray[np.bool_]
    answer: Fit
    intervals: Array
    before: Array
    after: Array
    after_deviation: Array
    reading_slopes: Array
    candidates: list[tuple[Reading, str]]
    candidate_slopes: Array
    questions: Array
    question_slopes: Array

    @property
    def shares(self) -> Array:
        """Deviation after over before of every parameter, shape (p,)."""
        before = np.sqrt((self.prior.factor**2).sum(axis=1))
        return np.asarray(self.answer.deviations / before, dtype=np.float64)

    @property
    def narrowed(self) -> NDArray[np.bool_]:
        """Parameters that the readings narrowed by a tenth or more, shape (p,)."""
        return np.asarray(self.shares < NARROWED)

    @property
    def deviations(self) -> Array:
        """Of every reading, shape (n,) [SI]."""
        return deviations_of(self.readings)

    @property
    def own_sensitivity(self) -> Array:
        """Of the kept readings by one prior deviation of each parameter alone, shape (k, p)."""
        before = np.sqrt((self.prior.factor**2).sum(axis=1))
        by_value = self.answer.jacobian @ np.linalg.inv(self.prior.factor)
        return np.asarray(by_value * before, dtype=np.float64)

    def deleted_residuals(self) -> Array:
        """Reading less what the fit of the others says, in deviations of the difference, shape (n,)."""
        outside = (np.array([r.value for r in self.readings]) - self.after) / np.hypot(
            self.deviations, self.after_deviation
        )
        outside[self.kept] = -leave_one_out(self.answer)
        return np.asarray(outside, dtype=np.float64)


def deviations_of(readings: Sequence[Reading]) -> Array:
    """Standard deviations of readings [SI], shape (n,)."""
    return np.array([reading.plus_minus / COVERAGE_FACTOR for reading in readings])


def calibrated(
    scenario: Scenario, readings: Sequence[Reading], *, progress: Progress | None = None
) -> Calibrated:
    """Fit a scenario to readings.

    Parameters
    ----------
    scenario : Scenario
    readings : sequence of Reading
        Those held are predicted, not fitted.
    progress : callable, optional
        Called with the share done and what is being done.

    Raises
    ------
    ScenarioError
        A reading that this machine cannot have given, or none left for the fit.
    NoSolutionError
        The model has no such event with the scenario's own values.
    """
    tell = told_to(progress)
    refuse_impossible(scenario.record, readings)
    base = subject_of(scenario.record)
    before = predicted(base, readings)
    refuse_unpredictable(readings, before)
    fitted = [reading for reading in readings if not reading.held]
    parameters = parameters_of(scenario)
    prior = prior_of(scenario.record, parameters)
    data = Data(np.array([reading.value for reading in fitted]), deviations_of(fitted))

    def model(values: Array) -> Array:
        return predicted_at(base, changes(scenario.record, parameters, values), fitted)

    tell(0.05, "fitting")
    screened = screened_fit(model, prior, data)
    answer = screened.answer
    tell(0.6, "intervals")
    aside = screened.set_aside
    kept_readings = [reading for reading, out in zip(fitted, aside, strict=True) if not out]
    intervals = intervals_of(base, parameters, prior, data.without(aside), answer, kept_readings)
    tell(0.8, "what to measure next")
    subject = varied(base, changes(scenario.record, parameters, answer.values))
    return with_predictions(
        scenario, base, subject, parameters, prior, tuple(readings), before, screened, intervals
    )


def refuse_impossible(record: records.ScenarioRecord, readings: Sequence[Reading]) -> None:
    """Complain of readings that this machine cannot have given: ScenarioError with every one of them."""
    problems = []
    engine, reduction = record.engine, record.drive.reduction
    shifts = isinstance(record.hub, records.TwoStopHub)
    for reading in readings:
        name = reading.kind.name
        if units.ROTATION_SPEED in reading.kind.dimensions:
            low, high = LOWEST_SHARE_OF_IDLE * engine.idle_speed, 1.3 * engine.speed_limit
            if not low <= reading.value <= high:
                typed = in_rpm(reading.value)
                span = f"{in_rpm(low)} to {in_rpm(high)}"
                hint = (
                    "; ENGINE rpm is wanted: is this the propeller's?"
                    if low <= reading.value * reduction
                    else ""
                )
                message = f"{typed} is impossible for this engine; possible: {span}{hint}"
                problems.append(Problem(reading.file, reading.row, "value", message))
        moves = name.startswith(("shift_", "return_", "on_", "off_", "spring_", "blade_angle_"))
        if moves and not shifts:
            message = f"'{name}' is read on a hub of kind two_stop; this one is {record.hub.kind}"
            problems.append(Problem(reading.file, reading.row, "what", message))
        most = record.wing.polar.bar[-1]
        if reading.where.get("bar", 0.0) > most:
            message = f"is beyond the wing's measured polar, which ends at {100 * most:g} % bar"
            problems.append(Problem(reading.file, reading.row, "bar", message))
    if readings and all(reading.held for reading in readings):
        problems.append(
            Problem(readings[0].file, None, "use", "every reading is held: none is left for the fit")
        )
    if problems:
        raise ScenarioError(problems)


def refuse_unpredictable(readings: Sequence[Reading], before: Array) -> None:
    """Complain of readings of what the model says does not happen: NoSolutionError with every one of them.

    `before` is what the model says of each, shape (n,), NaN for nothing.
    """
    lines = [
        f"{reading.file}:{reading.row}: {reading.kind.name}: with the scenario's values this never happens "
        "in the model; change the scenario (preload, friction, stops) until it does, or leave the row out"
        for reading, value in zip(readings, before, strict=True)
        if not np.isfinite(value)
    ]
    if lines:
        raise NoSolutionError("\n".join(lines))


def intervals_of(
    base: Subject,
    parameters: tuple[Parameter, ...],
    prior: Prior,
    data: Data,
    answer: Fit,
    readings: Sequence[Reading],
) -> Array:
    """95 % intervals [SI], shape (p, 2): by profile where the readings have a say, else those of the prior.

    The profile is taken along a parameter's own axis; with a correlated prior along its scaled one.
    """
    deviation = answer.deviations
    found = np.column_stack([answer.values - 1.96 * deviation, answer.values + 1.96 * deviation])
    before = np.sqrt((prior.factor**2).sum(axis=1))
    own_axes = np.count_nonzero(prior.factor - np.diag(np.diag(prior.factor))) == 0

    def model(values: Array) -> Array:
        return predicted_at(base, changes(base.record, parameters, values), readings)

    places = [p for p in range(len(parameters)) if own_axes and deviation[p] < NARROWED * before[p]]
    ends = on_threads(lambda place: profile_interval(model, prior, data, answer, place), places)
    for place, pair in zip(places, ends, strict=True):
        found[place] = prior.values[place] + prior.factor[place, place] * np.array(pair)
    return np.clip(found, prior.lowest[:, None], prior.highest[:, None])


def with_predictions(
    scenario: Scenario,
    base: Subject,
    subject: Subject,
    parameters: tuple[Parameter, ...],
    prior: Prior,
    readings: tuple[Reading, ...],
    before: Array,
    screened: Screened,
    intervals: Array,
) -> Calibrated:
    """Predict everything that is asked of the fitted machine, with its sensitivities."""
    answer = screened.answer
    next_readings = candidates(subject)
    every = [*readings, *(reading for reading, _ in next_readings)]
    n, count = len(readings), len(every)
    here = np.concatenate([predicted(subject, every), answers(subject)])

    def model(values: Array) -> Array:
        moved = varied_if_possible(base, changes(scenario.record, parameters, values))
        if moved is None:
            return np.full(here.size, np.nan)
        return np.concatenate([predicted(moved, every), answers(moved)])

    slopes = jacobian_of(model, prior, answer.scaled, here)
    scaled_slopes = slopes[:count] / deviations_of(every)[:, None]
    spread = np.sqrt(np.einsum("ij,jk,ik->i", slopes[:n], answer.scaled_covariance, slopes[:n]))
    fitted = np.array([not reading.held for reading in readings])
    set_aside, together = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    set_aside[fitted], together[fitted] = screened.set_aside, screened.together
    return Calibrated(
        scenario=scenario,
        subject=subject,
        parameters=parameters,
        prior=prior,
        readings=readings,
        kept=fitted & ~set_aside,
        set_aside=set_aside,
        together=together,
        answer=answer,
        intervals=intervals,
        before=before,
        after=here[:n],
        after_deviation=spread,
        reading_slopes=scaled_slopes[:n],
        candidates=list(next_readings),
        candidate_slopes=scaled_slopes[n:],
        questions=here[count:],
        question_slopes=slopes[count:],
    )


def calibrate(
    scenario: Scenario,
    readings: Sequence[Reading],
    *,
    question: str | None = None,
    progress: Progress | None = None,
    command: str = "",
) -> "xarray.Dataset":
    """Fit a scenario to readings and tell it as a dataset.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it.
    readings : sequence of Reading
        As `load_readings` gives them.
    question : str, optional
        What the next measurement is chosen for, a name of `QUESTIONS`; the shift ceiling, or where there is
        none the shift margin, if left out.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.calibration_catalogue`.

    Raises
    ------
    ScenarioError
        As `calibrated`.
    """
    from simengine.studies.calibrate.dataset import calibration_dataset

    result = calibrated(scenario, readings, progress=progress)
    return calibration_dataset(result, question or chosen_question(result), command)


def chosen_question(result: Calibrated) -> str:
    """The question that matters most where it has an answer."""
    names = list(QUESTIONS)
    for name in ("shift_ceiling", "shift_margin", "level_fuel"):
        if np.isfinite(result.questions[names.index(name)]):
            return name
    return "climb_rate"
