"""A choice on the terminal: the answer, the tables, the caution."""

import xarray

from simengine.report.choose.table import choose_tables, given_up_lines
from simengine.report.choose.text import choose_sentences, per_washer
from simengine.report.terminal import PLAIN_WIDTH, Speaker
from simengine.report.tolerance.terminal import run_words

QUESTION = "Which spring, washers and stops meet the targets in every place?"


def print_choose(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a choice to standard output; the caution is always part of it."""
    say = Speaker(PLAIN_WIDTH + 20)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.line(QUESTION)
    say.sentences(choose_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(choose_tables(dataset))
        say.lines([per_washer(dataset)])
        say.block("What each option gives up:", given_up_lines(dataset))
        say.block("Limits of the model that were met:", str(dataset.attrs.get("model_limits", "")))
    if verbose:
        say.block("Places:", "\n".join(str(name) for name in dataset["place"].values))
        say.block("Defaults used:", str(dataset.attrs.get("defaults_used", "")))
        say.block("Run:", run_words(dataset))
    say.caution(verbose=verbose)
