"""From the result of a study to its files."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.report.outputs import Outcome, write_all

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

Drawers = Mapping[str, "Callable[[xarray.Dataset], Figure]"]


def write_study(
    dataset: "xarray.Dataset", folder: str | Path, name: str, drawers: Drawers, pictures: str
) -> Outcome:
    """Write a study's result and its pictures, all or none.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result.
    folder : path
        Where to; made if it is not there.
    name : str
        The result is `NAME.nc`.
    drawers : mapping of str to callable
        What draws each picture from the dataset, by the picture's name; empty for none.
    pictures : str
        The pictures are `PICTURES.picture.png` and `.svg`.

    Returns
    -------
    Outcome
        The dataset and the paths.

    Raises
    ------
    OutputError
        If a file cannot be written; then none is.
    """
    drawn: dict[str, Callable[[], Figure]] = {
        f"{pictures}.{picture}": partial(draw, dataset) for picture, draw in drawers.items()
    }
    return Outcome(dataset, tuple(write_all(dataset, Path(folder) / f"{name}.nc", drawn)))
