"""Tables and words that only the page shows: the events of a flight, the lines of a test card."""

from itertools import groupby
from string import ascii_lowercase

import xarray
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from simengine.report.calibrate.card_page import card_lines
from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.event_marks import clock, marked_events
from simengine.report.flight.facts import event_facts
from simengine.report.flight.table import figure


def new_table(title: str, headings: list[tuple[str, bool]]) -> Table:
    """An empty table; true where a column holds numbers."""
    table = Table(title=escape(title))
    for heading, number_column in headings:
        table.add_column(escape(heading), justify="right" if number_column else "left")
    return table


def event_table(dataset: xarray.Dataset) -> Table:
    """Every event; those that the picture marks with their letter."""
    events = event_facts(dataset)
    marked, _ = marked_events(events)
    letters = {id_of(event): letter for event, letter in zip(marked, ascii_lowercase, strict=False)}
    headings = [("event", False), ("mark", False), ("time, min:s", True), ("ENGINE rpm", True)]
    headings += [("blade angle, °", True), ("height, m", True), ("more", False)]
    table = new_table("Events; the letters are those in the picture", headings)
    for event in events:
        table.add_row(
            event.words,
            letters.get(id_of(event), ""),
            clock(event.time),
            figure(event.engine_rpm),
            figure(event.blade_angle, ".1f"),
            figure(event.height),
            escape(event.note),
        )
    return table


def id_of(event: object) -> str:
    """Something that two different events do not share."""
    return repr(event)


def card_tables(dataset: xarray.Dataset) -> list[Table]:
    """One table a stage, with an empty column for what is read."""
    tables = []
    for stage, lines in groupby(card_lines(dataset), lambda line: line.stage):
        headings = [("what", False), ("look at", False), ("expected ± 95 %", True)]
        table = new_table(stage, [*headings, ("what you read", False)])
        for line in lines:
            words = f"{line.words}{', ' + line.action if line.action else ''}"
            expected = Text(f"{line.value} {line.band}".rstrip(), style="bold red" if line.warns else "")
            table.add_row(escape(words), escape(line.look), expected, "")
        tables.append(table)
    return tables


def card_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """How to use the card, and what on it does not happen."""
    lines = card_lines(dataset)
    absent = [f"{line.words} ({line.stage})" for line in lines if not line.band]
    told = [
        Sentence(f"Never above {number(dataset, 'engine_rpm_limit'):.0f} ENGINE rpm.", True),
        Sentence(
            f"{len(lines)} figures to look for, from safe to risky. Go on only if the stage before came out "
            "inside its bands; if a light is not as told here: throttle to idle, stop or land, find out why."
        ),
    ]
    if absent:
        told.append(Sentence(f"Expected NOT to happen: {'; '.join(absent)}.", True))
    return told
