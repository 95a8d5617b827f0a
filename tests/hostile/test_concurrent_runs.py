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
