"""`simengine tolerance`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import program

Draws = Annotated[
    int | None,
    typer.Option(
        "-n",
        "--draws",
        metavar="N",
        min=2,
        max=10_000_000,
        help="Hubs to draw; else as the scenario says.",
    ),
]
Seed = Annotated[int | None, typer.Option("--seed", metavar="N", min=0, help="Number that fixes the draws.")]
Hubs = Annotated[
    Path | None,
    typer.Option(
        "--hubs",
        metavar="FILE.csv",
        help="Measured hubs instead of draws: a column 'hub', then inputs such as 'hub.spring.rate N/mm'.",
    ),
]


@program.app.command(
    epilog=program.example("simengine tolerance scenarios/batch_of_hubs.yaml -n 2000 -o outputs")
)
def tolerance(
    scenario: program.ScenarioFile,
    draws: Draws = None,
    hubs: Hubs = None,
    output: program.OutputFolder = program.OUTPUTS,
    variant: program.Variant = None,
    seed: Seed = None,
    workers: program.Workers = None,
    processes: program.Processes = False,
    scheduler: program.Scheduler = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Of many hubs built to one drawing: how many shift within limits, which tolerance matters most.

    Draws hubs within the tolerances of the scenario's block `tolerance` (or its +-, and usual ones for the
    rest), or reads measured ones. Yield at every height, contributions, what halving each tolerance
    brings, washers that bring each hub in. Ask again to go on after an interruption.
    """
    from simengine.report.tolerance.run import run_tolerance

    with program.computing(f"Tolerance of {scenario.name}:", quiet) as handed:
        where = program.where(workers, processes, scheduler)
        result = run_tolerance(
            scenario,
            output,
            variant=variant,
            draws=draws,
            seed=seed,
            hubs=hubs,
            where=where,
            **handed,
        )
    from simengine.report.tolerance.document import tolerance_json
    from simengine.report.tolerance.terminal import print_tolerance

    program.tell(result, tolerance_json, print_tolerance, as_json=as_json, quiet=quiet, verbose=verbose)
