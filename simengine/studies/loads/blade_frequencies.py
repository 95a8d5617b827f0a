"""Frequencies of a blade against the rotor's harmonics: pitch mode, first flap and lag, three blade angles.

The pitch mode is that of a blade that floats between its stops: on a stop it is held, and much stiffer.
"""

from dataclasses import dataclass
from math import isfinite, nan, pi, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import rotor_state
from simengine.constants import DEGREE
from simengine.models.atmosphere import Air
from simengine.models.mechanism import net_moment
from simengine.scenario import records
from simengine.scenario.loads_records import second_moments
from simengine.studies.full_throttle import FullThrottle, shift_speeds
from simengine.studies.level_flight import Level
from simengine.studies.loads.blade_loads import chord_angle_at, root_of
from simengine.studies.loads.rotating_beam import cantilever_frequency, turning_frequency
from simengine.studies.machine import Machine

Array = NDArray[np.float64]

MODES = ("pitch", "flap", "lag")
SETTINGS = ("coarse", "half-way", "fine")
INCREMENT = 0.1 * DEGREE
SPEED_POINTS = 61
ABOVE_LIMIT = 1.15  # the diagram goes on to this multiple of the engine's limit
PER_TURN = (1, 2, 3, 4, 6)  # harmonics of the propeller that are looked at, beside the engine's


@dataclass(frozen=True)
class Surroundings:
    """Where the frequencies are asked: `air`, and `axial_speed` of it at the disc [m/s]."""

    air: Air
    axial_speed: float


def settings(machine: Machine) -> tuple[float, float, float]:
    """Blade angles coarse, half-way and fine [rad]."""
    coarse, fine = machine.coarse_stop, machine.fine_stop
    return coarse, 0.5 * (coarse + fine), fine


def pitch_frequency(machine: Machine, around: Surroundings, blade_angle: float, rotor_speed: float) -> float:
    """Frequency of a floating blade about its pitch axis [Hz]; NaN where the moments drive it away.

    At a blade angle [rad] and a rotor speed [rad/s]. Stiffness is the fall of the spring's, the mass's and
    the air's moment with the blade angle at a constant rotor speed; friction, which may hold the blade
    altogether, is left out.
    """
    nets = []
    for step in (-INCREMENT, INCREMENT):
        state = rotor_state(
            machine.aircraft, around.air, blade_angle + step, rotor_speed, around.axial_speed, 0.0
        )
        nets.append(net_moment(state.moments))
    stiffness = (nets[0] - nets[1]) / (2.0 * INCREMENT)
    inertia = machine.aircraft.hub.pitch_inertia
    return sqrt(stiffness / inertia) / (2.0 * pi) if stiffness > 0.0 else nan


def bending_at_rest(machine: Machine, record: records.ScenarioRecord) -> tuple[float, float]:
    """First flap and lag frequency of a standing blade [Hz]: as tapped, else estimated, else NaN."""
    given, root = record.loads, record.loads.root
    estimates = [nan, nan]
    if root is not None and root.elastic_modulus is not None:
        length = machine.aircraft.blade.tip_radius - root_of(record).radius
        mass = machine.aircraft.inertia.mass
        estimates = [
            cantilever_frequency(root.elastic_modulus * moment, mass, length)
            for moment in second_moments(root)
        ]
    return given.flap_frequency or estimates[0], given.lag_frequency or estimates[1]


def frequency(
    machine: Machine,
    around: Surroundings,
    at_rest: tuple[float, float],
    radius: float,
    mode: str,
    blade_angle: float,
    rotor_speed: float,
) -> float:
    """Frequency of one `mode` [Hz] at a blade angle [rad] and rotor speed [rad/s]; NaN where it is not known.

    `at_rest` are flap and lag frequency of the standing blade [Hz], `radius` that of the root section [m].
    """
    if mode == "pitch":
        return pitch_frequency(machine, around, blade_angle, rotor_speed) if machine.shifts else nan
    standing = at_rest[mode == "lag"]
    if not isfinite(standing):
        return nan
    ratio = radius / (machine.aircraft.blade.tip_radius - radius)
    chord = chord_angle_at(machine, blade_angle, radius)
    return turning_frequency(standing, rotor_speed, ratio, chord, mode == "lag")


