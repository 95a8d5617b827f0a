"""One flight hour: the engine's integrator against those of SciPy on the same compiled right-hand side."""

from collections.abc import Callable
from functools import partial
from statistics import median
from time import thread_time

import numpy as np
from numpy.typing import NDArray

from measured.figure import Figure, at_least, at_most, readable_time, seconds
from measured.flights_flown import TIGHT, Flown, climb_and_cruise, cruise_alone, demo_machine, flown
from measured.library_flight import library_leg, many_slopes, new_inflow
from simengine.balance.aircraft import Aircraft
from simengine.flight import dynamic
from simengine.flight.phases import FlyLeg
from simengine.flight.state import Command
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models.friction import REST
from simengine.scenario import records

Array = NDArray[np.float64]

GROUP = "flight hour"
METHODS = ("Radau", "BDF", "LSODA")
STIFF = METHODS[:2]  # those that the target names
TIMES_LIBRARY, MOST_TIME, FUEL_WITHIN = 10.0, 10.0, 1e-4  # targets; time in ms, fuel relative
SAME_WITHIN = 1e-3  # relative: beyond it another flight was flown, and its time says nothing
FLIGHTS = {"climb and cruise, shifting": climb_and_cruise, "cruise": cruise_alone}


def level_cruise(machine: Aircraft) -> tuple[Command, Array]:
    """The command and the state with which a cruise begins."""
    begun: list[tuple[Command, Array]] = []

    def note(
        aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
    ) -> LegResult:
        begun.append((command, state.vector.copy()))
        return dynamic.fly_leg(aircraft, command, state, settings, track)

    flown(machine, cruise_alone(), note)
    return begun[0]


class TimedLeg:
    """A way to fly a leg whose time on the processor is added up [s]: integration without the rest."""

    def __init__(self, fly_leg: FlyLeg) -> None:
        self.fly_leg = fly_leg
        self.time = 0.0

    def __call__(
        self, aircraft: Aircraft, command: Command, state: FlightState, settings: Settings, track: Track
    ) -> LegResult:
        """Fly it."""
        start = thread_time()
        result = self.fly_leg(aircraft, command, state, settings, track)
        self.time += thread_time() - start
        return result


def integration(
    aircraft: Aircraft, record: records.ScenarioRecord, fly_leg: FlyLeg
) -> tuple[float, float, Flown]:
    """Time of the integration alone and of the whole flight [s], and what was flown."""
    timed = TimedLeg(fly_leg)
    start = thread_time()
    result = flown(aircraft, record, timed)
    return timed.time, thread_time() - start, result


def time_of_a_slope(machine: Aircraft) -> float:
    """Time of one evaluation of the right-hand side in level flight, called by a kernel [s]."""
    command, state = level_cruise(machine)
    once = partial(
        many_slopes, machine, np.array(command, dtype=np.float64), REST, new_inflow(machine), 0.0, state, 500
    )
    once()
    return median(seconds(once) for _ in range(9)) / 500


def measure(quick: bool) -> list[Figure]:
    """Both flights."""
    return [
        figure
        for words, planned in FLIGHTS.items()
        for figure in one_flight(words, planned, 3 if quick else 7)
    ]


def one_flight(words: str, planned: Callable[..., records.ScenarioRecord], rounds: int) -> list[Figure]:
    """Figures of one flight, the integrators taken in turns."""
    machine, record = demo_machine(), planned()
    reference = flown(machine, planned(tolerance=TIGHT)).fuel
    legs = {"own": dynamic.fly_leg} | {method: library_leg(method) for method in METHODS}
    runs = {name: [integration(machine, record, leg)] for name, leg in legs.items()}
    for _ in range(rounds):
        for name, leg in legs.items():
            runs[name].append(integration(machine, record, leg))
    times = {name: [run[0] for run in all_runs[1:]] for name, all_runs in runs.items()}
    wholes = [run[1] - run[0] for run in runs["own"][1:]]
    own, own_error = median(times["own"]), runs["own"][0][2].fuel / reference - 1.0
    steps, slope = runs["own"][0][2].steps, time_of_a_slope(machine)
    figures = [
        at_most(
            GROUP,
            f"{words}: integration",
            1e3 * own,
            "ms",
            MOST_TIME,
            measured=f"{steps} steps; besides {readable_time(median(wholes))} to find level flight",
            why=f"a step takes as long as {own / steps / slope:.0f} evaluations of its right-hand side "
            f"({readable_time(slope)} each)",
        ),
        at_most(
            GROUP,
            f"{words}: fuel error of ours",
            abs(own_error),
            "",
            FUEL_WITHIN,
            measured=f"{reference:.6f} kg at a relative tolerance of {TIGHT:.0e}",
        ),
    ]
    return figures + [against(words, method, times, runs[method][0][2], reference) for method in METHODS]


def against(
    words: str, method: str, times: dict[str, list[float]], result: Flown, reference: float
) -> Figure:
    """The library's time over ours; an error of its fuel that is too large is said, and no ratio told."""
    name, error = f"{words}: {method}, over ours", result.fuel / reference - 1.0
    measured = (
        f"{readable_time(median(times[method]))}, {result.steps} evaluations and those of its Jacobian, "
        f"fuel error {error:.0e}"
    )
    if not abs(error) < SAME_WITHIN:
        return Figure(GROUP, name, None, "x", measured, why="the library flew another flight")
    value = float(np.median([a / b for a, b in zip(times[method], times["own"], strict=True)]))
    if method not in STIFF:
        return Figure(GROUP, name, value, "x", measured)
    why = "the library is given our compiled right-hand side, so that only its own work is Python's"
    return at_least(GROUP, name, value, "x", TIMES_LIBRARY, measured=measured, why=why)
