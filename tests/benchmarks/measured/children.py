"""Run the program as a user does, in a process of its own, and see what it took."""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryFile
from time import perf_counter

ROOT = Path(__file__).parents[3]
HERE = Path(__file__).parents[1]
PATIENCE = 600.0  # s


@dataclass(frozen=True)
class Ran:
    """One run: time passed [s], time on the processors [s], exit code, what it printed and what it told."""

    passed: float
    busy: float
    code: int
    printed: str
    told: str


def run(*command: str, **variables: str) -> Ran:
    """Run a command from the repository's root, variables of the environment added."""
    environment = os.environ | variables
    with TemporaryFile("w+") as printed, TemporaryFile("w+") as told:
        before, start = os.times(), perf_counter()
        done = subprocess.run(
            command, stdout=printed, stderr=told, cwd=ROOT, env=environment, timeout=PATIENCE, check=False
        )
        passed, after = perf_counter() - start, os.times()
        printed.seek(0)
        told.seek(0)
        busy = after.children_user + after.children_system - before.children_user - before.children_system
        return Ran(passed, busy, done.returncode, printed.read(), told.read())


def simengine(*arguments: str, **variables: str) -> Ran:
    """Run the program itself: the command where it is installed beside this Python, else by import."""
    installed = Path(sys.executable).with_name("simengine")
    if installed.exists():
        return run(str(installed), *arguments, **variables)
    return run(sys.executable, "-c", "from simengine.cli import main; main()", *arguments, **variables)


def checked(ran: Ran, code: int = 0) -> Ran:
    """A run that must leave with a code."""
    if ran.code != code:
        raise RuntimeError(f"a run left with {ran.code} and not {code}: {ran.told[-500:]}")
    return ran
