"""Whether the bands of a calibration hold what they promise: the calibration repeated on made-up readings.

The fitted machine is taken for the truth. In every repeat each reading, and each value known before, is drawn
anew around that truth with its own standard deviation; the fit is repeated, and its bands either hold the
truth or do not. For a model that is linear near the fit the share is 95 % whatever is read: the repeats show
what its bends do to the bands. Setting contradicting readings aside is not repeated.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import xarray
from numpy.typing import NDArray
from scipy.stats import chi2

from simengine.execution.run import work_out
from simengine.execution.store import MemoryStore, Store
from simengine.execution.task import Job, Piece
from simengine.execution.where import Where
from simengine.results.calibration_catalogue import COVERAGE_TABLES
from simengine.results.dataset import stored
from simengine.scenario.readings import Reading
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.variation import COVERAGE_FACTOR
from simengine.studies.calibrate.fit import Data, Fit, Prior, fit_at, quick_fit
from simengine.studies.calibrate.forward import predicted_at
from simengine.studies.calibrate.parameters import Parameter, changes
from simengine.studies.calibrate.study import Calibrated, deviations_of
from simengine.studies.calibrate.subject import Subject, subject_of
from simengine.studies.tolerance.tally import share_band

Array = NDArray[np.float64]

SEED = 1
CLOSE = 1e-3  # last step of a repeated fit, in deviations of the prior
MOST_DRAWS = 1000  # until every value known before lies within the limits of nature
ONE_SIDED = ("on_coarse_stop", "off_stops", "on_fine_stop")  # lights: read as they are, without scatter


@dataclass(frozen=True)
class Repeats:
    """What is repeated; travels to wherever that is done.

    Attributes
    ----------
    record : ScenarioRecord
        Before the fit.
    parameters : tuple of Parameter
    readings : tuple of Reading
        Those that the fit rests on.
    prior : Prior
    truth : NDArray, shape (p,)
        The fitted parameters, scaled.
    """

    record: ScenarioRecord
    parameters: tuple[Parameter, ...]
    readings: tuple[Reading, ...]
    prior: Prior
    truth: Array


@dataclass(frozen=True)
class Start:
    """What every repeat begins with: the machine before the fit, and the fit to readings without an error."""

    repeats: Repeats
    base: Subject
    fit: Fit


@dataclass(frozen=True, eq=False)
class Coverage:
    """What came of the repeats: whether each band held the truth.

    Attributes
    ----------
    inside : NDArray of bool, shape (n, p)
        By repeat and parameter.
    joint : NDArray of bool, shape (n,)
        Whether the region of all parameters together held it.
    """

    inside: NDArray[np.bool_]
    joint: NDArray[np.bool_]

    def values(self) -> dict[str, object]:
        """Variables of the catalogue: shares and their 95 % binomial bands.

        The band of all inputs together is that of as many draws as there were repeats: those of one repeat
        stand and fall together, more or less.
        """
        count = self.joint.size
        held = self.inside.sum(axis=0)
        bands = np.array([share_band(int(each), count) for each in held])
        together = share_band(round(float(self.inside.mean() * count)), count)
        joint = share_band(int(self.joint.sum()), count)
        return {
            "parameter_coverage": held / count,
            "parameter_coverage_low": bands[:, 0],
            "parameter_coverage_high": bands[:, 1],
            "coverage_repeats": count,
            "coverage": self.inside.mean(),
            "coverage_low": together[0],
            "coverage_high": together[1],
            "coverage_joint": self.joint.mean(),
            "coverage_joint_low": joint[0],
            "coverage_joint_high": joint[1],
        }


def with_coverage(dataset: xarray.Dataset, found: Coverage) -> xarray.Dataset:
    """A calibration's dataset with what the repeats say."""
    values = found.values()
    return dataset.assign(
        {
            variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
            for dimensions, table in COVERAGE_TABLES
            for variable in table
        }
    )


