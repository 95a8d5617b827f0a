"""A calibration as tables for the terminal."""

import xarray
from rich.table import Table

from simengine.report.calibrate.facts import (
    candidate_facts,
    chosen,
    figure,
    parameter_facts,
    question_facts,
    reading_facts,
    with_band,
)
from simengine.report.envelope.table import table_of

CANDIDATES_TOLD = 12


def calibration_tables(dataset: xarray.Dataset) -> list[Table]:
    """Inputs, readings, questions, and what to measure next."""
    return [parameters_table(dataset), readings_table(dataset), questions_table(dataset), next_table(dataset)]


def parameters_table(dataset: xarray.Dataset) -> Table:
    """Every input before and after."""
    items = parameter_facts(dataset)
    return table_of(
        "Inputs (± and interval hold 95 %)",
        [
            ("input", lambda row: items[row].words),
            ("before", lambda row: with_band(items[row].before, items[row].band_before)),
            ("fitted", lambda row: with_band(items[row].value, items[row].band)),
            (
                "profile",
                lambda row: (
                    f"{figure(items[row].low, items[row].band)} to {figure(items[row].high, items[row].band)}"
                ),
            ),
            ("unit", lambda row: items[row].unit),
            ("", lambda row: "narrowed" if items[row].narrowed else "as before"),
            ("± before", lambda row: "usual" if items[row].usual else "typed"),
        ],
        range(len(items)),
        words_from=4,
    )


def readings_table(dataset: xarray.Dataset) -> Table:
    """Every reading against the fit."""
    items = reading_facts(dataset)

    def use(row: int) -> str:
        if items[row].set_aside:
            return "CONTRADICTS, set aside"
        if items[row].suspect:
            return "fitted, or it is the wrong one"
        return ("held out" + ("" if items[row].inside else ", OUTSIDE")) if items[row].held else "fitted"

    return table_of(
        "Readings (rpm is ENGINE rpm; residual in deviations: own, and against the fit of all others)",
        [
            ("reading", lambda row: items[row].name),
            ("read", lambda row: with_band(items[row].value, items[row].band)),
            ("before", lambda row: figure(items[row].before, items[row].band)),
            ("fitted model", lambda row: with_band(items[row].predicted, items[row].predicted_band)),
            ("residual", lambda row: f"{items[row].residual:+.1f}"),
            ("vs others", lambda row: f"{items[row].deleted:+.1f}"),
            ("unit", lambda row: items[row].unit),
            ("use", use),
        ],
        range(len(items)),
        words_from=6,
    )


def questions_table(dataset: xarray.Dataset) -> Table:
    """What the fitted machine does."""
    items = question_facts(dataset)
    return table_of(
        "Questions to the fitted machine (bands hold 95 %)",
        [
            ("question", lambda row: f"{items[row].words} ({items[row].name})"),
            ("answer", lambda row: with_band(items[row].value, items[row].band)),
            ("± before", lambda row: figure(items[row].band_before, items[row].band_before)),
            ("unit", lambda row: items[row].unit),
        ],
        range(len(items)),
        words_from=3,
    )


def next_table(dataset: xarray.Dataset) -> Table:
    """Readings to come, ranked for the chosen question."""
    items = candidate_facts(dataset)[:CANDIDATES_TOLD]
    question = chosen(dataset)
    return table_of(
        f"What to measure next to know {question.words} better (now ± "
        f"{figure(question.band, question.band)} {question.unit})",
        [
            ("reading", lambda row: items[row].name),
            ("cost", lambda row: items[row].cost),
            ("usual ±", lambda row: f"{items[row].band:.3g} {items[row].unit}"),
            ("expect", lambda row: figure(items[row].expected, items[row].band)),
            (
                "leaves ±",
                lambda row: figure(items[row].share * question.band, items[row].share * question.band),
            ),
            ("of now", lambda row: f"{100 * items[row].share:.0f} %"),
        ],
        range(len(items)),
    )
