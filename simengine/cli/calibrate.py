"""`simengine calibrate`."""

from pathlib import Path
from typing import Annotated

import typer

from simengine.cli import program

Readings = Annotated[
    list[Path], typer.Argument(help="Readings or raw logs (csv), one or more files.", show_default=False)
]
HoldOut = Annotated[
    str, typer.Option("--hold-out", metavar="ROW,ROW", help="Rows to predict instead of fitting them.")
]
Question = Annotated[
    str | None,
    typer.Option(
        metavar="NAME",
        help="What the next measurement shall narrow: shift_ceiling, saving, finish_rpm_climb ...",
    ),
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


@program.app.command(
    epilog=program.example(
        "simengine calibrate scenarios/climb_and_cruise.yaml scenarios/readings/first_flight.csv"
    )
)
def calibrate(
    scenario: program.ScenarioFile,
    readings: Readings,
    hold_out: HoldOut = "",
    question: Question = None,
    coverage: Coverage = None,
    workers: program.Workers = None,
    processes: program.Processes = False,
    scheduler: program.Scheduler = None,
    output: program.OutputFolder = program.OUTPUTS,
    as_json: program.AsJson = False,
    quiet: program.Quiet = False,
    verbose: program.Verbose = False,
) -> None:
    """Fit a scenario to the readings of ground runs and flights, with bands, and say what to measure next.

    Writes the fitted scenario beside the original (NAME.fitted.yaml), figures (NetCDF) and pictures.
    Exit code 1 if a reading contradicts the model and the other readings beyond four deviations: it is set
    aside and told, not averaged in.

    A list of readings has a row a reading under the headings: what, value, unit, and as far as known +-,
    phase, height m, temperature degC, qnh hPa, airspeed km/h, throttle %, bar %, mass kg, duration min,
    angle deg, direction, wire_length m, half_spacing mm, blade_mass g, use (fit or hold), note.

    Under what: shift_begin_rpm,
    shift_finish_rpm, return_begin_rpm, return_finish_rpm, on_coarse_stop, off_stops, on_fine_stop,
    full_throttle_rpm, level_rpm (all ENGINE rpm), static_thrust, fuel_used, climb_rate, blade_angle_coarse,
    blade_angle_fine, spring_torque, blade_mass, swing_time_bifilar, swing_time_axis.

    A raw log has a row a moment under: time s, engine_speed rpm (or propeller_speed rpm), light (coarse,
    off or fine), and perhaps phase, height m, temperature degC, qnh hPa, airspeed km/h.
    """
    from simengine.report.calibrate.run import run_calibrate

    with program.computing(f"Calibration of {scenario.name}:", quiet) as handed:
        result = run_calibrate(
            scenario,
            readings,
            output,
            hold_out=rows_of(hold_out),
            question=question,
            coverage=coverage,
            where=program.where(workers, processes, scheduler),
            **handed,
        )
    from simengine.report.calibrate.document import calibration_json
    from simengine.report.calibrate.terminal import print_calibration
    from simengine.report.calibrate.text import failed

    program.tell(result, calibration_json, print_calibration, as_json=as_json, quiet=quiet, verbose=verbose)
    if failed(result.dataset):
        raise typer.Exit(1)


def rows_of(text: str) -> list[int]:
    """Row numbers from `7,8`."""
    try:
        return [int(part) for part in text.split(",") if part.strip()]
    except ValueError:
        raise typer.BadParameter(f"'{text}' must be row numbers with commas, for example 7,8") from None
