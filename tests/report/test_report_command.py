"""`simengine report` as a user meets it: what it refuses, where the page goes, what it tells."""

import json
from pathlib import Path

import jsonschema
import pytest
import xarray
from command_line import run
from html_pages import flight_file
from one_of_each import KINDS

import simengine
from simengine.report.documents import document_schema
from simengine.report.page.reading import later
from simengine.report.page.run import page_path
from simengine.results.catalogue import STUDY
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.netcdf import write_netcdf


def refused(monkeypatch, capsys, *arguments):
    """What the command says of an input that cannot be used."""
    assert run(monkeypatch, "report", *arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    return err


# --- what is refused --------------------------------------------------------------------------------
def test_what_is_no_result_is_named_and_refused(monkeypatch, tmp_path, capsys):
    (tmp_path / "text.nc").write_text("no NetCDF")
    xarray.Dataset({"x": ("y", [1.0])}).to_netcdf(tmp_path / "foreign.nc")
    whole = flight_file(tmp_path).read_bytes()
    (tmp_path / "cut.nc").write_bytes(whole[: len(whole) // 2])
    for name in ("text", "foreign", "cut", "missing"):
        err = refused(monkeypatch, capsys, tmp_path / f"{name}.nc", "-o", tmp_path / "out")
        assert f"{name}.nc: " in err
        assert "accepted: results of simengine fly, envelope, compare" in err
    assert not (tmp_path / "out").exists()
    told = refused(monkeypatch, capsys, tmp_path / "text.nc", tmp_path / "foreign.nc")
    assert "text.nc" in told
    assert "foreign.nc" in told


def test_a_kind_that_is_not_known_names_those_that_are(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path, **{STUDY: "weather"})
    err = refused(monkeypatch, capsys, path)
    assert "of the kind 'weather'" in err
    assert all(kind in err for kind in KINDS)


def test_a_result_of_a_later_version_is_refused(monkeypatch, tmp_path, capsys):
    err = refused(monkeypatch, capsys, flight_file(tmp_path, simengine_version="99.0.0"))
    assert "written by simengine 99.0.0, later than this one" in err


@pytest.mark.parametrize(
    ("version", "than", "expected"),
    [
        ("0.2.0", "0.1.9", True),
        ("0.1.9", "0.1.0", False),
        ("1.0", "0.9.1", True),
        ("unknown", "0.1.0", False),
    ],
)
def test_versions_are_compared_by_their_first_two_numbers(version, than, expected):
    assert later(version, than) is expected


def test_missing_variables_are_named(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path)
    whole = xarray.load_dataset(path)
    write_netcdf(whole.drop_vars(["shift_begin_rpm", "height"]), path)
    err = refused(monkeypatch, capsys, path)
    assert "no whole result of `simengine fly`: height, shift_begin_rpm missing" in err


def test_values_without_sense_are_refused(monkeypatch, tmp_path, capsys, undrawn):
    path = flight_file(tmp_path)
    dataset = xarray.load_dataset(path)
    dataset["event_kind"].values[:] = 99
    write_netcdf(dataset, path)
    err = refused(monkeypatch, capsys, path, "-o", tmp_path / "out")
    assert "make no sense to this version" in err and "Error" not in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["page.txt", "result.nc"])
def test_a_page_does_not_take_another_kind_of_name(monkeypatch, tmp_path, capsys, name):
    path = flight_file(tmp_path, "result.nc")
    before = path.read_bytes()
    assert "ends in .html" in refused(monkeypatch, capsys, path, "-o", tmp_path / name)
    assert path.read_bytes() == before


def test_where_the_page_goes(tmp_path):
    (tmp_path / "taken.report.html").mkdir()
    assert page_path(tmp_path, [Path("a/flight.nc")]) == tmp_path / "flight.report.html"
    assert page_path(tmp_path / "new", [Path("a.nc"), Path("b.nc")]) == tmp_path / "new" / "report.html"
    assert page_path(tmp_path / "x.HTML", [Path("a.nc")]) == tmp_path / "x.HTML"
    with pytest.raises(simengine.errors.OutputError, match="is a folder"):
        page_path(tmp_path, [Path("taken.nc")])


def test_a_scenario_is_not_written_over_a_file(monkeypatch, tmp_path, capsys):
    path, out = flight_file(tmp_path), tmp_path / "mine.yaml"
    out.write_text("mine")
    assert "is there already" in refused(monkeypatch, capsys, path, "--scenario-out", out)
    assert out.read_text() == "mine"


# --- the command ------------------------------------------------------------------------------------
def test_the_command_tells_the_answer_and_where_the_page_is(monkeypatch, tmp_path, capsys, undrawn):
    path = flight_file(tmp_path, title="Made up")
    assert run(monkeypatch, "report", path, "-o", tmp_path) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Flight: Made up\nWhen do the blades shift")
    assert SHORT_CAUTION in " ".join(out.split())
    assert err == f"written: {tmp_path / 'flight.report.html'}\n"
    assert run(monkeypatch, "report", path, "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert SHORT_CAUTION in " ".join(out.split())
    assert err == ""


def test_json_is_the_page_without_its_drawings(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path, title="Made up")
    assert run(monkeypatch, "report", path, "-o", tmp_path, "--json", "-q") == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, document_schema("report"), cls=jsonschema.Draft202012Validator)
    assert document["cautions"] == list(CAUTIONS)
    (told,) = document["results"]
    assert told["kind"] == "fly"
    assert told["title"] == "Made up"
    assert told["conclusion"]
    assert {len(row) for table in told["tables"] for row in table["rows"]} >= {7}
    assert told["pictures"][0]["name"] == "flight"
    assert told["again"][1] == "simengine fly again.yaml"
