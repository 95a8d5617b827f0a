"""`simengine route`."""

from typing import Annotated

import typer

from simengine.cli import program
from simengine.cli.program import (
    OUTPUTS,
    AsJson,
    OutputFolder,
    Processes,
    Quiet,
    ScenarioFile,
    Scheduler,
    Variant,
    Verbose,
    Workers,
    app,
    example,
)
from simengine.errors import NoSolutionError

MOST_SAMPLES = 20_000
Samples = Annotated[
    int | None,
    typer.Option(
        "--samples",
        min=0,
        max=MOST_SAMPLES,
        metavar="N",
        help="Draws of the uncertain inputs, instead of the scenario's own number; 0 for none.",
    ),
]


@app.command(epilog=example("simengine route scenarios/cross_country.yaml --samples 50 -o outputs"))
def route(
    scenario: ScenarioFile,
    output: OutputFolder = OUTPUTS,
    variant: Variant = None,
    samples: Samples = None,
    workers: Workers = None,
    processes: Processes = False,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Fly a cross-country route: fuel and time by leg, and what the hub saves against others.

    Says whether the saving exceeds its uncertainty. Writes the figures (NetCDF) and pictures (PNG, SVG):
    the route's profile, fuel by leg, the saving by cruising height and wind. A leg that cannot be flown is
    told with its reason; the rest is written all the same, and the exit code is 3.
    """
    from simengine.report.progress import progress_bar
    from simengine.report.route.run import route_is_possible, run_route

    with program.errors_told():
        with progress_bar(f"Route of {scenario.name}:") as progress:
            result = run_route(
                scenario,
                output,
                variant=variant,
                samples=samples,
                workers=workers,
                processes=processes,
                scheduler=scheduler,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.route.document import route_json

            program.print_json(route_json(result.dataset))
        else:
            from simengine.report.route.terminal import print_route

            print_route(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
    if not route_is_possible(result.dataset):
        raise typer.Exit(NoSolutionError.exit_code)
