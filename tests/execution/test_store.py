"""Pieces on the disc: whole, of one plan, one run at a time."""

import os
import subprocess
import sys

import numpy as np
import pytest

from simengine.errors import InterruptedStudy, OutputError
from simengine.execution.store import FolderStore, alone_in, kept_beside, plan_digest

PIECE = {"values": np.array([1.5, np.nan]), "words": np.array(["fine", "coarse"]), "one": np.array(3)}


def test_a_piece_comes_back_as_it_was(tmp_path):
    store = FolderStore(tmp_path / "parts")
    store.begin("a")
    assert not store.has(7)
    store.write(7, PIECE)
    again = FolderStore(tmp_path / "parts")
    again.begin("a")
    assert again.has(7)
    read = again.read(7)
    assert list(read) == list(PIECE)
    for name, array in PIECE.items():
        assert read[name].dtype == array.dtype
        assert read[name].tobytes() == array.tobytes()


def test_pieces_of_another_plan_are_thrown_away(tmp_path):
    store = FolderStore(tmp_path / "parts")
    store.begin("a", 100)
    store.write(0, PIECE)
    FolderStore(tmp_path / "parts").begin("a", 100)
    assert store.has(0)
    FolderStore(tmp_path / "parts").begin("a", 101)
    assert not store.has(0)


def test_a_plan_is_everything_that_is_told_and_the_program(monkeypatch):
    base = plan_digest("a", 100, 1)
    assert len({base, plan_digest("b", 100, 1), plan_digest("a", 101, 1), plan_digest("a", 1001)}) == 4
    parts = ("results.dataset.program_version", "compiled.kernel_digest", "execution.store.source_digest")
    for name in parts:
        with monkeypatch.context() as changed:
            changed.setattr(f"simengine.{name}", lambda: "another")
            assert plan_digest("a", 100, 1) != base


def test_a_spoiled_piece_is_told_and_worked_out_again(tmp_path):
    store = FolderStore(tmp_path / "parts")
    store.begin("a")
    store.write(0, PIECE)
    whole = store.path(0).read_bytes()
    store.path(0).write_bytes(whole[: len(whole) // 2])
    with pytest.raises(OutputError, match=r"00000000.npz: is spoiled and was removed; ask again"):
        store.read(0)
    assert not store.has(0)


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a folder that cannot be written")
def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(OutputError, match="cannot be"), kept_beside(tmp_path / "out" / "a.nc"):
        pass


def test_a_name_taken_by_a_file_is_told(tmp_path):
    (tmp_path / ".a.nc.parts").write_text("")
    with pytest.raises(OutputError, match="cannot be used"), kept_beside(tmp_path / "a.nc") as store:
        store.begin("a")


def test_what_is_done_stays_when_the_rest_fails(tmp_path):
    result = tmp_path / "out" / "a.nc"
    with pytest.raises(KeyboardInterrupt), kept_beside(result) as store:
        store.begin("a")
        raise KeyboardInterrupt
    assert not result.parent.exists()
    with pytest.raises(KeyboardInterrupt), kept_beside(result) as store:
        store.begin("a")
        store.write(0, PIECE)
        raise KeyboardInterrupt
    assert [path.name for path in result.parent.iterdir()] == [".a.nc.parts"]
    with kept_beside(result) as store:
        store.begin("a")
        assert store.has(0)
    assert not result.parent.exists() or list(result.parent.iterdir()) == []


def test_one_run_at_a_time(tmp_path):
    folder = tmp_path / "out" / ".parts"
    with (
        alone_in(folder),
        pytest.raises(OutputError, match="another run of the same study"),
        alone_in(folder),
    ):
        pass
    assert list((tmp_path / "out").iterdir()) == []
    with alone_in(folder), alone_in(tmp_path / "other" / ".parts"):
        pass


def interrupted(result, pieces):
    """Break off a study that has worked out some pieces; the words it leaves with."""
    with pytest.raises(KeyboardInterrupt) as caught, kept_beside(result) as store:
        store.begin("a")
        for number in range(pieces):
            store.write(number, PIECE)
        raise KeyboardInterrupt
    return caught


@pytest.mark.parametrize(("pieces", "told"), [(1, "1 piece of work is"), (2, "2 pieces of work are")])
def test_who_breaks_off_is_told_what_is_kept(tmp_path, pieces, told):
    caught = interrupted(tmp_path / "a.nc", pieces)
    assert caught.type is InterruptedStudy
    folder = tmp_path / ".a.nc.parts"
    assert str(caught.value).startswith(f"interrupted; {told} kept in {folder}: ask the same again to go on")
    assert list(tmp_path.iterdir()) == [folder]


def test_who_breaks_off_before_the_first_piece_finds_nothing(tmp_path):
    assert interrupted(tmp_path / "a.nc", 0).type is KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


def test_the_lock_of_a_dead_process_is_gone_with_it(tmp_path):
    folder = tmp_path / ".parts"
    held = (
        "import sys, time, pathlib\nfrom simengine.execution.store import alone_in\n"
        "with alone_in(pathlib.Path(sys.argv[1])):\n    print('locked', flush=True)\n    time.sleep(60)"
    )
    with subprocess.Popen([sys.executable, "-c", held, folder], stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout.readline() == "locked\n"
        with pytest.raises(OutputError, match="is locked"), alone_in(folder):
            pass
        child.kill()
    assert (tmp_path / ".parts.lock").exists()
    with alone_in(folder):
        pass
    assert list(tmp_path.iterdir()) == []
