"""Compiled kernels: never an old answer, whatever happens to files, versions and machines."""

import errno
import importlib
import os
import pkgutil
import shutil
import subprocess
import sys
import time
from pathlib import Path

import llvmlite
import numba
import pytest

import simengine
from simengine.compiled import kernel, store
from simengine.compiled.kernels import KernelDispatcher

PACKAGE = Path(simengine.__file__).parent

CALLEE = """from simengine.compiled import kernel, kernel_part
from simengine.constants import FACTOR

@kernel
def doubled(x: float) -> float:
    return FACTOR * x
"""
CALLER = """from numba import types
from simengine.compiled import compiled_once, kernel
from simengine.models.callee import doubled

@compiled_once("plus_one", types.float64(types.float64))
def plus_one(x: float) -> float:
    return doubled(x) + 1.0

@kernel
def both(x: float) -> float:
    return doubled(x) + plus_one(x)
"""
# From Python a kernel that was compiled for another kernel first, and the C function in it.
PROGRAM = "from simengine.models.caller import both, doubled; print(both(2.0), doubled(3.0))"
ANSWER = "9.0 6.0"


@pytest.fixture
def small(tmp_path):
    """A copy of the package with two kernels of its own, and a cache folder."""
    copy = tmp_path / "code" / "simengine"
    (copy / "models").mkdir(parents=True)
    shutil.copytree(PACKAGE / "compiled", copy / "compiled", ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "__init__.py").touch()
    (copy / "models" / "__init__.py").touch()
    (copy / "constants.py").write_text("FACTOR = 2.0\n")
    (copy / "models" / "callee.py").write_text(CALLEE)
    (copy / "models" / "caller.py").write_text(CALLER)
    return copy


def started(small, program=PROGRAM, cache=None):
    """A process that runs a program on the small package."""
    environment = {name: value for name, value in os.environ.items() if name != store.PRIVATE_VARIABLE}
    environment |= {
        "PYTHONPATH": str(small.parent),
        "SIMENGINE_CACHE_DIR": str(cache or small.parent.parent / "cache"),
        "TMPDIR": str(small.parent.parent),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    pipe = subprocess.PIPE
    return subprocess.Popen(
        [sys.executable, "-c", program],
        env=environment,
        cwd=small.parent,
        stdout=pipe,
        stderr=pipe,
        text=True,
    )


def answer(small, program=PROGRAM, cache=None):
    """What a program prints, and what it tells on standard error."""
    process = started(small, program, cache)
    out, told = process.communicate(timeout=300)
    assert process.returncode == 0, told
    return out.strip(), told


def kernel_files(small):
    return sorted((small.parent.parent / "cache").rglob("*.kernel"))


def test_kernels_are_kept_and_found_again(small):
    assert answer(small) == (ANSWER, "")
    files = kernel_files(small)
    # `both`, the C function, and `doubled` with and without its entry from Python
    assert [path.name.partition("-")[0] for path in files] == [
        "callee.doubled",
        "callee.doubled",
        "caller.both",
        "caller.plus_one",
    ]
    written = [path.stat().st_mtime_ns for path in files]
    assert answer(small) == (ANSWER, "")
    assert [path.stat().st_mtime_ns for path in kernel_files(small)] == written


@pytest.mark.parametrize(
    ("file", "old", "new", "expected"),
    [
        ("models/callee.py", "FACTOR * x", "FACTOR * x + 10.0", "29.0 16.0"),
        ("constants.py", "2.0", "3.0", "13.0 9.0"),
    ],
)
def test_an_edited_callee_or_constant_is_never_answered_by_an_old_kernel(small, file, old, new, expected):
    assert answer(small)[0] == ANSWER
    path = small / file
    before = path.stat()
    path.write_text(path.read_text().replace(old, new))
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))  # an editor's time stamp decides nothing
    assert answer(small)[0] == expected


def test_a_kernel_that_only_kernels_call_is_kept_to_be_linked_and_not_as_machine_code(small):
    only_above = "from simengine.models.caller import both; print(both(2.0))"
    for _ in range(2):  # compiled, and found again
        assert answer(small, only_above) == ("9.0", "")
    kinds = (
        "import pickle; from simengine.compiled.store import DIGEST_SIZE, cache_folder; "
        "print(*sorted(file.name.split('-')[0] + ' ' + pickle.loads(file.read_bytes()[DIGEST_SIZE:])[0][1] "
        "for file in cache_folder().glob('*.kernel')), sep=', ')"
    )
    assert answer(small, kinds) == ("callee.doubled linked, caller.both object, caller.plus_one object", "")


