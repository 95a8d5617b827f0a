"""Where compiled kernels are kept, and under which name.

numba decides whether a cached kernel is still good by looking at the caller's file only: an edit of a
function that it calls, in another file, would keep giving the old answers. So the folder's name carries a
digest of every file that kernels come from, of numba and llvmlite and of the processor; kernels from
other files are never kept. Each file carries a digest of its own content: one that was cut short or damaged
is compiled again.
"""

import atexit
import hashlib
import logging
import os
import pickle
import re
import shutil
import sys
import tempfile
import time
from functools import cache
from pathlib import Path
from typing import Any

import llvmlite
import numba
import platformdirs
from llvmlite import binding as llvm
from numba.core import compiler, serialize

from simengine.compiled.linking import WITHOUT_ENTRY, linked, rebuilt

PACKAGE = Path(__file__).parent.parent
KERNEL_FOLDERS = ("compiled", "models", "balance", "flight")
CACHE_VARIABLE = "SIMENGINE_CACHE_DIR"
PRIVATE_VARIABLE = "SIMENGINE_PRIVATE_KERNELS"  # set for the processes that this one starts
DAYS_KEPT = 30.0  # a folder of an older version that nothing has used for so long is removed
PROBE = 1 << 18  # bytes that must fit on the disk
DIGEST_SIZE = 32

UNKEPT = (
    "Compiled kernels cannot be kept in {folder} ({reason}): every run compiles them again, "
    "which takes most of a minute. Set {variable} to a folder that can be written."
)

log = logging.getLogger("simengine")


def kernel_sources(package: Path = PACKAGE) -> list[Path]:
    """Every file that kernels may come from, and the constants that they freeze."""
    folders = (package / name for name in KERNEL_FOLDERS)
    return sorted([package / "constants.py", *(path for folder in folders for path in folder.rglob("*.py"))])


def machine() -> tuple[str, ...]:
    """What else decides whether machine code is good."""
    return (
        sys.implementation.cache_tag,
        numba.__version__,
        llvmlite.__version__,
        llvm.get_host_cpu_name(),
        llvm.get_host_cpu_features().flatten(),
    )


@cache
def kernel_digest() -> str:
    """Digest of everything that a compiled kernel depends on."""
    digest = hashlib.sha256()
    for source in kernel_sources():
        content = source.read_bytes()
        digest.update(f"{source.relative_to(PACKAGE).as_posix()}\0{len(content)}\0".encode() + content)
    for part in machine():
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()[:16]


def shared_folder() -> Path:
    """Folder of this user's kernels of this version, whether or not it is there."""
    base = Path(os.environ.get(CACHE_VARIABLE) or platformdirs.user_cache_dir("simengine", appauthor=False))
    return base / "kernels" / kernel_digest()


@cache
def cache_folder() -> Path | None:
    """Folder that new kernels are written to.

    A private one, removed at the end, if the user's cannot be written; None if nothing can be written
    anywhere.
    """
    given = os.environ.get(PRIVATE_VARIABLE)
    if given and Path(given).is_dir():
        return Path(given)
    folder = shared_folder()
    try:
        probe(folder)
    except OSError as error:
        return private_folder(folder, error.strerror or type(error).__name__)
    os.utime(folder)
    remove_unused(folder)
    return folder


@cache
def reading_folders() -> tuple[Path, ...]:
    """Folders in which kernels may be found: that of new ones, and the user's if it can only be read."""
    folder, shared = cache_folder(), shared_folder()
    return tuple(dict.fromkeys([folder, shared] if folder else [shared]))


