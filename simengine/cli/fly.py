"""`simengine fly`."""

from typing import Annotated, Literal

import typer

from simengine.cli import program
from simengine.cli.program import OUTPUTS, AsJson, OutputFolder, Quiet, ScenarioFile, Variant, app, example


@app.command(epilog=example("simengine fly scenarios/climb_and_cruise.yaml -o outputs"))
def fly(
    scenario: ScenarioFile,
    output: OutputFolder = OUTPUTS,
    variant: Variant = None,
    fidelity: Annotated[
        Literal["dynamic", "steady"] | None,
        typer.Option(help="Pitch and rotor resolved in time, or in balance; instead of the scenario's own."),
    ] = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Print events, defaults used and every caution too.")
    ] = False,
) -> None:
    """Fly a scenario; write the result (NetCDF) and its picture (PNG, SVG), print the figures."""
    from simengine.report.flight.run import run_fly

    with program.errors_told():
        with program.working(f"Flying {scenario.name} ..."):
            result = run_fly(
                scenario,
                output,
                variant=variant,
                fidelity=fidelity,
                command=program.typed_command(),
                before_flying=program.compile_missing if quiet else program.announce_compilation,
            )
        if as_json:
            from simengine.report.flight.table import summary_json

            program.print_json(summary_json(result.dataset))
        else:
            from simengine.report.flight.terminal import print_flight

            print_flight(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
