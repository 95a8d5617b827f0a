import shutil
import signal
import subprocess
import sys
from dataclasses import replace

import netCDF4
import numpy as np
import pytest
import xarray
from synthetic_flight import __file__ as synthetic_file
from synthetic_flight import synthetic_flight

from simengine.errors import OutputError, ScenarioError
from simengine.results.files import write_text
from simengine.results.netcdf import read_netcdf, write_netcdf

WRITE_IN_A_CHILD = """
import sys
sys.path.insert(0, {folder!r})
from synthetic_flight import synthetic_flight
from simengine.results import netcdf
{before}
netcdf.write_netcdf(synthetic_flight().dataset(), {path!r})
"""


def run_child(tmp_path, before):
    folder = str(synthetic_file).rpartition("/")[0]
    code = WRITE_IN_A_CHILD.format(folder=folder, before=before, path=str(tmp_path / "flight.nc"))
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120)


def test_what_is_written_is_read_back(flight_result, tmp_path):
    path = write_netcdf(flight_result, tmp_path / "new" / "flight.nc")
    xarray.testing.assert_identical(read_netcdf(path), flight_result)
    assert [each.name for each in path.parent.iterdir()] == ["flight.nc"]


def test_opens_with_plain_xarray_and_nothing_is_decoded_away(flight_result, tmp_path):
    path = write_netcdf(flight_result, tmp_path / "flight.nc")
    with xarray.open_dataset(path) as dataset:  # a warning would be an error here
        assert dataset["time"].dtype == np.float64
        assert dataset["time"].values[-1] == 3720.0
        assert dataset["engine_rpm"].attrs["units"] == "rpm"
        assert dataset["event_note"].values.tolist() == [""] * dataset.sizes["event"]


def test_a_flight_without_events_is_written_and_read(tmp_path):
    path = write_netcdf(replace(synthetic_flight(), events=()).dataset(), tmp_path / "flight.nc")
    assert read_netcdf(path).sizes["event"] == 0


def test_coordinates_have_no_fill_value(flight_result, tmp_path):
    # CF-1.11, section 2.5.1: no missing values in coordinate variables.
    with netCDF4.Dataset(write_netcdf(flight_result, tmp_path / "flight.nc")) as file:
        assert "_FillValue" not in file["time"].ncattrs()
        assert file.data_model == "NETCDF4"
        assert file["time"].dtype == np.float64


@pytest.mark.skipif(shutil.which("ncdump") is None, reason="ncdump is not installed")
def test_opens_with_ncdump(flight_result, tmp_path):
    path = write_netcdf(flight_result, tmp_path / "flight.nc")
    done = subprocess.run(["ncdump", "-h", str(path)], capture_output=True, text=True, check=True)
    assert 'pitch_state:flag_meanings = "coarse shifting hung fine"' in done.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")
def test_a_killed_run_leaves_the_older_file_as_it_was(tmp_path):
    (tmp_path / "flight.nc").write_text("older")
    done = run_child(
        tmp_path,
        "import os, signal, pathlib\npathlib.Path.replace = lambda *_: os.kill(os.getpid(), signal.SIGKILL)",
    )
    assert done.returncode == -signal.SIGKILL
    assert (tmp_path / "flight.nc").read_text() == "older"


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX limits")
def test_a_full_disc_is_told_and_leaves_nothing(tmp_path):
    # A limit on the size of files stands in for a full disc: the system refuses to write on in both cases.
    done = run_child(
        tmp_path,
        "import resource, signal\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))",
    )
    assert "OutputError" in done.stderr.splitlines()[-1]
    assert "cannot be written" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_told(flight_result, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        write_netcdf(flight_result, tmp_path / "file" / "flight.nc")
    assert caught.value.exit_code == 2


def test_an_error_while_writing_leaves_nothing(tmp_path):
    broken = synthetic_flight().dataset().assign_attrs(broken={"a": 1})
    with pytest.raises(TypeError):
        write_netcdf(broken, tmp_path / "flight.nc")
    assert list(tmp_path.iterdir()) == []


def test_text_files_are_replaced_whole(tmp_path):
    path = tmp_path / "a.yaml"
    write_text(path, "first")
    write_text(path, "zweite: ä\n")
    assert path.read_text(encoding="utf-8") == "zweite: ä\n"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(ScenarioError, match="no such file"):
        read_netcdf(tmp_path / "none.nc")


@pytest.mark.parametrize("keep", [0, 10, 4096, 0.5])
def test_a_damaged_file_is_told(flight_result, tmp_path, keep):
    path = write_netcdf(flight_result, tmp_path / "flight.nc")
    content = path.read_bytes()
    path.write_bytes(content[: int(keep * len(content)) if isinstance(keep, float) else keep])
    with pytest.raises(ScenarioError, match=r"flight\.nc: cannot be read as a NetCDF file"):
        read_netcdf(path)


def test_a_file_of_another_program_is_told(tmp_path):
    path = tmp_path / "other.nc"
    xarray.Dataset({"a": ("x", [1.0])}).to_netcdf(path)
    with pytest.raises(ScenarioError, match="no result of simengine"):
        read_netcdf(path)
