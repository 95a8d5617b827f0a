"""Lines of a test card: what to do, what to look at, and the figure that the model expects there.

The order is from safe to risky: engine off, tied down, low climb, level, high.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from simengine import units
from simengine.balance.pitch import pitch_balance
from simengine.constants import RPM
from simengine.models.engine import fuel_flow
from simengine.scenario import records
from simengine.scenario.readings import Reading
from simengine.studies.calibrate.candidates import make
from simengine.studies.calibrate.forward import (
    LOW_CLIMB,
    condition_of,
    full_of,
    level_of,
    predicted,
    shifts_of,
)
from simengine.studies.calibrate.subject import Subject

OPENING_TIME, FULL_TIME = 60.0, 10.0  # of the throttle in a ground run, either way, and held full [s]
THROTTLES = 9  # at which the fuel of that run is taken
CLIMB_TIME = 300.0  # of the climb whose fuel is told [s]

BENCH = "1 Engine off"
GROUND = "2 Tied down, throttle slowly up, full, slowly down"
CLIMB = "3 Low climb, full throttle"
LEVEL = "4 Level run"
BACK = "5 Throttle closed"
HIGH = "6 Full throttle up high"


@dataclass(frozen=True)
class Item:
    """One line.

    `answer` gives the figure in SI, `factor` and `unit` tell it. `role` says what the light words depend on:
    `fine` on a shift margin, `coarse` on what is left before the shift begins; nothing for a plain figure.
    """

    stage: str
    action: str
    look: str
    words: str
    unit: str
    factor: float
    answer: Callable[[Subject], float]
    role: str = ""


def read_item(stage: str, action: str, look: str, reading: Reading, words: str = "") -> Item:
    """A line whose figure is one reading."""
    dimension, unit = reading.kind.dimensions[0], reading.kind.unit
    factor = 1.0 / units.conversion(unit, dimension).factor
    return Item(
        stage,
        action,
        look,
        words or reading.kind.words,
        unit,
        factor,
        lambda s: float(predicted(s, [reading])[0]),
    )


def rpm_item(stage: str, look: str, words: str, answer: Callable[[Subject], float], role: str) -> Item:
    """A line in ENGINE rpm that is no reading."""
    return Item(stage, "", look, words, "rpm", 1.0 / RPM, answer, role)


def items_of(record: records.ScenarioRecord, height: float, level_time: float) -> list[Item]:
    """Every line of a scenario's card."""
    shifts = isinstance(record.hub, records.TwoStopHub)
    lines = [*bench_items(record), *ground_items(shifts)]
    lines += climb_items(shifts, record.site.height + LOW_CLIMB)
    lines += level_items(shifts, height, level_time)
    return lines + (back_items(height) + high_items(height) if shifts else [])


def bench_items(record: records.ScenarioRecord) -> Iterator[Item]:
    """Engine off: stops and spring."""
    hub = record.hub
    if not isinstance(hub, records.TwoStopHub):
        return
    yield read_item(
        BENCH, "protractor at the reference station", "coarse light on", make("blade_angle_coarse", "bench")
    )
    yield read_item(BENCH, "push the blade fine", "fine light on", make("blade_angle_fine", "bench"))
    for direction, way in (("up", "turning it toward fine"), ("down", "letting it back")):
        reading = make(
            "spring_torque", "bench", direction=direction, angle=0.5 * (hub.coarse_stop + hub.fine_stop)
        )
        yield read_item(BENCH, f"scale on a lever, blade half-way, {way}", "", reading)


