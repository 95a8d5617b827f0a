"""What the model says of a reading: each kind by the balance layer that also flies."""

from collections.abc import Callable, Sequence
from math import nan, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from simengine.balance.assembly import assemble_atmosphere
from simengine.balance.pitch import pitch_balance
from simengine.balance.trim import steady_flight
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import air_at, offset_from_measured
from simengine.models.engine import fuel_flow
from simengine.models.mechanism import spring_moment
from simengine.scenario.readings import Reading
from simengine.studies.calibrate.subject import Subject, varied_if_possible
from simengine.studies.full_throttle import FullThrottle, ShiftSpeeds, full_throttle, ground, shift_speeds
from simengine.studies.level_flight import Level, level
from simengine.studies.machine import Condition

Array = NDArray[np.float64]
LOW_CLIMB = 150.0  # height above the site at which a climb is read if none is told [m]


def condition_of(subject: Subject, reading: Reading) -> Condition:
    """Air, mass and bar of a reading; what was not typed is the scenario's own."""
    record, where = subject.record, reading.where
    own = assemble_atmosphere(record.atmosphere)
    above = LOW_CLIMB if reading.phase in ("climb", "level", "descent") else 0.0
    height = where.get("height", record.site.height + above)
    if "temperature" in where:
        own = own._replace(temperature_offset=offset_from_measured(height, where["temperature"]))
    own = own._replace(qnh=where.get("qnh", own.qnh))
    return Condition(air_at(own, height), where.get("mass", subject.mass), where.get("bar", 0.0))


def axial_speed_of(subject: Subject, condition: Condition, reading: Reading) -> float:
    """Air speed at the disc: as read, or that of the phase flown with the blades fine [m/s]."""
    if "airspeed" in reading.where:
        return subject.machine.inflow_factor * reading.where["airspeed"]
    if reading.phase == "ground":
        return 0.0
    throttle = {"climb": 1.0, "level": 0.4, "descent": 0.0}[reading.phase]
    throttle = reading.where.get("throttle", throttle)
    machine = subject.machine
    flight = steady_flight(
        machine.held, condition.air, condition.mass, condition.bar, throttle, machine.fine_stop, 0.0
    )
    return float(machine.inflow_factor * flight.airspeed)


def place_of(what: str, reading: Reading) -> tuple[object, ...]:
    """Key under which readings of one place and one run share what is computed."""
    return (what, reading.phase, *sorted(reading.where.items()))


def shifts_of(subject: Subject, reading: Reading) -> ShiftSpeeds:
    """Engine speeds of shift and return where a reading was taken [rad/s]."""
    place = place_of("shifts", reading)
    if place not in subject.known:
        condition = condition_of(subject, reading)
        axial_speed = axial_speed_of(subject, condition, reading)
        subject.known[place] = shift_speeds(subject.machine, condition.air, axial_speed)
    found: ShiftSpeeds = subject.known[place]
    return found


def predict_shift(subject: Subject, reading: Reading) -> float:
    """Engine speed at which the moments on a stop change over [rad/s]."""
    return float(getattr(shifts_of(subject, reading), reading.kind.name.removesuffix("_rpm")))


def contact_range(subject: Subject, reading: Reading) -> tuple[float, float]:
    """Engine speeds between which a light is as it was read [rad/s]."""
    speeds = shifts_of(subject, reading)
    low, high = speeds.shift_begin, speeds.shift_finish
    if reading.direction == "down":
        low, high = speeds.return_finish, speeds.return_begin
    low, high = (0.0 if speed != speed else speed for speed in (low, high))
    return {"on_coarse_stop": (0.0, low), "off_stops": (low, high), "on_fine_stop": (high, np.inf)}[
        reading.kind.name
    ]


def predict_contact(subject: Subject, reading: Reading) -> float:
    """The rpm nearest to that read at which the light is as it was read [rad/s]: a one-sided reading."""
    low, high = contact_range(subject, reading)
    return min(max(reading.value, low), high)


def full_of(subject: Subject, reading: Reading) -> FullThrottle:
    """Full throttle on the ground or in the climb."""
    place = place_of("full", reading)
    if place not in subject.known:
        condition = condition_of(subject, reading)
        tied = reading.phase == "ground"
        machine = subject.machine
        subject.known[place] = ground(machine, condition.air) if tied else full_throttle(machine, condition)
    found: FullThrottle = subject.known[place]
    return found


def predict_climb(subject: Subject, reading: Reading) -> float:
    """Climb rate at the throttle read, full if none was [m/s]."""
    throttle = reading.where.get("throttle", 1.0)
    if throttle == 1.0:
        return full_of(subject, reading).climb_rate
    machine, condition = subject.machine, condition_of(subject, reading)
    flight = steady_flight(
        machine.aircraft, condition.air, condition.mass, condition.bar, throttle, machine.coarse_stop, 0.0
    )
    return float(flight.airspeed * sin(flight.path_angle))


