"""`simengine loads`: whatever is asked for, the cautions and what was not checked are there."""

import json

import pytest
from command_line import failing, run
from computed_loads import computed

import simengine
from simengine import cli
from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.report.loads import pictures as loads_pictures
from simengine.report.loads import run as run_loads
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.yardsticks import NOT_CHECKED, OUTSIDE
from simengine.studies.loads import study

STRUCTURE = CAUTIONS[7]


@pytest.fixture
def asked(monkeypatch):
    """Computing is left out: any scenario gives the demo's figures. Returns what was asked for."""
    calls = []

    def stub(scenario, *, progress, command):
        calls.append((scenario, command, progress))
        return computed()

    monkeypatch.setattr(run_loads, "ready_scenario", lambda path, *_: path)
    monkeypatch.setattr(study, "loads", stub)
    monkeypatch.setattr(cli.program, "compile_missing", lambda quiet: None)
    return calls


@pytest.fixture
def without_pictures(monkeypatch):
    """Drawing is left out where only words are looked at."""
    monkeypatch.setattr(loads_pictures, "loads_drawers", lambda dataset: {})


def one_line(text):
    return " ".join(text.split())


def test_it_writes_prints_and_cautions(asked, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "loads", "my hub.yaml", "-o", tmp_path / "out") == 0
    out, err = capsys.readouterr()
    names = {path.name for path in (tmp_path / "out").iterdir()}
    pictures = ("blade", "frequencies", "failures", "stops")
    assert names == {
        "my hub.loads.nc",
        *(f"my hub.loads.{picture}.{form}" for picture in pictures for form in ("png", "svg")),
    }
    told = one_line(out)
    assert all(caution in told for caution in CAUTIONS)
    assert all(words in told for words in NOT_CHECKED)
    assert OUTSIDE in told
    assert "\x1b" not in out
    assert err.count("written: ") == 9
    assert asked[0][1] == f"simengine loads 'my hub.yaml' -o {tmp_path / 'out'}"
    assert asked[0][2] is None


@pytest.mark.parametrize("options", [(), ("-q",), ("-v",), ("-q", "-v")])
def test_no_option_hides_the_cautions(asked, without_pictures, monkeypatch, tmp_path, capsys, options):
    monkeypatch.setenv("NO_COLOR", "1")
    assert run(monkeypatch, "loads", "a.yaml", "-o", tmp_path, *options) == 0
    told = one_line(capsys.readouterr().out)
    assert STRUCTURE in told
    assert SHORT_CAUTION in told or all(caution in told for caution in CAUTIONS)
    assert all(words in told for words in NOT_CHECKED)
    assert "no margin claimed" in told


@pytest.mark.parametrize("options", [("--json",), ("--json", "-q")])
def test_the_document_carries_them_too(asked, without_pictures, monkeypatch, tmp_path, capsys, options):
    assert run(monkeypatch, "loads", "a.yaml", "-o", tmp_path, *options) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["study"] == "loads"
    assert document["cautions"] == list(CAUTIONS)
    assert document["not_checked"] == list(NOT_CHECKED)
    assert STRUCTURE in document["conclusion"]
    assert document["yardsticks"][0] == OUTSIDE


def test_every_picture_carries_them(asked, monkeypatch, tmp_path):
    assert run(monkeypatch, "loads", "a.yaml", "-o", tmp_path, "-q") == 0
    for picture in tmp_path.glob("*.svg"):
        text = picture.read_text(encoding="utf-8").replace("\u00a0", " ")
        for caution in (STRUCTURE, SHORT_CAUTION):
            missing = [
                word
                for word in caution.split()
                if word.replace("'", "&apos;") not in text and word not in text
            ]
            assert missing == [], picture.name


def test_there_is_no_option_to_leave_cautions_out(monkeypatch, capsys):
    assert run(monkeypatch, "loads", "--help") == 0
    out = capsys.readouterr().out
    assert "Example:  simengine loads scenarios/" in out
    assert {word for word in out.split() if word.startswith("--")} <= {
        "--output",
        "--json",
        "--quiet",
        "--verbose",
        "--help",
    }


def test_quiet_is_short(asked, without_pictures, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "loads", "a.yaml", "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert "Pull and tip speed" not in out
    assert err == ""


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (ScenarioError([Problem("a.yaml", 7, "loads.root", "needs a shape")]), 2, "a.yaml:7: loads.root"),
        (NoSolutionError("no balance at 0 m; less drag"), 3, "no balance at 0 m"),
    ],
)
def test_errors_are_told_without_traceback(asked, monkeypatch, tmp_path, capsys, error, code, words):
    monkeypatch.setattr(run_loads, "ready_scenario", failing(error))
    assert run(monkeypatch, "loads", "a.yaml", "-o", tmp_path / "out") == code
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert not (tmp_path / "out").exists()


def test_the_python_face_has_the_same_name(asked, tmp_path):
    result = simengine.loads(tmp_path / "a.yaml", output=tmp_path)
    assert result.dataset.attrs["study"] == "loads"
    assert [path.suffix for path in result.paths][:3] == [".nc", ".png", ".svg"]


BAD = """
loads:
  root: {width: 40 mm, diameter: 20 mm, strength: 100 mm}
  overspeed_factor: 0.5
failures: [no_spring]
"""


def test_bad_keys_are_told_with_their_line(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    assert run(monkeypatch, "new", path) == 0
    lines = len(path.read_text(encoding="utf-8").splitlines())
    path.write_text(path.read_text(encoding="utf-8") + BAD, encoding="utf-8")
    assert run(monkeypatch, "loads", path, "-o", tmp_path / "out") == 2
    err = capsys.readouterr().err
    assert f"mine.yaml:{lines + 3}: loads.root.strength" in err
    assert f"mine.yaml:{lines + 4}: loads.overspeed_factor" in err
    assert f"mine.yaml:{lines + 5}: failures.0" in err and "broken_spring" in err
    assert "Traceback" not in err