def probe(folder: Path) -> None:
    """Fail unless files can be made in a folder and there is some room left: OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryFile(dir=folder) as file:
        file.write(bytes(PROBE))


def private_folder(wanted: Path, reason: str) -> Path | None:
    """A folder for this process and those it starts; tells the `reason` why, once. None if it cannot be."""
    if not any(wanted.glob("*.ready")):
        log.warning(UNKEPT.format(folder=wanted, reason=reason, variable=CACHE_VARIABLE))
    try:
        folder = Path(tempfile.mkdtemp(prefix="simengine-kernels-"))
    except OSError:
        return None
    os.environ[PRIVATE_VARIABLE] = str(folder)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def remove_unused(folder: Path) -> None:
    """Remove what other versions left beside a folder and nothing has used for a month.

    Every process marks its folder as used when it begins. A process older than a month that loses its
    files compiles what it still needs.
    """
    oldest = time.time() - DAYS_KEPT * 86400.0
    for other in folder.parent.iterdir():
        try:
            unused = other.is_dir() and other.stat().st_mtime < oldest
        except OSError:
            continue
        if unused and other != folder and re.fullmatch("[0-9a-f]{16}", other.name):
            shutil.rmtree(other, ignore_errors=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that is there whole or not at all; a disk that is full is no error of the caller's."""
    temporary = path.with_name(f"{path.name}.{os.getpid()}.{time.monotonic_ns()}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError:
        temporary.unlink(missing_ok=True)


class KernelStore:
    """Machine code of one kernel, a file for each signature; what numba asks of a cache."""

    def __init__(self, function: Any, options: dict[str, Any]) -> None:
        self.options = options
        self.source = Path(function.__code__.co_filename)
        self.name = f"{self.source.stem}.{function.__qualname__}"

    @property
    def cache_path(self) -> str | None:
        """Folder of the files."""
        folder = cache_folder()
        return str(folder) if folder else None

    def enable(self) -> None:
        """Nothing to do."""

    def disable(self) -> None:
        """Nothing to do."""

    def flush(self) -> None:
        """Nothing to do: a changed kernel has another folder."""

    @property
    def kept(self) -> bool:
        """Whether the kernel's source is in the digest."""
        return self.source in digested()

    def file_name(self, signature: Any, code: Any, without_entry: bool) -> str:
        """Name for a `signature` and the `code` generator of a processor.

        Forms `without_entry` from Python and with one are two.
        """
        options = sorted((self.options | {WITHOUT_ENTRY: without_entry}).items(), key=str)
        key = (str(signature), str(code.magic_tuple()), str(options))
        return f"{self.name}-{hashlib.sha256(repr(key).encode()).hexdigest()[:20]}.kernel"

    @property
    def without_entry(self) -> bool:
        """Whether the form asked for has no entry from Python."""
        return bool(self.options.get(WITHOUT_ENTRY, False))

    def load_overload(self, signature: Any, target: Any) -> Any:
        """The kept form of a `signature` for a `target`, or None.

        Where no entry is asked for, one that has it does as well.
        """
        target.refresh()
        if not self.kept:
            return None
        for without in (True, False) if self.without_entry else (False,):
            name = self.file_name(signature, target.codegen(), without)
            for folder in reading_folders():
                content = whole_content(folder / name)
                if content is not None:
                    parts = pickle.loads(content)
                    if linked(parts):
                        return rebuilt(target, parts)
                    return compiler.CompileResult._rebuild(target, *parts)
        return None

    def save_overload(self, signature: Any, result: Any) -> None:
        """Keep a form of a `signature`, `result`, that has just been compiled."""
        folder = cache_folder()
        if folder is None or not self.kept or any(not part.can_cache for part in result.lifted):
            return
        if result.library.has_dynamic_globals:
            return
        content = serialize.dumps(result._reduce())
        name = self.file_name(signature, result.codegen, self.without_entry)
        write_whole(folder / name, hashlib.sha256(content).digest() + content)


@cache
def digested() -> frozenset[Path]:
    """The files of `kernel_sources`."""
    return frozenset(kernel_sources())


def whole_content(path: Path) -> bytes | None:
    """What was written to a file, or None if it is not there as it was written."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    digest, content = content[:DIGEST_SIZE], content[DIGEST_SIZE:]
    return content if hashlib.sha256(content).digest() == digest else None
