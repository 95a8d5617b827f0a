"""From a scenario and readings to a fitted scenario: what `simengine calibrate` and the Python call do."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine import units
from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress, told_to
from simengine.execution.where import Where, threads_of, whole_and_positive
from simengine.report.outputs import (
    DEFAULT_FOLDER,
    Drawn,
    Outcome,
    drawn_by,
    get_ready,
    refuse_folders,
    write_all,
)
from simengine.results.files import refuse_unwritable
from simengine.scenario.overlay import overlay_path, overlay_text, refuse_foreign
from simengine.scenario.raw_log import is_log, load_log
from simengine.scenario.readings import Reading, duplicates, load_readings
from simengine.scenario.references import load_reference

if TYPE_CHECKING:
    import xarray

    from simengine.execution.store import Store
    from simengine.scenario import Scenario

FIT_PART = 0.2  # of the progress, where the fit is repeated
MOST_REPEATS = 1_000_000
FITTED = ", fitted to readings"


def run_calibrate(
    scenario_path: str | Path,
    readings_paths: str | Path | Sequence[str | Path],
    output: str | Path = DEFAULT_FOLDER,
    *,
    hold_out: Iterable[int] = (),
    question: str | None = None,
    coverage: int | None = None,
    where: Where | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Fit a scenario to readings, write the answer and the fitted scenario.

    Parameters
    ----------
    scenario_path : path
        A scenario file.
    readings_paths : path or sequence of paths
        Lists of readings or raw logs (csv); which one a file is shows in its first row.
    output : path
        Folder for the results; the fitted scenario goes beside the original, as NAME.fitted.yaml.
    hold_out : iterable of int
        Rows to keep out of the fit and predict instead, as an editor counts lines.
    question : str, optional
        What the next measurement shall narrow, a name of `simengine.studies.calibrate.questions.QUESTIONS`.
    coverage : int, optional
        Repeat the calibration so often on made-up readings, 2 or more, and tell which share of the 95 % bands
        holds the truth.
    where, command, pictures, before_computing, progress
        As in `simengine.envelope`.

    Returns
    -------
    Outcome

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError, ExecutionError
        Nothing is written in the first two cases.

    Examples
    --------
    >>> import simengine
    >>> fitted = simengine.calibrate(
    ...     "scenarios/climb_and_cruise.yaml", "scenarios/readings/first_flight.csv", pictures=False
    ... )
    >>> fitted.paths[-1].name  # flies like any scenario
    'climb_and_cruise.fitted.yaml'
    """
    path = Path(scenario_path)
    wanted = checked_question(question)
    refuse_repeats(coverage)
    given = [readings_paths] if isinstance(readings_paths, str | Path) else readings_paths
    files = [Path(name) for name in given]
    scenario = load_reference(path)
    refuse_fitted_already(scenario, files)
    readings, oddities = all_readings(scenario, files)
    readings = held_out(readings, set(hold_out))
    fitted = writable_overlay(path)
    get_ready(output, before_computing, where)
    from simengine.execution.store import kept_beside

    data = Path(output) / f"{path.stem}.calibrate.nc"
    with kept_beside(data) as store:
        dataset = fitted_dataset(scenario, readings, wanted, coverage, store, where, progress, command)
        names = ", ".join(file.name for file in files)
        told = {"readings_files": names, "log_oddities": "\n".join(oddities), "fitted_scenario": str(fitted)}
        dataset.attrs |= {name: text for name, text in told.items() if text}
        drawn = pictures_of(dataset, data) if pictures else {}
        text = fitted_text(scenario, dataset, names)
        return Outcome(dataset, tuple(write_all(dataset, data, drawn, elsewhere={fitted: text})))


def writable_overlay(path: Path) -> Path:
    """Where the fitted scenario goes; refuses a folder that cannot be written, and what is not ours there."""
    fitted = overlay_path(path)
    refuse_unwritable(fitted.parent)
    refuse_folders([fitted])
    refuse_foreign(fitted)
    return fitted


def fitted_dataset(
    scenario: "Scenario",
    readings: Sequence[Reading],
    wanted: str | None,
    repeats: int | None,
    store: "Store",
    where: Where | None,
    progress: Progress | None,
    command: str,
) -> "xarray.Dataset":
    """Fit, and where it is asked for repeat the fit on made-up readings."""
    from simengine.studies.calibrate.coverage import coverage, with_coverage
    from simengine.studies.calibrate.dataset import calibration_dataset
    from simengine.studies.calibrate.study import calibrated, chosen_question

    tell, part = told_to(progress), FIT_PART if repeats else 1.0
    with threads_of(where):
        result = calibrated(scenario, readings, progress=lambda share, words: tell(part * share, words))
        dataset = calibration_dataset(result, wanted or chosen_question(result), command)
        if repeats:
            told = partial(told_of_repeats, tell)
            dataset = with_coverage(dataset, coverage(result, repeats, store=store, where=where, tell=told))
    return dataset


def told_of_repeats(tell: Progress, share: float) -> None:
    """Progress after the fit."""
    tell(FIT_PART + (1.0 - FIT_PART) * share, "repeats on made-up readings")


def refuse_repeats(count: int | None) -> None:
    """Complain of a number of repeats that says nothing."""
    if count is not None and not (whole_and_positive(count) and 2 <= count <= MOST_REPEATS):
        message = f"must be a whole number, 2 to {MOST_REPEATS:,}; got {count!r}"
        raise ScenarioError([Problem("--coverage", None, "", message)])


