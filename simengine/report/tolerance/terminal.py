"""A tolerance study on the terminal: the answer, the tables, the caution."""

import xarray

from simengine.report.terminal import Speaker
from simengine.report.tolerance.table import tolerance_tables
from simengine.report.tolerance.text import measured, tolerance_sentences

QUESTION = "Of the hubs built to this drawing, how many shift within the limits?"


def print_tolerance(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a study to standard output; the caution is always part of it."""
    say = Speaker()
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.line("Do the measured hubs shift within the limits?" if measured(dataset) else QUESTION)
    say.sentences(tolerance_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(tolerance_tables(dataset))
        if "usual, no source" in dataset["input_origin"].values:
            say.line("usual: tolerances of small-series parts, common practice, no source")
        say.block(
            "Not varied, though given with +- (no matter of the hub):", str(dataset.attrs.get("left_out", ""))
        )
        say.block("Limits of the model that were met:", str(dataset.attrs.get("model_limits", "")))
    if verbose:
        say.block("Defaults used:", str(dataset.attrs.get("defaults_used", "")))
        say.block("Run:", run_words(dataset))
    say.caution(verbose=verbose)


def run_words(dataset: xarray.Dataset) -> str:
    """How the result was computed."""
    attributes = dataset.attrs
    told = [str(attributes[name]) for name in ("source", "solver", "history") if name in attributes]
    digest = attributes.get("simengine_scenario_sha256", "")
    return "\n".join([*told, f"seed {attributes.get('seed', '')}", f"scenario sha256 {digest}"])
