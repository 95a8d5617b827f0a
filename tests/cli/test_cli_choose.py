import json
import shutil
from pathlib import Path

import pytest
import xarray
from command_line import run

from simengine.results.cautions import CAUTIONS, SHORT_CAUTION

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HEAD = "extends: climb_and_cruise.yaml\nchoose:\n  heights: [0 m]\n  draws: 16\n"


def one_line(text):
    return " ".join(text.split())


@pytest.fixture
def own(tmp_path):
    """Write a scenario with a block `choose`; its path."""

    def write(text):
        folder = tmp_path / "scenarios"
        if not folder.exists():
            shutil.copytree(SCENARIOS, folder)
        path = folder / "own.yaml"
        path.write_text(HEAD + text, encoding="utf-8")
        return path

    return write


def test_it_writes_prints_and_cautions(own, monkeypatch, tmp_path, capsys):
    path = own("  targets: {cruise_rpm: 5000 rpm}\n")
    assert run(monkeypatch, "choose", path, "-o", tmp_path / "out") == 0
    out, err = capsys.readouterr()
    assert {found.name for found in (tmp_path / "out").iterdir()} == {
        "own.choose.nc",
        *(f"own.choose.{picture}.{form}" for picture in ("options", "shims") for form in ("png", "svg")),
    }
    assert "Fit the scenario's own" in one_line(out)
    assert "Shim table of option 1" in out
    assert SHORT_CAUTION in one_line(out)
    assert err.count("written: ") == 5
    with xarray.open_dataset(tmp_path / "out" / "own.choose.nc") as data:
        assert data.attrs["study"] == "choose"
        assert data["shim_begin_rpm"].attrs["units"] == "rpm"


def test_targets_out_of_reach_leave_with_one(own, monkeypatch, tmp_path, capsys):
    path = own("  targets: {cruise_rpm: 5000 rpm, finish_below_full: 6000 rpm}\n")
    assert run(monkeypatch, "choose", path, "-q", "-o", tmp_path / "out") == 1
    out = one_line(capsys.readouterr().out)
    assert "Impossible with what may be fitted" in out
    assert "missed are 'shift finishes below full throttle' by" in out
    assert SHORT_CAUTION in out


def test_json_is_one_document(own, monkeypatch, tmp_path, capsys):
    path = own("  targets: {cruise_rpm: 5000 rpm}\n")
    assert run(monkeypatch, "choose", path, "--json", "-q", "-o", tmp_path / "out") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["feasible"] is True
    assert document["cautions"] == list(CAUTIONS)
    assert len(document["targets"]) == 5


def test_a_file_of_springs_takes_the_place_of_the_block(own, monkeypatch, tmp_path, capsys):
    springs = tmp_path / "springs.csv"
    head = "name,wire_diameter mm,mean_diameter mm,active_coils,total_coils,free_length mm\n"
    springs.write_text(f"{head}long one,5.6,32,5,7,46\n", encoding="utf-8")
    path = own("  targets: {cruise_rpm: 4500 rpm}\n")
    assert run(monkeypatch, "choose", path, "--springs", springs, "-o", tmp_path / "out") == 0
    assert "long one: wire 5.6 mm" in one_line(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("  targets: {cruise_rpm: 12000 rpm}\n", "must be below the engine's speed_limit"),
        ("  targets: {cruise_rpm: 5000}\n", "rpm"),
        ("  targets: {cruise: 5000 rpm}\n", "cruise_rpm"),
        (
            "  targets: {cruise_rpm: 5000 rpm}\n  coarse_stops: [9 deg]\n",
            "no fine stop lies below a coarse stop",
        ),
        ("  targets: {cruise_rpm: 5000 rpm}\n  most_washers: 3\n  fewest_washers: 4\n", "must be at least"),
        ("  targets: {cruise_rpm: 5000 rpm}\n  bars: [150 %]\n", "bars"),
    ],
)
def test_a_bad_block_is_told(own, monkeypatch, tmp_path, capsys, text, told):
    assert run(monkeypatch, "choose", own(text), "-o", tmp_path / "out") == 2
    err = one_line(capsys.readouterr().err)
    assert told in err
    assert "own.yaml:" in err
    assert "Traceback" not in err


def test_without_a_block_or_a_hub_that_shifts(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "choose", SCENARIOS / "climb_and_cruise.yaml", "-o", tmp_path) == 2
    assert "is required for this command" in capsys.readouterr().err
