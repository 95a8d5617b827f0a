"""`simengine card`."""

from typing import TYPE_CHECKING, Annotated

import typer

from simengine.cli import program

if TYPE_CHECKING:
    import xarray


@program.app.command(epilog=program.example("simengine card scenarios/ground_run.yaml --height '1500 m'"))
def card(
    scenario: program.ScenarioFile,
    height: Annotated[
        str | None,
        typer.Option(
            metavar="HEIGHT", help="Height of the level run, with its unit; else 1500 m above the site."
        ),
    ] = None,
    level_time: Annotated[
        str, typer.Option(metavar="TIME", help="Duration of the level run, with its unit.")
    ] = "30 min",
    output: program.OutputFolder = program.OUTPUTS,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Write a test card: which light when, at which ENGINE rpm, thrust and fuel, with bands, safe to risky.

    One page of html that reads on a phone outdoors and prints, the same as text, and NetCDF. Bands come from
    the scenario's `+-`, best those that `simengine calibrate` fitted.
    """
    from simengine.report.calibrate.run_card import run_card

    with program.computing(f"Card of {scenario.name}:", quiet) as handed:
        result = run_card(scenario, output, height=height, level_time=level_time, **handed)
    from simengine.report.calibrate.card_page import card_json

    program.tell(result, card_json, print_card, as_json=as_json, quiet=quiet, verbose=verbose)


def print_card(dataset: "xarray.Dataset", *, quiet: bool, verbose: bool) -> None:
    """Print the card; it is the same whether little or much is to be said, but for the cautions."""
    from simengine.report.calibrate.card_page import card_text

    typer.echo(card_text(dataset, all_cautions=verbose), nl=False)
