"""Flights by the hundred: what each phase took, without a record and without a dataset."""

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft
from simengine.flight.simulate import FIDELITIES, fly_all
from simengine.flight.state import BLADE_ANGLE, DISTANCE, FUEL_USED, HEIGHT, ROTOR_SPEED
from simengine.flight.track import Track
from simengine.scenario import records


class PhaseFigures(NamedTuple):
    """What one phase took.

    Attributes
    ----------
    name, outcome : str
        As in a flight's dataset.
    duration, fuel, distance : float
        In the phase [s, kg, m].
    height, rotor_speed, blade_angle : float
        At its end [m, rad/s, rad].
    """

    name: str
    outcome: str
    duration: float
    fuel: float
    distance: float
    height: float
    rotor_speed: float
    blade_angle: float


class FlightFigures(NamedTuple):
    """One flight: its phases, and how it ended, the `outcome`."""

    phases: tuple[PhaseFigures, ...]
    outcome: str


def fly_figures(
    aircraft: Aircraft, record: records.ScenarioRecord, fidelity: str = "dynamic"
) -> FlightFigures:
    """Fly the phases of a record with a machine, which need not be that of the record.

    Parameters
    ----------
    aircraft : Aircraft
        As `assemble` gives it, or one made from that by `with_parts`.
    record : ScenarioRecord
        Its flight and its site are taken.
    fidelity : {"dynamic", "steady"}

    Returns
    -------
    FlightFigures
        The figures of `simulate`'s dataset: `dynamic` to the error of the solver; `steady`, which takes
        longer steps here, to a thousandth of a phase of two minutes.

    Raises
    ------
    NoSolutionError
        As `simulate`.
    """
    track, bounds, outcome = fly_all(aircraft, record, FIDELITIES[fidelity], record_interval=inf)
    before, phases = track.rows[0][0], []
    for index, bound in enumerate(bounds):
        end = last_row(track, index)
        gained = end - before
        phases.append(
            PhaseFigures(
                name=bound.name,
                outcome=bound.outcome,
                duration=bound.end - bound.start,
                fuel=float(gained[1 + FUEL_USED]),
                distance=float(gained[1 + DISTANCE]),
                height=float(end[1 + HEIGHT]),
                rotor_speed=float(end[1 + ROTOR_SPEED]),
                blade_angle=float(end[1 + BLADE_ANGLE]),
            )
        )
        before = end
    return FlightFigures(tuple(phases), outcome)


def last_row(track: Track, phase: int) -> NDArray[np.float64]:
    """Time, state and mode at the end of a phase, shape (11,)."""
    rows: NDArray[np.float64] = track.rows[len(track.phases) - 1 - track.phases[::-1].index(phase)][-1]
    return rows


def fly_many(
    machines: Iterable[Aircraft],
    record: records.ScenarioRecord,
    fidelity: str = "dynamic",
    workers: int = 1,
) -> list[FlightFigures]:
    """`fly_figures` of many `machines`, in their order, in threads: the kernels let go of the interpreter.

    Parameters
    ----------
    machines : Aircraft, each
    record, fidelity : see `fly_figures`
    workers : number of threads

    Raises
    ------
    NoSolutionError
        As `fly_figures`, of the first machine that cannot be flown.
    """
    with ThreadPoolExecutor(workers) as pool:
        return list(pool.map(lambda machine: fly_figures(machine, record, fidelity), machines))
