"""From a scenario file to a tolerance study's files: what the command and the Python call do."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.execution.where import Where
from simengine.report.outputs import DEFAULT_FOLDER, Drawn, Outcome, checked, drawn_by, write_together

if TYPE_CHECKING:
    import xarray

    from simengine.execution.store import Store
    from simengine.results.tolerance_file import HubColumn, HubRows
    from simengine.scenario import Scenario
    from simengine.studies.tolerance.inputs import Input
    from simengine.studies.tolerance.parts import Part
    from simengine.studies.tolerance.study import Question


def run_tolerance(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    samples: int | None = None,
    seed: int | None = None,
    hubs: str | Path | None = None,
    workers: int | None = None,
    processes: bool = False,
    scheduler: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Outcome:
    """Load a scenario, draw hubs within its tolerances, or read measured ones, and write what they do.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    samples, seed : int, optional
        Instead of the scenario's own: 2 to 10,000,000, and 0 or above.
    hubs : path, optional
        A csv file of measured hubs; then nothing is drawn.
    workers, processes, scheduler, command, pictures, before_computing, progress
        As in `simengine.envelope`.

    Returns
    -------
    Outcome
        The dataset holds everything but the single hubs, which are in the file; measured ones it holds too.

    Raises
    ------
    ScenarioError, OutputError, ExecutionError
        Nothing is written in the first case. The second also while another run of the same study is at
        work in the same folder.

    Examples
    --------
    >>> import simengine
    >>> batch = simengine.tolerance("scenarios/batch_of_hubs.yaml", samples=64, pictures=False)
    >>> batch.paths[0].name
    'batch_of_hubs.tolerance.nc'
    """
    from simengine.scenario.references import reference_stem, reference_to

    chosen = reference_to(scenario_path, variant)
    scenario = checked(chosen, None)
    question = asked(scenario, samples, seed, hubs, workers, command)
    where = Where(workers, processes, scheduler)
    where.ready()
    if before_computing:
        before_computing()
    from simengine.execution.store import kept_beside
    from simengine.studies.tolerance.study import tolerance

    data = Path(output) / f"{reference_stem(chosen)}.tolerance.nc"
    with kept_beside(data) as store:
        dataset = tolerance(question, store, where, progress)
        paths = write_tolerance(dataset, question, store, data, pictures=pictures)
    if question.hubs is not None:
        from simengine.results.netcdf import read_netcdf

        dataset = read_netcdf(data)
    return Outcome(dataset, tuple(paths))


def asked(
    scenario: "Scenario",
    samples: int | None,
    seed: int | None,
    hubs: str | Path | None,
    workers: int | None,
    command: str,
) -> "Question":
    """The question, checked before anything is written."""
    from simengine.errors import Problem, ScenarioError
    from simengine.studies.tolerance.measured_hubs import read_hubs
    from simengine.studies.tolerance.study import Question, refuse_other_hubs

    refuse_other_hubs(scenario, "a tolerance study")
    block = scenario.record.tolerance
    refuse_numbers(scenario, {"samples": samples, "seed": seed, "workers": workers})
    if hubs is not None and samples is not None:
        message = f"measured hubs ({hubs}) are counted, not drawn: leave out one of samples and hubs"
        raise ScenarioError([Problem(str(scenario.path), None, "samples", message)])
    measured = read_hubs(Path(hubs), scenario.record) if hubs is not None else None
    drawn = block.samples if samples is None else samples
    count = len(measured.names) if measured else drawn
    return Question(scenario, count, block.seed if seed is None else seed, measured, command)


def refuse_numbers(scenario: "Scenario", given: "Mapping[str, int | None]") -> None:
    """Numbers asked for beside the scenario keep to its bounds; None stands for what is left out."""
    from operator import index

    from simengine.errors import Problem, ScenarioError
    from simengine.scenario.tolerance_records import FEWEST_SAMPLES, MOST_SAMPLES

    bounds = {"samples": (FEWEST_SAMPLES, MOST_SAMPLES), "seed": (0, None), "workers": (1, None)}
    problems = []
    for name, number in given.items():
        if number is None:
            continue
        least, most = bounds[name]
        try:
            good = index(number) >= least and (most is None or number <= most)
        except TypeError:
            good = False
        if not good:
            accepted = f"{least:,} or above" if most is None else f"{least:,} to {most:,}"
            message = f"must be a whole number, {accepted}; got {number!r}"
            problems.append(Problem(str(scenario.path), None, name, message))
    if problems:
        raise ScenarioError(problems)


def write_tolerance(
    dataset: "xarray.Dataset", question: "Question", store: "Store", data: Path, *, pictures: bool = True
) -> list[Path]:
    """Write the study with all its hubs and its pictures; returns the paths."""
    drawn: Drawn = {}
    if pictures:
        from simengine.report.tolerance.pictures import tolerance_drawers

        drawn = drawn_by(tolerance_drawers(dataset), dataset, data)
    return write_together(data, partial(store_tolerance, dataset, question, store), drawn)


def store_tolerance(dataset: "xarray.Dataset", question: "Question", store: "Store", path: Path) -> None:
    """Write everything and the single hubs, part by part, under a temporary name."""
    from simengine.results.netcdf import library_errors_told
    from simengine.results.tolerance_file import append_hubs, write_summary

    with library_errors_told():
        write_summary(dataset, path)
        append_hubs(path, hub_columns(question), hub_rows(question, store), question.hubs is not None)


def varied_inputs(question: "Question") -> "tuple[Input, ...]":
    """Inputs in the order of the parts' values."""
    from simengine.studies.tolerance.inputs import tolerance_inputs

    return question.hubs.inputs if question.hubs else tolerance_inputs(question.scenario)


def hub_columns(question: "Question") -> "list[HubColumn]":
    """Variables of the single hubs' inputs."""
    from simengine.results.tolerance_file import HubColumn

    columns = []
    for item in varied_inputs(question):
        name = item.name.replace(".", "_")
        blade = "" if item.blade is None else f"_blade_{item.blade + 1}"
        unit = item.dimension.si.replace("*", " ") or "1"
        told = item.name if item.blade is None else f"{item.name} of blade {item.blade + 1}, difference"
        columns.append(HubColumn(f"input_{name}{blade}", unit, told))
    return columns


def hub_rows(question: "Question", store: "Store") -> "Iterator[HubRows]":
    """Single hubs, part by part."""
    from simengine.studies.tolerance.parts import parts_of

    for part in parts_of(store, question.samples):
        yield rows_of(part, question)


def rows_of(part: "Part", question: "Question") -> "HubRows":
    """A part in the order of the catalogue."""
    from simengine.balance.shift_tables import FIGURES as COMPUTED
    from simengine.results.tolerance_catalogue import FIGURES
    from simengine.results.tolerance_file import HubRows
    from simengine.studies.tolerance.model import COLUMNS

    order = [COMPUTED.index(COLUMNS[figure.name]) for figure in FIGURES]
    names = question.hubs.names[part.start : part.start + part.washers.size] if question.hubs else ()
    return HubRows(part.values, part.figures[..., order], part.inside, part.washers, names)
