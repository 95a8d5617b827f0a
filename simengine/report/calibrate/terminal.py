"""A calibration on the terminal."""

import xarray

from simengine.report.calibrate.table import calibration_tables
from simengine.report.calibrate.text import calibration_sentences
from simengine.report.flight.terminal import run_text
from simengine.report.terminal import Speaker

WIDTH = 132  # columns, where no terminal says otherwise


def print_calibration(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a calibration to standard output; the caution is always part of it."""
    say = Speaker(WIDTH)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.sentences(calibration_sentences(dataset))
    if not quiet:
        say.block("What these readings can tell apart:", str(dataset.attrs.get("identifiability", "")))
        say.line("")
        say.tables(calibration_tables(dataset))
        say.block("In the logs:", str(dataset.attrs.get("log_oddities", "")))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.caution(verbose=verbose)