def ground_items(shifts: bool) -> Iterator[Item]:
    """Tied down."""
    if shifts:
        for name, action, look in (
            ("shift_begin_rpm", "open slowly", "COARSE light goes OUT"),
            ("shift_finish_rpm", "open on", "FINE light comes ON"),
        ):
            yield read_item(GROUND, action, look, make(name, "ground"))
    yield read_item(GROUND, "full throttle", "tachometer", make("full_throttle_rpm", "ground"))
    yield read_item(GROUND, "full throttle", "scale", make("static_thrust", "ground"))
    if shifts:
        margin = make("full_throttle_rpm", "ground")
        yield rpm_item(
            GROUND,
            "fine",
            "in hand when the shift finishes",
            lambda s: full_of(s, margin).margin_speed,
            "fine",
        )
        for name, action, look in (
            ("return_begin_rpm", "close slowly", "FINE light goes OUT"),
            ("return_finish_rpm", "close on", "COARSE light comes ON"),
        ):
            yield read_item(GROUND, action, look, make(name, "ground"))
    words = f"fuel of the run ({OPENING_TIME:.0f} s up, {FULL_TIME:.0f} s full, {OPENING_TIME:.0f} s down)"
    yield Item(GROUND, "weigh before and after", "", words, "L", 1e3, ground_fuel)


def ground_fuel(subject: Subject) -> float:
    """Fuel of a ground run by its steady balances [m3]."""
    machine = subject.machine
    air = condition_of(subject, make("static_thrust", "ground")).air
    flows, previous = [], machine.coarse_stop
    for throttle in np.linspace(0.0, 1.0, THROTTLES):
        balance = pitch_balance(machine.aircraft, air, previous, 0.0, float(throttle), 0.0)
        previous = balance.blade_angle
        speed = machine.reduction * balance.rotor_speed
        flows.append(fuel_flow(machine.aircraft.engine, speed, float(throttle), air))
    slow = float(np.trapezoid(flows, np.linspace(0.0, 2.0 * OPENING_TIME, THROTTLES)))
    return (slow + flows[-1] * FULL_TIME) / subject.record.fuel.density


def shift_items(
    stage: str, phase: str, height: float, names: tuple[tuple[str, str, str], ...]
) -> Iterator[Item]:
    """Lines of a shift or a return in flight."""
    for name, action, look in names:
        yield read_item(stage, action, look, make(name, phase, height=height))


def full_items(shifts: bool, stage: str, height: float) -> Iterator[Item]:
    """Full throttle in the climb."""
    if shifts:
        names = (
            ("shift_begin_rpm", "open slowly", "COARSE light goes OUT"),
            ("shift_finish_rpm", "open on", "FINE light comes ON"),
        )
        yield from shift_items(stage, "climb", height, names)
    full = make("full_throttle_rpm", "climb", height=height)
    yield read_item(stage, "full throttle", "tachometer", full)
    if shifts:
        yield rpm_item(
            stage, "fine", "in hand when the shift finishes", lambda s: full_of(s, full).margin_speed, "fine"
        )
    yield read_item(stage, "full throttle", "variometer", make("climb_rate", "climb", height=height))


def climb_items(shifts: bool, height: float) -> Iterator[Item]:
    """The first climb."""
    yield from full_items(shifts, CLIMB, height)
    reading = make("fuel_used", "climb", height=height, duration=CLIMB_TIME)
    yield read_item(CLIMB, "", "", reading, f"fuel of {CLIMB_TIME / 60:.0f} min at full throttle")


def level_items(shifts: bool, height: float, level_time: float) -> list[Item]:
    """Level flight."""
    run = make("level_rpm", "level", height=height)
    lines = [read_item(LEVEL, f"hold {height:.0f} m", "tachometer", run)]
    if shifts:
        lines.append(
            rpm_item(
                LEVEL,
                "coarse",
                "in hand before the shift begins",
                lambda s: shifts_of(s, run).shift_begin - level_of(s, run).engine_speed,
                "coarse",
            )
        )
    fuel = make("fuel_used", "level", height=height, duration=level_time)
    return [*lines, read_item(LEVEL, "", "", fuel, f"fuel of {level_time / 60:.0f} min")]


def back_items(height: float) -> list[Item]:
    """Throttle closed in flight: the blades must come back."""
    names = (
        ("return_begin_rpm", "close slowly", "FINE light goes OUT"),
        ("return_finish_rpm", "close on", "COARSE light comes ON"),
    )
    return list(shift_items(BACK, "descent", height, names))


def high_items(height: float) -> list[Item]:
    """The test that may hang: full throttle up high."""
    return list(full_items(True, HIGH, height))
