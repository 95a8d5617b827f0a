import json
import os
import subprocess
import sys
import time

import pytest
from command_line import failing, on_a_terminal, run
from synthetic_envelope import synthetic_envelope

import simengine
from simengine import cli
from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.report import progress
from simengine.report.envelope import run as envelope_run
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.studies.envelope import study


@pytest.fixture
def computed(monkeypatch):
    """Computing is left out: any scenario gives the made-up envelope. Returns what was asked for."""
    asked = []

    def stub(scenario, *, store, where, progress, command):
        asked.append((scenario, command, progress))
        return synthetic_envelope()

    monkeypatch.setattr(envelope_run, "ready_scenario", lambda path, *_: path)
    monkeypatch.setattr(study, "envelope", stub)
    monkeypatch.setattr(cli.program, "compile_missing", lambda quiet: None)
    return asked


def one_line(text):
    return " ".join(text.split())


def test_envelope_writes_prints_and_cautions(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "envelope", "my hub.yaml", "-o", tmp_path / "out") == 0
    out, err = capsys.readouterr()
    names = {path.name for path in (tmp_path / "out").iterdir()}
    pictures = ("heights", "states", "moments", "sweep", "changes")
    assert names == {
        "my hub.envelope.nc",
        *(f"my hub.envelope.{picture}.{form}" for picture in pictures for form in ("png", "svg")),
    }
    assert "!! ONLY UP TO 3750 m" in out
    assert SHORT_CAUTION in one_line(out)
    assert "\x1b" not in out
    assert err.count("written: ") == 11
    assert computed[0][1] == f"simengine envelope 'my hub.yaml' -o {tmp_path / 'out'}"
    assert computed[0][2] is None  # no terminal, no progress bar


def test_json_is_the_only_thing_on_standard_output(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "envelope", "a.yaml", "-o", tmp_path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["study"] == "envelope"
    assert document["cautions"] == list(CAUTIONS)


def test_quiet_is_short_and_still_cautions(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "envelope", "a.yaml", "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert "Ceilings" not in out
    assert SHORT_CAUTION in one_line(out)
    assert err == ""


def test_verbose_tells_every_caution(computed, monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "envelope", "a.yaml", "-o", tmp_path, "-v") == 0
    out = one_line(capsys.readouterr().out)
    assert all(caution in out for caution in CAUTIONS)


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (ScenarioError([Problem("a.yaml", 7, "hub.kind", "not one of ...")]), 2, "a.yaml:7: hub.kind"),
        (NoSolutionError("no balance at 0 m; less drag"), 3, "no balance at 0 m"),
    ],
)
def test_errors_are_told_without_traceback(computed, monkeypatch, tmp_path, capsys, error, code, words):
    monkeypatch.setattr(envelope_run, "ready_scenario", failing(error))
    assert run(monkeypatch, "envelope", "a.yaml", "-o", tmp_path / "out") == code
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()


def test_a_missing_scenario_is_refused_before_anything_heavy(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "envelope", tmp_path / "none.yaml", "-o", tmp_path) == 2
    assert "none.yaml" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [("envelope",), ("envelope", "a.yaml", "--nope")])
def test_wrong_usage_leaves_with_2(arguments, monkeypatch, capsys):
    assert run(monkeypatch, *arguments) == 2
    assert "Usage" in capsys.readouterr().err


def test_the_help_shows_an_example(monkeypatch, capsys):
    assert run(monkeypatch, "envelope", "--help") == 0
    assert "Example:  simengine envelope scenarios/" in capsys.readouterr().out


def test_flying_loads_nothing_of_the_envelope():
    code = (
        "import sys, simengine.report.flight.run\n"
        "import simengine.report.flight.picture, simengine.report.flight.terminal\n"
        "print(sorted(name for name in sys.modules if 'report.envelope' in name or 'studies' in name))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_python_face_has_the_same_name(computed, tmp_path):
    result = simengine.envelope(tmp_path / "a.yaml", output=tmp_path)
    assert result.dataset.attrs["hub_kind"] == "two_stop"
    assert [path.suffix for path in result.paths][:3] == [".nc", ".png", ".svg"]


# --- progress --------------------------------------------------------------------------------------
BAR = (
    "import time\n"
    "from simengine.report.progress import progress_bar\n"
    "with progress_bar('Envelope of a.yaml:') as report:\n"
    "    for step in range({steps}):\n"
    "        report(step / {steps}, 'ceilings'); time.sleep({pause})\n"
)


def stderr_on_a_terminal(code):
    """Run code with standard error on a terminal; what it wrote there."""
    seen = on_a_terminal(code, "stderr", os.environ | {"TERM": "xterm-256color"})
    return seen.decode(errors="replace")


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal")
def test_a_bar_is_shown_after_a_second_and_not_before():
    assert "ceilings" in stderr_on_a_terminal(BAR.format(steps=8, pause=0.2))
    assert stderr_on_a_terminal(BAR.format(steps=3, pause=0.01)) == ""


def test_without_a_terminal_there_is_no_bar(monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False, raising=False)
    with progress.progress_bar("x") as report:
        assert report is None


def test_the_bar_is_taken_back_when_the_work_fails(monkeypatch, capsys):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(progress, "PATIENCE", 0.0)
    started = time.monotonic()
    with pytest.raises(ZeroDivisionError), progress.progress_bar("x") as report:
        report(0.5, "half")
        raise ZeroDivisionError
    assert time.monotonic() - started < 5.0


# --- the whole way ---------------------------------------------------------------------------------
SMALL = """
envelope: {heights_count: 5, map_heights: 4, map_throttles: 6, masses: [140 kg], bars: [0 %]}
"""


@pytest.mark.slow
def test_the_starter_gets_an_answer_and_every_picture(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    assert run(monkeypatch, "new", path) == 0
    path.write_text(path.read_text(encoding="utf-8") + SMALL, encoding="utf-8")
    assert run(monkeypatch, "envelope", path, "-o", tmp_path / "out", "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["conclusion"].startswith(("YES", "NO", "ONLY UP TO", "The shift finishes only"))
    assert document["own"] == {"mass": pytest.approx(148.45), "bar": 0.0}  # not the one listed: its own
    assert len(document["changes"]) == 12
    assert len(list((tmp_path / "out").iterdir())) == 11
