"""Results that cannot be written: full disc, no right, a name that is taken, a folder that goes away.

Each time: a message with the file, earlier results as they were, no half file, nothing left behind.
"""

import contextlib
import errno
import inspect
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest
import xarray
from command_line import run
from seeds import SCENARIOS
from synthetic_flight import synthetic_flight

import simengine
from simengine.errors import OutputError
from simengine.report import outputs
from simengine.report.outputs import write_all, write_outputs
from simengine.results import files
from simengine.results.files import refuse_to_replace, refuse_unwritable, write_text, written_together

NOBODY = 65534
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="rights and limits of POSIX systems")

LIMITED = """
import resource, signal, sys
from pathlib import Path
sys.path[:0] = [{tests!r}]
from synthetic_flight import synthetic_flight
from simengine.report import outputs
from simengine.errors import OutputError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
dataset = synthetic_flight().dataset()
def write_picture(draw, files):
    for path in files.values():
        path.write_bytes(b"p" * {picture})
if {picture}:
    outputs.write_picture = write_picture
resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))
try:
    outputs.write_outputs(dataset, sys.argv[1], "a")
except OutputError as error:
    print(error, file=sys.stderr)
    sys.exit(error.exit_code)
"""


def everything(folder: Path) -> dict[str, bytes]:
    """What a folder holds, hidden files too."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    """A folder with the results of an earlier run."""
    for name in ("a.nc", "a.png", "a.svg"):
        (tmp_path / name).write_text(f"earlier {name}")
    return tmp_path


def refused(folder: Path, match: str, dataset: xarray.Dataset | None = None) -> None:
    """Writing fails, names the file, and leaves what was there."""
    before = everything(folder)
    dataset = synthetic_flight().dataset() if dataset is None else dataset
    with pytest.raises(OutputError, match=match) as caught:
        write_outputs(dataset, folder, "a")
    assert "cannot be written" in str(caught.value)
    assert everything(folder) == before


def limited(folder: Path, limit: int, picture: int) -> subprocess.CompletedProcess[str]:
    """Write in a process whose files may not pass a limit; pictures of a given size, 0 for real ones."""
    code = LIMITED.format(tests=str(Path(__file__).parents[1]), limit=limit, picture=picture)
    return subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=False
    )


@POSIX
@pytest.mark.parametrize(("limit", "picture"), [(0, 10), (1_000, 10_000), (40_000, 10)])
def test_a_disc_that_is_full_at_any_of_the_files(earlier: Path, limit: int, picture: int) -> None:
    before = everything(earlier)
    run = limited(earlier, limit, picture)
    assert run.returncode == 2, run.stderr
    assert "cannot be written" in run.stderr
    assert "Traceback" not in run.stderr
    assert len(run.stderr.splitlines()) == 1, run.stderr
    assert everything(earlier) == before


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="only root mounts a small disc")
@pytest.mark.parametrize("size", ["64k", "200k", "400k"])
def test_a_small_disc(tmp_path: Path, size: str) -> None:
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(tmp_path)],
        capture_output=True,
        check=False,
    )
    if mounted.returncode:
        pytest.skip("this system does not let even root mount")
    try:
        (tmp_path / "a.nc").write_text("earlier")
        refused(tmp_path, "No space left|cannot be written")
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


@pytest.mark.parametrize("reason", [errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EROFS])
@pytest.mark.parametrize("place", ["savefig", "sync", "replace", "mkdir"])
def test_a_disc_that_fails_at_any_moment(
    earlier: Path, monkeypatch: pytest.MonkeyPatch, place: str, reason: int
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise OSError(reason, os.strerror(reason))

    targets = {
        "savefig": (outputs, "write_picture"),
        "sync": (files, "sync"),
        "replace": (Path, "replace"),
        "mkdir": (Path, "mkdir"),
    }
    monkeypatch.setattr(*targets[place], fails)
    refused(earlier, os.strerror(reason))


KILLED = """
import os, signal, sys
from pathlib import Path
from simengine.results import files
folder, moves = Path(sys.argv[1]), int(sys.argv[2])
replace = Path.replace
def replace_so_often(path, target):
    global moves
    if moves == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    moves -= 1
    return replace(path, target)
Path.replace = replace_so_often
paths = [folder / "a.nc", folder / "a.png", folder / "beside" / "a.fitted.yaml"]
with files.written_together(paths) as temporary:
    for path in paths:
        temporary[path].write_text("new")
