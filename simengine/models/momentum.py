"""Propeller loads: the sum over the blade elements, each in momentum balance with the air."""

from math import cos, pi, sin, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel, kernel_part
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.element import ElementSolution, element_solution


class RotorLoads(NamedTuple):
    """Loads of the propeller.

    Attributes
    ----------
    thrust, torque : float
        Whole propeller [N, N m]; torque positive where the engine must drive.
    air_moment : float
        Air's moment on ONE blade about its pitch axis, positive toward coarse [N m].
    stalled_fraction : float
        Share of the bladed disc area whose elements are beyond their greatest lift [1].
    lowest_reynolds, highest_reynolds : float
        Along the blade, of the speed before induction [1].
    tip_mach : float
        Of the speed before induction [1].
    windmilling : float
        1 where the air drives the propeller (torque below zero), else 0.
    status : float
        0 where every element has its root, otherwise the number of elements without.
    """

    thrust: float
    torque: float
    air_moment: float
    stalled_fraction: float
    lowest_reynolds: float
    highest_reynolds: float
    tip_mach: float
    windmilling: float
    status: float


class RotorDistribution(NamedTuple):
    """Along the blade, every field of shape (n,): radius [m], angles [rad], per metre of ONE blade loads."""

    radius: NDArray[np.float64]
    inflow_angle: NDArray[np.float64]
    attack_angle: NDArray[np.float64]
    lift: NDArray[np.float64]
    drag: NDArray[np.float64]
    loss: NDArray[np.float64]
    speed: NDArray[np.float64]
    thrust: NDArray[np.float64]
    torque: NDArray[np.float64]
    air_moment: NDArray[np.float64]
    reynolds: NDArray[np.float64]
    stalled: NDArray[np.float64]


@kernel_part
def pitch_moment(flow: ElementSolution, chord: float, axis_lead: float) -> float:
    """Air's moment about the pitch axis over dynamic pressure and span [m2], toward coarse."""
    across = flow.lift * cos(flow.attack_angle) + flow.drag * sin(flow.attack_angle)
    return chord * (across * axis_lead + chord * flow.moment)


@kernel
def rotor_loads(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> RotorLoads:
    """Thrust, torque and the air's pitch moment.

    Parameters
    ----------
    blade : the blades
    blade_angle : at the reference station, on the measured face, -5 to 90 deg [rad]
    rotor_speed : zero or positive [rad/s]
    airspeed : along the axis, positive from ahead [m/s]
    air : the air at the disc

    Notes
    -----
    Blade-element momentum theory overpredicts static thrust of stubby blades, by about a fifth for blades
    of aspect ratio 6 (Caradonna and Tung, NASA TM 81232, 1981, coefficient from memory).
    """
    thrust, torque, moment, stalled, area, failed = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    lowest, highest = float("inf"), 0.0
    turning = max(rotor_speed, 0.0)
    tip_speed = sqrt((turning * blade.tip_radius) ** 2 + airspeed * airspeed)
    if tip_speed == 0.0:
        return RotorLoads(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    for i in range(len(blade.radius)):
        radius, width, chord = blade.radius[i], blade.width[i], blade.chord[i]
        flow = element_solution(blade, i, blade_angle, turning, airspeed, air)
        pressure = 0.5 * air.density * flow.speed * flow.speed * width
        thrust += pressure * chord * flow.normal
        torque += pressure * chord * flow.tangential * radius
        moment += pressure * pitch_moment(flow, chord, blade.axis_lead[i])
        stalled += flow.stalled * radius * width
        area += radius * width
        failed += 1.0 - flow.solved
        reynolds = air.density * chord / air.viscosity * sqrt((turning * radius) ** 2 + airspeed * airspeed)
        lowest, highest = min(lowest, reynolds), max(highest, reynolds)
    return RotorLoads(
        blade.blades * thrust,
        blade.blades * torque,
        moment,
        stalled / area,
        lowest,
        highest,
        tip_speed / air.speed_of_sound,
        1.0 if torque < 0.0 else 0.0,
        failed,
    )


def rotor_distribution(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> RotorDistribution:
    """Flow and loads along the blade, for pictures; arguments as for `rotor_loads`, turning."""
    flows = [
        element_solution(blade, i, blade_angle, rotor_speed, airspeed, air) for i in range(len(blade.radius))
    ]
    flow = ElementSolution(*np.array(flows).T)
    pressure = 0.5 * air.density * np.asarray(flow.speed) ** 2
    across = flow.lift * np.cos(flow.attack_angle) + flow.drag * np.sin(flow.attack_angle)
    oncoming = np.hypot(rotor_speed * blade.radius, airspeed)
    return RotorDistribution(
        radius=blade.radius,
        inflow_angle=np.asarray(flow.inflow_angle),
        attack_angle=np.asarray(flow.attack_angle),
        lift=np.asarray(flow.lift),
        drag=np.asarray(flow.drag),
        loss=np.asarray(flow.loss),
        speed=np.asarray(flow.speed),
        thrust=pressure * blade.chord * flow.normal,
        torque=pressure * blade.chord * flow.tangential * blade.radius,
        air_moment=pressure * blade.chord * (across * blade.axis_lead + blade.chord * flow.moment),
        reynolds=air.density * oncoming * blade.chord / air.viscosity,
        stalled=np.asarray(flow.stalled),
    )


@kernel_part
def air_pitch_damping(blade: Blade, rotor_speed: float, air: Air) -> float:
    """Air's damping of the pitch motion of ONE blade [N m s/rad], positive where it opposes the motion.

    Quasi-steady thin aerofoil turning about its own axis: T. Theodorsen, NACA Report 496 (1935), with the
    wake function set to 1 and the section's own lift slope in the circulatory part; the forward speed
    of the machine is left out. Zero for an axis at the middle of the chord, below zero (driving) for
    one behind it.
    """
    damping = 0.0
    for i in range(len(blade.radius)):
        chord, lead = blade.chord[i], blade.axis_lead[i]
        speed = max(rotor_speed, 0.0) * blade.radius[i]
        arm = 0.5 * chord - lead  # three-quarter chord behind the axis
        ring = 0.25 * pi * chord * chord - 0.5 * blade.sections.lift_slope[i] * chord * lead
        damping += air.density * speed * arm * ring * blade.width[i]
    return damping
