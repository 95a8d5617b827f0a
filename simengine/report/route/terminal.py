"""A route on the terminal: the answer, the tables, the caution."""

import xarray

from simengine.report.envelope.terminal import run_text
from simengine.report.route.table import route_tables
from simengine.report.route.text import route_sentences
from simengine.report.terminal import Speaker

WIDE = 160  # the tables of a route are wider than those of a flight


def print_route(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a route to standard output; the caution is always part of it."""
    say = Speaker(WIDE)
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.sentences(route_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(route_tables(dataset))
        say.block("The rule of the comparison:", dataset.attrs["comparison_rule"])
        say.block("On the legs:", notes_text(dataset))
        say.block("Limits of the model that were met:", dataset.attrs.get("model_limits", ""))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.caution(verbose=verbose)


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
