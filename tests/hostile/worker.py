"""One process that is given numbers of mutants, runs each, and answers with a line of JSON each.

Started by `campaign.py`, which ends it where it does not answer in time.
"""

import contextlib
import importlib
import json
import os
import pkgutil
import re
import shutil
import signal
import stat
import sys
import time
import traceback
import warnings
from collections.abc import Iterator
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import Any

from guard import Guard, tree_of
from judge import judged, judged_json
from mutants import Mutant, mutant, put_in_place
from places import link_to_nothing, unreadable
from seeds import SEEDS, make_inputs, make_results

FITTED = "climb_and_cruise.fitted.yaml"
ASLEEP = 100  # seconds after which it is asked whether a run waits for something, and is broken off if so
AT_WORK = (
    0.05  # share of that time which a run that does not wait spends on the processor, however busy that is
)
BUSY = 20  # seconds of processor time after which a run that tells of no progress is broken off
LONGEST = 60  # seconds of processor time after which one that does is left alone: it would come to an end
MEMORY = 1_500_000_000  # bytes beyond what the process has once everything is loaded
NOBODY = 65534
READ_LATE = ("waypoints gpx", "waypoints csv", "baseline")  # read once the command has begun
DRAWN = 15  # one in so many is drawn; the pictures of the others are a byte


class StopHereError(BaseException):
    """The input was found good, and is not computed."""


class AsleepError(BaseException):
    """The run does not come to an end."""


class StillAtWorkError(BaseException):
    """The run gets on, but takes longer than is waited for."""


STOPPED = {StopHereError: -1, StillAtWorkError: -2}  # codes of runs that were stopped from here


