"""Results in and out of NetCDF-4 files."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import xarray

from simengine.errors import Problem, ScenarioError, letters
from simengine.results.files import written_whole
from simengine.results.netcdf_trial import can_be_read, is_swollen

MARK = "simengine_scenario"  # attribute that only our results carry


def write_netcdf(dataset: xarray.Dataset, path: str | Path) -> Path:
    """Write a result whole or not at all.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result.
    path : path
        The file; an older one of that name is replaced once the new one is whole.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If the folder cannot be written or is full.
    """
    path = Path(path)
    with written_whole(path) as temporary:
        store_netcdf(dataset, temporary)
    return path


def store_netcdf(dataset: xarray.Dataset, temporary: Path) -> None:
    """Write a result under a temporary name of the caller's.

    Raises
    ------
    OSError
        If the folder cannot be written or is full.
    """
    # CF forbids missing values on coordinates; xarray would announce one by default.
    encoding = {str(name): {"_FillValue": None} for name in dataset.coords}
    with library_errors_told():
        in_letters(dataset).to_netcdf(temporary, engine="netcdf4", format="NETCDF4", encoding=encoding)


def in_letters(dataset: xarray.Dataset) -> xarray.Dataset:
    """Dataset with escapes in place of what no file of text can hold: names of files may have any bytes."""
    told = dataset.copy()
    told.attrs = {name: plain(value) for name, value in told.attrs.items()}
    for name, variable in told.variables.items():
        variable.attrs = {key: plain(value) for key, value in variable.attrs.items()}
        if variable.dtype.kind in "OU":
            values = np.frompyfunc(plain, 1, 1)(variable.values)
            kind = object if variable.dtype.kind == "O" else str
            told[name] = variable.dims, np.asarray(values, dtype=kind), variable.attrs, variable.encoding
    return told


def plain(value: Any) -> Any:
    """Letters of a text, anything else as it is."""
    return letters(value) if isinstance(value, str) else value


@contextmanager
def library_errors_told() -> Iterator[None]:
    """Tell what the NetCDF library says of a full disc in the way of the system.

    Raises
    ------
    OSError
    """
    try:
        yield
    except RuntimeError as error:
        raise OSError(0, f"{error}") from error


def read_netcdf(path: str | Path, *, tried: bool = False) -> xarray.Dataset:
    """Read a result into memory.

    Parameters
    ----------
    path : path
        A file that simengine wrote.
    tried : bool
        Whether another process has read it to its end before.

    Returns
    -------
    xarray.Dataset
        As it was written: numbers in the units that each variable names.

    Raises
    ------
    ScenarioError
        If there is no such file, it is no NetCDF file, it is damaged, or another program wrote it.
    """
    path = Path(path)
    refuse_odd(path)
    if not tried and not can_be_read([path]):
        raise refusal(path, "is damaged: the library that reads NetCDF files does not come to an end with it")
    try:
        with xarray.open_dataset(path, engine="netcdf4") as dataset:
            refuse_swollen(path, dataset)
            dataset.load()
    except ScenarioError:
        raise
    except Exception as error:  # a damaged file breaks the libraries in every way there is
        reason = getattr(error, "strerror", None) or str(error)
        raise refusal(path, f"cannot be read as a NetCDF file ({reason}); it may be damaged") from error
    if MARK not in dataset.attrs:
        raise refusal(path, f"is a NetCDF file but no result of simengine: attribute `{MARK}` is missing")
    return dataset


def refuse_swollen(path: Path, dataset: xarray.Dataset) -> None:
    """Refuse what would fill the memory: a few bytes can claim to be an array without end.

    Raises
    ------
    ScenarioError
    """
    size = path.stat().st_size
    if is_swollen(dataset.nbytes, size):
        message = f"claims {dataset.nbytes / 1e9:.3g} GB of numbers in {size / 1e6:.3g} MB; it may be damaged"
        raise refusal(path, message)


def refuse_odd(path: Path) -> None:
    """Refuse what is no plain file: a pipe or a device would never end.

    Raises
    ------
    ScenarioError
    """
    try:
        if not path.exists():
            raise refusal(path, "there is no such file")
        if not path.is_file():
            raise refusal(path, "is a folder; name a result" if path.is_dir() else "is not a regular file")
    except OSError as error:
        raise refusal(path, f"cannot be read: {error.strerror}") from None
    except ValueError:
        raise refusal(path, "is not the name of a file") from None


def refusal(path: Path, message: str) -> ScenarioError:
    """An input file that cannot be used."""
    return ScenarioError([Problem(str(path), None, "", message)])
