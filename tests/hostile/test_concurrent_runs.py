"""Several processes that write into one folder at once: files are whole, those of one run stay together."""

import subprocess
import sys
from pathlib import Path

import pytest

SETS = """
import sys, time
from pathlib import Path
from simengine.results.files import written_together
from simengine.errors import OutputError
folder, mark, rounds, start = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), float(sys.argv[4])
paths = [folder / name for name in ("a.nc", "a.png", "a.svg")]
time.sleep(max(0.0, start - time.time()))
for number in range(rounds):
    with written_together(paths) as temporary:
        for path in paths:
            temporary[path].write_text(f"{mark} {number}")
"""
READ = """
import sys, fcntl
from pathlib import Path
from simengine.results.files import LOCK
from simengine.results.lock import locked
folder, seen = Path(sys.argv[1]), set()
while not (folder / "stop").exists():
    with locked(folder / LOCK, "busy", 60.0):
        texts = {(folder / name).read_text() for name in ("a.nc", "a.png", "a.svg")}
    assert len(texts) == 1, texts
    seen |= texts
print(len(seen))
"""
ACCEPT = """
import sys, time
from pathlib import Path
from simengine.report.check import run
folder, mark, expected = Path(sys.argv[1]), sys.argv[2], 2
stored = run.stored
def stored_once_both_have_flown(*arguments):
    (folder / f"{mark}.flown").touch()
    while len(list(folder.glob("*.flown"))) < expected:
        time.sleep(0.01)
    return stored(*arguments)
run.stored = stored_once_both_have_flown
(report,) = run.run_check([folder / "hub.yaml"], folder, accept=True, reason=mark, pictures=False)
print(report.status, report.note, report.error)
"""
RUN = "from simengine.cli import main; main()"


def started(code: str, *arguments: object) -> "subprocess.Popen[str]":
    """A process that runs some code."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_files_of_one_run_are_never_mixed_with_those_of_another(tmp_path: Path) -> None:
    import time

    for name in ("a.nc", "a.png", "a.svg"):
        (tmp_path / name).write_text("earlier")
    reader = started(READ, tmp_path)
    writers = [started(SETS, tmp_path, mark, 40, time.time() + 1.0) for mark in "wxyz"]
    told = [writer.communicate(timeout=120) for writer in writers]
    (tmp_path / "stop").touch()
    seen, trouble = reader.communicate(timeout=60)
    assert not trouble
    assert int(seen) > 3, "the reader saw too few states to tell anything"
    assert all(writer.returncode == 0 for writer in writers), told
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.nc", "a.png", "a.svg", "stop"]


def test_both_of_two_acceptances_at_once_stay_in_the_history(tmp_path: Path) -> None:
    import shutil
    import time

    from seeds import SCENARIOS

    from simengine.report.check.run import run_check
    from simengine.studies.check.baseline_file import read_baseline

    shutil.copytree(SCENARIOS / "parts", tmp_path / "parts")
    shutil.copy(SCENARIOS / "ground_run.yaml", tmp_path)
    scenario = tmp_path / "hub.yaml"
    scenario.write_text("extends: ground_run.yaml\n")
    run_check([scenario], tmp_path, store=True, pictures=False)
    running = []
    for washers, mark in ((5, "five washers"), (4, "four washers")):
        scenario.write_text(f"extends: ground_run.yaml\nhub: {{spring: {{washers: {washers}}}}}\n")
        running.append(started(ACCEPT, tmp_path, mark))
        while not (tmp_path / f"{mark}.flown").exists() and running[-1].poll() is None:
            time.sleep(0.01)
    told = [process.communicate(timeout=120) for process in running]
    assert all("baseline stored" in text for text, _ in told), told
    history = read_baseline(scenario).history
    assert [entry.reason for entry in history[:1]] == ["first stored"]
    assert {entry.reason for entry in history[1:]} == {"five washers", "four washers"}
    second, third = history[1], history[2]
    assert second.changes != third.changes  # each tells what changed since the one before it
    assert not [path.name for path in tmp_path.iterdir() if path.name.startswith(".")]


@pytest.mark.slow
@pytest.mark.parametrize("command", [("fly",), ("tolerance", "-n", "32"), ("loads",)])
def test_four_commands_at_once_into_one_folder(tmp_path: Path, command: tuple[str, ...]) -> None:
    import shutil

    import netCDF4
    from seeds import SCENARIOS, make_inputs
    from whole_files import broken, visible

    del SCENARIOS
    folders = [tmp_path / str(number) for number in range(4)]
    source = {"fly": "ground_run", "tolerance": "small_batch", "loads": "loads_and_failures"}[command[0]]
    for number, folder in enumerate(folders):
        make_inputs(folder)
        extends = (
            f"extends: {source}.yaml\ntitle: run {number // 2}\n"  # two of the four are the same scenario
        )
        (folder / "one.yaml").write_text(extends)
    out = tmp_path / "out"
    running = [
        started(RUN, command[0], folder / "one.yaml", *command[1:], "-q", "-o", out) for folder in folders
    ]
    told = [process.communicate(timeout=300) for process in running]
    codes = [process.returncode for process in running]
    assert all("Traceback" not in error for _, error in told), told
    assert set(codes) <= {0, 2}, told
    assert 0 in codes, told
    assert all("another run" in error for code, (_, error) in zip(codes, told, strict=True) if code == 2), (
        told
    )
    assert not [path.name for path in out.iterdir() if path.name.startswith(".")]
    assert not [word for path in visible(out) if (word := broken(path))]
    (data,) = out.glob("*.nc")
    with netCDF4.Dataset(data) as file:
        title = str(file.title)
    assert title in ("run 0", "run 1")
    drawn = [path for path in out.glob("*.svg") if "run " in path.read_text()]
    assert all(title in path.read_text() for path in drawn), title
    shutil.rmtree(out)
