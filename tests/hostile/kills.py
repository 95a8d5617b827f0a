"""Commands killed at random moments: `python tests/hostile/kills.py --kills 100`.

Each time the results of an earlier run lie in the output folder. After the kill every file of a final name is
whole, and is either that of the earlier run, byte for byte, or the new one; all together they are of one of
the two. Only what belongs to the data, as pictures do, may be missing: of a kill in the instant in which all
files take their names. What is left behind is hidden, and the next run of the same command ends well, takes
it away, and gives the same numbers as a run that nobody killed.
"""

import argparse
import importlib
import json
import os
import pkgutil
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
from seeds import SCENARIOS, make_inputs
from whole_files import HIDDEN, broken, left_behind, visible

COMMANDS: dict[str, tuple[str, ...]] = {
    "fly": ("fly", "ground_run.yaml"),
    "check": ("check", "revisions/fresh.yaml", "--store"),
    "accept": ("check", "revisions/moved.yaml", "--accept", "--reason", "a test of kills"),
    "calibrate": ("calibrate", "climb_and_cruise.yaml", "readings/few.csv"),
    "tolerance": ("tolerance", "small_batch.yaml", "-n", "9000"),
    "envelope": ("envelope", "small_envelope.yaml"),
    "loads": ("loads", "loads_and_failures.yaml"),
}
TURNS = ("fly", "tolerance", "check", "fly", "calibrate", "accept", "tolerance", "envelope", "loads")
BESIDE = {  # what is written beside the scenario
    "check": ("revisions/fresh.baseline.yaml",),
    "accept": ("revisions/moved.baseline.yaml",),
    "calibrate": ("climb_and_cruise.fitted.yaml",),
}
FRESH = 0.1  # how many of the commands are started in an interpreter of their own


@dataclass
class Kills:
    """What came of it."""

    seed: int
    kills: int = 0
    seconds: float = 0.0
    moments: Counter[str] = field(default_factory=Counter)
    commands: Counter[str] = field(default_factory=Counter)
    defects: list[str] = field(default_factory=list)

    def document(self) -> dict[str, Any]:
        """Figures."""
        return {
            "seed": self.seed,
            "kills": self.kills,
            "seconds": round(self.seconds, 1),
            "commands": dict(self.commands),
            "moments": dict(self.moments),
            "defects": self.defects,
        }


class Child:
    """A command in a child of this process, which has loaded the program already."""

    def __init__(self, arguments: list[str], folder: Path, log: int) -> None:
        self.code: int | None = None
        self.pid = os.fork()
        if self.pid:
            return
        code = 70
        try:
            os.chdir(folder)
            os.dup2(log, 1)
            os.dup2(log, 2)
            sys.argv = ["simengine", *arguments]
            from simengine import cli

            cli.main()
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else 0
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)

    def poll(self) -> int | None:
        """Exit code, or minus the signal; None while it runs."""
        if self.code is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            self.code = os.waitstatus_to_exitcode(status) if pid else None
        return self.code

    def wait(self) -> int:
        """Wait for the end."""
        while self.poll() is None:
            time.sleep(0.001)
        assert self.code is not None
        return self.code

    def kill(self) -> None:
        """Kill it at once."""
        if self.poll() is None:
            os.kill(self.pid, signal.SIGKILL)


