"""An envelope on the terminal: the answer, the tables, the balances, the caution."""

import xarray

from simengine.report.envelope.facts import own
from simengine.report.envelope.table import envelope_tables
from simengine.report.envelope.text import envelope_sentences
from simengine.report.facts import moves_by_itself
from simengine.report.terminal import Speaker

QUESTION = "Does the shift finish below the full-throttle rpm at every height?"


def print_envelope(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print an envelope to standard output; the caution is always part of it."""
    say = Speaker()
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    if moves_by_itself(dataset):
        say.line(QUESTION)
    say.sentences(envelope_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(envelope_tables(dataset))
        say.block("The shift ceiling in words:", ceiling_text(dataset))
        say.block("Balances of rotor and blades:", dataset.attrs.get("balances", ""))
        say.block("Limits of the model that were met:", dataset.attrs.get("model_limits", ""))
    if verbose:
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.caution(verbose=verbose)


def ceiling_text(dataset: xarray.Dataset) -> str:
    """The own machine's ceiling with its reason; nothing for a hub without a shift of its own."""
    point = own(dataset)
    return f"{point.place}: {point.words('shift_ceiling_words')}" if moves_by_itself(dataset) else ""


def run_text(dataset: xarray.Dataset) -> str:
    """How the result was computed."""
    attributes = dataset.attrs
    names = ("source", "solver", "history")
    told = [str(attributes[name]) for name in names if name in attributes]
    return "\n".join([*told, f"scenario sha256 {attributes.get('simengine_scenario_sha256', '')}"])
