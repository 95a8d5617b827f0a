"""Results in and out of NetCDF-4 files."""

from pathlib import Path

import xarray

from simengine.errors import Problem, ScenarioError
from simengine.results.files import written_whole

MARK = "simengine_scenario"  # attribute that only our results carry


def write_netcdf(dataset: xarray.Dataset, path: str | Path) -> Path:
    """Write a result whole or not at all; returns the path.

    Raises
    ------
    OutputError
        If the folder cannot be written or is full.
    """
    path = Path(path)
    # CF forbids missing values on coordinates; xarray would announce one by default.
    encoding = {str(name): {"_FillValue": None} for name in dataset.coords}
    with written_whole(path) as temporary:
        try:
            dataset.to_netcdf(temporary, engine="netcdf4", format="NETCDF4", encoding=encoding)
        except RuntimeError as error:  # how the NetCDF library reports a full disc
            raise OSError(0, f"{error}") from error
    return path


def read_netcdf(path: str | Path) -> xarray.Dataset:
    """Read a result into memory.

    Raises
    ------
    ScenarioError
        If there is no such file, it is no NetCDF file, it is damaged, or another program wrote it.
    """
    path = Path(path)
    try:
        with xarray.open_dataset(path, engine="netcdf4") as dataset:
            dataset.load()
    except FileNotFoundError as error:
        raise refusal(path, "there is no such file") from error
    except (OSError, RuntimeError, ValueError) as error:
        raise refusal(path, f"cannot be read as a NetCDF file ({error}); it may be damaged") from error
    if MARK not in dataset.attrs:
        raise refusal(path, f"is a NetCDF file but no result of simengine: attribute `{MARK}` is missing")
    return dataset


def refusal(path: Path, message: str) -> ScenarioError:
    """An input file that cannot be used."""
    return ScenarioError([Problem(str(path), None, "", message)])
