"""Thousands of spoiled inputs through the commands: `python tests/hostile/campaign.py --mutants 6000`.

Each is run in a process that is watched: no traceback, no warning, no file outside the output folder, no more
memory than a run can need, no control character to the terminal. Reading and refusing takes no more than 5 s
of processor time, and neither does a whole flight. A study may take longer: it hangs if it tells of no
progress for 20 s; one that gets on is left alone after 60 s and counted as such.
"""

import argparse
import json
import os
import selectors
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from mutants import mutant, sweep

HANG = 5.0  # seconds of processor time for reading, and of a whole run that is no study
STUDIES = ("envelope", "compare", "route", "calibrate", "card", "choose", "tolerance", "loads")
SILENT = 900.0  # seconds without an answer after which a process is ended
FOLDER = Path(__file__).parent


@dataclass
class Summary:
    """What came of a campaign."""

    seed: int
    seconds: float = 0.0
    outcomes: list[dict[str, Any]] = field(default_factory=list)

    @property
    def defects(self) -> list[dict[str, Any]]:
        """Mutants that showed a defect."""
        return [outcome for outcome in self.outcomes if outcome["defects"]]

    def document(self) -> dict[str, Any]:
        """Figures, for a file."""
        counts: dict[str, Counter[str]] = {}
        words = {0: "computed", 1: "computed", 2: "refused", 3: "no solution", -1: "found good"}
        words |= {-2: "still at work"}
        for outcome in self.outcomes:
            counts.setdefault(outcome["kind"], Counter())[words.get(outcome["code"], "other")] += 1
        slow = sorted(self.outcomes, key=lambda outcome: -outcome["seconds"])[:8]
        reading = sorted(self.outcomes, key=lambda outcome: -outcome["reading"])[:4]
        return {
            "seed": self.seed,
            "mutants": len(self.outcomes),
            "seconds": round(self.seconds, 1),
            "kinds": {kind: dict(found) for kind, found in sorted(counts.items())},
            "tracebacks": sum(any("traceback" in line for line in each["defects"]) for each in self.outcomes),
            "defects": len(self.defects),
            "commands": self.by_command(),
            "slowest": [short(each, "seconds") for each in slow],
            "slowest reading": [short(each, "reading") for each in reading],
            "found": [
                {key: each[key] for key in ("number", "name", "defects", "text")} for each in self.defects
            ],
        }

    def by_command(self) -> dict[str, str]:
        """How long the runs took that were computed, by command."""
        found: dict[str, list[float]] = {}
        for outcome in self.outcomes:
            if outcome["code"] in (0, 1, 3, -2):
                found.setdefault(outcome["command"], []).append(outcome["seconds"])
        return {
            command: f"{len(times)} in {sum(times):.0f} s, the slowest {max(times):.1f} s"
            for command, times in sorted(found.items())
        }


def short(outcome: dict[str, Any], key: str) -> str:
    """One line about a slow one."""
    return f"{outcome[key]:.2f} s  {outcome['number']}  {outcome['name']} -> {outcome['code']}"


