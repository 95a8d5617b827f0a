"""`simengine report`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import completion, program
from simengine.cli.program import OUTPUTS, AsJson, Quiet, app, example


@app.command(
    epilog=example("simengine fly scenarios/ground_run.yaml && simengine report outputs/ground_run.nc")
)
def report(
    results: Annotated[
        list[str],
        typer.Argument(
            help="Result files (.nc), or folders of them.",
            show_default=False,
            autocompletion=completion.result_files,
        ),
    ],
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE|DIR", help="The page (.html), or its folder.")
    ] = OUTPUTS,
    title: Annotated[str | None, typer.Option(help="Title of the page.")] = None,
    scenario: Annotated[
        Path | None,
        typer.Option(
            "--scenario-out", metavar="FILE", help="Write the scenario that a result carries, no page."
        ),
    ] = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Make one page of html from results of any kind: to read on a phone, to print, to send.

    Results of fly, envelope, compare, route, calibrate, card, choose, tolerance and loads; several become
    one page with a section each. The page holds everything itself: the answer in words, pictures, tables,
    inputs by origin, limits of the model that were met, what was not checked, the cautions, where the
    result comes from and how to repeat it. It needs no network and no script.
    """
    from simengine.report.page.run import run_report, scenario_out
    from simengine.report.progress import progress_bar

    with program.errors_told():
        if scenario is not None:
            if len(results) > 1:
                raise typer.BadParameter("--scenario-out takes one result")
            written = scenario_out(results[0], scenario)
        else:
            with progress_bar("Page:") as progress:
                made = run_report(
                    results, output, title=title, command=program.typed_command(), progress=progress
                )
            written = made.path
            if as_json:
                from simengine.report.page.document import page_json

                program.print_json(page_json(made.title, made.sections, str(made.path)))
            else:
                from simengine.report.page.terminal import print_page

                print_page(made, quiet=quiet)
    if not quiet:
        program.tell_written([written])
