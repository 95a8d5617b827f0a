import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import netCDF4
import numpy as np
import pytest
import xarray
from command_line import run

from simengine.results.cautions import CAUTIONS, SHORT_CAUTION

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BATCH = SCENARIOS / "batch_of_hubs.yaml"
STARTED = "from simengine.cli import main; main()"


def one_line(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def computed(tmp_path_factory):
    """A small batch, computed once: folder, what was printed, what was told."""
    folder = tmp_path_factory.mktemp("batch")
    done = subprocess.run(
        [sys.executable, "-c", STARTED, "tolerance", BATCH, "-n", "300", "-o", folder],
        capture_output=True,
        text=True,
        check=True,
    )
    return folder, done.stdout, done.stderr


def test_it_writes_prints_and_cautions(computed):
    folder, out, err = computed
    pictures = ("histograms", "yield", "contributions")
    assert {path.name for path in folder.iterdir()} == {
        "batch_of_hubs.tolerance.nc",
        *(f"batch_of_hubs.tolerance.{picture}.{form}" for picture in pictures for form in ("png", "svg")),
    }
    assert "Of 300 hubs" in out
    assert "What each tolerance does" in out
    assert "Washers that bring a hub" in out
    assert SHORT_CAUTION in one_line(out)
    assert "\x1b" not in out
    assert err.count("written: ") == 7


def test_the_file_opens_plainly_and_holds_every_hub(computed):
    with xarray.open_dataset(computed[0] / "batch_of_hubs.tolerance.nc") as data:
        assert data.attrs["Conventions"] == "CF-1.11"
        assert data["shift_begin_rpm"].dims == ("sample", "place")
        assert data.sizes["sample"] == 300
        assert data["shift_begin_rpm"].encoding["chunksizes"] == (300, data.sizes["place"])
        inside = data["inside_limits"].values.astype(bool)
        assert float(data["yield_together"]) == pytest.approx(inside.all(axis=1).mean())
        assert data["yield"].values == pytest.approx(inside.mean(axis=0))
        begin = data["shift_begin_rpm"].values
        assert float(data["shift_begin_rpm_mean"][0]) == pytest.approx(begin[:, 0].mean())
        assert data["input_hub_spring_rate"].attrs["units"] == "N/m"
        for name, variable in data.variables.items():
            assert "long_name" in variable.attrs, name
        fits = data["washers_to_fit"].values
        assert float(data["reject_share"]) == pytest.approx((fits == -1).mean())


def test_json_is_one_document(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "tolerance", BATCH, "-n", 200, "--json", "-q", "-o", tmp_path) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["study"] == "tolerance"
    assert document["cautions"] == list(CAUTIONS)
    assert document["figures"]["hubs_counted"] == 200
    assert document["units"]["shift_begin_rpm_mean"] == "rpm"
    assert len(document["figures"]["yield"]) == len(document["coordinates"]["place"]) == 4


def test_quiet_keeps_the_caution(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "tolerance", BATCH, "-n", 100, "-q", "-o", tmp_path) == 0
    out, err = capsys.readouterr()
    assert SHORT_CAUTION in one_line(out)
    assert err == ""


def test_measured_hubs(monkeypatch, tmp_path, capsys):
    hubs = tmp_path / "hubs.csv"
    hubs.write_text("hub,hub.spring.rate N/mm,hub.spring.washers\nA1,96,6\nA2,140,6\n", encoding="utf-8")
    assert run(monkeypatch, "tolerance", BATCH, "--hubs", hubs, "-o", tmp_path) == 0
    out = one_line(capsys.readouterr().out)
    with xarray.open_dataset(tmp_path / "batch_of_hubs.tolerance.nc") as data:
        assert list(data["hub"].values) == ["A1", "A2"]
        inside = int(data["inside_limits"].values.all(axis=1).sum())
        assert f"{inside} of 2 measured hubs are inside all limits everywhere" in out
        begin = data["shift_begin_rpm"].values
        assert (begin[1] > begin[0]).all()
        assert data["input_hub_spring_rate"].values == pytest.approx([96e3, 140e3])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name,hub.spring.rate N/mm\nA,96\n", "one column must be called 'hub'"),
        ("hub,hub.spring.rat N/mm\nA,96\n", "is no column of this hub"),
        ("hub,hub.spring.rate kg\nA,96\n", "kg"),
        ("hub,hub.spring.rate N/mm\nA,soft\n", "must be a number, got 'soft'"),
        ("hub,hub.spring.rate N/mm\nA\n", "has 1 cells, but there are 2 columns"),
        ("hub\n", "at least one hub"),
        (
            "\nhub,hub.spring.rate N/mm\n\nA,96\n\nB,soft\n",
            "hubs.csv:6: hub.spring.rate N/mm: must be a number",
        ),
        (
            "hub,hub.spring.washers\nA,6\n\nB,2.5\n",
            "hubs.csv:4: hub.spring.washers: must be a whole number from 0",
        ),
        ("hub,hub.spring.washers\nA,-1\n", "hubs.csv:2: hub.spring.washers: must be a whole number from 0"),
        ("hub,hub.spring.washers\nA,many\n", "must be a number, got 'many'"),
        ("hub,hub.spring.washers\n" + 200_000 * "A" + ",6\n", "is no row of a csv file"),
        ("hub,hub.spring.rate N/mm,hub.spring.rate N/m\nA,96,96000\n", "is given twice"),
    ],
)
def test_a_bad_file_of_hubs_is_told(monkeypatch, tmp_path, capsys, text, told):
    hubs = tmp_path / "hubs.csv"
    hubs.write_text(text, encoding="utf-8")
    assert run(monkeypatch, "tolerance", BATCH, "--hubs", hubs, "-o", tmp_path / "out") == 2
    err = capsys.readouterr().err
    assert told in err
    assert "hubs.csv" in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("block", "told"),
    [
        ("inputs: [{input: hub.spring.rat, plus_minus: 5 %}]", "nearest: 'hub.spring.rate'"),
        (
            "inputs: [{input: hub.spring.rate, plus_minus: 5 mm}]",
            "or a share of the value, for example '5 %'",
        ),
        ("inputs: [{input: hub.lost_motion, plus_minus: 5 %}]", "the value is zero: give it in its unit"),
        ("inputs: [{input: hub.spring.preload_angle, plus_minus: 5 %}]", "this hub has no value of its own"),
        (
            "inputs: [{input: blade_mass, plus_minus: 5 %, distribution: truncated}]",
            "is required for a truncated",
        ),
        ("limits: [{figure: shift_begin, at_least: 5000 rpm}]", "nearest: 'shift_begin_rpm'"),
        ("limits: [{figure: shift_begin_rpm, at_least: 5000}]", "rpm"),
        ("limits: [{figure: shift_begin_rpm}]", "give at_least, at_most or both"),
        ("heights: [0 m, 0 m]", "the heights must rise"),
    ],
)
def test_a_bad_block_is_told_with_its_line(monkeypatch, tmp_path, capsys, block, told):
    import shutil

    folder = tmp_path / "scenarios"
    shutil.copytree(SCENARIOS, folder)
    path = folder / "own.yaml"
    path.write_text(f"extends: climb_and_cruise.yaml\ntolerance:\n  {block}\n", encoding="utf-8")
    assert run(monkeypatch, "tolerance", path, "-o", tmp_path / "out") == 2
    err = one_line(capsys.readouterr().err)
    assert told in err
    assert "own.yaml:3" in err
    assert "Traceback" not in err


