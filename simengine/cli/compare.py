"""`simengine compare`."""

from typing import Annotated, Literal

import typer

from simengine.cli import completion, program
from simengine.cli.program import OUTPUTS, AsJson, OutputFolder, Quiet, Verbose, app, example

Cases = Annotated[
    list[str],
    typer.Argument(
        metavar="A [B C ...]",
        help="Scenario files, file.yaml:variant, or results of flights (.nc); "
        "one file alone is compared with all its variants.",
        show_default=False,
        autocompletion=completion.cases,
    ),
]


@app.command(
    epilog=example("simengine compare scenarios/climb_and_cruise.yaml scenarios/climb_and_cruise_fixed.yaml")
)
def compare(
    cases: Cases,
    output: OutputFolder = OUTPUTS,
    fidelity: Annotated[
        Literal["dynamic", "steady"] | None,
        typer.Option(help="Of what is flown, instead of the scenarios' own."),
    ] = None,
    envelope: Annotated[
        bool, typer.Option("--envelope", help="Compare shift ceiling and service ceiling too (slower).")
    ] = False,
    unlike: Annotated[
        bool,
        typer.Option("--unlike", help="Compare flights that differ in load, air, wing or plan as well."),
    ] = False,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Fly several machines on one flight and show what moved against the first: better, worse or the same.

    Says first what was changed. Refuses flights that differ in load, air, wing or plan, unless told. Writes
    figures, traces and events side by side (NetCDF) and pictures (PNG, SVG).
    """
    from simengine.report.compare.run import run_compare
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar("Comparing:") as progress:
            result = run_compare(
                cases,
                output,
                fidelity=fidelity,
                envelope=envelope,
                unlike=unlike,
                command=program.typed_command(),
                before_flying=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.compare.document import compare_json

            program.print_json(compare_json(result.dataset))
        else:
            from simengine.report.compare.terminal import print_comparison

            print_comparison(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
