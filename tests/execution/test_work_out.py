"""Same numbers for any number of workers of any kind; nothing is lost when a worker dies."""

import os
import threading
from pathlib import Path

import numpy as np
import pieces
import pytest

from simengine.errors import ExecutionError, ScenarioError
from simengine.execution.run import Pace, work_out
from simengine.execution.store import FolderStore, MemoryStore
from simengine.execution.task import Done, Job, differences, fingerprint, work_elsewhere
from simengine.execution.where import Where, cores, on_threads, threads_here

COUNT = 23
JOB = Job(pieces.doubled, pieces.random_piece, 21.0)


@pytest.fixture(autouse=True)
def found_by_workers(monkeypatch):
    """Worker processes import the pieces from this folder."""
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parent), prepend=os.pathsep)


def drawn(where, job=JOB, count=COUNT):
    store = MemoryStore()
    work_out(job, count, store, where)
    return store, np.array([store.read(number)["drawn"] for number in range(count)])


def test_threads_give_what_one_thread_gives():
    _, one = drawn(Where(workers=1))
    assert one[5].tobytes() == pieces.random_piece(42.0, 5)["drawn"].tobytes()
    for where in (None, Where(), Where(workers=7)):
        assert drawn(where)[1].tobytes() == one.tobytes()


@pytest.mark.slow
def test_processes_give_what_one_thread_gives():
    store, several = drawn(Where(workers=2, processes=True))
    assert several.tobytes() == drawn(Where(workers=1))[1].tobytes()
    others = {int(store.read(number)["process"]) for number in range(COUNT)}
    assert os.getpid() not in others


@pytest.mark.slow
def test_a_process_that_dies_is_replaced(tmp_path):
    job = Job(pieces.the_plan, pieces.deadly_once, str(tmp_path))
    _, found = drawn(Where(workers=2, processes=True), job, 8)
    assert (tmp_path / "died").exists()
    assert found.tobytes() == b"".join(pieces.random_piece(1.0, n)["drawn"].tobytes() for n in range(8))


@pytest.mark.slow
def test_a_piece_that_always_kills_is_told_and_the_others_are_kept(tmp_path):
    store = FolderStore(tmp_path / "parts")
    store.begin("a")
    job = Job(pieces.the_plan, pieces.deadly, "")
    with pytest.raises(ExecutionError, match=r"died 3 times over pieces .*is kept: ask again"):
        work_out(job, 4, store, Where(workers=1, processes=True))
    assert not store.has(3)
    assert store.has(0)


def test_only_what_is_missing_is_worked_out():
    store, told = MemoryStore(), []
    store.write(2, {"drawn": np.zeros(5)})
    work_out(JOB, 4, store, Where(workers=1), told.append)
    assert (store.read(2)["drawn"] == 0.0).all()
    assert told == [0.25, 0.5, 0.75, 1.0]
    work_out(Job(pieces.doubled, pieces.impossible_piece, 1.0), 4, store)


def test_an_interruption_leaves_what_is_done():
    store, before = MemoryStore(), set(threading.enumerate())

    def interrupt(share):
        if share >= 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        work_out(Job(pieces.doubled, pieces.slow_piece, 1.0), 8, store, Where(workers=2), interrupt)
    assert len(store.kept) >= 4
    for thread in set(threading.enumerate()) - before:  # what has begun runs to its end, and no more begins
        thread.join(30.0)
        assert not thread.is_alive()
    assert len(store.kept) < 8


@pytest.mark.parametrize("processes", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_what_is_wrong_with_a_scenario_is_told_alike(processes):
    job = Job(pieces.the_plan, pieces.impossible_piece, 1.0)
    with pytest.raises(ScenarioError, match=r"^own.yaml:3: hub.kind: number 0 is odd$"):
        work_out(job, 2, MemoryStore(), Where(workers=1, processes=processes))


def test_work_within_a_piece_keeps_to_its_thread():
    store = MemoryStore()
    work_out(Job(pieces.the_plan, pieces.thread_counting_piece, None), 2, store, Where(workers=2))
    assert [int(store.read(number)["threads"]) for number in (0, 1)] == [1, 1]


def test_threads_for_work_outside_of_pieces():
    def wait_for_the_other(number):
        both.wait(timeout=20.0)  # only two at once get past
        return number, on_threads(lambda _: threading.current_thread(), range(3))

    both = threading.Barrier(2)
    with threads_here(2):
        found = on_threads(wait_for_the_other, range(4))
    assert [number for number, _ in found] == [0, 1, 2, 3]
    assert all(len(set(inner)) == 1 for _, inner in found)
    assert 1 <= cores() <= os.cpu_count()


def test_chunks_fill_their_time_and_leave_some_for_everybody():
    class Hands:
        slots, seconds = 4, 2.0

    pace = Pace()
    assert pace.chunk(Hands, 10_000) == 1
    pace.add(Done([(0, {}), (1, {})], 0.2))
    assert pace.chunk(Hands, 10_000) == 20
    assert pace.chunk(Hands, 40) == 5
    assert pace.chunk(Hands, 1) == 1
    Hands.seconds = 0.0
    assert pace.chunk(Hands, 10_000) == 1


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"workers": 0}, "workers: must be a whole number, 1 or above; got 0"),
        ({"workers": 1.5}, "workers: must be a whole number"),
        ({"scheduler": "tcp://127.0.0.1:1", "workers": 2}, "leave out --workers and --processes"),
        ({"scheduler": "tcp://127.0.0.1:1", "processes": True}, "leave out --workers and --processes"),
    ],
)
def test_what_does_not_go_together_is_refused(given, told):
    with pytest.raises(ExecutionError, match=told):
        Where(**given)


def test_a_worker_with_another_program_refuses():
    other = fingerprint() | {"numpy": "1.0"}
    with pytest.raises(ExecutionError, match=r"runs another program: numpy is .* there, 1.0 here"):
        work_elsewhere(b"", "key", other, [0])
    assert differences(fingerprint(), fingerprint()) == ""
    assert "numba is unknown there" in differences(fingerprint(), {})
