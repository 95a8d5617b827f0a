"""Readings that could be taken next: usual uncertainty, cost, and what each is worth.

Linear design of experiments on the fitted machine (D. V. Lindley, Ann. Math. Statist. 27 (1956) 986-1005, in
its normal, linear form): with covariance C of the parameters, sensitivity g of a candidate and q of a
question, and s the candidate's deviation, the variance of the question falls by `(q'Cg)^2 / (s^2 + g'Cg)`.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simengine.scenario import records
from simengine.scenario.reading_kinds import KINDS, Cost
from simengine.scenario.readings import Reading
from simengine.studies.calibrate.forward import LOW_CLIMB, predicted
from simengine.studies.calibrate.subject import Subject

Array = NDArray[np.float64]
HIGH_CLIMB = 1500.0  # height above the site of readings in a high climb [m]
LEVEL_TIME = 1800.0  # of a level run for fuel [s]
WIRE, HALF_SPACING = 1.0, 0.03  # of a blade hung from two wires [m]
COSTS: tuple[Cost, ...] = ("bench", "ground run", "flight")


def candidates(subject: Subject) -> list[tuple[Reading, Cost]]:
    """Every reading one could take, at the value the model expects, cheapest class first."""
    wanted = list(candidate_readings(subject))
    values = predicted(subject, [reading for reading, _ in wanted])
    found = []
    for (reading, cost), value in zip(wanted, values, strict=True):
        if np.isfinite(value):
            kind = reading.kind
            found.append(
                (replace(reading, value=float(value), plus_minus=kind.usual_band(float(value))), cost)
            )
    return found


def make(name: str, phase: str, value: float = 1.0, direction: str = "", **where: float) -> Reading:
    """A reading with its usual band."""
    kind = KINDS[name]
    return Reading(kind, value, kind.usual_band(value), True, phase, where, direction)


def candidate_readings(subject: Subject) -> Iterator[tuple[Reading, Cost]]:
    """The list."""
    record = subject.record
    if isinstance(record.hub, records.TwoStopHub):
        yield from hub_candidates(record.hub)
    mass = float(subject.machine.aircraft.inertia.mass)
    yield make("blade_mass", "bench"), "bench"
    swing = make("swing_time_bifilar", "bench", wire_length=WIRE, half_spacing=HALF_SPACING, blade_mass=mass)
    yield swing, "bench"
    yield make("full_throttle_rpm", "ground"), "ground run"
    yield make("static_thrust", "ground"), "ground run"
    low = record.site.height + LOW_CLIMB
    yield make("full_throttle_rpm", "climb", height=low), "flight"
    yield make("climb_rate", "climb", height=low), "flight"
    yield make("level_rpm", "level", height=low), "flight"
    yield make("fuel_used", "level", height=low, duration=LEVEL_TIME), "flight"


def hub_candidates(hub: records.TwoStopHub) -> Iterator[tuple[Reading, Cost]]:
    """Those of a hub that shifts by itself."""
    middle = 0.5 * (hub.coarse_stop + hub.fine_stop)
    for angle, direction in (
        (middle, "up"),
        (middle, "down"),
        (hub.coarse_stop, "up"),
        (hub.fine_stop, "up"),
    ):
        yield make("spring_torque", "bench", direction=direction, angle=angle), "bench"
    yield make("blade_angle_coarse", "bench"), "bench"
    yield make("blade_angle_fine", "bench"), "bench"
    shifts = ("shift_begin_rpm", "shift_finish_rpm", "return_begin_rpm", "return_finish_rpm")
    for name in shifts:
        yield make(name, "ground"), "ground run"
    for name in shifts:
        yield make(name, "climb"), "flight"
    for name in shifts[:2]:
        yield make(name, "climb", height=HIGH_CLIMB), "flight"


def remaining_variance(covariance: Array, question: Array, candidate: Array) -> Array:
    """Variance of questions once a candidate is read, shape (m, q).

    Parameters
    ----------
    covariance : NDArray, shape (p, p)
        Of scaled parameters.
    question : NDArray, shape (q, p)
        Sensitivities of the questions.
    candidate : NDArray, shape (m, p)
        Sensitivities of the candidates over their deviations.
    """
    before = np.einsum("qi,ij,qj->q", question, covariance, question)
    shared = candidate @ covariance @ question.T
    own = np.einsum("mi,ij,mj->m", candidate, covariance, candidate)
    return np.asarray(before - shared**2 / (1.0 + own)[:, None], dtype=np.float64)
