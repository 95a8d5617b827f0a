"""`simengine loads`."""

from simengine.cli import program


@program.app.command(epilog=program.example("simengine loads scenarios/loads_and_failures.yaml -o outputs"))
def loads(
    scenario: program.ScenarioFile,
    output: program.OutputFolder = program.OUTPUTS,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Tell the loads on one blade, the spring's life, the frequencies, and what each failure leaves.

    Root section, pin and wire come from the scenario's `loads` block, the failures from `failures` (all if
    left out). Yardsticks, no proof: what was not checked and the cautions are part of every output.
    """
    from simengine.report.loads.run import run_loads

    with program.computing(f"Loads of {scenario.name}:", quiet) as handed:
        result = run_loads(scenario, output, **handed)
    from simengine.report.loads.document import loads_json
    from simengine.report.loads.terminal import print_loads

    program.tell(result, loads_json, print_loads, as_json=as_json, quiet=quiet, verbose=verbose)