def pictures_of(dataset: "xarray.Dataset", data: Path) -> Drawn:
    """What draws each picture, by its file's name."""
    from simengine.report.calibrate.pictures import calibration_drawers

    return drawn_by(calibration_drawers(dataset), dataset, data)


def refuse_fitted_already(scenario: "Scenario", files: Sequence[Path]) -> None:
    """Complain of readings that the scenario was fitted to before: counted twice, they promise too much."""
    known = scenario.record.calibration
    before = known.readings.split(", ") if known else []
    message = (
        "this scenario is already fitted to a file of that name; counted twice, its bands would be too "
        "narrow: give the original scenario and all files together, or rename a file of new readings"
    )
    problems = [Problem(str(file), None, "", message) for file in files if file.name in before]
    if problems:
        raise ScenarioError(problems)


def all_readings(scenario: "Scenario", files: Sequence[Path]) -> tuple[list[Reading], list[str]]:
    """Readings of every file, each problem told, and what was odd in logs."""
    readings: list[Reading] = []
    oddities: list[str] = []
    problems: list[Problem] = []
    for file in files:
        try:
            if is_log(file):
                from simengine.studies.calibrate.shift_events import readings_of_log

                found, odd = readings_of_log(load_log(file, scenario.record.drive.reduction))
                readings += found
                oddities += odd
            else:
                readings += load_readings(file)
        except ScenarioError as error:
            problems += error.problems
    problems += duplicates(readings) if not problems else []
    if not problems and not readings:
        told = "; ".join(oddity.removeprefix(f"{files[0]}: ") for oddity in oddities)
        problems.append(Problem(str(files[0]) if files else "", None, "", told or "no readings"))
    if problems:
        raise ScenarioError(problems)
    return readings, oddities


def held_out(readings: list[Reading], rows: set[int]) -> list[Reading]:
    """The readings with those of some rows kept out of the fit."""
    unknown = sorted(rows - {reading.row for reading in readings})
    for row in sorted(rows):
        owners = sorted({reading.file for reading in readings if reading.row == row})
        if len(owners) > 1:
            message = f"row {row} stands in {' and '.join(owners)}; type 'hold' there, in a column 'use'"
            raise ScenarioError([Problem("--hold-out", None, "", message)])
    if unknown:
        known = ", ".join(str(reading.row) for reading in readings)
        listed = ", ".join(map(str, unknown))
        raise ScenarioError(
            [Problem("--hold-out", None, "", f"no reading stands in row {listed}; rows: {known}")]
        )
    return [replace(reading, held=True) if reading.row in rows else reading for reading in readings]


def checked_question(name: str | None) -> str | None:
    """The name of a question; refuses one that is not known."""
    if name is None:
        return None
    from simengine.studies.calibrate.questions import QUESTIONS

    if name in QUESTIONS:
        return name
    near = units.nearest(name, list(QUESTIONS))
    hint = f"; nearest: '{near}'" if near else ""
    message = f"'{name}' is no question; accepted: {', '.join(QUESTIONS)}{hint}"
    raise ScenarioError([Problem("--question", None, "", message)])


def fitted_text(scenario: "Scenario", dataset: "xarray.Dataset", readings: str) -> str:
    """The overlay scenario of a calibration."""
    values: dict[str, object] = {}
    known, band = scenario.record.calibration, None
    for place, path in enumerate(map(str, dataset["parameter"].values)):
        row = dataset.isel(parameter=place)
        if path.endswith(".mass_per_length"):
            band = float(row["parameter_band"])
            values["propeller.stations"] = stations_table(scenario, float(row["parameter_value"]))
            continue
        origin = scenario.origins.get(path)
        narrowed = bool(int(row["parameter_narrowed"]))
        mark = "fitted" if narrowed else (origin.mark if origin and origin.mark else "assumed")
        unit = str(row["parameter_units"].values)
        number = f"{float(row['parameter_value']):.8g} +- {float(row['parameter_band']):.4g} {unit}".rstrip()
        values[path] = f"{number}, {mark}"
    return overlay_text(
        scenario.path.name,
        f"{scenario.record.title.removesuffix(FITTED)}{FITTED}",
        values,
        ", ".join([*([known.readings] if known and known.readings else []), readings]),
        [str(path) for path in dataset["parameter"].values],
        dataset["correlation"].values.tolist(),
        band,
    )


def stations_table(scenario: "Scenario", factor: float) -> dict[str, object]:
    """The blade's stations with their mass_per_length multiplied; no band can stand in a table."""
    stations = scenario.record.propeller.stations
    shown = {
        "radius": ("mm", units.LENGTH),
        "chord": ("mm", units.LENGTH),
        "blade_angle": ("deg", units.ANGLE),
        "thickness": ("%", units.FRACTION),
        "axis": ("%", units.FRACTION),
        "mass_per_length": ("g/m", units.LINEAR_DENSITY),
        "mass_centre": ("%", units.FRACTION),
    }
    columns = {name: getattr(stations, name) for name in shown if getattr(stations, name) is not None}
    factors = {name: factor if name == "mass_per_length" else 1.0 for name in columns}
    rows = [
        [float(f"{units.from_si(factors[name] * columns[name][row], *shown[name]):.9g}") for name in columns]
        for row in range(len(stations.radius))
    ]
    return {"columns": [f"{name} {shown[name][0]}" for name in columns], "rows": rows}
