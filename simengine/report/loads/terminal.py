"""Load figures on the terminal: answer, tables, what was not checked, cautions; these last two always."""

import xarray

from simengine.report.flight.terminal import run_text
from simengine.report.loads.table import loads_tables, spring_lines
from simengine.report.loads.text import loads_sentences, not_checked_lines, yardstick_lines
from simengine.report.terminal import Speaker


def print_loads(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print load figures; what was not checked and the cautions are part of them, `quiet` or not."""
    say = Speaker()
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.sentences(loads_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(loads_tables(dataset))
        say.block("Spring:", spring_lines(dataset))
        say.block("Yardsticks:", "\n".join(yardstick_lines(dataset)))
    say.block("NOT CHECKED, in none of these figures:", "\n".join(not_checked_lines(dataset)))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.caution(verbose=not quiet)
