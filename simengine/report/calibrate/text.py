"""A calibration in words."""

from math import isfinite, isnan

import xarray

from simengine.report.calibrate.facts import (
    CandidateFacts,
    ReadingFacts,
    candidate_facts,
    chosen,
    parameter_facts,
    reading_facts,
    with_band,
)
from simengine.report.flight.conclusion import Sentence
from simengine.studies.calibrate.fit import CONTRADICTION

COSTS = ("bench", "ground run", "flight")
WORTH_TELLING = 0.97  # a reading that leaves the band above this share is not recommended
PROMISED = 0.95  # share of bands that hold the truth
POOR_FIT = 2.0  # mean squared residual above which the model does not follow the readings


def calibration_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """What was found, what contradicts, what was predicted, what to measure next."""
    readings = reading_facts(dataset)
    return [
        fit_sentence(dataset, readings),
        *contradiction_sentences(readings),
        *held_sentences(readings),
        question_sentence(dataset),
        *coverage_sentences(dataset),
        *next_sentences(dataset),
    ]


def calibration_conclusion(dataset: xarray.Dataset) -> str:
    """The same as one text."""
    return " ".join(sentence.words for sentence in calibration_sentences(dataset))


def fit_sentence(dataset: xarray.Dataset, readings: list[ReadingFacts]) -> Sentence:
    """What the fit rests on and what it gave."""
    count = int(dataset["readings_fitted"])
    chi = float(dataset["chi_squared"])
    narrowed = [item for item in parameter_facts(dataset) if item.narrowed]
    told = "; ".join(
        f"{item.words} {with_band(item.value, item.band)} {item.unit}".rstrip() for item in narrowed
    )
    poor = count > 0 and chi > POOR_FIT * count
    tail = (
        " The model does not follow these readings within their bands: look at the residuals." if poor else ""
    )
    plural = "s" if count != 1 else ""
    return Sentence(f"Fitted to {count} reading{plural}: {told or 'nothing was narrowed'}.{tail}", poor)


def contradiction_sentences(readings: list[ReadingFacts]) -> list[Sentence]:
    """Readings that were set aside because they exclude the others."""
    suspects = ", ".join(item.name for item in readings if item.suspect)
    instead = f" The wrong one may be another instead: {suspects}." if suspects else ""
    return [
        Sentence(
            f"CONTRADICTION: {item.name} reads {with_band(item.value, item.band)} {item.unit}, the scenario "
            f"and the other readings say {with_band(item.predicted, item.predicted_band)} {item.unit}: "
            f"{abs(item.deleted):.1f} deviations apart (limit {CONTRADICTION:.0f}). It was set aside, not "
            f"averaged in: read it again, or the model misses something.{instead}",
            True,
        )
        for item in readings
        if item.set_aside
    ]


def held_sentences(readings: list[ReadingFacts]) -> list[Sentence]:
    """Readings that were predicted, not fitted."""
    held = [item for item in readings if item.held]
    if not held:
        return []
    inside = sum(item.inside for item in held)
    outside = [item for item in held if not item.inside]
    words = f"Held out and predicted: {inside} of {len(held)} inside their 95 % band"
    told = "; ".join(
        f"{item.name} reads {with_band(item.value, item.band)} {item.unit}, predicted "
        f"{with_band(item.predicted, item.predicted_band)}"
        for item in outside
    )
    return [Sentence(f"{words}{'; outside: ' + told if told else ''}.", bool(outside))]


def question_sentence(dataset: xarray.Dataset) -> Sentence:
    """The chosen question before and after."""
    question = chosen(dataset)
    if isnan(question.value):
        return Sentence(
            f"{question.words}: no number for this machine (none up to 8000 m, or it does not happen)."
        )
    return Sentence(
        f"{question.words}: {with_band(question.value, question.band)} {question.unit} (95 %; before the fit "
        f"± {with_band(question.band_before, question.band_before).split(' ')[0]} {question.unit})."
    )


def coverage_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Whether the bands hold what they promise, where the fit was repeated on made-up readings."""
    if "coverage" not in dataset:
        return []
    repeats, share, low, high = (
        float(dataset[name]) for name in ("coverage_repeats", "coverage", "coverage_low", "coverage_high")
    )
    shares = dataset["parameter_coverage"].values
    place = int(shares.argmin())
    ends = [100.0 * float(dataset[f"parameter_coverage_{end}"].values[place]) for end in ("low", "high")]
    name = dataset["parameter_words"].values[place]
    words = (
        f"Repeated {repeats:.0f} times on made-up readings around the fit: {100.0 * share:.1f} % of the 95 % "
        f"bands hold the truth (95 % binomial band {100.0 * low:.1f} to {100.0 * high:.1f} %), least often "
        f"that of {name}, {100.0 * shares[place]:.1f} % ({ends[0]:.1f} to {ends[1]:.1f} %)"
    )
    if high < PROMISED:
        return [Sentence(f"{words}. The bands promise too much.", True)]
    if low > PROMISED:
        return [Sentence(f"{words}. The bands are on the wide side.")]
    return [Sentence(f"{words}. Together they hold what they promise.")]


def next_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The most telling reading of each cost class, cheapest first."""
    ranked = candidate_facts(dataset)
    question = chosen(dataset)
    best = [next((item for item in ranked if item.cost == cost), None) for cost in COSTS]
    worth = [item for item in best if item is not None and item.share < WORTH_TELLING]
    if not worth:
        return []
    told = "; ".join(next_words(item, question.band, question.unit) for item in worth)
    return [Sentence(f"To know {question.words} better, measure next (cheapest first): {told}.")]


def next_words(item: CandidateFacts, band: float, unit: str) -> str:
    """One reading and what it leaves of the band."""
    left = with_band(item.share * band, item.share * band).split(" ")[0]
    return f"{item.cost}: {item.name} (± {item.band:.3g} {item.unit}) leaves ± {left} {unit}"


def failed(dataset: xarray.Dataset) -> bool:
    """Whether a reading, fitted or held, and the model exclude each other."""
    return any(item.contradicts for item in reading_facts(dataset) if isfinite(item.deleted))
