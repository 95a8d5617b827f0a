"""`simengine report`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import completion, program

Results = Annotated[
    list[str],
    typer.Argument(
        help="Result files (.nc), or folders of them.",
        show_default=False,
        autocompletion=completion.result_files,
    ),
]
PageFile = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE|DIR", help="The page (.html), or its folder.")
]
Title = Annotated[str | None, typer.Option(metavar="TEXT", help="Title of the page.")]
ScenarioOut = Annotated[
    Path | None,
    typer.Option("--scenario-out", metavar="FILE", help="Write the scenario that a result carries, no page."),
]


@program.app.command(
    epilog=program.example(
        "simengine fly scenarios/ground_run.yaml && simengine report outputs/ground_run.nc"
    )
)
def report(
    results: Results,
    output: PageFile = program.OUTPUTS,
    title: Title = None,
    scenario: ScenarioOut = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
) -> None:
    """Make one page of html from results of any kind: to read on a phone, to print, to send.

    Results of fly, envelope, compare, route, calibrate, card, choose, tolerance and loads; several become
    one page with a section each. The page holds everything itself: the answer in words, pictures, tables,
    inputs by origin, limits of the model that were met, what was not checked, the cautions, where the
    result comes from and how to repeat it. It needs no network and no script.
    """
    if scenario is not None:
        written = scenario_of(results, scenario)
    else:
        written = page_of(results, output, title, as_json=as_json, quiet=quiet)
    if not quiet:
        program.tell_written([written])


def scenario_of(results: list[str], file: Path) -> Path:
    """Write the scenario that one result carries; returns its path."""
    from simengine.report.page.run import scenario_out

    if len(results) > 1:
        raise typer.BadParameter("--scenario-out takes one result")
    return scenario_out(results[0], file)


def page_of(results: list[str], output: Path, title: str | None, *, as_json: bool, quiet: bool) -> Path:
    """Write a page of results and print what it says; returns its path."""
    from simengine.report.page.run import run_report
    from simengine.report.progress import progress_bar

    with progress_bar("Page:") as progress:
        page = run_report(results, output, title=title, command=program.typed_command(), progress=progress)
    from simengine.report.page.document import page_json
    from simengine.report.page.terminal import print_page

    if as_json:
        program.print_json(page_json(page.title, page.sections, str(page.path)))
    else:
        print_page(page, quiet=quiet)
    return page.path