def repeats_of(result: Calibrated) -> Repeats:
    """What is repeated of a calibration."""
    kept = tuple(reading for reading, keep in zip(result.readings, result.kept, strict=True) if keep)
    return Repeats(result.scenario.record, result.parameters, kept, result.prior, result.answer.scaled)


def coverage(
    result: Calibrated,
    count: int,
    *,
    store: Store | None = None,
    where: Where | None = None,
    tell: Callable[[float], None] | None = None,
) -> Coverage:
    """Repeat a calibration on made-up readings.

    Parameters
    ----------
    result : Calibrated
    count : int
        Repeats, at least 1.
    store : Store, optional
        Keeps the repeats as they come; those of the same calibration already there are not done again.
    where : Where, optional
        Threads, processes or a cluster; the numbers do not depend on it.
    tell : callable, optional
        Called with the share done, 0 to 1.
    """
    repeats, kept = repeats_of(result), store or MemoryStore()
    facts = [
        (item.kind.name, item.value, item.plus_minus, item.phase, item.direction, sorted(item.where.items()))
        for item in repeats.readings
    ]
    kept.begin("coverage", result.scenario.text, repr(repeats.record), facts, SEED)
    work_out(Job(start_of, repeat, repeats), count, kept, where, tell)
    pieces = [kept.read(number) for number in range(count)]
    return Coverage(
        np.array([piece["inside"] for piece in pieces]), np.array([bool(piece["joint"]) for piece in pieces])
    )


def predictor(base: Subject, repeats: Repeats, readings: Sequence[Reading]) -> Callable[[Array], Array]:
    """Readings by the parameters [SI]."""

    def model(values: Array) -> Array:
        return predicted_at(base, changes(repeats.record, repeats.parameters, values), readings)

    return model


def start_of(repeats: Repeats) -> Start:
    """Assemble the machine and linearise at the truth."""
    base = subject_of(repeats.record)
    model = predictor(base, repeats, repeats.readings)
    true = model(repeats.prior.at(repeats.truth))
    data = Data(true, deviations_of(repeats.readings))
    return Start(repeats, base, fit_at(model, repeats.prior, data, repeats.truth))


def repeat(start: Start, number: int) -> Piece:
    """One repeat by its number, which fixes its draws."""
    repeats = start.repeats
    random = np.random.default_rng([SEED, number])
    prior, off = drawn_prior(repeats, random)
    scatter = random.standard_normal(len(repeats.readings))
    values = start.fit.predicted + deviations_of(repeats.readings) * scatter
    for place, reading in enumerate(repeats.readings):
        if reading.kind.name in ONE_SIDED:
            values[place] = start.fit.predicted[place]
    read = zip(repeats.readings, map(float, values), strict=True)
    readings = [replace(reading, value=value) for reading, value in read]
    model, data = predictor(start.base, repeats, readings), Data(values, deviations_of(readings))
    near = quick_fit(model, prior, data, replace(start.fit, scaled=-off), tolerance=CLOSE)
    answer = fit_at(model, prior, data, near.scaled)
    missed = -off - answer.scaled
    distance = missed @ np.linalg.solve(answer.scaled_covariance, missed)
    return {
        "inside": np.abs(prior.factor @ missed) < COVERAGE_FACTOR * answer.deviations,
        "joint": np.array(distance < chi2.ppf(0.95, missed.size)),
    }


def drawn_prior(repeats: Repeats, random: np.random.Generator) -> tuple[Prior, Array]:
    """Values known before, drawn around the truth within the limits of nature; and how far off, scaled."""
    prior = repeats.prior
    for _ in range(MOST_DRAWS):
        off = random.standard_normal(repeats.truth.size)
        values = prior.values + prior.factor @ (repeats.truth + off)
        if ((values >= prior.lowest) & (values <= prior.highest)).all():
            break
    return replace(prior, values=values), off
