import json
import os
import sys

import jsonschema
import pytest
import yaml
from command_line import failing, on_a_terminal, run

from simengine import cli
from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.flight import simulate
from simengine.report import outputs
from simengine.report.flight import run as flight_run
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.netcdf import read_netcdf
from simengine.scenario import load_scenario


@pytest.fixture
def flown(monkeypatch, hung_result):
    """Flying is left out: any scenario gives the made-up flight. Returns what was asked for."""
    asked = []

    def stub(scenario, *, fidelity, command):
        asked.append((scenario, fidelity, command))
        return hung_result

    monkeypatch.setattr(flight_run, "ready_scenario", lambda path, *_: path)
    monkeypatch.setattr(simulate, "simulate", stub)
    monkeypatch.setattr(cli.program, "compile_missing", lambda quiet: None)
    return asked


def test_fly_writes_prints_and_cautions(flown, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "fly", "my hub.yaml", "-o", tmp_path / "out") == 0
    out, err = capsys.readouterr()
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "my hub.nc",
        "my hub.png",
        "my hub.svg",
    ]
    assert "Shift and return: ENGINE rpm" in out
    assert "!! In the climb the shift begins at" in " ".join(out.split())
    assert SHORT_CAUTION in " ".join(out.split())
    assert "The inner third of the blade was stalled" in out
    assert "\x1b" not in out
    assert err.count("written: ") == 3
    assert flown[0][1] is None
    assert flown[0][2] == f"simengine fly 'my hub.yaml' -o {tmp_path / 'out'}"


def test_the_default_folder_is_outputs_here(flown, monkeypatch, tmp_path, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, "fly", "a.yaml") == 0
    assert (tmp_path / "outputs" / "a.nc").exists()


def test_json_is_the_only_thing_on_standard_output(flown, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["cautions"] == list(CAUTIONS)


def test_quiet_is_short_and_still_cautions(flown, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert "Shift and return" not in out
    assert SHORT_CAUTION in " ".join(out.split())
    assert err == ""


def test_verbose_tells_everything(flown, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path, "-v") == 0
    words = " ".join(capsys.readouterr().out.split())
    assert all(caution in words for caution in CAUTIONS)
    assert "installation.inflow_factor: 0.85" in words
    assert "blades hang at" in words
    assert "12345 steps, 12 rejected" in words


def test_fidelity_is_passed_on(flown, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path, "--fidelity", "steady") == 0
    assert flown[0][1] == "steady"


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (
            ScenarioError([Problem("a.yaml", 7, "hub.kind", "not one of ...")]),
            2,
            "a.yaml:7: hub.kind: not one of",
        ),
        (NoSolutionError("no balance at 3000 m"), 3, "no balance at 3000 m"),
    ],
)
def test_what_a_user_can_mend_is_told_without_traceback(
    flown, monkeypatch, tmp_path, capsys, error, code, words
):
    monkeypatch.setattr(flight_run, "ready_scenario", failing(error))
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path / "out") == code
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_is_told(flown, monkeypatch, tmp_path, capsys):
    (tmp_path / "file").write_text("")
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path / "file") == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_defect_of_ours_keeps_its_traceback(flown, monkeypatch, tmp_path):
    monkeypatch.setattr(flight_run, "ready_scenario", failing(ZeroDivisionError("ours")))
    monkeypatch.setattr(sys, "argv", ["simengine", "fly", "a.yaml", "-o", str(tmp_path)])
    with pytest.raises(ZeroDivisionError):
        cli.main()


def test_ctrl_c_leaves_with_130(flown, monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(flight_run, "ready_scenario", failing(KeyboardInterrupt()))
    assert run(monkeypatch, "fly", "a.yaml", "-o", tmp_path) == 130
    assert capsys.readouterr().err.strip() == "interrupted; no file is left half written"


@pytest.mark.parametrize(
    "arguments", [("fly",), ("fly", "a.yaml", "--fidelity", "rough"), ("flee",), ("fly", "a.yaml", "--nope")]
)
def test_wrong_usage_leaves_with_2(arguments, monkeypatch, capsys):
    assert run(monkeypatch, *arguments) == 2
    assert "Usage" in capsys.readouterr().err


# --- new, schema, version --------------------------------------------------------------------------
def test_new_writes_a_scenario_that_loads(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    assert run(monkeypatch, "new", path) == 0
    text = path.read_text(encoding="utf-8")
    assert text.splitlines()[0] == "# yaml-language-server: $schema=simengine.schema.json"
    assert "invented" in load_scenario(path).record.title
    assert f"simengine fly {path}" in capsys.readouterr().err


def test_new_never_overwrites_unless_forced(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    path.write_text("precious")
    assert run(monkeypatch, "new", path) == 2
    assert path.read_text() == "precious"
    assert "--force" in capsys.readouterr().err
    assert run(monkeypatch, "new", path, "--force") == 0
    assert path.read_text().startswith("# yaml-language-server")


def test_schema_goes_to_standard_output_or_to_a_file(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "schema") == 0
    printed = json.loads(capsys.readouterr().out)
    assert run(monkeypatch, "schema", "-o", tmp_path / "s.json") == 0
    assert json.loads((tmp_path / "s.json").read_text(encoding="utf-8")) == printed
    run(monkeypatch, "new", tmp_path / "mine.yaml")
    starter = yaml.safe_load((tmp_path / "mine.yaml").read_text(encoding="utf-8"))
    jsonschema.validate(starter, printed)
    starter["hub"]["coarse_stpo"] = "13 deg"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(starter, printed)


def test_version(monkeypatch, capsys):
    assert run(monkeypatch, "--version") == 0
    assert capsys.readouterr().out.startswith("simengine 0.")


# --- start-up --------------------------------------------------------------------------------------
@pytest.mark.parametrize("command", ["fly", "new", "schema"])
def test_the_help_of_each_command_shows_an_example(command, monkeypatch, capsys):
    assert run(monkeypatch, command, "--help") == 0
    assert f"Example:  simengine {command} " in capsys.readouterr().out


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal")
@pytest.mark.parametrize("no_color", [True, False])
def test_colour_only_on_a_terminal_and_not_with_no_color(hung_result, tmp_path, no_color):
    from simengine.results.netcdf import write_netcdf

    path = write_netcdf(hung_result, tmp_path / "a.nc")
    code = (
        "from simengine.results.netcdf import read_netcdf\n"
        "from simengine.report.flight.terminal import print_flight\n"
        f"print_flight(read_netcdf({str(path)!r}))"
    )
    environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR")}
    environment |= {"TERM": "xterm-256color"} | ({"NO_COLOR": "1"} if no_color else {})
    seen = on_a_terminal(code, "stdout", environment)
    assert (b"\x1b[1;31m" in seen) is not no_color


def test_read_back_what_the_command_wrote(flown, monkeypatch, tmp_path, capsys, hung_result):
    run(monkeypatch, "fly", "a.yaml", "-o", tmp_path)
    assert read_netcdf(tmp_path / "a.nc").identical(hung_result)


def test_a_picture_that_fails_leaves_earlier_results(flight_result, tmp_path):
    first = outputs.write_all(flight_result, tmp_path / "a.nc", {}, {"a.txt": "first"})
    before = {path: path.read_bytes() for path in first}
    with pytest.raises(ZeroDivisionError):
        outputs.write_all(
            flight_result.assign_attrs(title="second"),
            tmp_path / "a.nc",
            {"a": failing(ZeroDivisionError())},
            {"a.txt": "second"},
        )
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before
