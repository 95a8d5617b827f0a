"""From a scenario file to result files: what both the command and `simengine.fly` do."""

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.errors import OutputError
from simengine.results.files import written_whole

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

DEFAULT_FOLDER = Path("outputs")
PICTURE_FORMATS = ("png", "svg")


@dataclass(frozen=True)
class FlyResult:
    """A flown scenario and the files written for it."""

    dataset: "xarray.Dataset"
    paths: tuple[Path, ...]


def run_fly(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    fidelity: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_flying: Callable[[], None] | None = None,
) -> FlyResult:
    """Load, fly, write.

    Parameters
    ----------
    scenario_path : path
        A scenario file.
    output : path
        Folder for the results, made if it is not there.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenario's own.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_flying : callable, optional
        Called once the scenario is found good.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError
        Nothing is written in the first two cases.
    """
    dataset = flown(Path(scenario_path), fidelity, command, before_flying)
    stem = Path(scenario_path).stem
    return FlyResult(dataset, tuple(write_outputs(dataset, output, stem, pictures=pictures)))


def flown(
    scenario_path: Path, fidelity: str | None, command: str, before_flying: Callable[[], None] | None
) -> "xarray.Dataset":
    """Load a scenario and fly it; a bad one is refused before anything heavy is imported."""
    from simengine.scenario import load_scenario

    scenario = load_scenario(scenario_path)
    if before_flying:
        before_flying()
    from simengine.flight.simulate import simulate

    return simulate(scenario, fidelity=fidelity, command=command)


def write_outputs(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write `stem.nc` and the pictures into a folder, each whole or not at all; returns the paths."""
    from simengine.results.netcdf import write_netcdf

    folder = Path(folder)
    refuse_folders([folder / f"{stem}.{form}" for form in ("nc", *PICTURE_FORMATS)])
    paths = [write_netcdf(dataset, folder / f"{stem}.nc")]
    return [*paths, *write_pictures(dataset, folder, stem)] if pictures else paths


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


def write_pictures(dataset: "xarray.Dataset", folder: Path, stem: str) -> list[Path]:
    """Draw once, write as pixels and as vectors."""
    from simengine.report.flight_picture import flight_picture

    return write_picture(lambda: flight_picture(dataset), folder, stem)


def write_picture(draw: "Callable[[], Figure]", folder: Path, stem: str) -> list[Path]:
    """Draw one picture and write it in every form; returns the paths."""
    paths = [folder / f"{stem}.{form}" for form in PICTURE_FORMATS]
    with plain_text():
        picture = draw()
        for path, form in zip(paths, PICTURE_FORMATS, strict=True):
            with written_whole(path) as temporary:
                picture.savefig(temporary, format=form, metadata={"Date": None} if form == "svg" else None)
    return paths


def refuse_folders(paths: list[Path]) -> None:
    """Find out before anything is written whether a result's name is taken by a folder."""
    for path in paths:
        if path.is_dir():
            raise OutputError(f"{path}: is a folder; move it away, or give another folder with -o")


# --- envelope --------------------------------------------------------------------------------------
@dataclass(frozen=True)
class EnvelopeResult:
    """The envelope of a scenario and the files written for it."""

    dataset: "xarray.Dataset"
    paths: tuple[Path, ...]


def run_envelope(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> EnvelopeResult:
    """Load a scenario, compute where its shift begins, finishes, hangs and stalls, write it.

    Parameters
    ----------
    scenario_path : path
        A scenario file.
    output : path
        Folder for the results, made if it is not there.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_computing : callable, optional
        Called once the scenario is found good.
    progress : callable, optional
        Called now and then with the share done, 0 to 1, and what is being done.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError
        Nothing is written in the first two cases.
    """
    dataset = envelope_of(Path(scenario_path), command, before_computing, progress)
    stem = Path(scenario_path).stem
    return EnvelopeResult(dataset, tuple(write_envelope(dataset, output, stem, pictures=pictures)))


def envelope_of(
    scenario_path: Path,
    command: str,
    before_computing: Callable[[], None] | None,
    progress: Callable[[float, str], None] | None,
) -> "xarray.Dataset":
    """Load a scenario and compute its envelope; a bad one is refused before anything heavy is imported."""
    from simengine.scenario import load_scenario

    scenario = load_scenario(scenario_path)
    if before_computing:
        before_computing()
    from simengine.studies.envelope import envelope

    return envelope(scenario, progress=progress, command=command)


def write_envelope(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write `stem.envelope.nc` and pictures such as `stem.heights.png`, each whole or not at all."""
    from simengine.results.netcdf import write_netcdf

    folder = Path(folder)
    paths = [write_netcdf(dataset, folder / f"{stem}.envelope.nc")]
    if pictures:
        from simengine.report.envelope_pictures import envelope_drawers

        for name, draw in envelope_drawers(dataset).items():
            paths += write_picture(partial(draw, dataset), folder, f"{stem}.{name}")
    return paths
