"""A calibration as a dataset: numbers in units that a maker reads, and what they mean in words."""

from typing import Any

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine import units
from simengine.results import calibration_catalogue as catalogue
from simengine.results.study_dataset import study_dataset
from simengine.scenario import Scenario
from simengine.scenario.reading_kinds import Kind
from simengine.scenario.readings import Reading
from simengine.scenario.variation import COVERAGE_FACTOR
from simengine.studies.calibrate.candidates import remaining_variance
from simengine.studies.calibrate.forward import LOW_CLIMB
from simengine.studies.calibrate.identifiability import (
    SCALE,
    collinearity_of,
    correlation_of,
    helper_for,
    identifiability_sentences,
    pairs_alike,
    scale_sentence,
)
from simengine.studies.calibrate.parameters import Parameter
from simengine.studies.calibrate.questions import QUESTIONS
from simengine.studies.calibrate.study import Calibrated, deviations_of
from simengine.studies.envelope.study import setup_of
from simengine.studies.provenance import study_provenance

Array = NDArray[np.float64]
Values = dict[str, Any]
READABLE = 0.04  # smallest number that is told in its unit
SOLVER = (
    "weighted nonlinear least squares with a normal prior in scaled parameters, on the steady balances; "
    "covariance by the Jacobian at the answer; intervals by profile likelihood"
)


def calibration_dataset(result: Calibrated, question: str, command: str) -> xarray.Dataset:
    """Put a calibration into one dataset; `question` names what the next measurement is chosen for."""
    values: Values = parameter_values(result) | reading_values(result)
    values |= question_values(result) | candidate_values(result)
    values |= {
        "chi_squared": float((result.answer.residuals**2).sum()),
        "readings_fitted": int(result.kept.sum()),
    }
    sentences = {"identifiability": "\n".join(sentences_of(result)), "chosen_question": question}
    record = result.scenario.record
    return study_dataset(
        "calibrate",
        catalogue.COORDINATES,
        catalogue.TABLES,
        values,
        sentences,
        study_provenance(
            result.scenario, "calibrate", "calibrated", SOLVER, relative_tolerance=1e-9, command=command
        ),
        setup_of(result.subject.machine, record),
    )


def shown_unit(scenario: Scenario, parameter: Parameter) -> str:
    """Unit in which a parameter is told: as it was typed, else the largest in which it is not tiny."""
    origin, dimension = scenario.origins.get(parameter.path), parameter.dimension
    if origin is not None and origin.value is not None:
        return units.accepted_unit(origin.unit, dimension)
    sizes = {name: abs(units.from_si(parameter.value, name, dimension)) for name in dimension.shown}
    return next((name for name, size in sizes.items() if size >= READABLE), dimension.shown[-1])


def told_in(
    values: Array, dimensions: list[units.Dimension], names: list[str], *, spread: bool = False
) -> Array:
    """Values, or half-widths of their bands, from SI to the units they are told in."""
    return np.array(
        [
            value / units.conversion(name, dimension).factor
            if spread
            else units.from_si(value, name, dimension)
            for value, dimension, name in zip(values, dimensions, names, strict=True)
        ]
    )


def parameter_values(result: Calibrated) -> Values:
    """Everything along the parameters."""
    parameters, answer = result.parameters, result.answer
    dimensions = [parameter.dimension for parameter in parameters]
    names = [shown_unit(result.scenario, parameter) for parameter in parameters]
    paths = [parameter.path for parameter in parameters]
    before = np.sqrt((result.prior.factor**2).sum(axis=1))

    def shown(values: Array, *, spread: bool = False) -> Array:
        return told_in(values, dimensions, names, spread=spread)

    return {
        "parameter": paths,
        "other_parameter": paths,
        "parameter_words": [parameter.words for parameter in parameters],
        "parameter_units": names,
        "parameter_before": shown(result.prior.values),
        "parameter_band_before": shown(COVERAGE_FACTOR * before, spread=True),
        "parameter_value": shown(answer.values),
        "parameter_band": shown(COVERAGE_FACTOR * answer.deviations, spread=True),
        "parameter_low": shown(result.intervals[:, 0]),
        "parameter_high": shown(result.intervals[:, 1]),
        "parameter_band_usual": [parameter.usual for parameter in parameters],
        "parameter_narrowed": result.narrowed,
        "correlation": correlation_of(answer.covariance),
        "collinearity": collinearity_of(result.own_sensitivity),
    }


def dimension_of_reading(reading: Reading) -> units.Dimension:
    """Dimension of a reading's value."""
    return reading.kind.dimensions[1 if "by_mass" in reading.where else 0]


def unit_of_reading(reading: Reading) -> str:
    """Unit in which a reading is told."""
    kind: Kind = reading.kind
    return "kg" if "by_mass" in reading.where else kind.unit


def height_of(result: Calibrated, reading: Reading) -> float:
    """Height at which a reading was taken [m]."""
    if reading.phase == "bench":
        return float("nan")
    above = 0.0 if reading.phase == "ground" else LOW_CLIMB
    return reading.where.get("height", result.scenario.record.site.height + above)


