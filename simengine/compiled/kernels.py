"""Decorators of kernels.

numba compiles all that a kernel calls once more with it. Three ways around that stand here and in
`external.py`: parts taken into their callers, parts that LLVM takes in, and functions behind a C call.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from llvmlite import ir as llvm_types
from numba import types
from numba.core import cgutils
from numba.core.compiler import Compiler
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher
from numba.extending import intrinsic

from simengine.compiled.external import LINKER
from simengine.compiled.handover import POINTER, array_from, array_kind, has_gaps
from simengine.compiled.linking import WITHOUT_ENTRY, KernelCompiler
from simengine.compiled.store import KernelStore

Function = TypeVar("Function", bound=Callable[..., Any])

# Contracted products and sums, reciprocals, zeros of either sign: each rounds otherwise, none leaves out a
# case. Infinity and "not a number" keep their meaning, sums their order.
VECTOR_LIBERTIES = {"contract", "arcp", "nsz"}
VECTOR_BYTES = 64  # of the widest vector units
COUNTED = "_nrt"  # numba's name for counting who holds an array


class KernelDispatcher(CPUDispatcher):  # type: ignore[misc]
    """numba's function with the kernels' own store, and an entry from Python only where Python calls it.

    The entry takes tuples of arrays apart; for a kernel that only other kernels call it would be compiled in
    vain. A signature that Python calls later is compiled again with its entry.
    """

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._cache = KernelStore(self.py_func, self.targetoptions)
        self._compiler = KernelCompiler(
            self.py_func, self.targetdescr, self.targetoptions, self.locals, Compiler
        )
        self.without_entry: set[tuple[Any, ...]] = set()
        self.uncounted = not options["targetoptions"].get(COUNTED, True)

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
            if self.uncounted:
                self.targetoptions[COUNTED] = any(map(has_gaps, taken))
            with LINKER.inside():
                return super().compile(signature)

    def add_overload(self, result: Any) -> None:
        """Make a compiled signature, `result`, known, to Python only if it has its entry."""
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


def uncounted_kernel(function: Function) -> Function:
    """A kernel that makes no array and does not count who holds those it is given.

    With the many arrays of a blade, counting takes as long as the blade's loads, and threads that share a
    machine wait for each other at it. Arrays with gaps, of which copies are made, are counted.
    """
    return compiled(function, inline="never", counted=False)


def vector_kernel(function: Function) -> Function:
    """A kernel whose one loop is to run on the processor's vector units.

    Products and sums may be contracted, which rounds once instead of twice, and a division may become a
    product with the reciprocal, which rounds twice instead of once: a few units in the last place. The loop
    must be free of branches, calls and slices, or it silently runs one by one: a test compares its time with
    that of the scalar kernels.
    """
    return compiled(function, inline="never", fastmath=VECTOR_LIBERTIES)


def linked_part(function: Function) -> Function:
    """A kernel that is compiled on its own and then taken into the kernels that call it by LLVM.

    For what is large, or called from many places: taken in by numba, as a `kernel_part` is, it would go
    through all of numba's compiler once for every place that calls it.
    """
    return compiled(function, inline="never", forceinline=True)


def vector_part(function: Function) -> Function:
    """A `linked_part` of vector kernels, with their liberty in rounding."""
    return compiled(function, inline="never", fastmath=VECTOR_LIBERTIES, forceinline=True)


@intrinsic  # type: ignore[untyped-decorator]
def room(typingctx: Any, count: Any) -> Any:
    """Address of room for a `count` of floats, which lasts until the kernel returns; nothing in it yet.

    `typingctx` is numba's, as in every intrinsic; kernels give the rest alone.
    """

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        space = builder.alloca(llvm_types.DoubleType(), size=arguments[0])
        space.align = VECTOR_BYTES
        return space

    return POINTER(types.intp), generate


@intrinsic  # type: ignore[untyped-decorator]
def array_at(typingctx: Any, address: Any, shape: Any) -> Any:
    """Array of floats without gaps at an address; `carray` of numba would count who holds it."""
    kind = array_kind(len(shape))

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        lengths = cgutils.unpack_tuple(builder, arguments[1])
        return array_from(context, builder, kind, arguments[0], lengths)

    return kind(POINTER, types.UniTuple(types.intp, len(shape))), generate


@intrinsic  # type: ignore[untyped-decorator]
def square_root(typingctx: Any, x: Any) -> Any:
    """Square root of a float `x` in a vector kernel, where that of `math` would be a call.

    `typingctx` is numba's.
    """

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        function = builder.module.declare_intrinsic("llvm.sqrt", [llvm_types.DoubleType()])
        return builder.call(function, arguments)

    return types.float64(types.float64), generate


def compiled(
    function: Function,
    inline: str,
    fastmath: set[str] | bool = False,
    forceinline: bool = False,
    counted: bool = True,
) -> Function:
    """A numba function, its machine code kept in the store.

    `inline`, `fastmath` and `forceinline` are numba's options; `counted` says whether it counts who holds
    arrays.
    """
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
    if not counted:
        options[COUNTED] = False
    return KernelDispatcher(function, targetoptions=options)
