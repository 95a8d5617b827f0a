"""`simengine tolerance`."""

from pathlib import Path
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

Samples = Annotated[
    int | None,
    typer.Option(
        "-n",
        "--samples",
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


@app.command(epilog=example("simengine tolerance scenarios/batch_of_hubs.yaml -n 2000 -o outputs"))
def tolerance(
    scenario: ScenarioFile,
    samples: Samples = None,
    hubs: Hubs = None,
    output: OutputFolder = OUTPUTS,
    variant: Variant = None,
    seed: Seed = None,
    workers: Workers = None,
    processes: Processes = False,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Of many hubs built to one drawing: how many shift within limits, which tolerance matters most.

    Draws hubs within the tolerances of the scenario's block `tolerance` (or its +-, and usual ones for the
    rest), or reads measured ones. Yield at every height, contributions, what halving each tolerance
    brings, washers that bring each hub in. Ask again to go on after an interruption.
    """
    from simengine.report.progress import progress_bar
    from simengine.report.tolerance.run import run_tolerance

    with program.errors_told():
        with progress_bar(f"Tolerance of {scenario.name}:") as progress:
            result = run_tolerance(
                scenario,
                output,
                variant=variant,
                samples=samples,
                seed=seed,
                hubs=hubs,
                workers=workers,
                processes=processes,
                scheduler=scheduler,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.tolerance.document import tolerance_json

            program.print_json(tolerance_json(result.dataset))
        else:
            from simengine.report.tolerance.terminal import print_tolerance

            print_tolerance(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
