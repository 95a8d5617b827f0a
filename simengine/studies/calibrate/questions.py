"""Questions a maker asks of the fitted machine, each one number whose band measurements can narrow."""

from collections.abc import Callable
from dataclasses import dataclass
from math import nan

import numpy as np
from numpy.typing import NDArray

from simengine.balance.assembly import assemble_atmosphere
from simengine.balance.trim import REACHED
from simengine.models.atmosphere import air_at
from simengine.models.engine import fuel_flow
from simengine.studies.calibrate.forward import LOW_CLIMB
from simengine.studies.calibrate.subject import Subject
from simengine.studies.envelope.shift_ceiling import SEARCH_TOP, Column, first_loss
from simengine.studies.full_throttle import FullThrottle, ShiftSpeeds, full_throttle, shift_speeds
from simengine.studies.level_flight import Level, level, level_from
from simengine.studies.machine import Condition

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Question:
    """One number: its name, words, SI -> shown unit, and how it is computed."""

    name: str
    words: str
    unit: str
    factor: float
    answer: Callable[[Subject], float]


def low_condition(subject: Subject) -> Condition:
    """The scenario's own day, mass and trim, low above the site."""
    own = assemble_atmosphere(subject.record.atmosphere)
    return Condition(air_at(own, subject.record.site.height + LOW_CLIMB), subject.mass, 0.0)


def low_climb(subject: Subject) -> FullThrottle:
    """Full-throttle climb there."""
    if ("low climb",) not in subject.known:
        subject.known["low climb",] = full_throttle(subject.machine, low_condition(subject))
    found: FullThrottle = subject.known["low climb",]
    return found


def low_shift(subject: Subject) -> ShiftSpeeds:
    """Shift in that climb."""
    axial_speed = subject.machine.inflow_factor * low_climb(subject).airspeed
    return shift_speeds(subject.machine, low_condition(subject).air, axial_speed)


def low_level(subject: Subject) -> Level:
    """Level flight there."""
    return level(subject.machine, low_condition(subject), 0.0, 0.0)


def ceiling(subject: Subject) -> float:
    """Lowest height above the site at which the shift no longer finishes [m]; NaN if none up to 8000 m."""
    record = subject.record
    if not subject.machine.shifts:
        return nan
    column = Column(subject.machine, assemble_atmosphere(record.atmosphere), subject.mass, 0.0)
    return first_loss(column.margin, record.site.height, SEARCH_TOP)


def saving(subject: Subject) -> float:
    """Part of the fuel of level flight that coarse blades save against blades bolted on the fine stop [1]."""
    machine, condition = subject.machine, low_condition(subject)
    own = low_level(subject)
    fine = level_from(machine.held, machine, condition, machine.fine_stop, 0.0, 0.0)
    if fine.status != REACHED or own.status != REACHED:
        return nan
    bolted = fuel_flow(
        machine.aircraft.engine, machine.reduction * fine.rotor_speed, fine.throttle, condition.air
    )
    return float(1.0 - own.fuel_flow / bolted)


RPM_FACTOR = 60.0 / (2.0 * np.pi)
QUESTIONS: dict[str, Question] = {
    question.name: question
    for question in (
        Question("shift_ceiling", "shift ceiling", "m", 1.0, ceiling),
        Question(
            "shift_margin",
            "shift margin in the low climb",
            "rpm",
            RPM_FACTOR,
            lambda s: low_climb(s).margin_speed,
        ),
        Question(
            "begin_rpm_climb",
            "shift begins in the low climb",
            "rpm",
            RPM_FACTOR,
            lambda s: low_shift(s).shift_begin,
        ),
        Question(
            "finish_rpm_climb",
            "shift finishes in the low climb",
            "rpm",
            RPM_FACTOR,
            lambda s: low_shift(s).shift_finish,
        ),
        Question(
            "return_rpm_climb",
            "return finishes in the low climb",
            "rpm",
            RPM_FACTOR,
            lambda s: low_shift(s).return_finish,
        ),
        Question(
            "full_throttle_rpm",
            "full throttle in the low climb",
            "rpm",
            RPM_FACTOR,
            lambda s: low_climb(s).engine_speed,
        ),
        Question(
            "climb_rate", "climb rate at full throttle, low", "m/s", 1.0, lambda s: low_climb(s).climb_rate
        ),
        Question(
            "level_fuel",
            "fuel in level flight, low",
            "L/h",
            3.6e6,
            lambda s: low_level(s).fuel_flow / s.record.fuel.density,
        ),
        Question("saving", "fuel saved in level flight against blades bolted fine", "%", 100.0, saving),
    )
}


def answers(subject: Subject) -> Array:
    """Every question, in SI, shape (q,)."""
    return np.array([question.answer(subject) for question in QUESTIONS.values()])
