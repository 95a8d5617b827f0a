"""Compiling ahead: announced, on several cores, and right when another process loads it."""

import json
import os
import subprocess
import sys

import pytest

from simengine import cli
from simengine.compiled.kernels import KernelDispatcher
from simengine.report.compilation import crew, run, units
from simengine.report.compilation.units import UNITS

TORQUE = """
from simengine.report.compilation import crew
failed = crew.warm_up([crew.PROPELLER, crew.ELEMENTS])
assert not failed and not crew.missing([crew.PROPELLER, crew.ELEMENTS])
"""
LOADS = """
import machines
from simengine.models.atmosphere import air_at
from simengine.models.momentum import rotor_loads
loads = rotor_loads(machines.demo_blade(), 0.25, 230.0, 11.0, air_at(machines.STANDARD_DAY, 500.0))
print(list(loads))
"""


def printed(program, cache):
    """What a program prints that has a cache of its own."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    if cache:
        environment["SIMENGINE_CACHE_DIR"] = str(cache)
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.slow
def test_kernels_compiled_apart_in_processes_that_run_none_are_right_in_one_that_does(tmp_path):
    # The propeller is compiled where its blade elements are a placeholder.
    assert printed(TORQUE + LOADS, tmp_path) == printed(LOADS, None)


def test_every_unit_can_be_compiled():
    assert {unit.words for unit in crew.ALL} == set(UNITS)
    assert set(crew.FLIGHT) < set(crew.ALL)


def test_every_kernel_compiled_ahead_is_given_types_for_all_its_arguments(monkeypatch):
    asked = []
    units.machine()  # made by kernels
    monkeypatch.setattr(KernelDispatcher, "compile", lambda kernel, taken: asked.append((kernel, taken)))
    monkeypatch.setattr(units, "compile_once", lambda name: None)
    for words in UNITS:
        units.compile_unit(words)
    assert len(asked) > 25
    for kernel, taken in asked:
        assert len(taken) == kernel.py_func.__code__.co_argcount, kernel.py_func.__name__


def test_a_worker_that_dies_is_survived(tmp_path, monkeypatch):
    monkeypatch.setattr(crew, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(crew.sys, "path", [])  # it will not even find the program
    assert crew.warm_up([crew.ELEMENTS]) == [crew.ELEMENTS]
    assert not list(tmp_path.iterdir())


def test_without_a_folder_nothing_is_compiled_ahead(monkeypatch):
    monkeypatch.setattr(crew, "cache_folder", lambda: None)
    assert crew.warm_up(crew.ALL) == list(crew.ALL)


def test_the_share_done_grows_and_stays_below_one_until_all_is_done(tmp_path):
    told = []
    work = crew.Crew(tmp_path, crew.FLIGHT, lambda share, words: told.append((share, words)))
    work.tell()
    work.started[crew.MOTION] = -1e9  # far longer than it was ever measured to take
    work.tell()
    work.done.add(crew.MOTION)
    work.tell()
    work.done |= set(crew.FLIGHT)
    work.started |= dict.fromkeys(crew.FLIGHT, 0.0)
    work.tell()
    shares = [share for share, _ in told]
    assert shares == sorted(shares) and shares[0] == 0.0 and shares[2] < 1.0
    assert told[1][1] == crew.MOTION.words and told[-1] == (pytest.approx(1.0), "")


# --- what is said ----------------------------------------------------------------------------------
@pytest.fixture
def compiled(monkeypatch, tmp_path):
    """Units that were asked for, instead of compiling them; nothing is compiled at first."""
    asked, there = [], set()

    def warm_up(units, report=None):
        asked.extend(units)
        there.update(units)
        return []

    monkeypatch.setattr(run, "warm_up", warm_up)
    monkeypatch.setattr(run, "missing", lambda units: [unit for unit in units if unit not in there])
    monkeypatch.setattr(run, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(run, "shared_folder", lambda: tmp_path)
    return asked


@pytest.mark.parametrize(
    ("command", "units"), [("fly", crew.FLIGHT), ("envelope", crew.ALL)], ids=["fly", "envelope"]
)
def test_the_first_run_of_a_command_says_that_it_compiles(compiled, command, units, monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["simengine", command, "a.yaml"])
    cli.program.compile_missing(quiet=False)
    said = capsys.readouterr()
    assert said.out == "" and len(said.err.splitlines()) == 1
    assert "once: about" in said.err and " s on " in said.err
    assert compiled == list(units)
    cli.program.compile_missing(quiet=False)
    assert capsys.readouterr().err == ""


def test_a_quiet_command_compiles_in_silence(compiled, monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["simengine", "fly", "a.yaml", "-q"])
    cli.program.compile_missing(quiet=True)
    assert capsys.readouterr().err == "" and compiled == list(crew.FLIGHT)


def test_the_time_announced_is_that_of_the_work_over_the_cores(monkeypatch):
    monkeypatch.setattr(crew, "workers_for", lambda units: 2)
    both = [crew.MOTION, crew.PROPELLER]
    assert crew.expected_seconds(both) == crew.START + max(
        crew.MOTION.seconds, 0.5 * (crew.MOTION.seconds + crew.PROPELLER.seconds)
    )
    monkeypatch.setattr(run, "expected_seconds", lambda units: 17.6)
    monkeypatch.setattr(run, "workers_for", lambda units: 1)
    assert "about 20 s on 1 quiet core," in run.announcement(both)


def test_what_cannot_be_compiled_ahead_is_told(compiled, monkeypatch, capsys):
    monkeypatch.setattr(run, "warm_up", lambda units, report=None: [crew.PROPELLER])
    assert run.prepare(crew.FLIGHT) == [crew.PROPELLER]
    assert f"in every run anew: {crew.PROPELLER.words}\n" in capsys.readouterr().err


def leave(monkeypatch, *arguments):
    """Exit code of the command."""
    monkeypatch.setattr(sys, "argv", ["simengine", *arguments])
    with pytest.raises(SystemExit) as stop:
        cli.main()
    return stop.value.code


def test_warmup_says_what_it_did_and_then_that_it_is_ready(compiled, monkeypatch, tmp_path, capsys):
    assert leave(monkeypatch, "warmup") == 0
    said = capsys.readouterr().out
    assert "compiled in" in said and f"of compiled code in {tmp_path}" in said and "\nready" in said
    assert leave(monkeypatch, "warmup") == 0
    assert capsys.readouterr().out.startswith("ready")
    assert compiled == list(crew.ALL)


def test_warmup_as_json(compiled, monkeypatch, tmp_path, capsys):
    assert leave(monkeypatch, "warmup", "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["ready"] and document["kept"] and document["folder"] == str(tmp_path)
    assert document["compiled"] == [unit.words for unit in crew.ALL] and document["failed"] == []


def test_warmup_leaves_with_one_where_nothing_can_be_kept(compiled, monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(run, "shared_folder", lambda: tmp_path / "not_this")
    assert leave(monkeypatch, "warmup", "--quiet") == 1
    assert leave(monkeypatch, "warmup") == 1
    assert "NOT ready" in capsys.readouterr().out
