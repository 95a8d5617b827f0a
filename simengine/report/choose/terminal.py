"""A choice on the terminal: the answer, the tables, the caution."""

import sys

import xarray
from rich.console import Console

from simengine.report.cautions import caution_text, short_caution
from simengine.report.choose.table import choose_tables, given_up_lines
from simengine.report.choose.text import choose_sentences, per_washer
from simengine.report.flight.table import PLAIN_WIDTH
from simengine.report.flight.terminal import Speaker
from simengine.report.tolerance.terminal import run_words

QUESTION = "Which spring, washers and stops meet the targets in every place?"


def print_choose(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a choice to standard output; the caution is always part of it."""
    console = Console(width=None if sys.stdout.isatty() else PLAIN_WIDTH + 20, highlight=False)
    say = Speaker(console)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.line(QUESTION)
    for sentence in choose_sentences(dataset):
        mark, style = ("!! ", "bold red") if sentence.warns else ("", "")
        say.line(mark + sentence.words, style=style)
    if not quiet:
        say.line("")
        for each in choose_tables(dataset):
            console.print(each)
        say.lines([per_washer(dataset)])
        say.block("What each option gives up:", given_up_lines(dataset))
        say.block("Limits of the model that were met:", str(dataset.attrs.get("model_limits", "")))
    if verbose:
        say.block("Places:", "\n".join(str(name) for name in dataset["place"].values))
        say.block("Defaults used:", str(dataset.attrs.get("defaults_used", "")))
        say.block("Run:", run_words(dataset))
    say.block("CAUTION", caution_text()) if verbose else say.lines(["", short_caution()])