def reading_values(result: Calibrated) -> Values:
    """Everything along the readings."""
    readings = result.readings
    dimensions = [dimension_of_reading(reading) for reading in readings]
    names = [unit_of_reading(reading) for reading in readings]
    read = np.array([reading.value for reading in readings])

    def shown(values: Array, *, spread: bool = False) -> Array:
        return told_in(values, dimensions, names, spread=spread)

    return {
        "reading": [reading.label for reading in readings],
        "reading_kind": [reading.kind.name for reading in readings],
        "reading_units": names,
        "reading_phase": [reading.phase for reading in readings],
        "reading_file": [reading.file for reading in readings],
        "reading_row": [reading.row for reading in readings],
        "reading_value": shown(read),
        "reading_band": shown(COVERAGE_FACTOR * result.deviations, spread=True),
        "reading_before": shown(result.before),
        "reading_predicted": shown(result.after),
        "reading_predicted_band": shown(COVERAGE_FACTOR * result.after_deviation, spread=True),
        "reading_residual": (read - result.after) / result.deviations,
        "reading_deleted_residual": result.deleted_residuals(),
        "reading_height": [height_of(result, reading) for reading in readings],
        "reading_held": [reading.held for reading in readings],
        "reading_set_aside": result.set_aside,
        "reading_suspect": result.together,
        "reading_band_usual": [reading.usual for reading in readings],
        "reading_note": [reading.note for reading in readings],
    }


def question_values(result: Calibrated) -> Values:
    """Everything along the questions."""
    every = list(QUESTIONS.values())
    factors = np.array([question.factor for question in every])
    slopes = result.question_slopes
    after = np.sqrt(np.einsum("qi,ij,qj->q", slopes, result.answer.scaled_covariance, slopes))
    before = np.sqrt((slopes**2).sum(axis=1))
    known = np.isfinite(result.questions)
    return {
        "question": [question.name for question in every],
        "question_words": [question.words for question in every],
        "question_units": [question.unit for question in every],
        "question_value": factors * result.questions,
        "question_band_before": np.where(known, COVERAGE_FACTOR * factors * before, np.nan),
        "question_band": np.where(known, COVERAGE_FACTOR * factors * after, np.nan),
    }


def candidate_name(reading: Reading) -> str:
    """A reading to come, in words."""
    direction = {"up": " toward fine", "down": " back toward coarse"}.get(reading.direction, "")
    place = ""
    if "angle" in reading.where:
        place = f" at {units.from_si(reading.where['angle'], 'deg', units.ANGLE):.1f}°"
    elif "height" in reading.where:
        place = f" at {reading.where['height']:.0f} m"
    phase = "" if reading.phase == "bench" else f", {reading.phase}"
    return f"{reading.kind.words}{direction}{phase}{place}"


def candidate_values(result: Calibrated) -> Values:
    """Everything along the candidates, and their gains."""
    readings = [reading for reading, _ in result.candidates]
    dimensions = [dimension_of_reading(reading) for reading in readings]
    names = [unit_of_reading(reading) for reading in readings]
    covariance, slopes = result.answer.scaled_covariance, result.question_slopes
    before = np.einsum("qi,ij,qj->q", slopes, covariance, slopes)
    after = remaining_variance(covariance, slopes, result.candidate_slopes)
    known = np.isfinite(result.questions) & (before > 0.0)
    shares = np.sqrt(np.maximum(after, 0.0) / np.where(before > 0.0, before, 1.0))
    return {
        "candidate": [candidate_name(reading) for reading in readings],
        "candidate_cost": [cost for _, cost in result.candidates],
        "candidate_units": names,
        "candidate_expected": told_in(np.array([reading.value for reading in readings]), dimensions, names),
        "candidate_reading_band": told_in(
            COVERAGE_FACTOR * deviations_of(readings), dimensions, names, spread=True
        ),
        "band_share": np.where(known, shares, np.nan),
    }


def sentences_of(result: Calibrated) -> list[str]:
    """What the readings can tell apart."""
    sensitivity = result.own_sensitivity
    pairs = pairs_alike(correlation_of(result.answer.covariance), collinearity_of(sensitivity))
    names = [candidate_name(reading) for reading, _ in result.candidates]
    by_value = result.candidate_slopes @ np.linalg.inv(result.prior.factor)
    helpers = [
        helper_for(pair, result.answer.covariance, by_value, result.candidates, names) for pair in pairs
    ]
    words = [parameter.words for parameter in result.parameters]
    told = identifiability_sentences(words, sensitivity, result.shares, pairs, helpers)
    before = np.sqrt((result.prior.factor**2).sum(axis=1))
    paths = [parameter.path for parameter in result.parameters]
    scale = scale_sentence(paths, SCALE * result.answer.values / before, sensitivity)
    return [*told, scale] if scale else told
