"""From a scenario file to result files: what both the commands and the Python calls do."""

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.errors import OutputError
from simengine.execution.where import Where
from simengine.results.files import is_folder, written_together

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

    from simengine.execution.store import Store
    from simengine.scenario import Scenario

DEFAULT_FOLDER = Path("outputs")
PICTURE_FORMATS = ("png", "svg")


@dataclass(frozen=True)
class Outcome:
    """What was computed for a scenario, and the files written for it."""

    dataset: "xarray.Dataset"
    paths: tuple[Path, ...]


def run_fly(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    fidelity: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_flying: Callable[[], None] | None = None,
) -> Outcome:
    """Load, fly, write.

    Parameters
    ----------
    scenario_path : path
        A scenario file, or `file.yaml:variant`.
    output : path
        Folder for the results, made if it is not there.
    variant : str, optional
        Name of one of the file's variants, to fly instead of the file itself.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenario's own.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_flying : callable, optional
        Called once the scenario is found good.

    Returns
    -------
    Outcome
        `dataset`, what was computed, and `paths`, the files written.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError
        Nothing is written in the first two cases.

    Examples
    --------
    >>> import simengine
    >>> flight = simengine.fly("scenarios/ground_run.yaml", pictures=False)
    >>> begins, finishes = (flight.dataset[name][0] for name in ("shift_begin_rpm", "shift_finish_rpm"))
    >>> bool(begins < finishes)  # ENGINE rpm in the first phase
    True
    """
    from simengine.scenario.references import reference_stem, reference_to

    chosen = reference_to(scenario_path, variant)
    dataset = flown(chosen, fidelity, command, before_flying)
    paths = write_outputs(dataset, output, reference_stem(chosen), pictures=pictures)
    return Outcome(dataset, tuple(paths))


def run_envelope(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    workers: int | None = None,
    processes: bool = False,
    scheduler: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Outcome:
    """Load a scenario, compute where its shift begins, finishes, hangs and stalls, write it.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path : path
        A scenario file, or `file.yaml:variant`.
    output : path
        Folder for the results, made if it is not there.
    variant : str, optional
        Name of one of the file's variants, to look at instead of the file itself.
    workers, processes, scheduler
        As in `simengine.execution.where.Where`: how many threads, or processes, or which cluster. The numbers
        do not depend on it.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_computing : callable, optional
        Called once the scenario is found good.
    progress : callable, optional
        Called now and then with the share done, 0 to 1, and what is being done.

    Returns
    -------
    Outcome
        `dataset`, what was computed, and `paths`, the files written.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError, ExecutionError
        Nothing is written in the first two cases.

    Examples
    --------
    >>> import simengine
    >>> found = simengine.envelope("scenarios/ground_run.yaml", pictures=False)
    >>> found.dataset["shift_ceiling"].attrs["units"]
    'm'
    """
    from simengine.execution.store import kept_beside
    from simengine.scenario.references import reference_stem, reference_to

    chosen = reference_to(scenario_path, variant)
    where = Where(workers, processes, scheduler)
    where.ready()
    stem = reference_stem(chosen)
    with kept_beside(Path(output) / f"{stem}.envelope.nc") as store:
        dataset = envelope_of(chosen, command, before_computing, progress, store, where)
        paths = write_envelope(dataset, output, stem, pictures=pictures)
    return Outcome(dataset, tuple(paths))


def checked(scenario_path: Path, before: Callable[[], None] | None) -> "Scenario":
    """Load a scenario; a bad one is refused before anything heavy is imported."""
    from simengine.scenario.references import load_reference

    scenario = load_reference(scenario_path)
    if before:
        before()
    return scenario


def flown(
    scenario_path: Path, fidelity: str | None, command: str, before: Callable[[], None] | None
) -> "xarray.Dataset":
    """Load a scenario and fly it."""
    scenario = checked(scenario_path, before)
    from simengine.flight.simulate import simulate

    return simulate(scenario, fidelity=fidelity, command=command)


def envelope_of(
    scenario_path: Path,
    command: str,
    before: Callable[[], None] | None,
    progress: Callable[[float, str], None] | None,
    store: "Store",
    where: Where,
) -> "xarray.Dataset":
    """Load a scenario and compute its envelope."""
    scenario = checked(scenario_path, before)
    from simengine.studies.envelope.study import envelope

    return envelope(scenario, store=store, where=where, progress=progress, command=command)


def write_outputs(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write a flight as `stem.nc` and its picture into a folder; returns the paths."""
    drawn: dict[str, Callable[[], Figure]] = {}
    if pictures:
        from simengine.report.flight.picture import flight_picture

        drawn = {stem: partial(flight_picture, dataset)}
    return write_all(dataset, Path(folder) / f"{stem}.nc", drawn)


def write_envelope(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write an envelope as `stem.envelope.nc` and pictures such as `stem.heights.png`; returns the paths."""
    drawn: dict[str, Callable[[], Figure]] = {}
    if pictures:
        from simengine.report.envelope.pictures import envelope_drawers

        drawn = {f"{stem}.{name}": partial(draw, dataset) for name, draw in envelope_drawers(dataset).items()}
    return write_all(dataset, Path(folder) / f"{stem}.envelope.nc", drawn)


def write_all(
    dataset: "xarray.Dataset",
    data: Path,
    drawn: "dict[str, Callable[[], Figure]]",
    texts: dict[str, str] | None = None,
    elsewhere: dict[Path, str] | None = None,
) -> list[Path]:
    """Write a dataset, pictures by their stems, texts by their names into one folder, others by their paths.

    Each file is written whole, and none takes its name before all are written: a picture that cannot be
    drawn leaves the results of an earlier run as they were.
    """
    from simengine.results.netcdf import store_netcdf

    pictures = {stem: [data.with_name(f"{stem}.{form}") for form in PICTURE_FORMATS] for stem in drawn}
    told = {data.with_name(name): text for name, text in (texts or {}).items()} | (elsewhere or {})
    paths = [data, *(path for pair in pictures.values() for path in pair), *told]
    refuse_folders(paths)
    with written_together(paths) as temporary:
        for stem, draw in drawn.items():
            write_picture(draw, {path: temporary[path] for path in pictures[stem]})
        for path, text in told.items():
            temporary[path].write_text(text, encoding="utf-8")
        store_netcdf(dataset, temporary[data])
    return paths


def refuse_folders(paths: list[Path]) -> None:
    """Find out before anything is written whether a result's name is taken by a folder."""
    for path in paths:
        if is_folder(path):
            raise OutputError(f"{path}: is a folder; move it away, or give another folder with -o")


@contextmanager
def plain_text() -> Iterator[None]:
    """Draw names as they are: a dollar sign is no formula, a letter without a glyph no warning."""
    import matplotlib

    # Text stays text in the vector picture, and equal runs give equal files.
    with (
        matplotlib.rc_context(
            {"text.parse_math": False, "svg.fonttype": "none", "svg.hashsalt": "simengine"}
        ),
        warnings.catch_warnings(),
    ):
        warnings.filterwarnings("ignore", message="Glyph")
        yield


def write_picture(draw: "Callable[[], Figure]", files: dict[Path, Path]) -> None:
    """Draw one picture and write it in every form, as the paths end, under its temporary names."""
    with plain_text():
        picture = draw()
        for path, temporary in files.items():
            form = path.suffix[1:]
            picture.savefig(temporary, format=form, metadata={"Date": None} if form == "svg" else None)