"""
MOVES = 5  # two companions step aside, three files take their names


def three_files(folder: Path) -> dict[str, str]:
    """What stands in three files that belong together, of those that are there."""
    paths = [folder / "a.nc", folder / "a.png", folder / "beside" / "a.fitted.yaml"]
    return {path.name: path.read_text() for path in paths if path.exists()}


@pytest.fixture
def three(tmp_path: Path) -> Path:
    """A folder with three files of an earlier run, one of them in a folder below."""
    (tmp_path / "beside").mkdir()
    for path in (tmp_path / "a.nc", tmp_path / "a.png", tmp_path / "beside" / "a.fitted.yaml"):
        path.write_text("earlier")
    return tmp_path


@POSIX
@pytest.mark.parametrize("moves", range(MOVES + 1))
def test_a_kill_between_two_names_never_leaves_files_of_two_runs(three: Path, moves: int) -> None:
    run = subprocess.run([sys.executable, "-c", KILLED, str(three), str(moves)], check=False)
    left = three_files(three)
    assert len(set(left.values())) == 1, left
    assert "a.nc" in left
    if moves == MOVES:
        assert (run.returncode, left["a.nc"], len(left)) == (0, "new", 3)
        return
    assert run.returncode == -signal.SIGKILL
    paths = [three / "a.nc", three / "a.png", three / "beside" / "a.fitted.yaml"]
    with written_together(paths) as temporary:
        for path in paths:
            temporary[path].write_text("next")
    assert three_files(three) == dict.fromkeys(("a.nc", "a.png", "a.fitted.yaml"), "next")
    hidden = [path.name for path in three.rglob(".*")]
    assert not hidden, "the next run takes away what the killed one left"


@pytest.mark.parametrize("failing", range(MOVES))
def test_a_disc_that_fails_between_two_names(
    three: Path, monkeypatch: pytest.MonkeyPatch, failing: int
) -> None:
    replace, count = Path.replace, iter(range(100))

    def fails_once(path: Path, target: Path) -> Path:
        if next(count) == failing:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", fails_once)
    paths = [three / "a.nc", three / "a.png", three / "beside" / "a.fitted.yaml"]
    with pytest.raises(OutputError, match="cannot be written"), written_together(paths) as temporary:
        for path in paths:
            temporary[path].write_text("new")
    left = three_files(three)
    if failing < 3:  # the data have not changed: everything is as it was
        assert left == dict.fromkeys(("a.nc", "a.png", "a.fitted.yaml"), "earlier")
    else:
        assert set(left.values()) == {"new"}
    assert not [path.name for path in three.rglob(".*")]


def test_a_folder_in_place_of_a_companion_stays(tmp_path: Path) -> None:
    (tmp_path / "a.png").mkdir()
    (tmp_path / "a.png" / "mine.txt").write_text("mine")
    paths = [tmp_path / "a.nc", tmp_path / "a.png"]
    with pytest.raises(OutputError, match="is a folder"), written_together(paths) as temporary:
        for path in paths:
            temporary[path].write_text("new")
    assert (tmp_path / "a.png" / "mine.txt").read_text() == "mine"
    assert not (tmp_path / "a.nc").exists()


@POSIX
@pytest.mark.parametrize("kind", ["pipe", "link to a pipe", "link to a device", "folder", "no name"])
def test_what_is_no_plain_file_is_not_replaced_by_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Whoever may do all would lose the device itself: a file once took the place of the null device."""
    monkeypatch.chdir(tmp_path)
    path = Path() if kind == "no name" else tmp_path / "a.txt"
    os.mkfifo(tmp_path / ("a.txt" if kind == "pipe" else "pipe"))
    if kind == "folder":
        path.mkdir()
    elif kind.startswith("link"):
        path.symlink_to({"link to a pipe": "pipe", "link to a device": "/dev/null"}[kind])
    before = sorted((each.name, each.lstat().st_ino) for each in tmp_path.iterdir())
    with pytest.raises(OutputError, match=r"is a folder|is no plain file"):
        write_text(path, "x")
    assert sorted((each.name, each.lstat().st_ino) for each in tmp_path.iterdir()) == before


