"""A result on the terminal."""

import sys

import xarray
from rich.console import Console

from simengine.report.cautions import caution_text, short_caution
from simengine.report.facts import event_facts
from simengine.report.flight.conclusion import conclusion_sentences
from simengine.report.flight.event_marks import clock
from simengine.report.flight.table import PLAIN_WIDTH, flight_table, outcome_lines


def print_flight(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a flight to standard output; the caution is always part of it.

    Colour only on a terminal, and not with NO_COLOR; piped text is not cut to a terminal's width.
    """
    console = Console(width=None if sys.stdout.isatty() else PLAIN_WIDTH, highlight=False)
    say = Speaker(console)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    for sentence in conclusion_sentences(dataset):
        say.line(
            ("!! " if sentence.warns else "") + sentence.words, style="bold red" if sentence.warns else ""
        )
    if not quiet:
        say.line("")
        for table in flight_table(dataset):
            console.print(table)
        say.lines(outcome_lines(dataset))
        say.block("Limits of the model that were met:", dataset.attrs.get("model_limits", ""))
    if verbose:
        say.block(
            "Events (time, what, ENGINE rpm, blade angle, height):", "\n".join(all_event_lines(dataset))
        )
        say.block("Inputs with origin or uncertainty:", dataset.attrs.get("inputs_marked", ""))
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.block("CAUTION", caution_text()) if verbose else say.lines(["", short_caution()])


class Speaker:
    """Prints lines as they are, without reading markup into them."""

    def __init__(self, console: Console) -> None:
        self.console = console

    def line(self, words: str, style: str = "") -> None:
        """One line."""
        self.console.print(words, style=style, markup=False)

    def lines(self, lines: list[str]) -> None:
        """Several lines."""
        for words in lines:
            self.line(words)

    def block(self, heading: str, text: str) -> None:
        """A heading and lines under it; nothing if there are none."""
        if text:
            self.lines(["", heading, *(f"  {words}" for words in text.splitlines())])


def all_event_lines(dataset: xarray.Dataset) -> list[str]:
    """Every event, one a line."""
    return [
        f"{clock(event.time):>9}  {event.words:<26} {event.engine_rpm:>5.0f} rpm  "
        f"{event.blade_angle:>5.1f}°  {event.height:>5.0f} m  {event.note}".rstrip()
        for event in event_facts(dataset)
    ]


def run_text(dataset: xarray.Dataset) -> str:
    """How the result was computed."""
    attributes = dataset.attrs
    return "\n".join(
        (
            str(attributes.get("source", "")),
            f"{attributes.get('fidelity', '')} fidelity; {attributes.get('solver', '')}",
            f"{attributes.get('solver_steps', 0)} steps, "
            f"{attributes.get('solver_rejected_steps', 0)} rejected, "
            f"relative tolerance {attributes.get('solver_relative_tolerance', 0):g}",
            f"scenario sha256 {attributes.get('simengine_scenario_sha256', '')}",
        )
    )
