"""`simengine loads`."""

from simengine.cli import program
from simengine.cli.program import OUTPUTS, AsJson, OutputFolder, Quiet, ScenarioFile, Verbose, app, example


@app.command(epilog=example("simengine loads scenarios/loads_and_failures.yaml -o outputs"))
def loads(
    scenario: ScenarioFile,
    output: OutputFolder = OUTPUTS,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Tell the loads on one blade, the spring's life, the frequencies, and what each failure leaves.

    Root section, pin and wire come from the scenario's `loads` block, the failures from `failures` (all if
    left out). Yardsticks, no proof: what was not checked and the cautions are part of every output.
    """
    from simengine.report.loads.run import run_loads
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar(f"Loads of {scenario.name}:") as progress:
            result = run_loads(
                scenario,
                output,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.loads.document import loads_json

            program.print_json(loads_json(result.dataset))
        else:
            from simengine.report.loads.terminal import print_loads

            print_loads(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
