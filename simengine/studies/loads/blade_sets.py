"""A rotor whose blades stand at different angles: one stuck, the others where the hub put them.

For rpm and thrust each blade gives its share of what the whole rotor would give with all blades at its
angle, as if it met the inflow of its own kind: that touches the sum little. The difference between blades
would come out much too small so, since a blade of few bites into air that the others have slowed down less.
It is told on the safe side, with every blade in the mean inflow of all; the truth lies between the two.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import asin, cos, nan, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from simengine.balance.aircraft import rotor_state
from simengine.balance.rotor import OVERSPEED
from simengine.balance.trim import flight_drag, flight_speed
from simengine.constants import STANDARD_GRAVITY
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.distribution import rotor_distribution
from simengine.models.mechanism import net_moment
from simengine.models.sections import section_coefficients
from simengine.studies.machine import Condition, Machine

SLOWEST = 0.05  # of the highest rotor speed looked at
STRIDE = 0.94  # from one rotor speed looked at to the next, downward
SPEED_TOLERANCE = 1e-6  # [m/s]
THROTTLE_TOLERANCE = 1e-6
ON_STOP = 1e-6  # [rad]


@dataclass(frozen=True)
class BladeSet:
    """One blade at `odd` [rad], the others at `others` [rad], `blades` in all."""

    odd: float
    others: float
    blades: int

    @property
    def shares(self) -> tuple[tuple[float, float], ...]:
        """Angle [rad] and share of the rotor [1] of either kind."""
        return ((self.odd, 1.0 / self.blades), (self.others, 1.0 - 1.0 / self.blades))


class SetFlight(NamedTuple):
    """Steady state of such a rotor: `rotor_speed` [rad/s], `thrust` left for the aircraft [N].

    `airspeed` [m/s], `path_angle`, positive up [rad], and `throttle` [1].
    """

    rotor_speed: float
    thrust: float
    airspeed: float
    path_angle: float
    throttle: float

    @property
    def climb_rate(self) -> float:
        """Height gained in time [m/s]."""
        return self.airspeed * sin(self.path_angle)


class Imbalance(NamedTuple):
    """What the odd blade does to the hub, turning with it: once per turn for everything that stands still.

    Attributes
    ----------
    thrust_difference : float
        Thrust of the odd blade less that of another [N], as the rest in the mean inflow of all.
    out_of_plane : float
        Moment on the shaft that bends it [N m].
    in_plane : float
        Force across the shaft [N].
    """

    thrust_difference: float
    out_of_plane: float
    in_plane: float


def set_torque_excess(
    machine: Machine,
    condition: Condition,
    blades: BladeSet,
    throttle: float,
    axial_speed: float,
    speed: float,
) -> float:
    """Torque left to speed the rotor up [N m] at a rotor `speed` [rad/s].

    `throttle`, 0 to 1 [1]; `axial_speed` of the air at the disc [m/s].
    """
    driven, taken = 0.0, 0.0
    for angle, share in blades.shares:
        state = rotor_state(machine.aircraft, condition.air, angle, speed, axial_speed, throttle)
        driven = state.drive.rotor_torque
        taken += share * state.loads.torque
    return driven - taken


def set_rotor_speed(
    machine: Machine, condition: Condition, blades: BladeSet, throttle: float, axial_speed: float
) -> float:
    """Highest steady rotor speed [rad/s]; zero if there is none.

    `throttle`, 0 to 1 [1]; `axial_speed` of the air at the disc [m/s].
    """

    def excess(speed: float) -> float:
        return set_torque_excess(machine, condition, blades, throttle, axial_speed, speed)

    top = OVERSPEED * machine.speed_limit / machine.reduction
    high = top
    while excess(high) < 0.0:
        if high < SLOWEST * top:
            return 0.0
        high *= STRIDE
    if high == top:
        return top
    return float(brentq(excess, high, high / STRIDE, xtol=1e-9))


def set_thrust(
    machine: Machine, condition: Condition, blades: BladeSet, axial_speed: float, rotor_speed: float
) -> float:
    """Thrust left for the aircraft [N] at a rotor speed [rad/s].

    `axial_speed` of the air at the disc [m/s].
    """
    whole = 0.0
    for angle, share in blades.shares:
        state = rotor_state(machine.aircraft, condition.air, angle, rotor_speed, axial_speed, 0.0)
        whole += share * state.loads.thrust
    return float(whole - machine.aircraft.thrust_loss * max(whole, 0.0))


def set_flight(machine: Machine, condition: Condition, blades: BladeSet, throttle: float) -> SetFlight:
    """Climb, level or descent at a throttle, 0 to 1 [1], with the blades held."""
    aircraft, air, mass, bar = machine.aircraft, condition.air, condition.mass, condition.bar
    thrust, path_angle, speed = 0.0, 0.0, 0.0
    airspeed = float(flight_speed(aircraft, air, mass, bar, thrust, path_angle))
    for _ in range(40):
        axial_speed = machine.inflow_factor * airspeed
        speed = set_rotor_speed(machine, condition, blades, throttle, axial_speed)
        thrust = set_thrust(machine, condition, blades, axial_speed, speed)
        drag = flight_drag(aircraft, air, bar, airspeed)
        excess = (thrust * cos(aircraft.thrust_tilt) - drag) / (mass * STANDARD_GRAVITY)
        path_angle = asin(min(max(excess, -0.9), 0.9))
        before, airspeed = airspeed, float(flight_speed(aircraft, air, mass, bar, thrust, path_angle))
        if abs(airspeed - before) < SPEED_TOLERANCE:
            break
    return SetFlight(speed, thrust, airspeed, path_angle, throttle)


def set_ground(machine: Machine, condition: Condition, blades: BladeSet) -> SetFlight:
    """Full throttle tied down."""
    speed = set_rotor_speed(machine, condition, blades, 1.0, 0.0)
    return SetFlight(speed, set_thrust(machine, condition, blades, 0.0, speed), 0.0, 0.0, 1.0)


def set_level(machine: Machine, condition: Condition, blades: BladeSet) -> SetFlight | None:
    """Level flight with the blades held; None if full throttle sinks or a closed one climbs."""

    def path(throttle: float) -> float:
        return set_flight(machine, condition, blades, throttle).path_angle

    if path(1.0) < 0.0 or path(0.0) > 0.0:
        return None
    throttle = brentq(path, 0.0, 1.0, xtol=THROTTLE_TOLERANCE)
    return set_flight(machine, condition, blades, float(throttle))


def imbalance(machine: Machine, condition: Condition, blades: BladeSet, flight: SetFlight) -> Imbalance:
    """Once-per-turn loads on the hub in a flight, on the safe side; the equal pulls of the blades cancel."""
    if blades.blades < 2 or flight.rotor_speed <= 0.0:
        return Imbalance(nan, nan, nan)
    axial_speed, air = machine.inflow_factor * flight.airspeed, condition.air
    blade = machine.aircraft.blade
    through, swept, reynolds = (np.zeros(len(blade.radius)) for _ in range(3))
    for angle, share in blades.shares:
        flow = rotor_distribution(blade, angle, flight.rotor_speed, axial_speed, air)
        through = through + share * flow.speed * np.sin(flow.inflow_angle)
        swept = swept + share * flow.speed * np.cos(flow.inflow_angle)
        reynolds = flow.reynolds
    met = MetAir(through, swept, reynolds)
    odd, other = (forces_in(blade, angle, met, air) for angle in (blades.odd, blades.others))
    thrust, drag = ((odd[i] - other[i]) * blade.width for i in (0, 1))
    moment = float(np.sum(thrust * blade.radius))
    return Imbalance(float(np.sum(thrust)), abs(moment), abs(float(np.sum(drag))))


class MetAir(NamedTuple):
    """Air that the elements meet, each field of shape (n,).

    Speed `through` and, `swept`, across the disc [m/s]; `reynolds` number [1].
    """

    through: NDArray[np.float64]
    swept: NDArray[np.float64]
    reynolds: NDArray[np.float64]


def forces_in(
    blade: Blade, blade_angle: float, met: MetAir, air: Air
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Force along the thrust and against the rotation [N/m] of a blade in given air, shape (n,).

    At a blade angle [rad]; momentum balance is not asked for: the air is as it is met.
    """
    inflow_angle = np.arctan2(met.through, met.swept)
    attack = blade_angle + blade.datum + blade.twist - inflow_angle
    mach = met.reynolds * air.viscosity / (air.density * blade.chord) / air.speed_of_sound
    found = np.array(
        [
            section_coefficients(blade.sections, i, float(attack[i]), float(met.reynolds[i]), float(mach[i]))
            for i in range(len(attack))
        ]
    )
    lift, drag = found[:, 0], found[:, 1]
    pressure = 0.5 * air.density * (met.through**2 + met.swept**2) * blade.chord
    sine, cosine = np.sin(inflow_angle), np.cos(inflow_angle)
    return pressure * (lift * cosine - drag * sine), pressure * (lift * sine + drag * cosine)


def stays(machine: Machine, condition: Condition, blades: BladeSet, flight: SetFlight) -> bool:
    """Whether blades that are not stuck stay at their angle in a flight, friction helping; held ones do."""
    if not machine.shifts:
        return True
    axial_speed, angle = machine.inflow_factor * flight.airspeed, blades.others
    moments = rotor_state(
        machine.aircraft, condition.air, angle, flight.rotor_speed, axial_speed, flight.throttle
    ).moments
    net = net_moment(moments)
    held_fine = angle <= machine.fine_stop + ON_STOP or net > -moments.friction
    held_coarse = angle >= machine.coarse_stop - ON_STOP or net < moments.friction
    return bool(held_fine and held_coarse)


def settled(
    machine: Machine, condition: Condition, first: BladeSet, fly: Callable[[BladeSet], SetFlight | None]
) -> BladeSet:
    """Where the others stay in the flight that they make: as given, or on a stop; as given if nowhere."""
    stops = (machine.coarse_stop, machine.fine_stop) if machine.shifts else ()
    for angle in (first.others, *stops):
        tried = BladeSet(first.odd, angle, first.blades)
        flight = fly(tried)
        if flight is not None and stays(machine, condition, tried, flight):
            return tried
    return first