def test_more_hubs_than_can_be_meant_are_refused_at_once(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "tolerance", BATCH, "-n", 100_000_000, "-o", tmp_path / "out") == 2
    assert "10000000" in one_line(capsys.readouterr().err)
    assert not (tmp_path / "out").exists()


def test_measured_hubs_are_not_drawn_as_well(monkeypatch, tmp_path, capsys):
    hubs = tmp_path / "hubs.csv"
    hubs.write_text("hub,hub.spring.rate N/mm\na,96\n")
    assert run(monkeypatch, "tolerance", BATCH, "--hubs", hubs, "-n", "50", "-o", tmp_path / "out") == 2
    assert "leave out one of draws and hubs" in one_line(capsys.readouterr().err)
    assert not (tmp_path / "out").exists()


def test_a_hub_that_does_not_shift_is_refused(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "tolerance", SCENARIOS / "climb_and_cruise_fixed.yaml", "-o", tmp_path) == 2
    assert "is for a two_stop hub" in capsys.readouterr().err


def content(path):
    """Everything in a file but the moment at which it was written."""
    with netCDF4.Dataset(path) as file:
        variables = {name: np.ma.getdata(variable[:]).copy() for name, variable in file.variables.items()}
        attributes = {name: str(file.getncattr(name)) for name in file.ncattrs() if name != "history"}
    return variables, attributes


@pytest.mark.slow
def test_killed_at_half_it_goes_on_to_the_identical_result(tmp_path):
    arguments = [sys.executable, "-c", STARTED, "tolerance", BATCH, "-n", "32768", "-q", "-o"]
    whole, broken = tmp_path / "whole", tmp_path / "broken"
    subprocess.run([*arguments, whole], check=True, capture_output=True)
    parts = broken / ".batch_of_hubs.tolerance.nc.parts"
    child = subprocess.Popen([*arguments, broken], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while len(list(parts.glob("*.npz"))) < 3:
        assert child.poll() is None, "it was done before it could be killed"
        time.sleep(0.002)
    child.send_signal(signal.SIGKILL)
    child.wait()
    kept = {path: path.stat().st_mtime_ns for path in parts.glob("*.npz")}
    assert 3 <= len(kept) < 32
    assert not (broken / "batch_of_hubs.tolerance.nc").exists()
    again = subprocess.Popen([*arguments, broken], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    assert again.wait() == 0
    assert not parts.exists()
    assert sorted(path.name for path in broken.iterdir()) == sorted(path.name for path in whole.iterdir())
    one, other = (content(folder / "batch_of_hubs.tolerance.nc") for folder in (whole, broken))
    assert one[1] == other[1]
    assert one[0].keys() == other[0].keys()
    for name, values in one[0].items():
        assert values.tobytes() == other[0][name].tobytes() or np.array_equal(values, other[0][name]), name