@POSIX
@pytest.mark.parametrize("name", ["/dev/null", "/dev/zero", "/dev/stdout", "/dev/stderr", "/dev/tty"])
def test_devices_are_not_replaced(name: str) -> None:
    if not Path(name).exists():
        pytest.skip("there is none here")
    with pytest.raises(OutputError, match="is no plain file"):  # only asked: nothing would be written
        refuse_to_replace(Path(name))


@POSIX
def test_one_folder_by_two_names_is_locked_once(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    paths = [tmp_path / "real" / "a.nc", tmp_path / "link" / "a.png"]
    with written_together(paths) as temporary:  # would wait for itself
        for path in paths:
            temporary[path].write_text("new")
    assert sorted(path.name for path in (tmp_path / "real").iterdir()) == ["a.nc", "a.png"]


@contextlib.contextmanager
def unprivileged() -> Iterator[Path]:
    """A folder of one who may not write everywhere; root becomes nobody for a while."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    is_root = os.geteuid() == 0
    try:
        (folder / "out").mkdir()
        for name in ("a.nc", "a.png", "a.svg"):
            (folder / "out" / name).write_text(f"earlier {name}")
        (folder / "out").chmod(0o555)
        if is_root:
            os.seteuid(NOBODY)
        yield folder / "out"
    finally:
        if is_root:
            os.seteuid(0)
        (folder / "out").chmod(0o755)
        shutil.rmtree(folder)


@POSIX
def test_a_folder_that_one_may_only_read(tmp_path: Path) -> None:
    dataset = synthetic_flight().dataset()
    write_outputs(dataset, tmp_path, "a")  # loads what nobody may not be able to read later
    with unprivileged() as folder:
        refused(folder, "Permission denied", dataset)


def test_the_output_folder_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match=r"out.*cannot be written"):
        write_outputs(synthetic_flight().dataset(), tmp_path / "out", "a")
    assert (tmp_path / "out").read_text() == "a file"


@POSIX
@pytest.mark.parametrize("place", ["file", "file/below", "loop", "pipe", "nowhere", "x" * 300, "closed"])
def test_a_folder_that_cannot_be_written_is_refused_before_anything_is_computed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], place: str
) -> None:
    (tmp_path / "file").write_text("a file")
    (tmp_path / "loop").symlink_to("loop")
    (tmp_path / "nowhere").symlink_to("gone")
    (tmp_path / "closed").mkdir()
    os.mkfifo(tmp_path / "pipe")
    if place == "closed":
        monkeypatch.setattr(os, "access", lambda _, mode: mode == os.R_OK)  # root may do all
    monkeypatch.setattr("simengine.cli.program.compile_missing", lambda *_, **__: pytest.fail("computed"))
    scenario = SCENARIOS / "ground_run.yaml"
    assert run(monkeypatch, "fly", scenario, "-o", tmp_path / place) == 2
    told = capfd.readouterr().err
    assert "cannot be written" in told
    assert len(told.splitlines()) == 1


STUDIES = {
    "calibrate": ("climb_and_cruise.yaml", "readings/first_flight.csv"),
    "card": ("ground_run.yaml",),
    "choose": ("choose_spring.yaml",),
    "compare": ("revisions/revision_a_first_hub.yaml", "revisions/revision_d_finer_stop.yaml"),
    "envelope": ("ground_run.yaml",),
    "fly": ("ground_run.yaml",),
    "loads": ("loads_and_failures.yaml",),
    "route": ("triangle.yaml",),
    "tolerance": ("batch_of_hubs.yaml",),
}
WRITES_FAILURES_ALONE = {"check"}  # a suite that holds needs no folder to write into


def call(name: str, output: Path) -> None:
    """Call a study from Python; the test fails where the study begins to compute."""
    files = [SCENARIOS / file for file in STUDIES[name]]
    arguments = [files] if name == "compare" else files
    getattr(simengine, name)(*arguments, output, before_computing=lambda: pytest.fail("computed"))


@pytest.mark.parametrize("name", STUDIES)
def test_a_call_from_python_refuses_the_folder_before_anything_is_computed(tmp_path: Path, name: str) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match=r"out: cannot be written: Not a directory"):
        call(name, tmp_path / "out")
    assert everything(tmp_path) == {"out": b"a file"}


def test_no_study_is_left_out() -> None:
    writing = {name for name in simengine.__all__ if "output" in parameters_of(getattr(simengine, name))}
    assert writing == {*STUDIES, *WRITES_FAILURES_ALONE, "report_page"}


def parameters_of(function: Callable[..., object]) -> Mapping[str, inspect.Parameter]:
    """Arguments by name."""
    return inspect.signature(function).parameters


def test_a_page_refuses_the_folder_before_anything_is_drawn(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (result,) = (path for path in write_outputs(synthetic_flight().dataset(), tmp_path, "a", pictures=False))
    (tmp_path / "out").write_text("a file")
    monkeypatch.setattr("simengine.report.page.sections.section_of", lambda *_: pytest.fail("drawn"))
    for place in ("out", "out/page.html"):
        with pytest.raises(OutputError, match=r"out: cannot be written: Not a directory"):
            simengine.report_page(result, tmp_path / place)


def test_a_calibration_refuses_where_the_fitted_scenario_cannot_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda place, _: Path(place) != SCENARIOS)  # root may do all
    with pytest.raises(OutputError, match=f"{SCENARIOS}: cannot be written: Permission denied"):
        call("calibrate", tmp_path)


@pytest.mark.parametrize("place", ["there", "there/new/below", "new"])
def test_a_folder_that_can_be_made_is_accepted_and_not_yet_made(tmp_path: Path, place: str) -> None:
    (tmp_path / "there").mkdir()
    refuse_unwritable(tmp_path / place)
    assert [path.name for path in tmp_path.iterdir()] == ["there"]


@POSIX
def test_a_link_to_a_folder_is_followed_and_a_link_in_place_of_a_result_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to("real")
    (tmp_path / "victim").write_text("not to be touched")
    (tmp_path / "real" / "a.svg").symlink_to(tmp_path / "victim")
    write_outputs(synthetic_flight().dataset(), tmp_path / "out", "a")
    assert (tmp_path / "victim").read_text() == "not to be touched"
    assert not (tmp_path / "real" / "a.svg").is_symlink()
    assert sorted(path.name for path in (tmp_path / "real").iterdir()) == ["a.nc", "a.png", "a.svg"]


@POSIX
def test_a_link_that_leads_nowhere_or_round_to_itself(tmp_path: Path) -> None:
    (tmp_path / "nowhere").symlink_to("gone")
    (tmp_path / "loop").symlink_to("loop")
    for name in ("nowhere", "loop"):
        with pytest.raises(OutputError, match="cannot be written"):
            write_text(tmp_path / name / "a.txt", "x")


def test_a_folder_removed_while_a_picture_is_drawn(tmp_path: Path) -> None:
    def draw() -> object:
        from matplotlib.figure import Figure

        shutil.rmtree(tmp_path / "out")
        return Figure()

    with pytest.raises(OutputError, match=r"out.*cannot be written: No such file"):
        write_all(synthetic_flight().dataset(), tmp_path / "out" / "a.nc", {"a": draw})  # type: ignore[dict-item]
    assert not (tmp_path / "out").exists()


def test_a_result_that_is_a_folder(earlier: Path) -> None:
    (earlier / "a.png").unlink()
    (earlier / "a.png").mkdir()
    before = everything(earlier)
    with pytest.raises(OutputError, match="is a folder"):
        write_outputs(synthetic_flight().dataset(), earlier, "a")
    assert everything(earlier) == before


def test_a_name_as_long_as_systems_take(tmp_path: Path) -> None:
    path = tmp_path / ("é" * 120 + ".txt")
    write_text(path, "x")
    assert path.read_text() == "x"
    with pytest.raises(OutputError, match="too long"):
        write_text(tmp_path / ("x" * 300), "x")


@POSIX
def test_what_a_dead_process_left_is_removed_and_what_a_living_one_writes_is_not(tmp_path: Path) -> None:
    child = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, text=True, check=True
    )
    with written_together([tmp_path / "a.txt"]) as temporary:
        mine = temporary[tmp_path / "a.txt"]
        mine.write_text("new")
        dead = mine.with_name(mine.name.replace(f".{os.getpid()}.", f".{int(child.stdout)}."))
        dead.write_text("half")
        other = tmp_path / f".b.txt{mine.name.removeprefix('.a.txt')}"
        other.write_text("of another file")
        write_text(tmp_path / "a.txt", "in between")
        assert mine.exists()
        assert not dead.exists()
    assert (tmp_path / "a.txt").read_text() == "new"
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(["a.txt", other.name])
