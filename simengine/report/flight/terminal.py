"""A result on the terminal."""

import xarray

from simengine.report.flight.conclusion import conclusion_sentences
from simengine.report.flight.event_marks import clock
from simengine.report.flight.facts import event_facts
from simengine.report.flight.table import flight_table, outcome_lines
from simengine.report.terminal import Speaker


def print_flight(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a flight to standard output; the caution is always part of it.

    Colour only on a terminal, and not with NO_COLOR; piped text is not cut to a terminal's width.
    """
    say = Speaker()
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.sentences(conclusion_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables(flight_table(dataset))
        say.lines(outcome_lines(dataset))
        say.block("Limits of the model that were met:", dataset.attrs.get("model_limits", ""))
    if verbose:
        say.block(
            "Events (time, what, ENGINE rpm, blade angle, height):", "\n".join(all_event_lines(dataset))
        )
        say.block("Inputs with origin or uncertainty:", dataset.attrs.get("inputs_marked", ""))
        say.block("Defaults used:", dataset.attrs.get("defaults_used", ""))
        say.block("Run:", run_text(dataset))
    say.caution(verbose=verbose)


def all_event_lines(dataset: xarray.Dataset) -> list[str]:
    """Every event, one a line."""
    return [
        f"{clock(event.time):>9}  {event.words:<26} {event.engine_rpm:>5.0f} rpm  "
        f"{event.blade_angle:>5.1f}°  {event.height:>5.0f} m  {event.note}".rstrip()
        for event in event_facts(dataset)
    ]


def run_text(dataset: xarray.Dataset) -> str:
    """How the result was computed."""
    attributes = dataset.attrs
    return "\n".join(
        (
            str(attributes.get("source", "")),
            f"{attributes.get('fidelity', '')} fidelity; {attributes.get('solver', '')}",
            f"{attributes.get('solver_steps', 0)} steps, "
            f"{attributes.get('solver_rejected_steps', 0)} rejected, "
            f"relative tolerance {attributes.get('solver_relative_tolerance', 0):g}",
            f"scenario sha256 {attributes.get('simengine_scenario_sha256', '')}",
        )
    )
