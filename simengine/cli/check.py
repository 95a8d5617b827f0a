"""`simengine check`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import program

Scenarios = Annotated[
    list[Path],
    typer.Argument(
        help="Scenario files, and folders of which every scenario with 'expect:' or a baseline is taken.",
        show_default=False,
    ),
]
PictureFolder = Annotated[
    Path, typer.Option("-o", "--output", metavar="DIR", help="Folder for pictures of what fails.")
]
Store = Annotated[bool, typer.Option("--store", help="Store a baseline where there is none.")]
Accept = Annotated[
    bool, typer.Option("--accept", help="Store the state of today as the new baseline; needs --reason.")
]
Reason = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; kept in the baseline's history.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who accepts; kept too.")]
JUnit = Annotated[
    Path | None, typer.Option("--junit", metavar="FILE", help="Write JUnit XML for a build server.")
]


@program.app.command(
    epilog=program.example(
        "simengine check scenarios/revisions",
        "Exit codes: 0 all kept, 1 something fails or moved, 2 bad input, 3 no physical solution; of several "
        "files the one that could be checked least counts.",
    )
)
def check(
    paths: Scenarios,
    output: PictureFolder = program.OUTPUTS,
    store: Store = False,
    accept: Accept = False,
    reason: Reason = "",
    by: By = "",
    junit: JUnit = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Fly scenarios and hold them against their agreed figures ('expect:') and their stored baselines.

    A baseline, NAME.baseline.yaml beside the scenario, tells which figures, events and traces moved since it
    was stored, with tolerances that follow from the solver's own error. Variants in a file are not flown:
    give one a file of its own with 'extends:'.
    """
    from simengine.report.check.run import exit_code, run_check
    from simengine.report.progress import progress_bar

    with progress_bar("Checking:") as progress:
        reports = run_check(
            paths,
            output,
            store=store,
            accept=accept,
            reason=reason,
            by=by,
            before_computing=program.compilation(quiet),
            progress=progress,
        )
    code = exit_code(reports)
    if junit is not None:
        from simengine.report.check.document import write_junit

        write_junit(reports, junit)
    if as_json:
        from simengine.report.check.document import check_json

        program.print_json(check_json(reports, code))
    else:
        from simengine.report.check.terminal import print_check

        print_check(reports, quiet=quiet, verbose=verbose)
    if junit is not None and not quiet:
        program.tell_written([junit])
    raise typer.Exit(code)
