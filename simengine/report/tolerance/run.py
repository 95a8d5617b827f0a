"""From a scenario file to a tolerance study's files: what the command and the Python call do."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from operator import index
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress
from simengine.execution.where import Where
from simengine.report.outputs import DEFAULT_FOLDER, Drawn, Outcome, drawn_by, get_ready, write_together
from simengine.scenario.references import load_reference, reference_stem, reference_to
from simengine.scenario.tolerance_records import FEWEST_DRAWS, MOST_DRAWS

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
    draws: int | None = None,
    seed: int | None = None,
    hubs: str | Path | None = None,
    where: Where | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Load a scenario, draw hubs within its tolerances, or read measured ones, and write what they do.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    draws, seed : int, optional
        Instead of the scenario's own: 2 to 10,000,000, and 0 or above.
    hubs : path, optional
        A csv file of measured hubs; then nothing is drawn.
    where, command, pictures, before_computing, progress
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
    >>> batch = simengine.tolerance("scenarios/batch_of_hubs.yaml", draws=64, pictures=False)
    >>> batch.paths[0].name
    'batch_of_hubs.tolerance.nc'
    """
    chosen = reference_to(scenario_path, variant)
    question = asked(load_reference(chosen), draws, seed, hubs, command)
    get_ready(output, before_computing, where)
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
    draws: int | None,
    seed: int | None,
    hubs: str | Path | None,
    command: str,
) -> "Question":
    """The question, checked before anything is written."""
    from simengine.studies.tolerance.measured_hubs import read_hubs
    from simengine.studies.tolerance.study import Question, refuse_other_hubs

    refuse_other_hubs(scenario, "a tolerance study")
    block = scenario.record.tolerance
    refuse_numbers(scenario, {"draws": draws, "seed": seed})
    if hubs is not None and draws is not None:
        message = f"measured hubs ({hubs}) are counted, not drawn: leave out one of draws and hubs"
        raise ScenarioError([Problem(str(scenario.path), None, "draws", message)])
    measured = read_hubs(Path(hubs), scenario.record) if hubs is not None else None
    drawn = block.draws if draws is None else draws
    count = len(measured.names) if measured else drawn
    return Question(scenario, count, block.seed if seed is None else seed, measured, command)


def refuse_numbers(scenario: "Scenario", given: "Mapping[str, int | None]") -> None:
    """Numbers asked for beside the scenario keep to its bounds; None stands for what is left out."""
    bounds = {"draws": (FEWEST_DRAWS, MOST_DRAWS), "seed": (0, None)}
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
    from simengine.results.netcdf import library_errors_told, store_netcdf
    from simengine.results.tolerance_file import append_hubs

    store_netcdf(dataset, path)
    with library_errors_told():
        rows, named = hub_rows(question, store), question.hubs is not None
        append_hubs(path, question.draws, hub_columns(question), rows, named)


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

    for part in parts_of(store, question.draws):
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
