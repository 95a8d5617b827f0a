"""Which kernels are compiled ahead, and with what types: those of a real machine, the starter scenario's."""

from collections.abc import Callable
from functools import cache
from importlib.resources import as_file, files
from typing import Any, get_origin, get_type_hints

import numba
from numba import types
from numpy import ndarray

from simengine.balance import (
    air_tables,
    aircraft,
    equilibria,
    level,
    limits,
    margin,
    pitch,
    rotor,
    shift_tables,
    trim,
)
from simengine.balance.assembly import assemble_parts
from simengine.balance.envelope_kernels import throttle_branch
from simengine.compiled.external import compile_once
from simengine.flight import events, steady, traces
from simengine.flight.dynamics import observe
from simengine.flight.integrate import integrate_leg
from simengine.models import atmosphere, blade, element, engine, mechanism, momentum
from simengine.scenario import load_scenario

SIMPLE = {float: types.float64, int: types.int64, bool: types.boolean}


@cache
def machine() -> dict[Any, Any]:
    """numba's types of an aircraft and of its parts, by their classes."""
    with as_file(files("simengine.scenario").joinpath("starter.yaml")) as path:
        parts = assemble_parts(load_scenario(path).record)
    fields = [(name, numba.typeof(parts[name])) for name in aircraft.FIELDS]
    whole = aircraft.AircraftType(fields)
    return {aircraft.Aircraft: whole} | {type(part): numba.typeof(part) for part in parts.values()}


def type_of(hint: Any, dimensions: list[int]) -> Any:
    """numba's type for an argument; arrays take their number of dimensions from the front of a list."""
    if hint in SIMPLE:
        return SIMPLE[hint]
    if hint in machine():
        return machine()[hint]
    if is_array(hint):
        return types.Array(types.float64, dimensions.pop(0), "C")
    hints = get_type_hints(hint)
    fields = tuple(type_of(hints[name], dimensions) for name in hint._fields)
    return types.BaseTuple.from_types(fields, hint)


def is_array(hint: Any) -> bool:
    """Whether a type is `NDArray[...]`, which newer numpy defines by a `type` statement."""
    origin = get_origin(hint)
    named = getattr(origin, "__value__", origin)
    return (get_origin(named) or named) is ndarray


def compile_kernel(kernel: Any, *dimensions: int) -> None:
    """Compile one kernel for calls from Python; `dimensions` are those of its arrays, in order."""
    hints, left = get_type_hints(kernel.py_func), list(dimensions)
    names = kernel.py_func.__code__.co_varnames[: kernel.py_func.__code__.co_argcount]
    kernel.compile(tuple(type_of(hints[name], left) for name in names))


def compile_motion() -> None:
    """An aircraft, its motion and the traces of it. What Python calls as well comes before what calls it."""
    compile_kernel(aircraft.new_aircraft)
    compile_kernel(aircraft.parts)
    compile_kernel(observe, 1)
    compile_kernel(events.event_values, 2, 1, 1)
    compile_kernel(traces.trace_rows, 2, 2)
    compile_kernel(integrate_leg, 1, 2, 2)


def compile_propeller() -> None:
    """The propeller's loads, and one element of it for pictures."""
    compile_kernel(element.element_solution)
    compile_once("rotor_loads")


def compile_elements() -> None:
    """The blade elements in step."""
    compile_once("solve_lanes")


def compile_balances() -> None:
    """Steady states that every flight begins from, and margins."""
    for kernel in (
        pitch.pitch_balance,
        level.level_flight,
        margin.shift_margin,
        atmosphere.air_at,
    ):
        compile_kernel(kernel)


def compile_steady() -> None:
    """The steady fidelity, and balances that studies ask for with it."""
    for kernel in (pitch.shift_speed, pitch.pitch_state, trim.steady_flight):
        compile_kernel(kernel)
    compile_kernel(steady.steady_leg, 1, 2, 2)


def compile_envelope() -> None:
    """Branches over the throttle, all balances, and what the studies ask for one by one."""
    compile_kernel(throttle_branch, 1, 1, 1)
    compile_kernel(equilibria.balance_grid, 1, 1, 2, 2)
    compile_kernel(blade.nothing_known)
    compile_kernel(rotor.steady_rotor_speed, 2)
    for kernel in (
        aircraft.rotor_state,
        aircraft.pitch_damping,
        pitch.balance_at,
        rotor.highest_searched_speed,
        trim.flight_speed,
        engine.fuel_flow,
        engine.altitude_factor,
        engine.outside_table,
        mechanism.net_moment,
        mechanism.coarse_edge,
        momentum.rotor_loads,
        limits.share_outside,
        atmosphere.density_altitude,
        atmosphere.pressure_altitude,
    ):
        compile_kernel(kernel)


def compile_tables() -> None:
    """Tables of the air's moment, and many hubs looked up in them."""
    compile_kernel(air_tables.fill_air_moment, 1, 1, 1, 3)
    compile_kernel(shift_tables.shift_figures, 3, *line_dimensions(), 2, 3, 2)


def line_dimensions() -> tuple[int, ...]:
    """Dimensions of the arrays of full throttle by blade angle."""
    hints = get_type_hints(shift_tables.FullThrottleLine)
    return tuple(1 for hint in hints.values() if is_array(hint))


UNITS: dict[str, Callable[[], None]] = {
    "motion in flight": compile_motion,
    "propeller": compile_propeller,
    "balances": compile_balances,
    "blade elements": compile_elements,
    "steady flight": compile_steady,
    "envelope": compile_envelope,
    "tables of the air and of hubs": compile_tables,
}


def compile_unit(words: str) -> None:
    """Compile the kernels of one unit."""
    UNITS[words]()
