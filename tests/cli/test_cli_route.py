"""`simengine route` as a user meets it."""

import json

import pytest
from command_line import run
from small_route import SCENARIOS, small_route

import simengine
import simengine.studies.route.study as study
from simengine import cli
from simengine.report.route import pictures as route_pictures
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION

SCENARIO = SCENARIOS / "cross_country.yaml"


@pytest.fixture
def computed(monkeypatch, request):
    """Computing is left out: any scenario gives the small route, or one in a gale. Returns what was asked."""
    asked, result = [], small_route(gale="cannot" in request.node.name)

    def stub(scenario, *, draws, store, where, progress, command):
        asked.append((scenario.path, draws, command))
        return result

    if "writes" not in request.node.name:  # drawing takes longest
        monkeypatch.setattr(route_pictures, "route_drawers", lambda dataset: {})
    monkeypatch.setattr(study, "route", stub)
    monkeypatch.setattr(cli.program, "compile_missing", lambda quiet: None)
    return asked


def one_line(text):
    return " ".join(text.split())


def test_route_writes_prints_and_cautions(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIO, "-o", tmp_path / "out", "--draws", 7) == 0
    out, err = capsys.readouterr()
    assert "Flown with this hub" in out
    assert SHORT_CAUTION in one_line(out)
    assert "\x1b" not in out
    assert err.count("written: ") == 7
    assert computed[0][1] == 7
    assert computed[0][2].startswith("simengine route ")


def test_legs_that_cannot_be_flown_are_written_and_leave_with_3(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIO, "-o", tmp_path) == 3
    out, err = capsys.readouterr()
    assert "!! Leg 'out' CANNOT be flown as asked" in out
    assert err.count("written: ") == 1


def test_json_is_the_only_thing_on_standard_output(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIO, "-o", tmp_path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["study"] == "route"
    assert document["cautions"] == list(CAUTIONS)


def test_quiet_is_short_and_still_cautions(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIO, "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert "Flown with" not in out
    assert SHORT_CAUTION in one_line(out)
    assert err == ""


def test_verbose_tells_defaults_and_every_caution(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIO, "-o", tmp_path, "-v") == 0
    out = one_line(capsys.readouterr().out)
    assert "route.contingency = 10 %" in out
    assert CAUTIONS[3] in out


def test_a_scenario_without_a_route_is_refused(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "route", SCENARIOS / "climb_and_cruise.yaml", "-o", tmp_path) == 2
    assert "route: is required" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_bad_waypoint_file_is_told_with_its_line(monkeypatch, tmp_path, capsys):
    (tmp_path / "way.csv").write_text("latitude,longitude\n47,8\nnorth,8\n")
    path = tmp_path / "a.yaml"
    text = (SCENARIOS / "ground_run.yaml").read_text()
    (tmp_path / "parts").mkdir()
    for part in (path for path in (SCENARIOS / "parts").iterdir() if path.is_dir()):
        target = tmp_path / "parts" / part.name
        target.mkdir()
        for file in part.iterdir():
            (target / file.name).write_text(file.read_text())
    path.write_text(text + "\nroute: {waypoints: way.csv, cruise: {height: 500 m}}\n")
    assert run(monkeypatch, "route", path, "-o", tmp_path / "out") == 2
    err = capsys.readouterr().err
    assert "way.csv:3: route.waypoints: latitude must be a number of decimal degrees" in err
    assert "Traceback" not in err


def test_help_has_an_example(monkeypatch, capsys):
    assert run(monkeypatch, "route", "--help") == 0
    assert "simengine route scenarios/cross_country.yaml" in one_line(capsys.readouterr().out)


def test_it_is_one_python_call(tmp_path):
    assert simengine.route.__name__ == "run_route"