def level_of(subject: Subject, reading: Reading) -> Level:
    """Level flight where a reading was taken."""
    place = place_of("level", reading)
    if place not in subject.known:
        subject.known[place] = level(subject.machine, condition_of(subject, reading), 0.0, 0.0)
    found: Level = subject.known[place]
    return found


def flow_of(subject: Subject, reading: Reading) -> float:
    """Fuel flow of a phase [kg/s]."""
    machine, condition = subject.machine, condition_of(subject, reading)
    if reading.phase == "level":
        return level_of(subject, reading).fuel_flow
    throttle = reading.where.get("throttle", 1.0)
    if reading.phase == "ground":
        balance = pitch_balance(machine.aircraft, condition.air, machine.coarse_stop, 0.0, throttle, 0.0)
        rotor_speed = balance.rotor_speed
    else:
        rotor_speed = steady_flight(
            machine.aircraft, condition.air, condition.mass, condition.bar, throttle, machine.coarse_stop, 0.0
        ).rotor_speed
    speed = machine.reduction * rotor_speed
    return float(fuel_flow(machine.aircraft.engine, speed, throttle, condition.air))


def predict_fuel(subject: Subject, reading: Reading) -> float:
    """Fuel used over a time [m3], or [kg] where it was weighed."""
    mass = flow_of(subject, reading) * reading.where["duration"]
    return mass if "by_mass" in reading.where else mass / subject.record.fuel.density


def predict_spring(subject: Subject, reading: Reading) -> float:
    """Torque on a scale that turns one blade toward fine (up) or lets it back (down) [N m].

    Friction without blade pull adds on the way up and takes off on the way down.
    """
    hub = subject.machine.aircraft.hub
    spring = spring_moment(hub, reading.where["angle"])
    friction = hub.friction_constant + hub.spring.friction_share * spring
    return float(spring + (friction if reading.direction == "up" else -friction))


def predict_bifilar(subject: Subject, reading: Reading) -> float:
    """Period of a blade hung from two wires, pitch axis upright, wires at equal distance of its centre [s].

    `T = 2 pi sqrt(I L / (m g b2))`, I about the centre of mass, b half the distance of the wires.
    """
    inertia, where = subject.machine.aircraft.inertia, reading.where
    about_centre = inertia.polar_inertia - inertia.mass * subject.mass_centre**2
    stiffness = where["blade_mass"] * STANDARD_GRAVITY * where["half_spacing"] ** 2
    return 2.0 * pi * sqrt(about_centre * where["wire_length"] / stiffness)


def predict_axis_swing(subject: Subject, reading: Reading) -> float:
    """Period of a blade that swings about its pitch axis laid level [s]: `T = 2 pi sqrt(I / (m g d))`."""
    inertia = subject.machine.aircraft.inertia
    stiffness = reading.where["blade_mass"] * STANDARD_GRAVITY * subject.mass_centre
    return 2.0 * pi * sqrt(inertia.polar_inertia / stiffness) if stiffness > 0.0 else nan


PREDICTORS: dict[str, Callable[[Subject, Reading], float]] = {
    "shift_begin_rpm": predict_shift,
    "shift_finish_rpm": predict_shift,
    "return_begin_rpm": predict_shift,
    "return_finish_rpm": predict_shift,
    "on_coarse_stop": predict_contact,
    "off_stops": predict_contact,
    "on_fine_stop": predict_contact,
    "full_throttle_rpm": lambda subject, reading: full_of(subject, reading).engine_speed,
    "level_rpm": lambda subject, reading: level_of(subject, reading).engine_speed,
    "static_thrust": lambda subject, reading: full_of(subject, reading).thrust,
    "fuel_used": predict_fuel,
    "climb_rate": predict_climb,
    "blade_angle_coarse": lambda subject, reading: subject.machine.coarse_stop,
    "blade_angle_fine": lambda subject, reading: subject.machine.fine_stop,
    "spring_torque": predict_spring,
    "blade_mass": lambda subject, reading: float(subject.machine.aircraft.inertia.mass),
    "swing_time_bifilar": predict_bifilar,
    "swing_time_axis": predict_axis_swing,
}


def predicted(subject: Subject, readings: Sequence[Reading]) -> Array:
    """What the model says of each reading, shape (n,) [SI]; NaN for what does not happen."""
    return np.array([PREDICTORS[reading.kind.name](subject, reading) for reading in readings])


def predicted_at(base: Subject, values: dict[str, object], readings: Sequence[Reading]) -> Array:
    """The same with other `values`, shape (n,); all NaN where these do not fit together."""
    moved = varied_if_possible(base, values)
    return np.full(len(readings), nan) if moved is None else predicted(moved, readings)
