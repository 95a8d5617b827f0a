"""A file on which the NetCDF library hangs or breaks is refused; all else is left to the reader."""

import sys
from pathlib import Path

import pytest
from synthetic_flight import synthetic_flight

from simengine.errors import ScenarioError
from simengine.results import netcdf_trial
from simengine.results.netcdf import read_netcdf, write_netcdf
from simengine.results.netcdf_trial import can_be_read, is_swollen

HANGS = """\
import sys
sys.path.insert(0, {package!r})
from simengine.results import netcdf_trial

def read_to_the_end(path):
    while "flight" in path:
        pass

netcdf_trial.SECONDS, netcdf_trial.read_to_the_end = 1.0, read_to_the_end
netcdf_trial.main()
"""
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="processor time is bounded on POSIX systems only")


@pytest.fixture
def flight(tmp_path) -> Path:
    """A flight's file."""
    return write_netcdf(synthetic_flight().dataset(), tmp_path / "flight.nc")


def program(monkeypatch, tmp_path, text: str) -> None:
    """Put a program in place of the trial."""
    path = tmp_path / "trial.py"
    path.write_text(text.format(package=str(Path(netcdf_trial.__file__).parents[2])))
    monkeypatch.setattr(netcdf_trial, "__file__", str(path))


def test_a_sound_file_and_what_a_reader_tells_itself_can_be_read(flight, tmp_path):
    (tmp_path / "text.nc").write_text("no NetCDF")
    assert can_be_read([flight, tmp_path / "text.nc", tmp_path / "missing.nc", tmp_path])


@POSIX
@pytest.mark.parametrize("text", [HANGS, "import os; os.abort()"], ids=["hangs", "breaks"])
def test_a_file_on_which_the_library_hangs_or_breaks_is_refused(flight, monkeypatch, tmp_path, text):
    program(monkeypatch, tmp_path, text)
    with pytest.raises(ScenarioError, match="is damaged: the library that reads NetCDF files does not come"):
        read_netcdf(flight)


@pytest.mark.parametrize("executable", ["/nowhere/python", "exit 1"])
def test_a_trial_that_cannot_begin_refuses_nothing(flight, monkeypatch, tmp_path, executable):
    if executable == "exit 1":
        program(monkeypatch, tmp_path, "import nothing_of_that_name")
    else:
        monkeypatch.setattr(netcdf_trial.sys, "executable", executable)
    assert read_netcdf(flight).sizes["time"] > 1


@pytest.mark.parametrize(
    ("claimed", "size", "swollen"), [(10**8, 1, False), (10**8 + 1, 1, True), (2 * 10**9, 10**7, False)]
)
def test_a_few_bytes_that_claim_to_be_many(claimed, size, swollen):
    assert is_swollen(claimed, size) is swollen
