"""The propeller in C, compiled on the spot: `propeller.c` with layout and constants of the Python modules."""

import ctypes
import math
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

from simengine.models import element, lane_table, lanes, sections, vector_math
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade

Array = NDArray[np.float64]

SOURCE = Path(__file__).with_name("propeller.c")
# Optimised as far as the compiler goes: what it may reorder, and how wide it may go.
BUILDS = {
    "fast": ("-O3", "-march=native", "-ffast-math"),
    "fast, widest vectors": ("-O3", "-march=native", "-ffast-math", "-mprefer-vector-width=512"),
    "strict": ("-O3", "-march=native"),
}
CONSTANTS = {
    lanes: ("NO_LOSS", "ACTIVE", "SOLVED", "GIVEN_UP", "MOST_STEPS"),
    element: ("HEAVY", "LOSS_FLOOR", "SLOWEST_TURN", "STEP_PRODUCT", "SWIRL_FLOOR"),
    sections: (
        "DELAY_START",
        "HIGHEST_REYNOLDS",
        "KNEE",
        "KORN_LIFT",
        "LOCK_FACTOR",
        "LOG_TEN",
        "LOWEST_REYNOLDS",
    ),
    vector_math: ("LN_2", "SQRT_2"),
    math: ("pi",),
}
RESULTS = 9  # fields of `RotorLoads`
Pointer = ctypes.POINTER(ctypes.c_double)


class BladeStruct(ctypes.Structure):
    """`Blade` of the C file."""

    _fields_ = (
        *((name, ctypes.c_int) for name in ("elements", "turns")),
        *((name, ctypes.c_double) for name in ("blades", "tip_radius", "datum")),
        *((name, Pointer) for name in ("radius", "width", "chord", "axis_lead", "lanes")),
    )


class AirStruct(ctypes.Structure):
    """`Air` of the C file."""

    _fields_ = tuple((name, ctypes.c_double) for name in ("density", "viscosity", "speed_of_sound"))


def layout() -> str:
    """layout.h: every row of the workspace, every constant."""
    rows = {
        name: value for name, value in vars(lane_table).items() if name.isupper() and isinstance(value, int)
    }
    values = {name.upper(): getattr(module, name) for module, names in CONSTANTS.items() for name in names}
    return "".join(f"#define {name} {value!r}\n" for name, value in (rows | values).items())


def compiler() -> str | None:
    """The C compiler of this machine, if it has one."""
    return next(
        (
            path
            for name in (os.environ.get("CC"), "cc", "gcc", "clang")
            if name and (path := shutil.which(name))
        ),
        None,
    )


@dataclass
class CKernel:
    """One build."""

    library: ctypes.CDLL

    def many_loads(self, blade: Blade, air: Air, points: Array) -> Array:
        """Loads at every point, shape (n, 9); a point is blade angle, rotor speed, air speed."""
        results = np.empty((len(points), RESULTS))
        self.caller(blade, air, points, results)()
        return results

    def caller(self, blade: Blade, air: Air, points: Array, results: Array) -> Callable[[], None]:
        """A call with everything made ready, to be timed."""
        kept = [
            np.ascontiguousarray(getattr(blade, name))
            for name in ("radius", "width", "chord", "axis_lead", "lanes")
        ]
        pointers = [array.ctypes.data_as(Pointer) for array in kept]
        structure = BladeStruct(
            len(blade.radius), len(blade.lanes), blade.blades, blade.tip_radius, blade.datum, *pointers
        )
        around = AirStruct(air.density, air.viscosity, air.speed_of_sound)
        where = (points.ctypes.data_as(Pointer), results.ctypes.data_as(Pointer))

        def call() -> None:
            self.library.many_loads(ctypes.byref(structure), ctypes.byref(around), len(points), *where)
            assert kept

        return call


@contextmanager
def c_kernels() -> Iterator[dict[str, CKernel]]:
    """Every build that the compiler makes; none without a compiler.

    Compiled and linked apart: linked with -ffast-math, a library would switch off denormal numbers in the
    whole process.
    """
    program = compiler()
    with TemporaryDirectory() as folder:
        Path(folder, "layout.h").write_text(layout())
        built = {}
        for number, (name, flags) in enumerate(BUILDS.items()):
            target = Path(folder, f"propeller{number}")
            compile_it = [
                program,
                *flags,
                "-std=c99",
                "-fPIC",
                "-I",
                folder,
                "-c",
                SOURCE,
                "-o",
                f"{target}.o",
            ]
            link_it = [program, "-shared", f"{target}.o", "-o", f"{target}.so", "-lm"]
            if program and all(
                subprocess.run(step, capture_output=True).returncode == 0 for step in (compile_it, link_it)
            ):
                built[name] = CKernel(ctypes.CDLL(f"{target}.so"))
        yield built
