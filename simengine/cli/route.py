"""`simengine route`."""

from typing import Annotated

import typer

from simengine.cli import program
from simengine.errors import NoSolutionError

MOST_DRAWS = 20_000
Draws = Annotated[
    int | None,
    typer.Option(
        "--draws",
        min=0,
        max=MOST_DRAWS,
        metavar="N",
        help="Draws of the uncertain inputs, instead of the scenario's own number; 0 for none.",
    ),
]


@program.app.command(
    epilog=program.example("simengine route scenarios/cross_country.yaml --draws 50 -o outputs")
)
def route(
    scenario: program.ScenarioFile,
    output: program.OutputFolder = program.OUTPUTS,
    variant: program.Variant = None,
    draws: Draws = None,
    workers: program.Workers = None,
    processes: program.Processes = False,
    scheduler: program.Scheduler = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Fly a cross-country route: fuel and time by leg, and what the hub saves against others.

    Says whether the saving exceeds its uncertainty. Writes the figures (NetCDF) and pictures (PNG, SVG):
    the route's profile, fuel by leg, the saving by cruising height and wind. A leg that cannot be flown is
    told with its reason; the rest is written all the same, and the exit code is 3.
    """
    from simengine.report.route.run import route_is_possible, run_route

    with program.computing(f"Route of {scenario.name}:", quiet) as handed:
        where = program.where(workers, processes, scheduler)
        result = run_route(scenario, output, variant=variant, draws=draws, where=where, **handed)
    from simengine.report.route.document import route_json
    from simengine.report.route.terminal import print_route

    program.tell(result, route_json, print_route, as_json=as_json, quiet=quiet, verbose=verbose)
    if not route_is_possible(result.dataset):
        raise typer.Exit(NoSolutionError.exit_code)
