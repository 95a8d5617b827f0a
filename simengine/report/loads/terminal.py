"""Load figures on the terminal: answer, tables, what was not checked, cautions; these last two always."""

import sys

import xarray
from rich.console import Console

from simengine.report.cautions import caution_text, short_caution
from simengine.report.flight.table import PLAIN_WIDTH
from simengine.report.flight.terminal import Speaker, run_text
from simengine.report.loads.table import loads_tables, spring_lines
from simengine.report.loads.text import loads_sentences, not_checked_lines, yardstick_lines


def print_loads(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print load figures; what was not checked and the cautions are part of them, `quiet` or not."""
    console = Console(width=None if sys.stdout.isatty() else PLAIN_WIDTH, highlight=False)
    say = Speaker(console)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    for sentence in loads_sentences(dataset):
        mark, style = ("!! ", "bold red") if sentence.warns else ("", "")
        say.line(mark + sentence.words, style=style)
    if not quiet:
        say.line("")
        for table in loads_tables(dataset):
            console.print(table)
        say.block("Spring:", spring_lines(dataset))
        say.block("Yardsticks:", "\n".join(yardstick_lines(dataset)))
    say.block("NOT CHECKED, in none of these figures:", "\n".join(not_checked_lines(dataset)))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.lines(["", short_caution()]) if quiet else say.block("CAUTION", caution_text())
