"""One whole propeller: the engine's kernel, the same in C, and a library's root finder at every station."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from math import pi, radians
from statistics import median
from typing import Any

import numpy as np
from machines import STANDARD_DAY, demo_blade
from numba import njit
from numpy.typing import NDArray
from scipy.optimize import brentq

from measured.c_kernel import CKernel, c_kernels
from measured.figure import Figure, at_least, at_most, interleaved, ratio, readable_time
from simengine.models import element, sections
from simengine.models.atmosphere import Air, air_at
from simengine.models.blade import Blade
from simengine.models.momentum import rotor_loads

Array = NDArray[np.float64]

GROUP = "whole propeller"
THRUST, TORQUE, AIR_MOMENT, STATUS = 0, 1, 2, 8  # columns of the loads
COMPARED = (THRUST, TORQUE, AIR_MOMENT)
AGREEMENT = 1e-9  # relative, of the kernel and its C twin
LIBRARY_AGREEMENT = 1e-8  # relative, of the kernel and the root finder of a library
LEAST = np.array([radians(7.0), 150.0, 5.0])  # blade angle [rad], rotor speed [rad/s], air speed [m/s]
MOST = np.array([radians(16.0), 260.0, 16.0])
POINTS, LIBRARY_POINTS = 400, 2
TIMES_C, TIMES_LIBRARY, TIMES_ONE_BY_ONE = 1.5, 400.0, 0.5  # targets


@njit
def many_loads(blade: Blade, air: Air, points: Array, results: Array) -> None:
    """Loads of a propeller at every point, as a kernel calls it."""
    for i in range(len(points)):
        loads = rotor_loads(blade, points[i, 0], points[i, 1], points[i, 2], air)
        results[i, 0], results[i, 1], results[i, 2] = loads.thrust, loads.torque, loads.air_moment
        results[i, 3], results[i, 4] = loads.stalled_fraction, loads.lowest_reynolds
        results[i, 5], results[i, 6] = loads.highest_reynolds, loads.tip_mach
        results[i, 7], results[i, 8] = loads.windmilling, loads.status


@contextmanager
def plain_python() -> Iterator[None]:
    """The blade element and its sections as plain Python, so that a library can call them."""
    kept = [(module, dict(vars(module))) for module in (sections, element)]
    for module, names in kept:
        for name, function in names.items():
            if hasattr(function, "py_func"):
                setattr(module, name, function.py_func)
    try:
        yield
    finally:
        for module, names in kept:
            for name, function in names.items():
                setattr(module, name, function)


def library_loads(blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air) -> float:
    """Thrust [N] with a library root finder at every station; within `plain_python` only."""
    thrust = 0.0
    for i, (width, chord) in enumerate(zip(blade.width, blade.chord, strict=True)):
        here = element.element_at(blade, i, blade_angle, rotor_speed, airspeed, air)
        phi = brentq(lambda angle, here=here: element.residual(here, angle), -0.5 * pi, 0.5 * pi, xtol=1e-12)
        s, c = np.sin(phi), np.cos(phi)
        force = sections.coefficients(here.section, here.angle - phi)
        loss = element.prandtl_loss(here, abs(s))
        swirl = np.hypot(s, element.SWIRL_FLOOR)
        carried = 4.0 * loss * swirl * c + here.solidity * (force.cl * s + force.cd * c)
        speed = 4.0 * loss * swirl * here.turning / carried
        thrust += 0.5 * air.density * speed**2 * width * chord * (force.cl * c - force.cd * s)
    return blade.blades * thrust


def operating_points(count: int) -> Array:
    """Scattered blade angles, rotor speeds and air speeds, shape (count, 3)."""
    return LEAST + np.random.default_rng(1).random((count, 3)) * (MOST - LEAST)


def own_loads(blade: Blade, air: Air, points: Array) -> Array:
    """Loads by the engine's kernel, shape (n, 9)."""
    results = np.empty((len(points), 9))
    many_loads(blade, air, points, results)
    return results


