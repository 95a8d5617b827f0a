"""`simengine envelope`."""

from simengine.cli import program


@program.app.command(epilog=program.example("simengine envelope scenarios/second_engine.yaml -o outputs"))
def envelope(
    scenario: program.ScenarioFile,
    output: program.OutputFolder = program.OUTPUTS,
    variant: program.Variant = None,
    workers: program.Workers = None,
    processes: program.Processes = False,
    scheduler: program.Scheduler = None,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Find up to which height the shift finishes, where it hangs, why, and which change helps.

    Writes the figures (NetCDF) and pictures (PNG, SVG): height against rpm, maps of the pitch state,
    moments, a throttle sweep, and what one change does.
    """
    from simengine.report.envelope.run import run_envelope

    with program.computing(f"Envelope of {scenario.name}:", quiet) as handed:
        where = program.where(workers, processes, scheduler)
        result = run_envelope(scenario, output, variant=variant, where=where, **handed)
    from simengine.report.envelope.document import envelope_json
    from simengine.report.envelope.terminal import print_envelope

    program.tell(result, envelope_json, print_envelope, as_json=as_json, quiet=quiet, verbose=verbose)
