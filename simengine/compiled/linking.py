"""Kernels that only other kernels call: code to be linked into those, never machine code of their own.

numba makes machine code of every function that it compiles, together with all that the function calls, which
it then optimises and makes machine code of once more within each caller. Of a kernel that nobody
calls from Python that first machine code would never run.
"""

from typing import Any

from llvmlite import binding as llvm
from numba.core import compiler
from numba.core.codegen import JITCodeLibrary
from numba.core.dispatcher import _FunctionCompiler  # type: ignore[attr-defined]

WITHOUT_ENTRY = "no_cpython_wrapper"  # numba's name for leaving out the entry from Python
LINKED = "linked"  # the kind of code in the store


class LinkedLibrary(JITCodeLibrary):  # type: ignore[misc]
    """Code of one kernel that waits to be linked into the kernels that call it."""

    def _finalize_final_module(self) -> None:
        """Leave out what makes machine code."""
        self._finalize_dynamic_globals()
        self._finalized = True

    def serialize_using_object_code(self) -> tuple[str, str, bytes]:
        """What the store keeps."""
        self._ensure_finalized()
        return self.name, LINKED, self._get_module_for_linking().as_bitcode()

    @classmethod
    def restored(cls, codegen: Any, kept: tuple[str, str, bytes]) -> "LinkedLibrary":
        """The same from what was kept."""
        name, _, bitcode = kept
        library = cls(codegen, name)
        library._shared_module = llvm.parse_bitcode(bitcode)
        library._finalized = True
        return library


class KernelCompiler(_FunctionCompiler):  # type: ignore[misc]
    """numba's compiler, which makes machine code only of kernels with an entry from Python."""

    def _compile_core(self, args: Any, return_type: Any) -> Any:
        if not self.targetoptions[WITHOUT_ENTRY]:
            return super()._compile_core(args, return_type)
        flags = compiler.Flags()
        self.targetdescr.options.parse_as_flags(flags, self.targetoptions)
        flags.no_compile = True
        context = self.targetdescr.target_context
        library = LinkedLibrary(context.codegen(), self.py_func.__qualname__)
        result = compiler.compile_extra(
            self.targetdescr.typing_context,
            context,
            self.py_func,
            args=args,
            return_type=return_type,
            flags=flags,
            locals=self.locals,
            library=library,
            pipeline_class=self.pipeline_class,
        )
        return made_known(context, result)


def made_known(context: Any, result: Any) -> Any:
    """The result with its library as the name by which callers find it, known to numba."""
    known = result._replace(entry_point=result.library)
    context.insert_user_function(known.entry_point, known.fndesc, [known.library])
    return known


def linked(parts: tuple[Any, ...]) -> bool:
    """Whether what the store kept is code to be linked."""
    return bool(parts[0][1] == LINKED)


def rebuilt(context: Any, parts: tuple[Any, ...]) -> Any:
    """A result from what the store kept of it."""
    kept, description, environment, signature, objectmode, lifted, annotation, reload_init, _ = parts
    library = LinkedLibrary.restored(context.codegen(), kept)
    return compiler.CompileResult(
        target_context=context,
        typing_context=context.typing_context,
        library=library,
        environment=environment,
        entry_point=library,
        fndesc=description,
        type_annotation=annotation,
        signature=signature,
        objectmode=objectmode,
        lifted=lifted,
        typing_error=None,
        call_helper=None,
        metadata=None,
        reload_init=reload_init,
        referenced_envs=(),
    )
