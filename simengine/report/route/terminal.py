"""A route on the terminal: the answer, the tables, the caution."""

import sys

import xarray
from rich.console import Console

from simengine.report.cautions import caution_text, short_caution
from simengine.report.envelope.terminal import run_text
from simengine.report.flight.table import PLAIN_WIDTH
from simengine.report.flight.terminal import Speaker
from simengine.report.route.table import route_tables
from simengine.report.route.text import route_sentences

WIDE = 160  # the tables of a route are wider than those of a flight


def print_route(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a route to standard output; the caution is always part of it."""
    console = Console(width=None if sys.stdout.isatty() else max(PLAIN_WIDTH, WIDE), highlight=False)
    say = Speaker(console)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    for sentence in route_sentences(dataset):
        mark, style = ("!! ", "bold red") if sentence.warns else ("", "")
        say.line(mark + sentence.words, style=style)
    if not quiet:
        say.line("")
        for table in route_tables(dataset):
            console.print(table)
        say.block("The rule of the comparison:", dataset.attrs["comparison_rule"])
        say.block("On the legs:", notes_text(dataset))
        say.block("Limits of the model that were met:", dataset.attrs.get("model_limits", ""))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.block("CAUTION", caution_text()) if verbose else say.lines(["", short_caution()])


def notes_text(dataset: xarray.Dataset) -> str:
    """Problems and notes of every hub on every leg, one a line."""
    told = []
    for row, hub in enumerate(dataset["hub"].values):
        for column, leg in enumerate(dataset["leg"].values):
            for name in ("problems", "notes"):
                words = str(dataset[name].values[row, column])
                if words:
                    told.append(f"{hub}, {leg}: {words}")
    return "\n".join(told)
