"""Propeller loads: the sum over the blade elements, each in momentum balance with the air."""

from math import cos, pi, sin, sqrt
from typing import Any, NamedTuple

from numba import types

from simengine.compiled import (
    POINTER,
    array_at,
    compiled_once,
    gapless,
    kernel,
    kernel_part,
    room,
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
    TABLE_SIZE,
    TANGENTIAL,
    TWIST,
    WORK_SIZE,
)
from simengine.models.lanes import SOLVED, solve_lanes
from simengine.models.polars import PIECE_SIZE, Polar
from simengine.models.sections import Sections

LINE_SIZE = 7  # columns of `Polar.lines`
LOADS_SIZE = 9  # fields of `RotorLoads`


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


@kernel
def loads_of(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air, inflow: Inflow
) -> RotorLoads:
    """Thrust, torque and the air's pitch moment.

    Parameters
    ----------
    blade : the blades
    blade_angle : at the reference station, on the measured face, -5 to 90 deg [rad]
    rotor_speed : zero or positive [rad/s]
    airspeed : along the axis, positive from ahead [m/s]
    air : the air at the disc
    inflow : as `nothing_known` gives it, or as left by the point before; shape (turns, WORK_SIZE)

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
        j, radius, width, chord = i % LANES, blade.radius[i], blade.width[i], blade.chord[i]
        if in_step and j == 0:
            work = inflow[i // LANES]
            solve_lanes(blade.lanes[i // LANES], work, blade_angle + blade.datum, turning, airspeed, air)
        if in_step and work[STATE + j] == SOLVED:
            normal, tangential, speed = work[NORMAL + j], work[TANGENTIAL + j], work[SPEED + j]
            twisting = chord * (work[ACROSS + j] * blade.axis_lead[i] + chord * work[MOMENT + j])
        else:
            flow = element_solution(blade, i, blade_angle, turning, airspeed, air)
            normal, tangential, speed = flow.normal, flow.tangential, flow.speed
            twisting = pitch_moment(flow, chord, blade.axis_lead[i])
            stalled += flow.stalled * radius * width
            failed += 1.0 - flow.solved
        pressure = 0.5 * air.density * speed * speed * width
        thrust += pressure * chord * normal
        torque += pressure * chord * tangential * radius
        moment += pressure * twisting
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


LOADS_SIGNATURE = types.void(*[POINTER] * 31, *[types.int64] * 4, *[types.float64] * 14)


@compiled_once("rotor_loads", LOADS_SIGNATURE)
def rotor_loads_once(
    result: Any,
    inflow: Any,
    radius: Any,
    width: Any,
    chord: Any,
    twist: Any,
    axis_lead: Any,
    zero_lift_angle: Any,
    lift_slope: Any,
    lift_max: Any,
    lift_min: Any,
    lift_growth: Any,
    rounding: Any,
    suction_lost: Any,
    stall_width: Any,
    drag_min: Any,
    drag_lift: Any,
    drag_rise: Any,
    moment: Any,
    reynolds_reference: Any,
    drag_exponent_low: Any,
    drag_exponent_high: Any,
    plate_drag: Any,
    mach_limit: Any,
    mach_critical: Any,
    stall_delay: Any,
    zero_lift_loss: Any,
    slope_share: Any,
    lanes: Any,
    polar_lines: Any,
    polar_pieces: Any,
    elements: int,
    turns: int,
    polar_count: int,
    piece_count: int,
    blades: float,
    tip_radius: float,
    hub_radius: float,
    hub_loss: float,
    tip_loss: float,
    datum: float,
    blade_angle: float,
    rotor_speed: float,
    airspeed: float,
    temperature: float,
    air_pressure: float,
    density: float,
    speed_of_sound: float,
    viscosity: float,
) -> None:
    """`loads_of` behind a C call, which takes the arrays of the blade by their addresses."""
    n = elements
    polar = Polar(
        array_at(polar_lines, (polar_count, LINE_SIZE)),
        array_at(polar_pieces, (polar_count, piece_count, PIECE_SIZE)),
    )
    sections = Sections(
        array_at(zero_lift_angle, (n,)),
        array_at(lift_slope, (n,)),
        array_at(lift_max, (n,)),
        array_at(lift_min, (n,)),
        array_at(lift_growth, (n,)),
        array_at(rounding, (n,)),
        array_at(suction_lost, (n,)),
        array_at(stall_width, (n,)),
        array_at(drag_min, (n,)),
        array_at(drag_lift, (n,)),
        array_at(drag_rise, (n,)),
        array_at(moment, (n,)),
        array_at(reynolds_reference, (n,)),
        array_at(drag_exponent_low, (n,)),
        array_at(drag_exponent_high, (n,)),
        array_at(plate_drag, (n,)),
        array_at(mach_limit, (n,)),
        array_at(mach_critical, (n,)),
        array_at(stall_delay, (n,)),
        array_at(zero_lift_loss, (n,)),
        array_at(slope_share, (n,)),
        polar,
    )
    blade = Blade(
        blades,
        tip_radius,
        hub_radius,
        hub_loss,
        tip_loss,
        datum,
        array_at(radius, (n,)),
        array_at(width, (n,)),
        array_at(chord, (n,)),
        array_at(twist, (n,)),
        array_at(axis_lead, (n,)),
        sections,
        array_at(lanes, (turns, TABLE_SIZE)),
    )
    air = Air(temperature, air_pressure, density, speed_of_sound, viscosity)
    space = array_at(inflow, (max(turns, 1), WORK_SIZE))
    loads = loads_of(blade, blade_angle, rotor_speed, airspeed, air, space)
    values = array_at(result, (LOADS_SIZE,))
    values[0] = loads.thrust
    values[1] = loads.torque
    values[2] = loads.air_moment
    values[3] = loads.stalled_fraction
    values[4] = loads.lowest_reynolds
    values[5] = loads.highest_reynolds
    values[6] = loads.tip_mach
    values[7] = loads.windmilling
    values[8] = loads.status


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
    """`loads_of`, compiled once for all kernels that call it: arguments and result are the same.

    `inflow` is what a point before it left, of the same blade, or what `nothing_known` gives: the search
    begins there and takes fewer steps. It finds the same, to its tolerance. An empty one hands nothing on.

    An address says nothing of gaps, so an array that has some goes as a copy; others go as they are.
    """
    values = array_at(room(LOADS_SIZE), (LOADS_SIZE,))
    inflow = inflow if len(inflow) > 0 else fleeting_inflow(blade)
    sections, polar = blade.sections, blade.sections.polar
    rotor_loads_once(
        values.ctypes,
        inflow.ctypes,
        gapless(blade.radius).ctypes,
        gapless(blade.width).ctypes,
        gapless(blade.chord).ctypes,
        gapless(blade.twist).ctypes,
        gapless(blade.axis_lead).ctypes,
        gapless(sections.zero_lift_angle).ctypes,
        gapless(sections.lift_slope).ctypes,
        gapless(sections.lift_max).ctypes,
        gapless(sections.lift_min).ctypes,
        gapless(sections.lift_growth).ctypes,
        gapless(sections.rounding).ctypes,
        gapless(sections.suction_lost).ctypes,
        gapless(sections.stall_width).ctypes,
        gapless(sections.drag_min).ctypes,
        gapless(sections.drag_lift).ctypes,
        gapless(sections.drag_rise).ctypes,
        gapless(sections.moment).ctypes,
        gapless(sections.reynolds_reference).ctypes,
        gapless(sections.drag_exponent_low).ctypes,
        gapless(sections.drag_exponent_high).ctypes,
        gapless(sections.plate_drag).ctypes,
        gapless(sections.mach_limit).ctypes,
        gapless(sections.mach_critical).ctypes,
        gapless(sections.stall_delay).ctypes,
        gapless(sections.zero_lift_loss).ctypes,
        gapless(sections.slope_share).ctypes,
        gapless(blade.lanes).ctypes,
        gapless(polar.lines).ctypes,
        gapless(polar.pieces).ctypes,
        len(blade.radius),
        len(blade.lanes),
        polar.pieces.shape[0],
        polar.pieces.shape[1],
        blade.blades,
        blade.tip_radius,
        blade.hub_radius,
        blade.hub_loss,
        blade.tip_loss,
        blade.datum,
        blade_angle,
        rotor_speed,
        airspeed,
        air.temperature,
        air.pressure,
        air.density,
        air.speed_of_sound,
        air.viscosity,
    )
    return RotorLoads(
        values[0],
        values[1],
        values[2],
        values[3],
        values[4],
        values[5],
        values[6],
        values[7],
        values[8],
    )


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