def test_a_damaged_file_is_compiled_again(small):
    answer(small)
    files = kernel_files(small)
    whole = [path.stat().st_size for path in files]
    for i, path in enumerate(files):
        content = bytearray(path.read_bytes())
        if i == 0:
            content = content[: len(content) // 2]  # a disk that was full, a machine that lost its power
        elif i == 1:
            content = bytearray()
        else:
            content[len(content) // 2] ^= 1
        path.write_bytes(content)
    assert answer(small) == (ANSWER, "")
    assert [path.stat().st_size for path in kernel_files(small)] == whole


def test_two_processes_compile_at_once(small):
    processes = [started(small) for _ in range(2)]
    for process in processes:
        out, told = process.communicate(timeout=300)
        assert (process.returncode, out.strip(), told) == (0, ANSWER, "")
    assert len(kernel_files(small)) == 4
    assert not list((small.parent.parent / "cache").rglob("*.part"))


def test_a_cache_that_cannot_be_written_is_told_once_and_replaced_for_the_run(small):
    no_folder = small.parent.parent / "a_file"
    no_folder.touch()
    program = PROGRAM + "; from simengine.compiled import cache_folder; print(cache_folder())"
    out, told = answer(small, program, no_folder)
    result, _, folder = out.partition("\n")
    assert result == ANSWER
    assert told.count("cannot be kept") == 1 and "SIMENGINE_CACHE_DIR" in told and len(told.splitlines()) == 1
    assert "simengine-kernels-" in folder and not Path(folder).exists()


NO_ROOM = """
import errno, pathlib
def full(self, *content):
    raise OSError(errno.ENOSPC, "No space left on device")
pathlib.Path.write_bytes = full
"""
READ_ONLY = """
import errno
from simengine.compiled import store
def refused(folder):
    raise OSError(errno.EROFS, "Read-only file system")
store.probe = refused
"""


def test_a_disk_that_fills_up_only_costs_the_cache(small):
    assert answer(small, NO_ROOM + PROGRAM) == (ANSWER, "")
    assert not kernel_files(small)


def test_what_is_in_a_cache_that_can_only_be_read_is_used(small):
    answer(small)
    folder = kernel_files(small)[0].parent
    (folder / "all.ready").touch()  # a warm cache needs nothing written and is no reason to complain
    program = READ_ONLY + PROGRAM + "\nimport os; print(len(os.listdir(store.cache_folder())))"
    assert answer(small, program) == (f"{ANSWER}\n0", "")


# --- what the folder's name depends on -------------------------------------------------------------
@pytest.mark.parametrize(
    "changed",
    [
        lambda patch: patch.setattr(numba, "__version__", "9.9"),
        lambda patch: patch.setattr(llvmlite, "__version__", "9.9"),
        lambda patch: patch.setattr(store.llvm, "get_host_cpu_name", lambda: "another"),
        lambda patch: patch.setattr(store.llvm, "get_host_cpu_features", lambda: Features()),
    ],
    ids=["numba", "llvmlite", "processor", "its features"],
)
def test_another_compiler_or_processor_has_another_folder(changed, monkeypatch):
    assert store.kernel_digest.__wrapped__() == store.kernel_digest()
    changed(monkeypatch)
    assert store.kernel_digest.__wrapped__() != store.kernel_digest()


class Features:
    """A processor's list of features with one missing."""

    def flatten(self):
        return "+sse2"


def test_every_kernel_of_the_package_is_in_the_digest():
    sources = set(store.kernel_sources())
    outside, kernels = set(), 0
    for module in pkgutil.walk_packages(simengine.__path__, "simengine."):
        for value in vars(importlib.import_module(module.name)).values():
            if isinstance(value, KernelDispatcher):
                kernels += 1
                outside |= {Path(value.py_func.__code__.co_filename)} - sources
    assert kernels > 100
    assert not outside


def test_a_kernel_from_elsewhere_is_never_kept():
    made = kernel(twice)
    assert made(2.0) == 4.0
    folder = store.cache_folder()
    assert folder is not None
    assert not list(folder.glob("test_kernel_store*"))


def twice(x):
    return 2.0 * x


# --- housekeeping ----------------------------------------------------------------------------------
def test_only_what_nothing_has_used_for_a_month_is_removed(tmp_path):
    current, fresh, old, others = (
        tmp_path / name for name in ("0" * 16, "1" * 16, "2" * 16, "holiday_pictures")
    )
    for folder in (current, fresh, old, others):
        folder.mkdir()
        (folder / "file").touch()
    month_ago = time.time() - 31 * 86400
    for folder in (current, old, others):
        os.utime(folder, (month_ago, month_ago))
    store.remove_unused(current)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        path.name for path in (current, fresh, others)
    )


def test_a_write_that_fails_leaves_nothing(tmp_path, monkeypatch):
    def full(self, target):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    store.write_whole(tmp_path / "a.kernel", b"content")
    assert not list(tmp_path.iterdir())
