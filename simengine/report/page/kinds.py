"""What a page says of each kind of result: one entry a kind, made of what the commands already tell."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import xarray
from rich.table import Table

from simengine.report.calibrate.pictures import calibration_drawers
from simengine.report.calibrate.table import calibration_tables
from simengine.report.calibrate.text import calibration_sentences
from simengine.report.choose.pictures import choose_drawers
from simengine.report.choose.table import choose_tables, given_up_lines
from simengine.report.choose.terminal import QUESTION as CHOOSE_QUESTION
from simengine.report.choose.text import choose_sentences, per_washer
from simengine.report.compare.pictures import COMPARE_DRAWERS
from simengine.report.compare.table import event_tables, figure_tables
from simengine.report.compare.terminal import LEGEND, case_text
from simengine.report.compare.text import change_lines, compare_sentences, overall
from simengine.report.envelope.pictures import envelope_drawers
from simengine.report.envelope.table import envelope_tables
from simengine.report.envelope.terminal import QUESTION as ENVELOPE_QUESTION
from simengine.report.envelope.terminal import ceiling_text
from simengine.report.envelope.text import envelope_sentences
from simengine.report.facts import moves_by_itself
from simengine.report.flight.conclusion import Sentence, conclusion_sentences
from simengine.report.flight.table import flight_table, outcome_lines
from simengine.report.loads.pictures import loads_drawers
from simengine.report.loads.table import loads_tables, spring_lines
from simengine.report.loads.text import loads_sentences, yardstick_lines
from simengine.report.outputs import Drawers
from simengine.report.page.own_tables import card_sentences, card_tables, event_table
from simengine.report.route.pictures import route_drawers
from simengine.report.route.table import beside_table, flown_table, hubs_table, inputs_table, plan_table
from simengine.report.route.terminal import notes_text
from simengine.report.route.text import route_sentences
from simengine.report.tolerance.pictures import tolerance_drawers
from simengine.report.tolerance.table import tolerance_tables
from simengine.report.tolerance.terminal import QUESTION as TOLERANCE_QUESTION
from simengine.report.tolerance.text import measured, tolerance_sentences
from simengine.results import (
    calibration_catalogue,
    card_catalogue,
    catalogue,
    choose_catalogue,
    compare_catalogue,
    envelope_catalogue,
    loads_catalogue,
    route_catalogue,
    tolerance_catalogue,
)
from simengine.results.catalogue import Variable

Names = tuple[str, ...]
Tables = Callable[[xarray.Dataset], list[Table]]
Blocks = list[tuple[str, object]]


@dataclass(frozen=True)
class Kind:
    """What a page says of one kind of result.

    Attributes
    ----------
    command, name : str
        The command that writes it; its name in words.
    question, sentences : callable
        The question that it answers, and the answer.
    shown, more : callable
        Tables to be read, and tables to look things up in.
    drawers : callable
        Pictures on sheets by name; that of a flight is drawn apart.
    words : callable
        More that is told in words: heading and text.
    needed : tuple of str
        Variables without which none of this can be told.
    """

    command: str
    name: str
    question: Callable[[xarray.Dataset], str]
    sentences: Callable[[xarray.Dataset], list[Sentence]]
    shown: Tables
    more: Tables
    drawers: Callable[[xarray.Dataset], Drawers]
    words: Callable[[xarray.Dataset], Blocks]
    needed: Names


def asking(question: str) -> Callable[[xarray.Dataset], str]:
    """The same question of every result of a kind."""
    return lambda dataset: question


def names_of(variables: Iterable[Variable]) -> Names:
    """Names of variables."""
    return tuple(variable.name for variable in variables)


def names_in(tables: Iterable[tuple[tuple[str, ...], Iterable[Variable]]]) -> Names:
    """Names of all variables of a catalogue's tables."""
    return tuple(variable.name for _, own in tables for variable in own)


def told(dataset: xarray.Dataset, name: str) -> str:
    """An attribute in words; nothing if there is none."""
    return str(dataset.attrs.get(name, ""))


def flight_question(dataset: xarray.Dataset) -> str:
    """What is asked of a flight."""
    if moves_by_itself(dataset):
        return "When do the blades shift in this flight, with what margin, and what fuel does it use?"
    return "Which rpm does the engine reach in this flight, and what fuel does it use?"


def parted(tables: Tables, count: int) -> tuple[Tables, Tables]:
    """The first tables apart from the others."""
    return (lambda dataset: tables(dataset)[:count]), (lambda dataset: tables(dataset)[count:])


def none(dataset: xarray.Dataset) -> list[Table]:
    """No table."""
    return []


def envelope_question(dataset: xarray.Dataset) -> str:
    """What is asked of an envelope."""
    return ENVELOPE_QUESTION if moves_by_itself(dataset) else "Which rpm and climb are left with height?"


def no_drawers(dataset: xarray.Dataset) -> Drawers:
    """No picture on a sheet."""
    return {}


def envelope_words(dataset: xarray.Dataset) -> Blocks:
    """What an envelope tells beside its tables."""
    return [
        ("The shift ceiling in words", ceiling_text(dataset)),
        ("Balances of rotor and blades", told(dataset, "balances")),
    ]


def compare_tables(dataset: xarray.Dataset) -> list[Table]:
    """Figures by phase, then events."""
    return [*figure_tables(dataset), *event_tables(dataset)]


