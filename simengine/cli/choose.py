"""`simengine choose`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import program

Springs = Annotated[
    Path | None,
    typer.Option(
        "--springs",
        metavar="FILE.csv",
        help="Springs on offer instead of the scenario's: columns name, wire_diameter mm, mean_diameter mm, "
        "active_coils, total_coils, free_length mm.",
    ),
]
TARGETS_MISSED = 1


@program.app.command(epilog=program.example("simengine choose scenarios/choose_spring.yaml -o outputs"))
def choose(
    scenario: program.ScenarioFile,
    springs: Springs = None,
    output: program.OutputFolder = program.OUTPUTS,
    variant: program.Variant = None,
    workers: program.Workers = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Choose spring, washers, stops and counterweight for the targets of the scenario's block `choose`.

    Tries every combination in every place that the block lists; shows at most ten options, what each gives
    up and how robust it is, and the shim table for the wall. Leaves with 1 if no combination meets the
    targets, and says which is impossible and what to relax.
    """
    from simengine.report.choose.run import run_choose

    with program.computing(f"Choice for {scenario.name}:", quiet) as handed:
        where = program.where(workers, processes=False, scheduler=None)
        result = run_choose(scenario, output, variant=variant, springs=springs, where=where, **handed)
    from simengine.report.choose.document import choose_json
    from simengine.report.choose.terminal import print_choose

    program.tell(result, choose_json, print_choose, as_json=as_json, quiet=quiet, verbose=verbose)
    if str(result.dataset.attrs["feasible"]) != "yes":
        raise typer.Exit(TARGETS_MISSED)
