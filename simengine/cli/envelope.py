"""`simengine envelope`."""

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


@app.command(epilog=example("simengine envelope scenarios/second_engine.yaml -o outputs"))
def envelope(
    scenario: ScenarioFile,
    output: OutputFolder = OUTPUTS,
    variant: Variant = None,
    workers: Workers = None,
    processes: Processes = False,
    scheduler: Scheduler = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Find up to which height the shift finishes, where it hangs, why, and which change helps.

    Writes the figures (NetCDF) and pictures (PNG, SVG): height against rpm, maps of the pitch state,
    moments, a throttle sweep, and what one change does.
    """
    from simengine.report.envelope.run import run_envelope
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar(f"Envelope of {scenario.name}:") as progress:
            result = run_envelope(
                scenario,
                output,
                variant=variant,
                workers=workers,
                processes=processes,
                scheduler=scheduler,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.envelope.document import envelope_json

            program.print_json(envelope_json(result.dataset))
        else:
            from simengine.report.envelope.terminal import print_envelope

            print_envelope(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
