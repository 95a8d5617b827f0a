"""Propeller loads: the sum over the blade elements, each in momentum balance with the air."""

from math import cos, pi, sin, sqrt
from typing import Any, NamedTuple

import numpy as np
from numba import types
from numpy.typing import NDArray

from simengine.compiled import (
    POINTER,
    array_at,
    array_kind,
    compiled_once,
    gapless,
    held_until_here,
    kernel,
    kernel_part,
    laid_out,
    lay_out_at,
    room,
    taken_up,
    tuple_kind,
    uncounted_kernel,
)
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade, Inflow
from simengine.models.element import ElementSolution, element_solution
from simengine.models.lane_table import (
    ACROSS,
    BARE_DRAG,
    BARE_MAX,
    BARE_MOMENT,
    BARE_SLOPE,
    BARE_ZERO,
    CHORD,
    KNOWN,
    LANES,
    MOMENT,
    NORMAL,
    RADIUS,
    SHAPE,
    SPEED,
    STATE,
    TANGENTIAL,
    TWIST,
    WORK_SIZE,
)
from simengine.models.lanes import SOLVED, solve_lanes
from simengine.models.polars import Polar
from simengine.models.sections import Sections


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
        1 where the air drives the propeller (torque below zero), else 0 [1].
    status : float
        0 where every element has its root, otherwise the number of elements without [1].
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


class ElementShare(NamedTuple):
    """What one element adds to the loads.

    Attributes
    ----------
    normal, tangential : float
        Force coefficients along the thrust and against the rotation [1].
    speed : float
        Air speed at the element [m/s].
    twisting : float
        Moment about the pitch axis over dynamic pressure and span, toward coarse [m2].
    stalled, unsolved : float
        1 beyond the greatest lift, and 1 where there is no root; else 0 [1].
    """

    normal: float
    tangential: float
    speed: float
    twisting: float
    stalled: float
    unsolved: float


@kernel_part
def pitch_moment(flow: ElementSolution, chord: float, axis_lead: float) -> float:
    """Air's moment toward coarse over dynamic pressure and span [m2]; `chord` and `axis_lead` [m]."""
    across = flow.lift * cos(flow.attack_angle) + flow.drag * sin(flow.attack_angle)
    return chord * (across * axis_lead + chord * flow.moment)


@kernel_part
def fresh(blade: Blade) -> bool:
    """Whether the blade has a table for the vector loops, and it is not of the blade before a change.

    The arrays are taken out once: a blade handed on for each element would cost more than the loads.
    """
    lanes, sections = blade.lanes, blade.sections
    if len(lanes) == 0:
        return False
    radius, chord, twist, moment = blade.radius, blade.chord, blade.twist, sections.moment
    zero, slope, top, drag = (
        sections.zero_lift_angle,
        sections.lift_slope,
        sections.lift_max,
        sections.drag_min,
    )
    same = (
        (lanes[0, SHAPE] == blade.blades)
        & (lanes[0, SHAPE + 1] == blade.tip_radius)
        & (lanes[0, SHAPE + 2] == blade.hub_radius)
        & (lanes[0, SHAPE + 3] == blade.tip_loss)
        & (lanes[0, SHAPE + 4] == blade.hub_loss)
    )
    for turn in range(len(lanes)):
        first = turn * LANES
        for j in range(min(LANES, len(radius) - first)):
            same &= (
                (lanes[turn, RADIUS + j] == radius[first + j])
                & (lanes[turn, CHORD + j] == chord[first + j])
                & (lanes[turn, TWIST + j] == twist[first + j])
                & (lanes[turn, BARE_ZERO + j] == zero[first + j])
                & (lanes[turn, BARE_SLOPE + j] == slope[first + j])
                & (lanes[turn, BARE_MAX + j] == top[first + j])
                & (lanes[turn, BARE_DRAG + j] == drag[first + j])
                & (lanes[turn, BARE_MOMENT + j] == moment[first + j])
            )
    return bool(same)


@kernel_part
def share_in_step(blade: Blade, i: int, work: NDArray[np.float64]) -> ElementShare:
    """What element `i` adds, from the space `work`, shape (WORK_SIZE,), where the vector loops solved it."""
    j, chord = i % LANES, blade.chord[i]
    twisting = chord * (work[ACROSS + j] * blade.axis_lead[i] + chord * work[MOMENT + j])
    return ElementShare(work[NORMAL + j], work[TANGENTIAL + j], work[SPEED + j], twisting, 0.0, 0.0)


