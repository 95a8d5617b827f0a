"""Decorators of kernels.

numba compiles all that a kernel calls once more with it. Three ways around that stand here and in
`external.py`: parts taken into their callers, parts that LLVM takes in, and functions behind a C call.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from llvmlite import ir as llvm_types
from numba import types
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher
from numba.extending import intrinsic

from simengine.compiled.external import LINKER
from simengine.compiled.store import WITHOUT_ENTRY, KernelStore

Function = TypeVar("Function", bound=Callable[..., Any])

POINTER = types.CPointer(types.float64)


class KernelDispatcher(CPUDispatcher):  # type: ignore[misc]
    """numba's function with the kernels' own store, and an entry from Python only where Python calls it.

    The entry takes tuples of arrays apart; for a kernel that only other kernels call it would be compiled in
    vain. A signature that Python calls later is compiled again with its entry.
    """

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._cache = KernelStore(self.py_func, self.targetoptions)
        self.without_entry: set[tuple[Any, ...]] = set()

    def compile(self, signature: Any) -> Any:
        """Load or compile one signature; where its code stands, for whoever calls it from Python."""
        with global_compiler_lock:
            LINKER.link()
            taken = tuple(getattr(signature, "args", signature))
            within = LINKER.depth > 0
            if not within and taken in self.without_entry:
                self.without_entry.remove(taken)
                del self.overloads[taken]
            self.targetoptions[WITHOUT_ENTRY] = within
            with LINKER.inside():
                return super().compile(signature)

    def add_overload(self, result: Any) -> None:
        """Make a compiled signature known, to Python only if it has its entry."""
        if not self.targetoptions[WITHOUT_ENTRY]:
            super().add_overload(result)
            return
        taken = tuple(result.signature.args)
        self.overloads[taken] = result
        self.without_entry.add(taken)


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


def linked_part(function: Function) -> Function:
    """A kernel that is compiled on its own and then taken into the kernels that call it by LLVM.

    For what is large, or called from many places: taken in by numba, as a `kernel_part` is, it would go
    through all of numba's compiler once for every place that calls it.
    """
    return compiled(function, inline="never", forceinline=True)


def vector_part(function: Function) -> Function:
    """A `linked_part` of vector kernels, with their liberty in rounding."""
    return compiled(function, inline="never", fastmath={"contract"}, forceinline=True)


@intrinsic  # type: ignore[untyped-decorator]
def square_root(typingctx: Any, x: Any) -> Any:
    """Square root of a float in a vector kernel, where that of `math` would be a call."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        function = builder.module.declare_intrinsic("llvm.sqrt", [llvm_types.DoubleType()])
        return builder.call(function, arguments)

    return types.float64(types.float64), generate


def compiled(
    function: Function, inline: str, fastmath: set[str] | bool = False, forceinline: bool = False
) -> Function:
    """numba's function, its machine code kept in the store."""
    options = {
        "nopython": True,
        "boundscheck": None,
        "error_model": "numpy",
        "nogil": True,
        "no_cfunc_wrapper": True,
        "inline": inline,
        "fastmath": fastmath,
        "forceinline": forceinline,
    }
    return KernelDispatcher(function, targetoptions=options)
