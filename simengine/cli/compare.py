"""`simengine compare`."""

from typing import Annotated, Literal

import typer

from simengine.cli import completion, program

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


@program.app.command(
    epilog=program.example(
        "simengine compare scenarios/climb_and_cruise.yaml scenarios/climb_and_cruise_fixed.yaml"
    )
)
def compare(
    cases: Cases,
    output: program.OutputFolder = program.OUTPUTS,
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
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Fly several machines on one flight and show what moved against the first: better, worse or the same.

    Says first what was changed. Refuses flights that differ in load, air, wing or plan, unless told. Writes
    figures, traces and events side by side (NetCDF) and pictures (PNG, SVG).
    """
    from simengine.report.compare.run import run_compare

    with program.computing("Comparing:", quiet) as handed:
        result = run_compare(cases, output, fidelity=fidelity, envelope=envelope, unlike=unlike, **handed)
    from simengine.report.compare.document import compare_json
    from simengine.report.compare.terminal import print_comparison

    program.tell(result, compare_json, print_comparison, as_json=as_json, quiet=quiet, verbose=verbose)
