"""`simengine new`: asks on a terminal, never in a pipe; takes flags; overwrites nothing unless told."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import pytest
import yaml
from command_line import run

from simengine.cli import start
from simengine.scenario import load_scenario
from simengine.scenario.first_questions import questions

CODE = "from simengine.cli import main; main()"
ENGINE = Path(__file__).parents[2] / "scenarios" / "parts" / "engines" / "single_130_15kw.yaml"
QUICK = 30  # seconds within which a pipe must be done, on a busy machine


def test_flags_and_questions_are_the_same():
    assert list(start.WORDS) == [question.name for question in questions()]


def test_flags_stand_in_the_scenario(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.yaml"
    assert run(monkeypatch, "new", path, "--pilot", "210 lb", "--blades", "3", "--coarse", "15") == 0
    record = load_scenario(path).record
    assert record.masses.pilot == pytest.approx(210 * 0.45359237)
    assert record.propeller.blades == 3
    told = capsys.readouterr().err
    assert "yours: pilot 210 lb, blades 3, coarse 15 deg; all else is assumed" in told
    assert f"next: simengine fly {path}" in told


def test_the_schema_beside_it_makes_the_first_line_work(monkeypatch, tmp_path):
    assert run(monkeypatch, "new", tmp_path / "mine.yaml", "--yes") == 0
    text = (tmp_path / "mine.yaml").read_text(encoding="utf-8")
    name = text.splitlines()[0].rpartition("=")[2]
    schema = json.loads((tmp_path / name).read_text(encoding="utf-8"))
    jsonschema.validate(yaml.safe_load(text), schema)
    (tmp_path / name).write_text("mine", encoding="utf-8")
    assert run(monkeypatch, "new", tmp_path / "other.yaml", "--yes") == 0
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_what_cannot_be_is_told_by_flag_and_nothing_is_written(monkeypatch, tmp_path, capsys):
    assert run(monkeypatch, "new", tmp_path / "mine.yaml", "--pilot", "9 kg", "--power", "x") == 2
    told = capsys.readouterr().err
    assert "--pilot: '9 kg' is not accepted here; accepted: 40 to 200 kg" in told
    assert "--power: 'x': must be a power, for example '18 kW'" in told
    assert list(tmp_path.iterdir()) == []


def test_a_part_in_the_folder_stands_for_the_engine(monkeypatch, tmp_path):
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "engine.yaml").write_bytes(ENGINE.read_bytes())
    assert (
        run(monkeypatch, "new", tmp_path / "mine.yaml", "--engine", tmp_path / "parts" / "engine.yaml") == 0
    )
    assert load_scenario(tmp_path / "mine.yaml").record.engine.speed_limit == pytest.approx(9500 * 0.10471976)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, "lies outside the folder"),
        ("name: x\n", "curve"),
        ("[1, 2", "engine.yaml"),
    ],
)
def test_a_part_that_will_not_do_is_told(monkeypatch, tmp_path, capsys, text, words):
    part = tmp_path / "engine.yaml"
    part.write_text(ENGINE.read_text(encoding="utf-8") if text is None else text, encoding="utf-8")
    (tmp_path / "mine").mkdir()
    assert run(monkeypatch, "new", tmp_path / "mine" / "mine.yaml", "--engine", part) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "mine" / "mine.yaml").exists()


@pytest.mark.parametrize("stdin", [subprocess.DEVNULL, subprocess.PIPE], ids=["closed", "open pipe"])
def test_a_pipe_is_never_asked(tmp_path, stdin):
    """With an open pipe that never says anything a question would wait for ever."""
    child = subprocess.Popen(
        [sys.executable, "-c", CODE, "new", "mine.yaml"],
        cwd=tmp_path,
        stdin=stdin,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert child.wait(QUICK) == 0
    for stream in (child.stdin, child.stdout, child.stderr):
        if stream:
            stream.close()
    assert (tmp_path / "mine.yaml").exists()


def heed_interrupts() -> None:
    """What a shell starts in the background, as a night's run of tests, does not heed Ctrl-C."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


class Terminal:
    """`simengine new` on a terminal of its own."""

    def __init__(self, folder: Path, *arguments: str) -> None:
        self.ours, theirs = os.openpty()
        self.child = subprocess.Popen(
            [sys.executable, "-c", CODE, "new", "mine.yaml", *arguments],
            cwd=folder,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            preexec_fn=heed_interrupts,
        )
        os.close(theirs)
        self.seen = ""

    def wait_for(self, words: str) -> None:
        """Read until the words stand on the screen."""
        end = time.monotonic() + QUICK
        while words not in self.seen:
            assert time.monotonic() < end, self.seen
            try:
                self.seen += os.read(self.ours, 65536).decode()
            except OSError:
                break
        assert words in self.seen, self.seen
        self.seen = self.seen.partition(words)[2]

    def type(self, text: str) -> None:
        """Type a line."""
        os.write(self.ours, text.encode())

    def leave(self) -> int:
        """Exit code."""
        code = self.child.wait(QUICK)
        os.close(self.ours)
        return code


needs_a_terminal = pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a terminal")


@needs_a_terminal
def test_on_a_terminal_it_asks_and_asks_again(tmp_path):
    screen = Terminal(tmp_path)
    screen.wait_for("Pilot, dressed to fly [98 kg]: ")
    screen.type("12 apples\n")
    screen.wait_for("accepted: 40 to 200 kg")
    screen.wait_for("Pilot, dressed to fly [98 kg]: ")
    screen.type("500\n")
    screen.wait_for("'500' is not accepted here; accepted: 40 to 200 kg")
    screen.wait_for("Pilot, dressed to fly [98 kg]: ")
    screen.type("120\n")
    for name, words in list(start.WORDS.items())[1:]:
        screen.wait_for(f"{words} [")
        screen.type("1400\n" if name == "diameter" else "\n")
    screen.wait_for("yours: pilot 120 kg, diameter 1400 mm")
    assert screen.leave() == 0
    record = load_scenario(tmp_path / "mine.yaml").record
    assert (record.masses.pilot, record.propeller.diameter) == pytest.approx((120.0, 1.4))


@needs_a_terminal
@pytest.mark.parametrize("key", ["\x03", "\x04"], ids=["Ctrl-C", "Ctrl-D"])
def test_breaking_off_writes_nothing(tmp_path, key):
    screen = Terminal(tmp_path)
    screen.wait_for("Pilot, dressed to fly [98 kg]: ")
    screen.type(key)
    if key == "\x03":  # a terminal that controls no session sends no signal: send it as the shell would
        screen.child.send_signal(signal.SIGINT)
    assert screen.leave() == 130
    assert list(tmp_path.iterdir()) == []


@needs_a_terminal
@pytest.mark.parametrize("arguments", [("--yes",), ("--pilot", "95 kg")], ids=["yes", "a flag"])
def test_on_a_terminal_yes_or_a_flag_ask_nothing(tmp_path, arguments):
    screen = Terminal(tmp_path, *arguments)
    screen.wait_for("next: simengine fly mine.yaml")
    assert screen.leave() == 0
