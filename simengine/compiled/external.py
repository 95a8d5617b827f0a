"""Functions behind a C call: compiled by themselves, known to kernels by a name that the linker resolves."""

import ctypes
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from llvmlite import binding as llvm
from numba import types
from numba.core.ccallback import CFunc
from numba.core.compiler_lock import global_compiler_lock

from simengine.compiled.store import KernelStore

Function = TypeVar("Function", bound=Callable[..., Any])

# Arrays come in by their addresses and none is made, so nobody counts who holds them ("nrt").
OPTIONS = {"nopython": True, "error_model": "numpy", "_nrt": False}


class ExternalKernel(CFunc):
    """numba's C function with the kernels' own store; nothing is compiled before its address is asked for."""

    def __init__(self, function: Callable[..., Any], signature: Any) -> None:
        super().__init__(function, (signature.args, signature.return_type), locals={}, options=dict(OPTIONS))
        self._cache = KernelStore(function, {**OPTIONS, "signature": "C"})
        self.made = False

    @property
    def address(self) -> int:
        """Where the machine code stands; loads or compiles it first."""
        if not self.made:
            with LINKER.inside():
                self.compile()
            self.made = True
        return int(super().address or 0)


class Linker:
    """What the linker of this process knows.

    Attributes
    ----------
    depth : int
        Kernels that are being compiled, one for the sake of the other.
    only_compiling : bool
        This process runs no kernel: names resolve to a placeholder, so that a kernel can be compiled without
        those it calls. Machine code is kept as it is before linking, so nothing of the placeholder is in it.
    """

    def __init__(self) -> None:
        self.depth, self.only_compiling, self.linking = 0, False, False
        self.externals: dict[str, ExternalKernel] = {}  # in the order of definition: they call earlier ones
        self.linked: set[str] = set()
        self.placeholder = ctypes.CFUNCTYPE(None)(self.refuse)

    @staticmethod
    def refuse() -> None:
        """Stand where no code must come to: RuntimeError."""
        raise RuntimeError("a kernel ran in a process that only compiles")

    def inside(self) -> "Inside":
        """For `with`: what is compiled meanwhile is compiled for another kernel."""
        return Inside(self)

    def link(self) -> None:
        """Tell the linker of all functions behind C calls that have been defined since it was asked last."""
        if self.linking or len(self.linked) == len(self.externals):
            return
        self.linking = True
        try:
            for name, external in self.externals.items():
                if name not in self.linked:
                    llvm.add_symbol(name, self.address_for(external))
                    self.linked.add(name)
        finally:
            self.linking = False

    def address_for(self, external: ExternalKernel) -> int:
        """Address to resolve a name to."""
        if self.only_compiling:
            return int(ctypes.cast(self.placeholder, ctypes.c_void_p).value or 0)
        return external.address


@dataclass
class Inside:
    """One level deeper, as long as it is entered."""

    linker: Linker

    def __enter__(self) -> None:
        self.linker.depth += 1

    def __exit__(self, *problem: object) -> None:
        self.linker.depth -= 1


LINKER = Linker()


def compiled_once(name: str, signature: Any) -> Callable[[Function], Any]:
    """A function with a C `signature`, compiled for itself and only called by the kernels, by its `name`.

    numba compiles all that a kernel calls once more with it; what is large and called from many kernels is
    therefore put behind a C call. It is compiled or loaded when the first kernel is, not before. Functions of
    this kind may call those defined before them.
    """

    def decorate(function: Function) -> Any:
        LINKER.externals[f"simengine_{name}"] = ExternalKernel(function, signature)
        return types.ExternalFunction(f"simengine_{name}", signature)

    return decorate


def compile_once(name: str) -> None:
    """Compile one function behind a C call, by the `name` of its `compiled_once`, now; KeyError for none."""
    with global_compiler_lock:
        LINKER.link()
        assert LINKER.externals[f"simengine_{name}"].address