class Worker:
    """Folders, guard, and what is put in place of slow pictures."""

    def __init__(self, folder: Path, campaign: int, way: str) -> None:
        self.folder, self.campaign, self.way = folder, campaign, way
        self.inputs, self.outputs, self.outside = folder / "in", folder / "out", folder / "outside"
        self.errors: list[BaseException] = []
        self.read_at = 0.0
        self.began, self.began_at, self.got_on, self.gets_on = 0.0, 0.0, 0.0, False
        self.compute, self.draws, self.reads_later = True, True, False
        load_everything()
        self.patch()
        folder.mkdir(parents=True)
        self.outputs.mkdir()
        make_inputs(self.inputs)
        (folder / "cwd").mkdir()
        os.chdir(folder / "cwd")
        make_results(self.inputs, self.quiet_run)
        self.seeds = {seed.file: (self.inputs / seed.file).read_bytes() for seed in SEEDS}
        cache = Path(os.environ["SIMENGINE_CACHE_DIR"])
        matplotlib = Path(os.environ["MPLCONFIGDIR"])
        secrets = [self.outside, Path("/etc/passwd")]
        self.guard = Guard([self.outputs, cache, matplotlib], secrets)
        self.bound_memory()

    def patch(self) -> None:
        """Listen at four places of the program: errors told, inputs found good, progress, pictures."""
        from simengine.cli import program
        from simengine.report import outputs, progress

        told, drawn = program.errors_told, outputs.write_picture

        @contextlib.contextmanager
        def progress_bar(*_: object, **__: object) -> Iterator[Any]:
            yield self.note_progress

        @contextlib.contextmanager
        def errors_told() -> Iterator[None]:
            with told():
                try:
                    yield
                except Exception as error:
                    self.errors.append(error)
                    raise

        def compile_nothing(quiet: bool) -> None:
            self.found_good(stop=not self.reads_later)

        def found_good_later(function: Any) -> Any:
            def called(*arguments: Any, **options: Any) -> Any:
                answer = function(*arguments, **options)
                self.found_good(stop=True)
                return answer

            return called

        def write_picture(draw: Any, files: dict[Path, Path], source: str = "") -> None:
            if self.draws:
                drawn(draw, files)
            for temporary in files.values():
                temporary.write_bytes(b"x")

        import simengine.studies.check.baseline_file as baselines
        import simengine.studies.route.legs as legs

        legs.read_waypoints = found_good_later(legs.read_waypoints)
        baselines.read_baseline = found_good_later(baselines.read_baseline)
        program.errors_told = errors_told
        program.compile_missing = compile_nothing
        outputs.write_picture = write_picture
        progress.progress_bar = progress_bar

    def note_progress(self, *_: object) -> None:
        """The run tells of progress."""
        self.got_on, self.gets_on = time.process_time(), True

    def begin(self) -> None:
        """Start the clocks of a run."""
        self.began, self.began_at = time.process_time(), time.monotonic()
        self.got_on, self.gets_on = self.began, False
        signal.setitimer(signal.ITIMER_REAL, ASLEEP, ASLEEP)
        signal.setitimer(signal.ITIMER_PROF, 1.0, 1.0)

    def end(self) -> None:
        """Stop them."""
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.setitimer(signal.ITIMER_PROF, 0)

    def look_for_sleep(self, *_: object) -> None:
        """Break off a run that waits for something."""
        if time.process_time() - self.began < AT_WORK * (time.monotonic() - self.began_at):
            raise AsleepError

    def look_for_progress(self, *_: object) -> None:
        """Break off a run that does not get on, and one that gets on for too long."""
        now = time.process_time()
        if now - self.got_on > BUSY:
            raise AsleepError
        if self.gets_on and now - self.began > LONGEST:
            raise StillAtWorkError

    def found_good(self, *, stop: bool) -> None:
        """The input is read: note when, and stop here if it is not to be computed."""
        self.read_at = time.process_time()
        if stop and not self.compute:
            raise StopHereError

    def bound_memory(self) -> None:
        """No more memory than a run can need."""
        import resource

        status = Path("/proc/self/status").read_text() if sys.platform == "linux" else ""
        now = re.search(r"VmSize:\s+(\d+) kB", status)
        if now:
            limit = int(now.group(1)) * 1024 + MEMORY
            resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

    def quiet_run(self, *arguments: str) -> int:
        """Run a command while things are set up."""
        code, text, broken = self.run(list(arguments))
        assert not broken, broken + text
        return code

    def run(self, arguments: list[str]) -> tuple[int, str, str]:
        """Run a command; its exit code, what it printed, and the traceback of what must not come out."""
        from simengine import cli

        sys.argv = ["simengine", *arguments]
        out = TextIOWrapper(BytesIO(), "utf-8", "strict", write_through=True)
        err = TextIOWrapper(BytesIO(), "utf-8", "backslashreplace", write_through=True)
        code, broken = 0, ""
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                cli.main()
            except SystemExit as left:
                code = left.code if isinstance(left.code, int) else 0
            except tuple(STOPPED) as stopped:
                code = STOPPED[type(stopped)]
            except BaseException:
                broken = traceback.format_exc()
        self.out = out.buffer.getvalue().decode("utf-8", "replace")  # type: ignore[attr-defined]
        text = b"".join(stream.buffer.getvalue() for stream in (out, err)).decode("utf-8", "replace")  # type: ignore[attr-defined]
        return code, text, broken

    def one(self, number: int) -> dict[str, Any]:
        """Run one mutant."""
        spoiled = mutant(self.campaign, number, self.way)
        path = self.inputs / spoiled.seed.file
        pristine = self.seeds[spoiled.seed.file]
        self.errors, self.read_at = [], 0.0
        self.compute, self.draws = spoiled.compute, number % DRAWN == 0
        self.reads_later = spoiled.seed.kind in READ_LATE
        named = path
        try:
            named = put_in_place(spoiled, self.campaign, pristine, path, self.outside)
            return self.outcome(spoiled, named)
        finally:
            remove(path)
            if named != path and named.is_relative_to(self.inputs):
                remove(named)
            path.write_bytes(pristine)
            if spoiled.seed.command[0] == "calibrate":
                self.put_back_fitted()
            shutil.rmtree(self.outputs)
            self.outputs.mkdir()

    def put_back_fitted(self) -> None:
        """Take away what a calibration wrote."""
        for path in self.inputs.rglob("*.fitted.yaml"):
            remove(path)
        (self.inputs / FITTED).write_bytes(self.seeds[FITTED])

    def outcome(self, spoiled: Mutant, named: Path) -> dict[str, Any]:
        """Run the command on what was put in place and judge what came of it."""
        arguments = [
            part.replace("{in}", str(self.inputs)).replace("{}", str(named)) for part in spoiled.seed.command
        ]
        before = tree_of(self.folder)
        also = list(self.inputs.rglob("*.fitted.yaml")) if spoiled.seed.command[0] == "calibrate" else []
        beside = {str(self.inputs)} if spoiled.seed.command[0] == "calibrate" else set()
        privileged = spoiled.placement is unreadable and os.geteuid() == 0
        if privileged:
            self.outputs.chmod(0o777)
            os.seteuid(NOBODY)
        self.guard.start([*also, *map(Path, beside)])
        self.begin()
        try:
            options = ["--json"] if spoiled.number % 4 == 1 else []
            code, text, broken = self.run([*arguments, *options, "-o", str(self.outputs)])
        finally:
            self.end()
            seconds, waited = time.process_time() - self.began, time.monotonic() - self.began_at
            touched = self.guard.stop()
            if privileged:
                os.seteuid(0)
        reading = (self.read_at - self.began) if self.read_at else seconds
        found = judged(code, text, broken, self.errors, self.outputs, spoiled.seed.command[0])
        if options and code in (0, 1, 3):
            found += judged_json(self.out)
        if spoiled.placement is link_to_nothing and spoiled.seed.named:
            touched = []  # who names a link to a file outside has named that file
        found += touched + changed_tree(before, tree_of(self.folder), spoiled.seed.command[0])
        return {
            "number": spoiled.number,
            "kind": spoiled.seed.kind,
            "name": spoiled.name,
            "command": spoiled.seed.command[0],
            "code": code,
            "seconds": seconds,
            "reading": reading,
            "waited": waited,
            "defects": found,
            "text": text[:2000] if found else text[:300],
        }