def load_program(folder: Path) -> None:
    """Import everything and fly once, so that children begin at once."""
    import simengine

    for module in pkgutil.walk_packages(simengine.__path__, "simengine."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    simengine.fly(SCENARIOS / "ground_run.yaml", folder / "warm")


class Place:
    """Folders of a command: inputs, outputs, and what they are before each kill."""

    def __init__(self, folder: Path, command: str) -> None:
        self.folder, self.command = folder, command
        self.inputs, self.outputs = folder / "in", folder / "out"
        make_inputs(self.inputs)
        for name in ("fresh", "moved"):
            (self.inputs / "revisions" / f"{name}.yaml").write_text("extends: ../ground_run.yaml\n")
        (self.inputs / "pipe.yaml").unlink()
        self.outputs.mkdir()
        start = time.monotonic()
        if command == "accept":
            self.finish(("check", "revisions/moved.yaml", "--store"))
            text = "extends: ../ground_run.yaml\nhub: {spring: {washers: 5}}\n"
            (self.inputs / "revisions" / "moved.yaml").write_text(text)
            start = time.monotonic()
        shutil.copytree(self.inputs, folder / "in before", symlinks=True)
        self.finish(COMMANDS[command])
        self.duration = time.monotonic() - start
        self.reference = numbers(self.outputs)
        if command not in ("check", "accept"):  # these store once, and then have nothing to do
            shutil.rmtree(folder / "in before")
            shutil.copytree(self.inputs, folder / "in before", symlinks=True)
        shutil.copytree(self.outputs, folder / "out before")

    def begin(self, arguments: tuple[str, ...], *, fresh: bool = False) -> "subprocess.Popen[bytes] | Child":
        """Start a command, in a new interpreter or in a child of this one."""
        log = (self.folder / "log").open("wb")
        with log:
            if not fresh:
                return Child([*arguments, "-o", str(self.outputs)], self.inputs, log.fileno())
            return subprocess.Popen(
                [
                    sys.executable,
                    "-c",
                    "from simengine.cli import main; main()",
                    *arguments,
                    "-o",
                    str(self.outputs),
                ],
                cwd=self.inputs,
                stdout=log,
                stderr=log,
            )

    def finish(self, arguments: tuple[str, ...]) -> None:
        """Run a command to its end."""
        code = self.begin(arguments).wait()
        assert code in (0, 1), (self.folder / "log").read_text()

    def put_back(self) -> None:
        """Everything as it was after the earlier run, but for what is hidden: a killed run's parts stay."""
        for name, before in (("in", "in before"), ("out", "out before")):
            for path in visible(self.folder / name):
                path.unlink()
            for path in (self.folder / name).rglob("link*"):
                path.unlink()
            shutil.copytree(self.folder / before, self.folder / name, symlinks=True, dirs_exist_ok=True)

    def state(self) -> dict[str, tuple[int, bytes]]:
        """Every visible result of the command with its number on the disc and its bytes."""
        results = visible(self.outputs)
        results += [path for name in BESIDE.get(self.command, ()) if (path := self.inputs / name).exists()]
        return {
            str(path.relative_to(self.folder)): (path.stat().st_ino, path.read_bytes()) for path in results
        }


def numbers(folder: Path) -> dict[str, Any]:
    """Every number of every result, to hold against another run."""
    import netCDF4

    found = {}
    for path in folder.glob("*.nc"):
        with netCDF4.Dataset(path) as file:
            file.set_auto_mask(False)
            for name, variable in file.variables.items():
                found[f"{path.name} {name}"] = np.array(variable[...])
    return found


def same(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether two results hold the same numbers."""
    return one.keys() == other.keys() and all(
        np.array_equal(one[key], other[key], equal_nan=one[key].dtype.kind == "f") for key in one
    )


def kill_once(place: Place, random: Random) -> tuple[str, list[str]]:
    """Start a command and kill it; when that was, and what is wrong after it."""
    place.put_back()
    before = place.state()
    process = place.begin(COMMANDS[place.command], fresh=random.random() < FRESH)
    while_writing = random.random() < 0.6
    if while_writing:
        wait_for_writing(process, place)
        time.sleep(random.choice((0.0, 0.0005, 0.002, random.uniform(0.0, 0.05), random.uniform(0.0, 1.5))))
    else:
        wait(process, random.uniform(0.0, 1.1) * place.duration)
    process.kill()
    ended = process.wait() != -signal.SIGKILL
    after = place.state()
    defects = [word for path in after if (word := broken(place.folder / path))]
    gone = before.keys() - after.keys()
    defects += [f"{path} is gone" for path in gone if path.endswith((".nc", ".baseline.yaml"))]
    changed = {path for path in after if after[path][0] != before.get(path, (0, b""))[0]}
    defects += [
        f"{path} was changed in place" for path in after.keys() - changed if after[path][1] != before[path][1]
    ]
    hidden = [
        name
        for folder in (place.outputs, place.inputs, place.inputs / "revisions")
        for name in left_behind(folder)
    ]
    defects += [f"left behind: {name}" for name in hidden if not HIDDEN.fullmatch(name)]
    if changed and changed != after.keys():
        defects.append(f"results of two runs side by side: new are {sorted(changed)}")
    moment = (
        "it had ended"
        if ended
        else "between two names"
        if gone
        else "all new"
        if changed
        else "while writing"
        if any(".part" in name and "parts" not in name for name in hidden)
        else "while computing"
    )
    return moment, defects


def wait(process: "subprocess.Popen[bytes] | Child", seconds: float) -> None:
    """Wait so long, or until the process ends."""
    until = time.monotonic() + seconds
    while time.monotonic() < until and process.poll() is None:
        time.sleep(0.001)


def wait_for_writing(process: "subprocess.Popen[bytes] | Child", place: Place) -> None:
    """Wait until a temporary file is there, or the process ends."""
    folders = (place.outputs, place.inputs, place.inputs / "revisions")
    known = {name for folder in folders for name in left_behind(folder)}
    while process.poll() is None:
        fresh = {name for folder in folders for name in left_behind(folder) if name.endswith(".part")}
        if fresh - known:
            return
        time.sleep(0.0005)


def finish_after(place: Place) -> list[str]:
    """Run once more to the end: it takes away what was left, and gives the same numbers."""
    place.put_back()
    place.finish(COMMANDS[place.command])
    folders = (place.outputs, place.inputs, place.inputs / "revisions")
    defects = [
        f"not taken away by the next run: {name}" for folder in folders for name in left_behind(folder)
    ]
    defects += [word for path in place.state() if (word := broken(place.folder / path))]
    if not same(place.reference, numbers(place.outputs)):
        defects.append("the next run gives other numbers than one that nobody killed")
    return defects


def run_kills(kills: int, seed: int, *, turns: tuple[str, ...] = TURNS, tell: bool = False) -> Kills:
    """Kill commands in turn."""
    found, random, start = Kills(seed), Random(f"kills {seed}"), time.monotonic()
    folder = Path(tempfile.mkdtemp(prefix="simengine-kills-"))
    load_program(folder)
    try:
        places = {command: Place(folder / command, command) for command in dict.fromkeys(turns)}
        for number in range(kills):
            command = turns[number % len(turns)]
            moment, defects = kill_once(places[command], random)
            found.kills += 1
            found.moments[moment] += 1
            found.commands[command] += 1
            found.defects += [f"kill {number}, {command}: {word}" for word in defects]
            if tell:
                print(number, command, moment, *defects, flush=True)
        for command, place in places.items():
            found.defects += [f"after the kills, {command}: {word}" for word in finish_after(place)]
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    found.seconds = time.monotonic() - start
    return found


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="commands with commas")
    parser.add_argument("--json", type=Path, help="write the figures into a file")
    given = parser.parse_args()
    turns = tuple(part for part in given.only.split(",") if part) or TURNS
    found = run_kills(given.kills, given.seed, turns=turns, tell=True)
    document = json.dumps(found.document(), indent=2)
    if given.json:
        given.json.write_text(document)
    print(document)
    return 1 if found.defects else 0


if __name__ == "__main__":
    sys.exit(main())
