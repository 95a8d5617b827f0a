"""A real cluster: scheduler and workers as processes of their own, started as a user starts them."""

import re
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import netCDF4
import numpy as np
import pytest

from simengine.errors import ExecutionError
from simengine.execution import cluster as module
from simengine.execution.store import MemoryStore
from simengine.execution.where import Where
from simengine.scenario import load_scenario
from simengine.studies.tolerance.parts import PART, count_of
from simengine.studies.tolerance.study import Question, tolerance

BATCH = Path(__file__).parents[2] / "scenarios" / "batch_of_hubs.yaml"
STARTED = "from simengine.cli import main; main()"
SAMPLES = 20 * PART
WORKER = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--death-timeout", "60")


def test_a_missing_package_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ExecutionError, match=re.escape("pip install 'simengine-flight[cluster]'")):
        module.connected("tcp://127.0.0.1:1")


distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")


@contextmanager
def command(*arguments):
    """A program of the distributed package, ended with the block; what it says goes nowhere."""
    child = subprocess.Popen(
        [sys.executable, "-m", "dask", *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield child
    finally:
        child.kill()
        child.wait()


def written(path, child):
    """What a scheduler writes once it listens, as an address."""
    until = time.monotonic() + 60.0
    while not path.exists() or not path.read_text().rstrip().endswith("}"):
        assert child.poll() is None, "the scheduler ended"
        assert time.monotonic() < until, "no scheduler within a minute"
        time.sleep(0.05)
    return re.search(r'"address": "([^"]+)"', path.read_text())[1]


@contextmanager
def scheduler(folder):
    """A scheduler on a free port; its address."""
    path = folder / "scheduler.json"
    options = ("--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(path))
    with command("scheduler", *options) as child:
        yield written(path, child)


@pytest.fixture(scope="module")
def a_cluster(tmp_path_factory):
    """Scheduler and two workers: its address, and the workers."""
    folder = tmp_path_factory.mktemp("cluster")
    with scheduler(folder) as address:
        started = [("worker", address, *WORKER, "--local-directory", str(folder / name)) for name in "ab"]
        with command(*started[0]) as one, command(*started[1]) as two:
            with distributed.Client(address, timeout=60, set_as_default=False) as client:
                client.wait_for_workers(2, timeout=90)
            yield address, (one, two)


def content(path):
    """Everything in a file but the moment at which it was written and the command."""
    with netCDF4.Dataset(path) as file:
        values = {name: np.ma.getdata(variable[:]).copy() for name, variable in file.variables.items()}
        attributes = {name: str(file.getncattr(name)) for name in file.ncattrs() if name != "history"}
    return values, attributes


def assert_same(one, other):
    assert one[1] == other[1]
    assert one[0].keys() == other[0].keys()
    for name, values in one[0].items():
        assert values.dtype == other[0][name].dtype
        assert values.tobytes() == other[0][name].tobytes() or np.array_equal(values, other[0][name]), name


def asked(*options):
    """The command for a tolerance study of enough hubs."""
    hubs = ["tolerance", str(BATCH), "-n", str(SAMPLES), "-q"]
    return [sys.executable, "-c", STARTED, *hubs, *map(str, options)]


@pytest.mark.slow
def test_client_killed_and_worker_killed_the_numbers_are_those_of_one_thread(a_cluster, tmp_path):
    """First the client dies and is begun again, then, before the same result is there, a worker."""
    address, (one, _) = a_cluster
    subprocess.run(asked("--workers", 1, "-o", tmp_path / "thread"), check=True, stdout=subprocess.DEVNULL)
    remote = asked("--scheduler", address, "-o", tmp_path / "cluster")
    parts = tmp_path / "cluster" / ".batch_of_hubs.tolerance.nc.parts"
    first = subprocess.Popen(remote, stdout=subprocess.DEVNULL)
    wait_for_parts(parts, 2, first)
    first.kill()
    first.wait()
    kept = len(list(parts.glob("*.npz")))
    assert 2 <= kept < count_of(SAMPLES) - 6
    again = subprocess.Popen(remote, stdout=subprocess.DEVNULL)
    wait_for_parts(parts, kept + 2, again)
    one.send_signal(signal.SIGKILL)
    assert len(list(parts.glob("*.npz"))) < count_of(SAMPLES)
    assert again.wait(timeout=120) == 0
    assert one.wait(timeout=10) == -signal.SIGKILL
    assert not parts.exists()
    files = [tmp_path / name / "batch_of_hubs.tolerance.nc" for name in ("thread", "cluster")]
    assert_same(*map(content, files))


def wait_for_parts(folder, count, child):
    """Until so many parts are kept."""
    until = time.monotonic() + 120.0
    while len(list(folder.glob("*.npz"))) < count:
        assert child.poll() is None, "it was done before it could be disturbed"
        assert time.monotonic() < until, f"no {count} parts within two minutes"
        time.sleep(0.005)


def test_nobody_at_the_address(monkeypatch):
    monkeypatch.setattr(module, "PATIENCE", 1.0)
    started = time.monotonic()
    question = Question(load_scenario(BATCH), 64, 1)
    with pytest.raises(ExecutionError, match=r"nothing answers at tcp://127\.0\.0\.1:9 within 1 s"):
        tolerance(question, MemoryStore(), Where(scheduler="tcp://127.0.0.1:9"))
    assert time.monotonic() - started < 60.0


@pytest.mark.parametrize("address", ["", "no address", "http://127.0.0.1:9", "127.0.0.1:x"])
def test_what_is_no_address(monkeypatch, address):
    monkeypatch.setattr(module, "PATIENCE", 1.0)
    with pytest.raises(ExecutionError, match="nothing answers at"):
        module.connected(address)


@pytest.mark.slow
def test_a_cluster_without_workers(monkeypatch, tmp_path):
    monkeypatch.setattr(module, "PATIENCE", 2.0)
    with scheduler(tmp_path) as address, pytest.raises(ExecutionError, match=f"'dask worker {address}"):
        module.connected(address)


@pytest.mark.slow
def test_workers_with_another_program_are_refused_before_anything_is_sent(a_cluster, monkeypatch):
    address, _ = a_cluster
    other = {"compiled kernels and processor": "of another time"}
    with pytest.raises(ExecutionError, match=r"(?s)worker tcp://.*kernels and processor is .*same kind"):
        module.Cluster(address, b"", "key", other)