def load_everything() -> None:
    """Import the whole program: what is imported must not count as time of the first mutant."""
    import simengine

    for module in pkgutil.walk_packages(simengine.__path__, "simengine."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)


def changed_tree(before: dict[str, Any], after: dict[str, Any], command: str) -> list[str]:
    """What changed outside the folder of results; a calibration writes its scenario beside the original."""
    names = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    if command == "calibrate":
        names -= {name for name in names if name.endswith(".fitted.yaml")} | {"in"}
    outer = [name for name in names if name != "out" and not name.startswith("out" + os.sep)]
    folders = {
        name for name in outer if name in before and stat.S_ISDIR(before[name][0]) and command == "calibrate"
    }
    return [f"changed outside the output folder: {name!r}" for name in sorted(set(outer) - folders)]


def remove(path: Path) -> None:
    """Take away whatever stands there."""
    with contextlib.suppress(OSError):
        if path.is_dir() and not path.is_symlink():
            path.rmdir()
        else:
            path.unlink()


def main() -> None:
    """Answer numbers on standard input; nothing else may come out of this process's own streams."""
    folder, campaign, way = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    answers = os.fdopen(os.dup(1), "w")
    raw = os.open(folder.with_name(folder.name + ".raw"), os.O_RDWR | os.O_CREAT | os.O_TRUNC)
    os.dup2(raw, 1)
    os.dup2(raw, 2)

    worker = Worker(folder, campaign, way)
    signal.signal(signal.SIGALRM, worker.look_for_sleep)
    signal.signal(signal.SIGPROF, worker.look_for_progress)
    os.ftruncate(raw, 0)
    os.lseek(raw, 0, os.SEEK_SET)
    print("ready", file=answers, flush=True)
    for line in sys.stdin:
        try:
            answer = worker.one(int(line))
        except BaseException:  # a defect of this program
            answer = {
                "number": int(line),
                "kind": "campaign",
                "name": "",
                "command": "",
                "code": None,
                "seconds": 0.0,
                "reading": 0.0,
                "waited": 0.0,
                "defects": [f"the campaign itself broke: {traceback.format_exc()[-1500:]}"],
                "text": "",
            }
        size = os.fstat(raw).st_size
        if size:
            leaked = os.pread(raw, min(size, 1000), 0).decode("utf-8", "replace")
            answer["defects"].append(f"a library wrote to the terminal: {leaked}")
            os.ftruncate(raw, 0)
            os.lseek(raw, 0, os.SEEK_SET)
        print(json.dumps(answer), file=answers, flush=True)


if __name__ == "__main__":
    main()