class Process:
    """A worker and what it is at."""

    def __init__(self, folder: Path, seed: int, way: str) -> None:
        self.folder, self.seed, self.way = folder, seed, way
        self.count = 0
        self.start()

    def start(self) -> None:
        """Start it, or start it again in a new folder."""
        self.count += 1
        place = self.folder / str(self.count)
        place.parent.mkdir(parents=True, exist_ok=True)
        environment = {
            **os.environ,
            "MPLCONFIGDIR": str(self.folder / "matplotlib"),
            "PYTHONDONTWRITEBYTECODE": "1",
            "NUMBA_NUM_THREADS": "2",
            "COLUMNS": "110",
        }
        environment.setdefault(
            "SIMENGINE_CACHE_DIR", str(Path(tempfile.gettempdir()) / "simengine-hostile-cache")
        )
        (self.folder / "matplotlib").mkdir(parents=True, exist_ok=True)
        self.log = (self.folder / f"{self.count}.log").open("w+")
        self.process = subprocess.Popen(
            [
                sys.executable,
                str(FOLDER / "worker.py"),
                str(place),
                str(self.seed),
                self.way,
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self.log,
            text=True,
            env=environment,
        )
        self.place = place

    def wait_until_ready(self) -> None:
        """Wait until everything is loaded and the inputs are made."""
        place = self.place
        if self.pipe.readline().strip() != "ready":
            self.process.wait()
            raw = place.with_name(place.name + ".raw")
            self.log.seek(0)
            raise RuntimeError(
                f"a worker did not start: {self.log.read()} {raw.read_text() if raw.exists() else ''}"
            )

    @property
    def pipe(self) -> IO[str]:
        """Where it answers."""
        assert self.process.stdout is not None
        return self.process.stdout

    def ask(self, number: int) -> None:
        """Give it a mutant."""
        assert self.process.stdin is not None
        self.number, self.asked = number, time.monotonic()
        self.process.stdin.write(f"{number}\n")
        self.process.stdin.flush()

    def end(self) -> None:
        """End it at once."""
        self.process.kill()
        self.process.wait()
        for stream in (self.process.stdin, self.process.stdout, self.log):
            if stream is not None:
                stream.close()

    def lost(self, word: str) -> dict[str, Any]:
        """The outcome of a mutant that never answered."""
        spoiled = mutant(self.seed, self.number, self.way)
        waited = time.monotonic() - self.asked
        return {
            "number": self.number,
            "kind": spoiled.seed.kind,
            "name": spoiled.name,
            "command": spoiled.seed.command[0],
            "code": None,
            "seconds": waited,
            "reading": 0.0,
            "waited": waited,
            "defects": [word],
            "text": "",
        }


def run_campaign(
    numbers: list[int], seed: int, workers: int, *, way: str = "whole", tell: bool = False
) -> Summary:
    """Run mutants of some numbers."""
    summary, start = Summary(seed), time.monotonic()
    folder = Path(tempfile.mkdtemp(prefix="simengine-hostile-"))
    folder.chmod(0o755)
    waiting = list(reversed(numbers))
    processes = [Process(folder / str(place), seed, way) for place in range(workers)]
    try:
        with selectors.DefaultSelector() as selector:
            for process in processes:
                process.wait_until_ready()
                if waiting:
                    process.ask(waiting.pop())
                    selector.register(process.pipe, selectors.EVENT_READ, process)
            while selector.get_map():
                for process in answered(selector):
                    outcome = answer_of(process, selector)
                    summary.outcomes.append(outcome)
                    if tell:
                        told(outcome, summary)
                    if waiting:
                        process.ask(waiting.pop())
                    else:
                        selector.unregister(process.pipe)
    finally:
        for process in processes:
            process.end()
        shutil.rmtree(folder, ignore_errors=True)
    summary.outcomes.sort(key=lambda outcome: int(outcome["number"]))
    summary.seconds = time.monotonic() - start
    return summary


def answered(selector: selectors.BaseSelector) -> list[Process]:
    """Processes that have answered, ended, or are silent for too long."""
    ready = [key.data for key, _ in selector.select(1.0)]
    everyone = [key.data for key in selector.get_map().values()]
    late = [each for each in everyone if each not in ready and time.monotonic() - each.asked > SILENT]
    return ready + late


def answer_of(process: Process, selector: selectors.BaseSelector) -> dict[str, Any]:
    """The outcome that a process gave; one that died or slept is started again."""
    late = time.monotonic() - process.asked > SILENT
    line = "" if late else process.pipe.readline()
    if line:
        outcome: dict[str, Any] = json.loads(line)
        if outcome["reading"] > HANG:
            outcome["defects"].append(f"reading took {outcome['reading']:.1f} s")
        elif outcome["seconds"] > HANG and outcome["command"] not in STUDIES:
            outcome["defects"].append(f"took {outcome['seconds']:.1f} s")
        return outcome
    code = process.process.poll()
    outcome = process.lost(
        "hung, and ended from outside" if late else f"the process died (signal or exit code {code})"
    )
    selector.unregister(process.pipe)
    process.end()
    process.start()
    process.wait_until_ready()
    selector.register(process.pipe, selectors.EVENT_READ, process)
    return outcome


def told(outcome: dict[str, Any], summary: Summary) -> None:
    """Say what happens, now and then."""
    if outcome["defects"]:
        lines = [
            line if len(line) < 900 else f"{line[:120]} ... {line[-700:]}" for line in outcome["defects"]
        ]
        print(f"{outcome['number']}  {outcome['name']}", *lines, sep="\n    ", flush=True)
    elif len(summary.outcomes) % 500 == 0:
        print(f"{len(summary.outcomes)} mutants, {len(summary.defects)} with defects", flush=True)


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--mutants", type=int, default=6000)
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    parser.add_argument("--only", default="", help="numbers with commas, to look at some again")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument(
        "--way",
        choices=("whole", "light", "sweep"),
        default="whole",
        help="whole: compute every good one to the end; light: almost none, as the tests do; "
        "sweep: every number of every text, one at a time, replaced or multiplied, all computed",
    )
    parser.add_argument("--json", type=Path, help="write the figures into a file")
    given = parser.parse_args()
    count = len(sweep()) if given.way == "sweep" else given.first + given.mutants
    numbers = [int(part) for part in given.only.split(",") if part] or list(range(given.first, count))
    summary = run_campaign(numbers, given.seed, given.workers, way=given.way, tell=True)
    document = summary.document()
    if given.json:
        given.json.write_text(json.dumps(document, indent=2))
    found = document.pop("found")
    print(json.dumps(document, indent=2))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
