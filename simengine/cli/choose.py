"""`simengine choose`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import program
from simengine.cli.program import (
    OUTPUTS,
    AsJson,
    OutputFolder,
    Quiet,
    ScenarioFile,
    Variant,
    Verbose,
    app,
    example,
)

Springs = Annotated[
    Path | None,
    typer.Option(
        "--springs",
        metavar="FILE.csv",
        help="Springs on offer instead of the scenario's: columns name, wire_diameter mm, mean_diameter mm, "
        "active_coils, total_coils, free_length mm.",
    ),
]
Workers = Annotated[
    int | None, typer.Option("--workers", metavar="N", min=1, help="Threads; all cores if left out.")
]
TARGETS_MISSED = 1


@app.command(epilog=example("simengine choose scenarios/choose_spring.yaml -o outputs"))
def choose(
    scenario: ScenarioFile,
    springs: Springs = None,
    output: OutputFolder = OUTPUTS,
    variant: Variant = None,
    workers: Workers = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Choose spring, washers, stops and counterweight for the targets of the scenario's block `choose`.

    Tries every combination in every place that the block lists; shows at most ten options, what each gives
    up and how robust it is, and the shim table for the wall. Leaves with 1 if no combination meets the
    targets, and says which is impossible and what to relax.
    """
    from simengine.report.choose.run import run_choose
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar(f"Choice for {scenario.name}:") as progress:
            result = run_choose(
                scenario,
                output,
                variant=variant,
                springs=springs,
                workers=workers,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.choose.document import choose_json

            program.print_json(choose_json(result.dataset))
        else:
            from simengine.report.choose.terminal import print_choose

            print_choose(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
    if str(result.dataset.attrs["feasible"]) != "yes":
        raise typer.Exit(TARGETS_MISSED)
