"""That the loops over a blade's elements still run on the processor's vector units.

Nothing else would tell: a loop that falls back to one element at a time gives the same answers, several times
slower. No time is asserted, which would be that of the machine, but what holds on any: elements in step are
at least twice as fast as one by one, and the machine code of every loop divides whole vectors.
"""

import re
from typing import get_type_hints

import numba
import numpy as np
import pytest
from llvmlite import binding as llvm
from machines import STANDARD_DAY, demo_blade
from measured.figure import interleaved
from measured.propeller import TIMES_ONE_BY_ONE, many_loads, operating_points
from numba import float64

from simengine.models import lanes
from simengine.models.atmosphere import air_at

ROW_OF_FLOATS = float64[::1]
LOOPS = {
    name: function
    for name, function in vars(lanes).items()
    if getattr(function, "targetoptions", {}).get("fastmath")
    and not function.targetoptions.get("forceinline")
}
WIDE_DIVISION = re.compile(r"\bvdivpd\b.*%[yz]mm")  # four or eight at once
SINGLE_DIVISION = re.compile(r"\bv?divsd\b")
ONCE_A_BLADE = {"set_out": 1}  # single divisions before the loop: the reciprocal of the speed of sound
LIBRARY_CALL = re.compile(r"\$(sin|cos|tan|asin|acos|atan|atan2|exp|log|log10|pow|hypot|fmod)\b")

wide_vectors = pytest.mark.skipif(
    not llvm.get_host_cpu_features().get("avx", False), reason="this processor has no vectors of four floats"
)


@wide_vectors
def test_elements_in_step_are_at_least_twice_as_fast_as_one_by_one():
    air, points = air_at(STANDARD_DAY, 500.0), operating_points(60)
    blade, results = demo_blade(), np.empty((60, 9))
    one_by_one = blade._replace(lanes=blade.lanes[:0])
    times = interleaved(
        15,
        in_step=lambda: many_loads(blade, air, points, results),
        one_by_one=lambda: many_loads(one_by_one, air, points, results),
    )
    # The shortest of many short turns is that which nothing else on the machine got into.
    assert min(times["in_step"]) < TIMES_ONE_BY_ONE * min(times["one_by_one"])


@pytest.mark.slow
@wide_vectors
@pytest.mark.parametrize("name", LOOPS)
def test_loop_divides_whole_vectors(name):
    loop = LOOPS[name]
    options = {key: loop.targetoptions[key] for key in ("error_model", "fastmath")}
    anew = numba.njit(**options)(loop.py_func)  # a kernel from the cache has no assembly to read
    anew.compile(signature_of(loop.py_func))
    code = anew.inspect_asm(anew.signatures[0])
    assert WIDE_DIVISION.search(code), f"`{name}` runs one element at a time"
    single = len(SINGLE_DIVISION.findall(code))
    assert single <= ONCE_A_BLADE.get(name, 0), f"`{name}` runs in part one element at a time"
    assert not LIBRARY_CALL.search(code), f"`{name}` calls the mathematical library for each element"


def signature_of(function):
    """Its arguments as numba knows them: floats, and rows of floats."""
    hints = get_type_hints(function)
    hints.pop("return")
    return tuple(float64 if hint is float else ROW_OF_FLOATS for hint in hints.values())


def test_the_loops_that_solve_a_blade_are_looked_at():
    assert {"set_out", "first_guess", "first_look", "secant_step", "tail"} <= set(LOOPS)
