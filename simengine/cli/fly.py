"""`simengine fly`."""

from typing import Annotated, Literal

import typer

from simengine.cli import program


@program.app.command(epilog=program.example("simengine fly scenarios/climb_and_cruise.yaml -o outputs"))
def fly(
    scenario: program.ScenarioFile,
    output: program.OutputFolder = program.OUTPUTS,
    variant: program.Variant = None,
    fidelity: Annotated[
        Literal["dynamic", "steady"] | None,
        typer.Option(help="Pitch and rotor resolved in time, or in balance; instead of the scenario's own."),
    ] = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Print events, defaults used and every caution too.")
    ] = False,
) -> None:
    """Fly a scenario; write the result (NetCDF) and its picture (PNG, SVG), print the figures."""
    from simengine.report.flight.run import run_fly

    with program.working(f"Flying {scenario.name} ..."):
        result = run_fly(
            scenario,
            output,
            variant=variant,
            fidelity=fidelity,
            command=program.typed_command(),
            before_computing=program.compilation(quiet),
        )
    from simengine.report.flight.table import summary_json
    from simengine.report.flight.terminal import print_flight

    program.tell(result, summary_json, print_flight, as_json=as_json, quiet=quiet, verbose=verbose)
