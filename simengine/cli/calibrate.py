"""`simengine calibrate`."""

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
    Verbose,
    Workers,
    app,
    example,
)

Readings = Annotated[
    list[Path], typer.Argument(help="Readings or raw logs (csv), one or more files.", show_default=False)
]
HoldOut = Annotated[
    str, typer.Option("--hold-out", metavar="ROW,ROW", help="Rows to predict instead of fitting them.")
]
Question = Annotated[
    str | None,
    typer.Option(help="What the next measurement shall narrow: shift_ceiling, saving, finish_rpm_climb ..."),
]
Coverage = Annotated[
    int | None,
    typer.Option(
        "--coverage",
        metavar="N",
        min=2,
        help="Repeat it on N made-up sets of readings: which share of the bands holds the truth.",
    ),
]


@app.command(
    epilog=example("simengine calibrate scenarios/climb_and_cruise.yaml scenarios/readings/first_flight.csv")
)
def calibrate(
    scenario: ScenarioFile,
    readings: Readings,
    hold_out: HoldOut = "",
    question: Question = None,
    coverage: Coverage = None,
    workers: Workers = None,
    processes: Processes = False,
    scheduler: Scheduler = None,
    output: OutputFolder = OUTPUTS,
    as_json: AsJson = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
) -> None:
    """Fit a scenario to the readings of ground runs and flights, with bands, and say what to measure next.

    Writes the fitted scenario beside the original (NAME.fitted.yaml), figures (NetCDF) and pictures.
    Exit code 1 if a reading contradicts the model and the other readings beyond four deviations: it is set
    aside and told, not averaged in.

    A list of readings has a row a reading under the headings: what, value, unit, and as far as known +-,
    phase, altitude m, temperature degC, qnh hPa, airspeed km/h, throttle %, bar %, mass kg, duration min,
    angle deg, direction, wire_length m, half_spacing mm, blade_mass g, use (fit or hold), note.

    Under what: shift_begin_rpm,
    shift_finish_rpm, return_begin_rpm, return_finish_rpm, on_coarse_stop, off_stops, on_fine_stop,
    full_throttle_rpm, level_rpm (all ENGINE rpm), static_thrust, fuel_used, climb_rate, blade_angle_coarse,
    blade_angle_fine, spring_torque, blade_mass, swing_time_bifilar, swing_time_axis.

    A raw log has a row a moment under: time s, engine_speed rpm (or propeller_speed rpm), light (coarse,
    off or fine), and perhaps phase, altitude m, temperature degC, qnh hPa, airspeed km/h.
    """
    from simengine.report.calibrate.run import run_calibrate
    from simengine.report.progress import progress_bar

    with program.errors_told():
        with progress_bar(f"Calibration of {scenario.name}:") as progress:
            result = run_calibrate(
                scenario,
                readings,
                output,
                hold_out=rows_of(hold_out),
                question=question,
                coverage=coverage,
                workers=workers,
                processes=processes,
                scheduler=scheduler,
                command=program.typed_command(),
                before_computing=program.compile_missing if quiet else program.announce_compilation,
                progress=progress,
            )
        if as_json:
            from simengine.report.calibrate.document import calibration_json

            program.print_json(calibration_json(result.dataset))
        else:
            from simengine.report.calibrate.terminal import print_calibration

            print_calibration(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        program.tell_written(result.paths)
    from simengine.report.calibrate.text import failed

    if failed(result.dataset):
        raise typer.Exit(1)


def rows_of(text: str) -> list[int]:
    """Row numbers from `7,8`."""
    try:
        return [int(part) for part in text.split(",") if part.strip()]
    except ValueError:
        raise typer.BadParameter(f"'{text}' must be row numbers with commas, for example 7,8") from None