def compare_words(dataset: xarray.Dataset) -> Blocks:
    """What was compared and how."""
    return [
        ("What was changed", "\n".join(change_lines(dataset))),
        ("Signs in the tables", LEGEND),
        ("How it was compared", f"{told(dataset, 'alignment')}\n{told(dataset, 'sameness')}"),
        ("Cases", case_text(dataset)),
    ]


def route_more(dataset: xarray.Dataset) -> list[Table]:
    """The plan, what stands beside the fuel, and whose uncertainty it is if draws were made."""
    drawn = np.isfinite(dataset["variance_share"].values).any()
    return [plan_table(dataset), beside_table(dataset), *([inputs_table(dataset)] if drawn else [])]


def route_words(dataset: xarray.Dataset) -> Blocks:
    """The rule of the comparison and what there is to say on legs."""
    return [
        ("The rule of the comparison", told(dataset, "comparison_rule")),
        ("On the legs", notes_text(dataset)),
    ]


def calibration_words(dataset: xarray.Dataset) -> Blocks:
    """What the readings can tell apart."""
    return [
        ("What these readings can tell apart", told(dataset, "identifiability")),
        ("In the logs", told(dataset, "log_oddities")),
    ]


def card_words(dataset: xarray.Dataset) -> Blocks:
    """What the bands are made of."""
    return [("The bands", told(dataset, "band_basis"))]


def choose_words(dataset: xarray.Dataset) -> Blocks:
    """What each option gives up."""
    return [
        ("One washer", per_washer(dataset)),
        ("What each option gives up", given_up_lines(dataset)),
        ("Places", "\n".join(str(name) for name in dataset["place"].values)),
    ]


def tolerance_question(dataset: xarray.Dataset) -> str:
    """What is asked of drawn and of measured hubs."""
    return "Do the measured hubs shift within the limits?" if measured(dataset) else TOLERANCE_QUESTION


def tolerance_words(dataset: xarray.Dataset) -> Blocks:
    """What was taken and what was left out."""
    usual = "usual, no source" in dataset["input_origin"].values
    return [
        (
            "Tolerances marked 'usual'",
            "those of small-series parts, common practice, no source" if usual else "",
        ),
        ("Not varied, though given with +- (no matter of the hub)", told(dataset, "left_out")),
    ]


def loads_words(dataset: xarray.Dataset) -> Blocks:
    """Spring and yardsticks."""
    return [("Spring", spring_lines(dataset)), ("Yardsticks", "\n".join(yardstick_lines(dataset)))]


FLIGHT = ""  # a flight is no study
KINDS: Mapping[str, Kind] = {
    FLIGHT: Kind(
        "fly",
        "Flight",
        flight_question,
        conclusion_sentences,
        flight_table,
        lambda dataset: [event_table(dataset)],
        no_drawers,
        lambda dataset: [("How each phase ended", "\n".join(outcome_lines(dataset)))],
        names_of(catalogue.all_variables()),
    ),
    "envelope": Kind(
        "envelope",
        "Envelope",
        envelope_question,
        envelope_sentences,
        *parted(envelope_tables, 1),
        envelope_drawers,
        envelope_words,
        names_of(envelope_catalogue.all_envelope_variables()),
    ),
    compare_catalogue.STUDY_NAME: Kind(
        "compare",
        "Comparison",
        asking("What differs between these machines on one flight, and what got better or worse?"),
        lambda dataset: [overall(dataset), *compare_sentences(dataset)],
        *parted(compare_tables, 1),
        lambda dataset: COMPARE_DRAWERS,
        compare_words,
        names_of((*compare_catalogue.CASE_TEXTS, *compare_catalogue.FIGURES, *compare_catalogue.CHANGES)),
    ),
    "route": Kind(
        "route",
        "Route",
        asking("What fuel and time does this route take, and is the saving larger than its uncertainty?"),
        route_sentences,
        lambda dataset: [hubs_table(dataset), flown_table(dataset)],
        route_more,
        route_drawers,
        route_words,
        names_of(route_catalogue.all_route_variables()),
    ),
    "calibrate": Kind(
        "calibrate",
        "Calibration",
        asking("What do the readings say about this machine, and what should be measured next?"),
        calibration_sentences,
        *parted(calibration_tables, 1),
        calibration_drawers,
        calibration_words,
        names_in(calibration_catalogue.TABLES),
    ),
    "card": Kind(
        "card",
        "Test card",
        asking("What should the next test show?"),
        card_sentences,
        card_tables,
        none,
        no_drawers,
        card_words,
        names_in(card_catalogue.TABLES),
    ),
    "choose": Kind(
        "choose",
        "Choice",
        asking(CHOOSE_QUESTION),
        choose_sentences,
        *parted(choose_tables, 2),
        choose_drawers,
        choose_words,
        names_in(choose_catalogue.TABLES),
    ),
    "tolerance": Kind(
        "tolerance",
        "Batch of hubs",
        tolerance_question,
        tolerance_sentences,
        *parted(tolerance_tables, 1),
        tolerance_drawers,
        tolerance_words,
        names_in(tolerance_catalogue.TABLES),
    ),
    "loads": Kind(
        "loads",
        "Loads and failures",
        asking(
            "What do blade, stop and spring carry, what comes near a resonance, what if something breaks?"
        ),
        loads_sentences,
        *parted(loads_tables, 1),
        loads_drawers,
        loads_words,
        names_of(loads_catalogue.all_loads_variables()),
    ),
}
