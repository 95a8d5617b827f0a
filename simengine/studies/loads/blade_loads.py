"""Loads on one blade: pull, bending at the root section, stresses, the stop's share of the moments, tip Mach.

Bending is that of the air alone on a stiff blade in the plane of rotation: what cone and blade bend take back
through the pull is left out, on the safe side, and so are gusts, yawing of the machine and all that changes
once per turn.
"""

from dataclasses import dataclass
from math import cos, log10, nan, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import rotor_state
from simengine.models.atmosphere import Air
from simengine.models.distribution import RotorDistribution, rotor_distribution
from simengine.models.inertia import blade_pull
from simengine.models.mechanism import FIXED, net_moment
from simengine.scenario import records
from simengine.scenario.loads_records import section_of
from simengine.studies.machine import Machine

DOUBLE_PULL = sqrt(2.0)  # rotor speed at which the centrifugal load is doubled, over that before
# Sound against tip Mach, 14 CFR 36 Appendix G, G36.201(d)(3): k log10 of the ratio; the rule prints the form,
# its nominal k = 150 is from memory.
NOISE_SLOPE = 150.0


@dataclass(frozen=True)
class Root:
    """The root section: `radius` [m], `area` [m2], section moduli `flat_modulus`, `edge_modulus` [m3].

    `strength` [Pa]; NaN where not given.
    """

    radius: float
    area: float = nan
    flat_modulus: float = nan
    edge_modulus: float = nan
    strength: float = nan


class Bending(NamedTuple):
    """Bending moment at a radius [N m]: `flap` forward by the thrust, `lag` backward by the torque."""

    flap: float
    lag: float


class RootStress(NamedTuple):
    """Stress at the worst corner of the root section, tension [Pa].

    By `pull`, and by bending across the chord, `flat`, and along it, `edge`.
    """

    pull: float
    flat: float
    edge: float

    @property
    def total(self) -> float:
        """Sum of the three [Pa]."""
        return self.pull + self.flat + self.edge


class StopLoads(NamedTuple):
    """Moment of one blade that the `coarse` and the `fine` stop carry with no help from friction [N m].

    Zero where the moments push the blade off the stop; NaN for blades that are held or driven.
    """

    coarse: float
    fine: float


def root_of(record: records.ScenarioRecord) -> Root:
    """The section that the scenario tells, at the hub radius unless it says where."""
    given = record.loads.root
    if given is None:
        return Root(record.propeller.hub_radius)
    strength = nan if given.strength is None else given.strength
    return Root(given.radius or record.propeller.hub_radius, *section_of(given), strength)


def bending_at(loads: RotorDistribution, widths: NDArray[np.float64], radius: float) -> Bending:
    """Moment about a radius [m] of all that acts outside it; `widths` of the elements, shape (n,) [m]."""
    arm = np.maximum(loads.radius - radius, 0.0) * widths
    return Bending(float((loads.thrust * arm).sum()), float((loads.torque / loads.radius * arm).sum()))


def root_bending(
    machine: Machine, air: Air, blade_angle: float, rotor_speed: float, axial_speed: float, radius: float
) -> Bending:
    """Bending of one blade by the air about a radius [m].

    At a blade angle [rad], a rotor speed [rad/s] and an `axial_speed` of the air at the disc [m/s].
    """
    blade = machine.aircraft.blade
    loads = rotor_distribution(blade, blade_angle, rotor_speed, axial_speed, air)
    return bending_at(loads, blade.width, radius)


def root_stress(pull: float, bending: Bending, root: Root, chord_angle: float) -> RootStress:
    """Stresses of a `pull` [N] and a bending moment in a section whose chord stands at an angle.

    That is `chord_angle`, from the plane of rotation [rad]. `CF/A + M/W` across and along the chord, added as
    at the worst corner of a rectangle.
    """
    flat = bending.flap * cos(chord_angle) + bending.lag * sin(chord_angle)
    edge = bending.lag * cos(chord_angle) - bending.flap * sin(chord_angle)
    return RootStress(pull / root.area, abs(flat) / root.flat_modulus, abs(edge) / root.edge_modulus)


def chord_angle_at(machine: Machine, blade_angle: float, radius: float) -> float:
    """Chord from the plane of rotation [rad] at a radius [m] with the blade at a blade angle [rad]."""
    blade = machine.aircraft.blade
    return blade_angle + blade.datum + float(np.interp(radius, blade.radius, blade.twist))


def pull_of(machine: Machine, rotor_speed: float) -> float:
    """Pull of one blade at its root [N] at a rotor speed [rad/s]."""
    return float(blade_pull(machine.aircraft.inertia, rotor_speed))


def stop_loads(
    machine: Machine, air: Air, rotor_speed: float, axial_speed: float, *, with_air: bool = True
) -> StopLoads:
    """What each stop carries with the blade on it; NaN for blades that are held or driven.

    At a rotor speed [rad/s] and an `axial_speed` of the air at the disc [m/s]; `with_air` False leaves the
    air's moment out, as in a spin pit.
    """
    if not machine.shifts:
        return StopLoads(nan, nan)
    nets = []
    for angle in (machine.coarse_stop, machine.fine_stop):
        moments = rotor_state(machine.aircraft, air, angle, rotor_speed, axial_speed, 0.0).moments
        nets.append(net_moment(moments) - (0.0 if with_air else moments.air))
    return StopLoads(max(nets[0], 0.0), max(-nets[1], 0.0))


def tip_mach(diameter: float, rotor_speed: float, airspeed: float, speed_of_sound: float) -> float:
    """Mach number of the blade tip on its helix [1].

    `diameter` [m], rotor speed [rad/s], `airspeed` along the axis and `speed_of_sound` [m/s].
    """
    return sqrt((0.5 * diameter * rotor_speed) ** 2 + airspeed**2) / speed_of_sound


def noise_trend(mach: float, reference: float) -> float:
    """Change of the propeller's sound by tip Mach number alone [dB]; a trend, no level.

    `mach` against a `reference`, both above zero [1]; the form of 14 CFR 36 Appendix G, its factor from
    memory.
    """
    return NOISE_SLOPE * log10(mach / reference)


def pin_shear(force: float, diameter: float | None) -> float:
    """Mean shear stress of a pin in one section under a `force` [N] [Pa]; NaN without its `diameter` [m]."""
    return nan if diameter is None else force / (0.25 * pi * diameter**2)


def pin_radius(machine: Machine, record: records.ScenarioRecord) -> float:
    """Where the stop's moment is taken up, from the pitch axis [m]; NaN for bolted blades."""
    if machine.aircraft.hub.kind == FIXED:
        return nan
    return record.loads.pin_radius or float(machine.aircraft.hub.stop_radius)
