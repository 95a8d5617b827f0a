"""How far two results may differ and still be the same: the solver's own error, measured, not guessed.

A flight's error follows the relative tolerance that its steps were controlled by (Hairer and Wanner,
Solving Ordinary Differential Equations II, section IV.7: error per step held to the tolerance). How large
it is in each figure was measured: the demo flights were flown at relative tolerances 1e-3, 1e-4 (the
default), 1e-5 and 1e-6, and each figure was held against the same flight at 1e-7. The largest error of any
demo and phase at 1e-4 stands below as `measured`; at the other tolerances every figure stayed within the
bound that follows from it.

The bound is `SAFETY` times that error, in proportion to the relative tolerance, plus a floor for what does
not follow the tolerance: roots located to a small step, and rounding that differs from machine to machine.
Another machine rounds otherwise and so takes slightly other steps; what comes of that is an error of the
same control and lies within the same bound. The steady fidelity takes steps that do not depend on the
tolerance; the same bounds hold it with room to spare.

Traces were measured likewise: over the demo flights at relative tolerances of 1e-4, 5e-5 and 3e-5 against
1e-6 the mean difference of a trace over its range was at most 7e-4 (fuel flow, where samples fall between two
rows of the record beside an event).

Two kinds of processor code (the processor's own and the plainest of its kind) gave the same figures to the
last digit; an input changed in its twelfth digit, as another mathematics library would, moved no figure by a
thousandth of its tolerance.
"""

from typing import NamedTuple

from simengine.results import catalogue, envelope_catalogue

SAFETY = 10.0  # own choice: for machines and flights that are stiffer than the demos
AT = 1e-4  # relative tolerance at which `measured` was measured, and the default
LOOSEST = 1e-3  # relative tolerance of a flight that a baseline is stored for
TRACE = 5e-3  # mean difference over the range of a trace, at the default tolerance or a tighter one [1]


class SolverError(NamedTuple):
    """Largest error of a figure among the demos at `AT`, `measured`, and the `floor` of its bound.

    Both in stored units, those of `catalogue.Variable` (SI times its factor).
    """

    measured: float
    floor: float


LOCATED_SPEED = SolverError(0.0075, 0.01)  # engine rpm at which blades leave or reach a stop
STEADY_SPEED = SolverError(0.0001, 0.01)  # engine rpm of a balance

INSTANT = SolverError(4.5e-4, 1e-3)  # time of an event [s]

FLIGHT: dict[str, SolverError] = {
    "phase_start": INSTANT,
    "phase_end": INSTANT,
    "phase_duration": SolverError(8e-5, 1e-3),
    "shift_begin_rpm": LOCATED_SPEED,
    "shift_finish_rpm": LOCATED_SPEED,
    "return_begin_rpm": LOCATED_SPEED,
    "return_finish_rpm": LOCATED_SPEED,
    "full_throttle_rpm": STEADY_SPEED,
    "shift_margin_rpm": STEADY_SPEED,
    "shift_margin_moment": SolverError(1e-6, 1e-4),
    "highest_engine_rpm": SolverError(0.027, 0.01),
    "static_thrust": SolverError(1e-5, 1e-3),
    "highest_thrust": SolverError(0.004, 5e-3),
    "mean_climb_rate": SolverError(3e-7, 1e-5),
    "initial_climb_rate": SolverError(1.7e-5, 1e-5),
    "phase_fuel": SolverError(3e-6, 1e-6),
    "phase_fuel_volume": SolverError(4e-6, 1e-6),
    "phase_fuel_flow": SolverError(1.5e-4, 1e-4),
    "phase_distance": SolverError(1.1e-3, 5e-3),
    "final_blade_angle": SolverError(1e-4, 1e-4),  # measured 2e-9, all at rest; a moving blade is less sure
}

EVENTS: dict[str, SolverError] = {
    "event_time": INSTANT,
    "event_engine_rpm": SolverError(0.08, 0.01),
    "event_propeller_rpm": SolverError(0.03, 0.01),
    "event_blade_angle": SolverError(1e-4, 1e-4),
    "event_height": SolverError(4e-4, 5e-3),
    "event_airspeed": SolverError(1.2e-4, 1e-4),
}

# An envelope is balances and roots, without steps: only floors. A ceiling is halved down to 0.5 m, rotor
# speeds to 1e-7 of themselves, blade angles to 1e-8 rad.
CEILING = 0.5  # [m]
ENVELOPE_FLOORS: dict[str, float] = {
    "rpm": 0.01,
    "degree": 1e-4,
    "N m": 1e-4,
    "N": 0.01,
    "m s-1": 1e-4,
    "L h-1": 1e-3,
    "1": 1e-5,
    "m": CEILING,
    "K": 1e-6,
    "kg": 1e-6,
}


def figure_tolerance(name: str, relative_tolerance: float) -> float:
    """Bound of the solver's error in one figure of ONE result, in the unit of the figure as stored.

    Two results may be apart by the sum of their bounds and still be the same: see `difference_tolerance`.

    Parameters
    ----------
    name : str
        A figure of a phase, of an event (`event_time`, `event_engine_rpm` ...) or of an envelope, as stored.
    relative_tolerance : float
        Of the flight, attribute `solver_relative_tolerance`, 1e-8 to 1e-2 [1]; of no weight for an envelope.

    Returns
    -------
    float
        In the stored unit; 0 for words and flags, which are the same or not.

    Raises
    ------
    KeyError
        A name that no result has.

    Notes
    -----
    `SAFETY * measured * relative_tolerance / 1e-4 + floor`; where the numbers come from is told at the head
    of this file. At the default tolerance: 0.085 rpm for the speeds of shift and return, 0.01 rpm at full
    throttle, 0.04 mL of fuel, 5.5 ms for the time of an event.
    """
    known = FLIGHT.get(name) or EVENTS.get(name)
    if known is not None:
        return SAFETY * known.measured * relative_tolerance / AT + known.floor
    return envelope_floor(name)


def envelope_floor(name: str) -> float:
    """Bound of an envelope's figure of a `name`, in its unit as stored; 0 for words and flags.

    KeyError for a name that no result has.
    """
    variables = (*envelope_catalogue.all_envelope_variables(), *catalogue.EVENTS, *catalogue.PHASES)
    variable = next((known for known in variables if known.name == name), None)
    if variable is None:
        raise KeyError(f"no result has a figure '{name}'")
    return ENVELOPE_FLOORS[variable.units] if variable.stored == "number" else 0.0


def difference_tolerance(name: str, first: float, second: float) -> float:
    """Most by which a figure of two results may differ and still be the same, in its unit as stored.

    Parameters
    ----------
    name : str
        As in `figure_tolerance`.
    first, second : float
        Relative tolerances of the two results [1].

    Raises
    ------
    KeyError
        A name that no result has.
    """
    return figure_tolerance(name, first) + figure_tolerance(name, second)


def trace_tolerance(relative_tolerance: float) -> float:
    """Largest mean difference of a trace that is none, as a share of its range [1].

    `relative_tolerance` of the looser flight [1].
    """
    return TRACE * max(1.0, relative_tolerance / AT)