@kernel_part
def share_by_itself(
    blade: Blade, i: int, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> ElementShare:
    """What element `i` adds, solved by the readable reference; arguments as for `element_solution`."""
    flow = element_solution(blade, i, blade_angle, rotor_speed, airspeed, air)
    twisting = pitch_moment(flow, blade.chord[i], blade.axis_lead[i])
    return ElementShare(flow.normal, flow.tangential, flow.speed, twisting, flow.stalled, 1.0 - flow.solved)


@kernel
def loads_of(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air, inflow: Inflow
) -> RotorLoads:
    """Thrust, torque and the air's pitch moment.

    Parameters
    ----------
    blade : Blade
        The blades.
    blade_angle : float
        At the reference station, on the measured face, -5 to 90 deg [rad].
    rotor_speed : float
        Zero or positive; a negative one counts as zero [rad/s].
    airspeed : float
        Along the axis, positive from ahead [m/s].
    air : Air
        The air at the disc.
    inflow : ndarray, shape (turns, WORK_SIZE)
        As `nothing_known` gives it, or as left by the point before; overwritten.

    Returns
    -------
    RotorLoads
        All zero where nothing moves. Its `status` counts the elements without a root; nothing is raised.

    Notes
    -----
    Blade-element momentum theory overpredicts static thrust of stubby blades, by about a fifth for blades
    of aspect ratio 6 (Caradonna and Tung, NASA TM 81232, 1981, coefficient from memory).
    """
    turning = max(rotor_speed, 0.0)
    tip_speed = sqrt((turning * blade.tip_radius) ** 2 + airspeed * airspeed)
    if tip_speed == 0.0:
        return RotorLoads(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    in_step = inflow[0, KNOWN] == 1.0 or fresh(blade)
    work = inflow[0]
    thrust, torque, moment, stalled, area, failed = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    lowest, highest = float("inf"), 0.0
    for i in range(len(blade.radius)):
        radius, width, chord = blade.radius[i], blade.width[i], blade.chord[i]
        if in_step and i % LANES == 0:
            work = inflow[i // LANES]
            solve_lanes(blade.lanes[i // LANES], work, blade_angle + blade.datum, turning, airspeed, air)
        if in_step and work[STATE + i % LANES] == SOLVED:
            share = share_in_step(blade, i, work)
        else:
            share = share_by_itself(blade, i, blade_angle, turning, airspeed, air)
        pressure = 0.5 * air.density * share.speed * share.speed * width
        thrust += pressure * chord * share.normal
        torque += pressure * chord * share.tangential * radius
        moment += pressure * share.twisting
        stalled += share.stalled * radius * width
        failed += share.unsolved
        area += radius * width
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


FLOAT, COLUMN, TABLE = types.float64, array_kind(1), array_kind(2)
POLAR = tuple_kind(Polar, TABLE, array_kind(3))
SECTIONS = tuple_kind(Sections, *[COLUMN] * (len(Sections._fields) - 1), POLAR)
BLADE = tuple_kind(Blade, *[FLOAT] * 6, *[COLUMN] * 5, SECTIONS, TABLE)
AIR = tuple_kind(Air, *[FLOAT] * len(Air._fields))
LOADS_SIZE = len(RotorLoads._fields)
LOADS = tuple_kind(RotorLoads, *[FLOAT] * LOADS_SIZE)
POINT = types.Tuple((BLADE, FLOAT, FLOAT, FLOAT, AIR, TABLE))  # arguments of `loads_of`


@compiled_once("rotor_loads", types.void(POINTER, POINTER))
def rotor_loads_once(result: Any, point: Any) -> None:
    """`loads_of` behind a C call: addresses of its arguments, `point`, and of where its `result` goes."""
    blade, blade_angle, rotor_speed, airspeed, air, inflow = taken_up(point, POINT)
    lay_out_at(result, loads_of(blade, blade_angle, rotor_speed, airspeed, air, inflow), LOADS)


@kernel_part
def fleeting_inflow(blade: Blade) -> Inflow:
    """`nothing_known`, shape (turns, WORK_SIZE), for as long as the kernel it is in lasts; only there."""
    turns = max(len(blade.lanes), 1)
    inflow: Inflow = array_at(room(turns * WORK_SIZE), (turns, WORK_SIZE))
    for turn in range(turns):
        inflow[turn, KNOWN] = 0.0
    return inflow


@uncounted_kernel
def rotor_loads(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> RotorLoads:
    """Loads of a point by itself; arguments as for `loads_of`."""
    return rotor_loads_near(blade, blade_angle, rotor_speed, airspeed, air, fleeting_inflow(blade))


@uncounted_kernel
def rotor_loads_near(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air, inflow: Inflow
) -> RotorLoads:
    """`loads_of`, compiled once for all kernels that call it.

    Parameters
    ----------
    blade, blade_angle, rotor_speed, airspeed, air
        As for `loads_of` [rad, rad/s, m/s].
    inflow : ndarray, shape (turns, WORK_SIZE), or empty
        What a point before it left, of the same blade, or what `nothing_known` gives: the search begins
        there and takes fewer steps. It finds the same, to its tolerance. An empty one hands nothing on.

    Returns
    -------
    RotorLoads
        As of `loads_of`.

    Notes
    -----
    An address says nothing of gaps, so an array that has some goes as a copy; others go as they are.
    """
    inflow = inflow if len(inflow) > 0 else fleeting_inflow(blade)
    held = gapless(blade)
    result = room(LOADS_SIZE)
    rotor_loads_once(result, laid_out((held, blade_angle, rotor_speed, airspeed, air, inflow), POINT))
    held_until_here(held)
    loads: RotorLoads = taken_up(result, LOADS)
    return loads


@kernel_part
def air_pitch_damping(blade: Blade, rotor_speed: float, air: Air) -> float:
    """Air's damping of ONE blade's pitch motion [N m s/rad] at a rotor speed [rad/s], positive against it.

    Quasi-steady thin aerofoil turning about its own axis: T. Theodorsen, NACA Report 496 (1935), with the
    wake function set to 1 and the section's own lift slope in the circulatory part; the forward speed of the
    machine is left out. About zero for an axis at the middle of the chord, below zero (driving) for one well
    behind it.
    """
    damping = 0.0
    for i in range(len(blade.radius)):
        chord, lead = blade.chord[i], blade.axis_lead[i]
        speed = max(rotor_speed, 0.0) * blade.radius[i]
        arm = 0.5 * chord - lead  # three-quarter chord behind the axis
        ring = 0.25 * pi * chord * chord - 0.5 * blade.sections.lift_slope[i] * chord * lead
        damping += air.density * speed * arm * ring * blade.width[i]
    return damping