def attached(blade: Blade, air: Air, points: Array, twin: CKernel | None) -> Array:
    """The points at which every element is attached, which is all that the C twin does."""
    if twin is None:
        return points
    return np.ascontiguousarray(points[twin.many_loads(blade, air, points)[:, STATUS] == 0.0])


def check_same(own: Array, other: Array, tolerance: float = AGREEMENT) -> None:
    """Two ways that are compared in time must give the same answer."""
    for column in COMPARED:
        np.testing.assert_allclose(other[:, column], own[:, column], rtol=tolerance)


def competitors(
    blade: Blade, air: Air, points: Array, twins: Mapping[str, CKernel]
) -> dict[str, Callable[[], Any]]:
    """Everything that is timed in turns; library and plain Python on fewer points."""
    results = np.empty((len(points), 9))
    one_by_one = blade._replace(lanes=blade.lanes[:0])
    few = points[:LIBRARY_POINTS]
    return {
        "own": lambda: many_loads(blade, air, points, results),
        "one by one": lambda: many_loads(one_by_one, air, points, results),
        "library": lambda: [library_loads(blade, *point, air) for point in few],
    } | {name: twin.caller(blade, air, points, results) for name, twin in twins.items()}


def measure(quick: bool) -> list[Figure]:
    """Times of one evaluation and their ratios."""
    blade, air = demo_blade(), air_at(STANDARD_DAY, 500.0)
    with c_kernels() as twins, plain_python_after_loading(blade, air):
        twin = next(iter(twins.values()), None)
        scattered = operating_points(POINTS)
        points = attached(blade, air, scattered, twin)
        own = own_loads(blade, air, points)
        for each in twins.values():
            check_same(own, each.many_loads(blade, air, points))
        few = np.array([library_loads(blade, *point, air) for point in points[:LIBRARY_POINTS]])
        np.testing.assert_allclose(few, own[:LIBRARY_POINTS, THRUST], rtol=LIBRARY_AGREEMENT)
        times = interleaved(5 if quick else 15, **competitors(blade, air, points, twins))
    counts = {name: len(points) for name in times} | {"library": LIBRARY_POINTS}
    each = {name: [time / counts[name] for time in taken] for name, taken in times.items()}
    return figures(each, len(points) / len(scattered))


@contextmanager
def plain_python_after_loading(blade: Blade, air: Air) -> Iterator[None]:
    """Kernels are compiled first: they freeze what they call, which plain Python then takes the place of."""
    own_loads(blade, air, operating_points(1))
    own_loads(blade._replace(lanes=blade.lanes[:0]), air, operating_points(1))
    with plain_python():
        yield


def figures(each: Mapping[str, list[float]], share: float) -> list[Figure]:
    """From times of one evaluation [s] to figures."""
    told = {name: readable_time(median(times)) for name, times in each.items()}
    built = {name: median(times) for name, times in each.items() if name.startswith(("fast", "strict"))}
    library = at_least(
        GROUP,
        "a library's root finder at every station, over ours",
        ratio(each, "library", "own"),
        "x",
        TIMES_LIBRARY,
        measured=f"{told['library']} / {told['own']}",
    )
    lanes = at_most(
        GROUP,
        "elements in step, over one by one",
        ratio(each, "own", "one by one"),
        "x",
        TIMES_ONE_BY_ONE,
        measured=f"{told['own']} / {told['one by one']}",
        why="the vector loops do not run on vector units",
    )
    if not built:
        return [Figure(GROUP, "ours, over C", None, "x", told["own"], why="no compiler"), library, lanes]
    best = min(built, key=lambda name: built[name])
    twin = at_most(
        GROUP,
        "ours, over the same in C",
        ratio(each, "own", best),
        "x",
        TIMES_C,
        measured=f"{told['own']} / {told[best]} ({best}; {share:.0%} of the points, all attached)",
        why="handing over the blade's arrays and the sum around the vector loops",
    )
    rest = [
        Figure(GROUP, f"C {name}, over the quickest C", ratio(each, name, best), "x", told[name])
        for name in built
        if name != best
    ]
    return [twin, library, lanes, *rest]
