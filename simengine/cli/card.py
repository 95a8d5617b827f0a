"""`simengine card`."""

from typing import Annotated

import typer

from simengine.cli import program
from simengine.cli.program import OUTPUTS, AsJson, OutputFolder, Quiet, ScenarioFile, Verbose, app, example


@app.command(epilog=example("simengine card scenarios/ground_run.yaml --altitude '1500 m'"))
def card(
    scenario: ScenarioFile,
    altitude: Annotated[
        str | None, typer.Option(help="Height of the level run, with its unit; else 1500 m above the site.")
    ] = None,
    level_time: Annotated[str, typer.Option(help="Duration of the level run, with its unit.")] = "30 min",
    output: OutputFolder = OUTPUTS,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Write a test card: which light when, at which ENGINE rpm, thrust and fuel, with bands, safe to risky.

    One page of html that reads on a phone outdoors and prints, the same as text, and NetCDF. Bands come from
    the scenario's `+-`, best those that `simengine calibrate` fitted.
    """
    from simengine.report.calibrate.run_card import run_card
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar(f"Card of {scenario.name}:") as progress:
            result = run_card(
                scenario,
                output,
                altitude=altitude,
                level_time=level_time,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        from simengine.report.calibrate.card_page import card_json, card_text

        if as_json:
            program.print_json(card_json(result.dataset))
        else:
            typer.echo(card_text(result.dataset, all_cautions=verbose), nl=False)
    if not quiet:
        program.tell_written(result.paths)
