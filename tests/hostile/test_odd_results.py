"""Results of the right names with something else in them."""

import time
from collections.abc import Callable
from pathlib import Path

import netCDF4
import numpy as np
import pytest
from command_line import run
from seeds import SCENARIOS

import simengine
from simengine.errors import ScenarioError
from simengine.results.netcdf import read_netcdf

MOST_SECONDS = 2.0
Change = Callable[[netCDF4.Dataset], None]


@pytest.fixture(scope="module")
def flight(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A flight."""
    folder = tmp_path_factory.mktemp("flight")
    return simengine.fly(SCENARIOS / "ground_run.yaml", folder, pictures=False).paths[0]


def changed(flight: Path, folder: Path, change: Change) -> Path:
    """A flight with a change."""
    path = folder / "changed.nc"
    path.write_bytes(flight.read_bytes())
    with netCDF4.Dataset(path, "a") as file:
        change(file)
    return path


def lists_of_numbers(file: netCDF4.Dataset) -> None:
    file.renameVariable("height", "height_before")
    file.createVariable("height", file.createVLType("f8", "lists"), ("time",))


def pairs(file: netCDF4.Dataset) -> None:
    file.renameVariable("height", "height_before")
    kind = file.createCompoundType(np.dtype([("a", "f8"), ("b", "i4")]), "pairs")
    file.createVariable("height", kind, ("time",))


def dates(file: netCDF4.Dataset) -> None:
    file["time"].units = "days since 2000-01-01"


def words(file: netCDF4.Dataset) -> None:
    file.renameVariable("height", "height_before")
    file.createVariable("height", str, ("time",))


def a_table(file: netCDF4.Dataset) -> None:
    file.renameVariable("height", "height_before")
    file.createVariable("height", "f8", ("time", "phase"))


@pytest.mark.parametrize("change", [lists_of_numbers, pairs, dates, words, a_table])
@pytest.mark.parametrize("command", ["compare", "report"])
def test_a_flight_that_holds_something_else_is_refused_or_read(
    flight: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    command: str,
    change: Change,
) -> None:
    path = changed(flight, tmp_path, change)
    both = (flight, path) if command == "compare" else (path,)
    code = run(monkeypatch, command, *both, "-o", tmp_path / "out")
    told = capfd.readouterr().err
    assert code == 2 or (command == "report" and code == 0)
    if command == "compare":
        assert "holds something else as" in told


def test_a_few_bytes_that_claim_to_be_an_array_without_end(flight: Path, tmp_path: Path) -> None:
    def swell(file: netCDF4.Dataset) -> None:
        file.createDimension("endless", 1_000_000_000)
        file.createVariable("more", "f8", ("endless",), chunksizes=(100_000,))

    path = changed(flight, tmp_path, swell)
    assert path.stat().st_size < 1_000_000
    start = time.process_time()
    with pytest.raises(ScenarioError, match="claims 8 GB of numbers"):
        read_netcdf(path)
    assert time.process_time() - start < MOST_SECONDS