def excitations(machine: Machine, record: records.ScenarioRecord) -> dict[str, float]:
    """What shakes the blade, by name, in cycles for each turn of the propeller [1]."""
    blades = record.propeller.blades
    firing = machine.reduction * record.loads.engine_cylinders * (2.0 / record.loads.engine_strokes)
    names = {order: f"{order}P" for order in sorted({*PER_TURN, blades, 2 * blades})}
    names[blades] += ", blade pass"
    found = {name: float(order) for order, name in names.items()}
    found["engine firing"] = firing
    if firing != machine.reduction:
        found["engine turn"] = machine.reduction
    return found


def setting_speeds(
    machine: Machine, around: Surroundings, climb: FullThrottle, flown: Level
) -> tuple[float, float, float]:
    """Engine speed at which each setting is met: level flight, amid the shift, full throttle [rad/s]."""
    shift = shift_speeds(machine, around.air, around.axial_speed)
    middle = 0.5 * (shift.shift_begin + shift.shift_finish)
    if not isfinite(middle):
        middle = 0.5 * (flown.engine_speed + climb.engine_speed)
    return flown.engine_speed, middle, climb.engine_speed


def frequency_figures(
    machine: Machine,
    air: Air,
    record: records.ScenarioRecord,
    climb: FullThrottle,
    flown: Level,
) -> dict[str, Any]:
    """Variables of the catalogue on frequencies, in SI."""
    around = Surroundings(air, machine.inflow_factor * climb.airspeed)
    at_rest, radius = bending_at_rest(machine, record), root_of(record).radius
    speeds = np.linspace(0.0, ABOVE_LIMIT * machine.speed_limit, SPEED_POINTS)
    speeds[0] = 0.02 * speeds[-1]
    angles = settings(machine)
    asked = setting_speeds(machine, around, climb, flown)

    def at(mode: str, angle: float, engine_speed: float) -> float:
        speed = engine_speed / machine.reduction
        return frequency(machine, around, at_rest, radius, mode, angle, speed)

    shaken = excitations(machine, record)
    told = np.array([[at(mode, a, n) for a, n in zip(angles, asked, strict=True)] for mode in MODES])
    turns = np.array(asked) / machine.reduction / (2.0 * pi)
    places, separations = nearest(told / turns, shaken)
    names = [*shaken, "none"]
    return {
        "mode": list(MODES),
        "setting": list(SETTINGS),
        "campbell_rpm": speeds,
        "campbell_frequency": np.array(
            [[[at(m, a, float(n)) for n in speeds] for a in angles] for m in MODES]
        ),
        "excitation": list(shaken),
        "excitation_order": list(shaken.values()),
        "setting_angle": angles,
        "setting_rpm": asked,
        "mode_frequency": told,
        "mode_order": told / turns,
        "mode_nearest": [[names[place] for place in row] for row in places],
        "mode_separation": separations,
        "flap_at_rest": at_rest[0],
        "lag_at_rest": at_rest[1],
    }


def nearest(orders: Array, shaken: dict[str, float]) -> tuple[NDArray[np.int_], Array]:
    """Nearest excitation of every order, by place, and how far the mode lies above it, share of it [1].

    `orders` in cycles for each turn, any shape (...), which both results have; `shaken` as `excitations`
    gives it. Place -1 and NaN where the order is not known.
    """
    given = np.array(list(shaken.values()))
    apart = orders[..., np.newaxis] / given - 1.0
    known = np.isfinite(orders)
    places = np.where(known, np.argmin(np.abs(np.where(np.isfinite(apart), apart, np.inf)), axis=-1), -1)
    separations = np.where(
        known, np.take_along_axis(apart, np.maximum(places, 0)[..., None], -1)[..., 0], nan
    )
    return places, separations
