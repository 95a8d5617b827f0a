"""A calibration on the terminal."""

import sys

import xarray
from rich.console import Console

from simengine.report.calibrate.table import calibration_tables
from simengine.report.calibrate.text import calibration_sentences
from simengine.report.cautions import caution_text, short_caution
from simengine.report.flight.terminal import Speaker, run_text

WIDTH = 132  # columns, where no terminal says otherwise


def print_calibration(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a calibration to standard output; the caution is always part of it."""
    console = Console(width=None if sys.stdout.isatty() else WIDTH, highlight=False)
    say = Speaker(console)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    for sentence in calibration_sentences(dataset):
        mark, style = ("!! ", "bold red") if sentence.warns else ("", "")
        say.line(mark + sentence.words, style=style)
    if not quiet:
        say.block("What these readings can tell apart:", str(dataset.attrs.get("identifiability", "")))
        say.line("")
        for table in calibration_tables(dataset):
            console.print(table)
        say.block("In the logs:", str(dataset.attrs.get("log_oddities", "")))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.block("CAUTION", caution_text()) if verbose else say.lines(["", short_caution()])
