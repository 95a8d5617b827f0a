"""The one door to numba: compiled kernels with a cache that cannot go stale.

numba decides whether a cached kernel is still good by looking at the caller's file only: an edit of a
function that it calls, in another file, would keep giving the old answers. So the cache folder's
name carries a digest of every kernel source, of the numba version and of the processor.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs
from llvmlite import binding as llvm
from llvmlite import ir as llvm_types
from numba import types
from numba.extending import intrinsic

Function = TypeVar("Function", bound=Callable[..., Any])

KERNEL_FOLDERS = ("models", "balance", "flight")
CACHE_VARIABLE = "SIMENGINE_CACHE_DIR"


def kernel_digest() -> str:
    """Digest of everything that a compiled kernel depends on."""
    digest = hashlib.sha256()
    package = Path(__file__).parent
    for source in sorted(path for name in KERNEL_FOLDERS for path in (package / name).glob("*.py")):
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    for part in (numba.__version__, llvm.get_host_cpu_name(), Path(__file__).read_text(), constants_text()):
        digest.update(part.encode())
    return digest.hexdigest()[:16]


def constants_text() -> str:
    """Source of the constants, which kernels freeze when compiled."""
    return (Path(__file__).parent / "constants.py").read_text()


@cache
def cache_folder() -> Path:
    """Folder of the compiled kernels; falls back to a private temporary one if it cannot be written."""
    base = Path(os.environ.get(CACHE_VARIABLE) or platformdirs.user_cache_dir("simengine", appauthor=False))
    folder = base / "kernels" / kernel_digest()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError:
        return Path(tempfile.mkdtemp(prefix="simengine-kernels-"))
    return folder


def compiled_before() -> bool:
    """Whether this machine holds compiled kernels of exactly this source."""
    return any(cache_folder().rglob("*.nbc"))


def kernel(function: Function) -> Function:
    """Compile a scalar kernel on first use and keep the machine code for later processes.

    The plain Python function stays reachable as `.py_func`: the readable reference.
    """
    return compiled(function, inline="never")


def kernel_part(function: Function) -> Function:
    """A kernel that is taken into the kernels that call it, instead of being compiled on its own.

    For kernels called from one or two places of the code. Every kernel compiled on its own costs a tenth of
    a second and, where it stands above the blade elements, as much again for those: numba compiles all that
    a kernel calls once more with it. From Python a part is called like any other kernel.
    """
    return compiled(function, inline="always")


def vector_kernel(function: Function) -> Function:
    """A kernel whose one loop is to run on the processor's vector units.

    Multiplications and additions may be contracted, which rounds once instead of twice; no other liberty is
    taken. The loop must be free of branches, calls and slices, or it silently runs one by one: a test
    compares its time with that of the scalar kernels.
    """
    return compiled(function, inline="never", fastmath={"contract"})


@intrinsic  # type: ignore[untyped-decorator]
def square_root(typingctx: Any, x: Any) -> Any:
    """Square root of a float in a vector kernel, where that of `math` would be a call."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        function = builder.module.declare_intrinsic("llvm.sqrt", [llvm_types.DoubleType()])
        return builder.call(function, arguments)

    return types.float64(types.float64), generate


POINTER = types.CPointer(types.float64)


def compiled_once(name: str, signature: Any) -> Callable[[Function], Any]:
    """A function with a C signature that is compiled for itself and only called by the kernels.

    numba compiles all that a kernel calls once more with it; what is large and called from many kernels is
    therefore put behind a C call. Kernels know it by its name, which is given to the linker here.
    """

    def decorate(function: Function) -> Any:
        previous = numba.config.CACHE_DIR
        numba.config.CACHE_DIR = str(cache_folder())
        try:
            made = numba.cfunc(signature, cache=True, error_model="numpy")(function)
        finally:
            numba.config.CACHE_DIR = previous
        llvm.add_symbol(f"simengine_{name}", made.address)
        return types.ExternalFunction(f"simengine_{name}", signature)

    return decorate


def compiled(function: Function, inline: str, fastmath: set[str] | bool = False) -> Function:
    """numba's function, its machine code kept in the cache folder."""
    previous = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = str(cache_folder())
    try:
        made = numba.njit(
            cache=True,
            error_model="numpy",
            nogil=True,
            no_cfunc_wrapper=True,
            inline=inline,
            fastmath=fastmath,
        )(function)
    finally:
        numba.config.CACHE_DIR = previous
    return made  # type: ignore[no-any-return]
