"""From results to files, all or none; and what the commands and the Python calls share."""

import warnings
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.errors import OutputError, letters
from simengine.results.files import is_folder, refuse_unwritable, written_together

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

    from simengine.execution.where import Where
    from simengine.scenario import Scenario

DEFAULT_FOLDER = Path("outputs")
PICTURE_FORMATS = ("png", "svg")

Drawer = Callable[["xarray.Dataset"], "Figure"]
Drawers = Mapping[str, Drawer]
Drawn = Mapping[str, "Callable[[], Figure]"]


@dataclass(frozen=True)
class Outcome:
    """What was computed for a scenario, and the files written for it."""

    dataset: "xarray.Dataset"
    paths: tuple[Path, ...]


def get_ready(
    output: str | Path, before_computing: Callable[[], None] | None, where: "Where | None" = None
) -> None:
    """Last before computing, once all input is found good: refuse a folder for the results that cannot be
    written, find the cluster if one is asked for, compile.

    Raises
    ------
    OutputError, ExecutionError
    """
    refuse_unwritable(Path(output))
    if where is not None:
        where.ready()
    if before_computing:
        before_computing()


def ready_scenario(
    scenario_path: Path,
    output: str | Path,
    before_computing: Callable[[], None] | None,
    where: "Where | None" = None,
) -> "Scenario":
    """Load a scenario, where that is all the input; a bad one is refused before heavy imports."""
    from simengine.scenario.references import load_reference

    scenario = load_reference(scenario_path)
    get_ready(output, before_computing, where)
    return scenario


def write_outputs(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write a flight as `stem.nc` and its picture into a folder; returns the paths."""
    drawn: Drawn = {}
    if pictures:
        from simengine.report.flight.picture import flight_picture

        drawn = {stem: partial(flight_picture, dataset)}
    return write_all(dataset, Path(folder) / f"{stem}.nc", drawn)


def drawn_by(drawers: Drawers, dataset: "xarray.Dataset", data: Path) -> Drawn:
    """What draws each picture of a result, by its stem: `NAME.loads.stops` beside `NAME.loads.nc`."""
    return {f"{data.stem}.{name}": partial(draw, dataset) for name, draw in drawers.items()}


def write_study(dataset: "xarray.Dataset", data: Path, drawers: Drawers) -> Outcome:
    """Write a study's result and its pictures, all or none.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result.
    data : Path
        The file for it; its folder is made if it is not there.
    drawers : mapping of str to callable
        What draws each picture from the dataset, by the picture's name; empty for none.

    Returns
    -------
    Outcome

    Raises
    ------
    OutputError
        If a file cannot be written; then none is.
    """
    return Outcome(dataset, tuple(write_all(dataset, data, drawn_by(drawers, dataset, data))))


def write_all(
    dataset: "xarray.Dataset",
    data: Path,
    drawn: Drawn,
    texts: Mapping[str, str] | None = None,
    elsewhere: Mapping[Path, str] | None = None,
) -> list[Path]:
    """Write a dataset, pictures by stems and texts by names beside it, and other texts by their paths."""
    from simengine.results.netcdf import store_netcdf

    told = {data.with_name(name): text for name, text in (texts or {}).items()} | dict(elsewhere or {})
    return write_together(data, partial(store_netcdf, dataset), drawn, told)


def write_together(
    data: Path, store: Callable[[Path], None], drawn: Drawn, texts: Mapping[Path, str] | None = None
) -> list[Path]:
    """Write what `store` stores, pictures by their stems beside it, texts by their paths; returns the paths.

    Each file is written whole, and none takes its name before all are written: a picture that cannot be
    drawn leaves the results of an earlier run as they were.
    """
    pictures = {stem: [data.with_name(f"{stem}.{form}") for form in PICTURE_FORMATS] for stem in drawn}
    told = texts or {}
    paths = [data, *(path for pair in pictures.values() for path in pair), *told]
    refuse_folders(paths)
    with written_together(paths) as temporary:
        for stem, draw in drawn.items():
            write_picture(draw, {path: temporary[path] for path in pictures[stem]})
        for path, text in told.items():
            temporary[path].write_text(letters(text), encoding="utf-8")
        store(temporary[data])
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


def write_picture(draw: "Callable[[], Figure]", files: dict[Path, Path], source: str = "") -> None:
    """Draw one picture and write it in every form, as the paths end, under its temporary names.

    `source` is what the files carry of where they come from.
    """
    told = {"Source": source} if source else {}
    undated = {"png": told, "svg": {**told, "Date": None}}
    with plain_text():
        picture = draw()
        for path, temporary in files.items():
            form = path.suffix[1:]
            picture.savefig(temporary, format=form, metadata=undated[form])
