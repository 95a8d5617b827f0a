"""What a calibration says, row by row, as plain numbers and words for the reports."""

from dataclasses import dataclass
from math import isfinite

import numpy as np
import xarray

from simengine.studies.calibrate.fit import CONTRADICTION


@dataclass(frozen=True)
class ReadingFacts:
    """One reading against the fitted model; numbers in `unit`.

    `deleted` is the reading against the fit of all others, in deviations of the difference.
    """

    name: str
    kind: str
    unit: str
    phase: str
    file: str
    row: int
    value: float
    band: float
    before: float
    predicted: float
    predicted_band: float
    residual: float
    deleted: float
    height: float
    held: bool
    set_aside: bool
    suspect: bool
    usual: bool
    note: str

    @property
    def inside(self) -> bool:
        """Whether it lies in the band that the other readings leave for it."""
        return abs(self.value - self.predicted) <= float(np.hypot(self.band, self.predicted_band))

    @property
    def contradicts(self) -> bool:
        """Whether it and the fit exclude each other."""
        return self.set_aside or (self.held and abs(self.deleted) > CONTRADICTION)


@dataclass(frozen=True)
class ParameterFacts:
    """One input before and after; numbers in `unit`."""

    path: str
    words: str
    unit: str
    before: float
    band_before: float
    value: float
    band: float
    low: float
    high: float
    usual: bool
    narrowed: bool


@dataclass(frozen=True)
class CandidateFacts:
    """One reading to come; `share` is the question's band after it over that of now."""

    name: str
    cost: str
    unit: str
    expected: float
    band: float
    share: float


@dataclass(frozen=True)
class QuestionFacts:
    """One answer; numbers in `unit`."""

    name: str
    words: str
    unit: str
    value: float
    band_before: float
    band: float


def reading_facts(dataset: xarray.Dataset) -> list[ReadingFacts]:
    """Every reading, in the order of the files."""
    found = []
    for place in range(dataset.sizes["reading"]):
        row = dataset.isel(reading=place)

        def text(name: str, row: xarray.Dataset = row) -> str:
            return str(row[name].values)

        def number(name: str, row: xarray.Dataset = row) -> float:
            return float(row[name].values)

        found.append(
            ReadingFacts(
                name=text("reading"),
                kind=text("reading_kind"),
                unit=text("reading_units"),
                phase=text("reading_phase"),
                file=text("reading_file"),
                row=int(number("reading_row")),
                value=number("reading_value"),
                band=number("reading_band"),
                before=number("reading_before"),
                predicted=number("reading_predicted"),
                predicted_band=number("reading_predicted_band"),
                residual=number("reading_residual"),
                deleted=number("reading_deleted_residual"),
                height=number("reading_height"),
                held=bool(number("reading_held")),
                set_aside=bool(number("reading_set_aside")),
                suspect=bool(number("reading_suspect")),
                usual=bool(number("reading_band_usual")),
                note=text("reading_note"),
            )
        )
    return found


def parameter_facts(dataset: xarray.Dataset) -> list[ParameterFacts]:
    """Every fitted input."""
    return [
        ParameterFacts(
            path=str(row["parameter"].values),
            words=str(row["parameter_words"].values),
            unit=str(row["parameter_units"].values),
            before=float(row["parameter_before"]),
            band_before=float(row["parameter_band_before"]),
            value=float(row["parameter_value"]),
            band=float(row["parameter_band"]),
            low=float(row["parameter_low"]),
            high=float(row["parameter_high"]),
            usual=bool(int(row["parameter_band_usual"])),
            narrowed=bool(int(row["parameter_narrowed"])),
        )
        for row in (dataset.isel(parameter=place) for place in range(dataset.sizes["parameter"]))
    ]


def question_facts(dataset: xarray.Dataset) -> list[QuestionFacts]:
    """Every question."""
    return [
        QuestionFacts(
            name=str(row["question"].values),
            words=str(row["question_words"].values),
            unit=str(row["question_units"].values),
            value=float(row["question_value"]),
            band_before=float(row["question_band_before"]),
            band=float(row["question_band"]),
        )
        for row in (dataset.isel(question=place) for place in range(dataset.sizes["question"]))
    ]


def chosen(dataset: xarray.Dataset) -> QuestionFacts:
    """The question that the next measurement is chosen for."""
    name = str(dataset.attrs["chosen_question"])
    return next(question for question in question_facts(dataset) if question.name == name)


def candidate_facts(dataset: xarray.Dataset) -> list[CandidateFacts]:
    """Readings to come, the most helpful for the chosen question first; nothing if it has no answer."""
    shares = dataset["band_share"].sel(question=str(dataset.attrs["chosen_question"]))
    found = [
        CandidateFacts(
            name=str(row["candidate"].values),
            cost=str(row["candidate_cost"].values),
            unit=str(row["candidate_units"].values),
            expected=float(row["candidate_expected"]),
            band=float(row["candidate_reading_band"]),
            share=float(shares[place]),
        )
        for place, row in enumerate(dataset.isel(candidate=i) for i in range(dataset.sizes["candidate"]))
    ]
    return sorted((item for item in found if isfinite(item.share)), key=lambda item: item.share)


def figure(value: float, band: float = float("nan")) -> str:
    """A number to the digit that its band leaves meaning to."""
    if not isfinite(value):
        return "–"
    size = band if isfinite(band) and band > 0.0 else 0.01 * abs(value)
    digits = 0 if size <= 0.0 else max(0, 1 - int(np.floor(np.log10(size))))
    return f"{value:.{min(digits, 6)}f}"


def with_band(value: float, band: float) -> str:
    """`12.3 ± 0.4`."""
    return f"{figure(value, band)} ± {figure(band, band)}" if isfinite(value) else "–"
