"""All elements of a blade in step: attached flow, in loops that the processor's vector units take.

The same equations as in `element.py` and `sections.py`, which stay the readable reference and the way for
elements that are not attached, or whose disc slows the air so much that momentum theory fails: there the
residual can have several roots, and which one is found hangs on the steps. Attached and short of that, secant
steps without a bracket find what the bracketed search finds. A lane that does not arrive is left to the
reference.

A vector loop must hold no branch and no call, must read and write one flat workspace whose rows lie a fixed
number of floats apart, and no value may outlive it: so each loop is a kernel of its own, and choices are made
after both sides are computed.
"""

from math import pi
from typing import Any

import numpy as np
from numba import types
from numpy.typing import NDArray

from simengine.compiled import (
    POINTER,
    array_at,
    compiled_once,
    kernel,
    square_root,
    vector_kernel,
    vector_part,
)
from simengine.models.atmosphere import Air
from simengine.models.element import HEAVY, LOSS_FLOOR, SLOWEST_TURN, STEP_PRODUCT, SWIRL_FLOOR
from simengine.models.lane_table import (
    ACROSS,
    ANGLE,
    BARE_DRAG,
    BARE_MAX,
    BARE_MIN,
    BARE_MOMENT,
    BARE_RISE,
    BARE_SLOPE,
    BARE_ZERO,
    CHORD,
    DELAY,
    DRAG_LIFT,
    DRAG_MIN,
    DRAG_RISE,
    EXCESS,
    EXPONENT_HIGH,
    EXPONENT_LOW,
    GAIN,
    GROWTH,
    HIGH,
    HUB_FACTOR,
    KNOWN,
    LANES,
    LIFT_MAX,
    LIFT_MIN,
    LOG_REFERENCE,
    LOW,
    MACH_CRITICAL,
    MACH_LIMIT,
    MOMENT,
    NORMAL,
    PHI,
    RADIUS,
    REYNOLDS,
    ROUNDING,
    SHAPE,
    SLOPE,
    SLOPE_SHARE,
    SOLIDITY,
    SPEED,
    STATE,
    STEP,
    SUCTION,
    TABLE_SIZE,
    TANGENTIAL,
    TIP_FACTOR,
    TURNING,
    TWIST,
    VALUE,
    WORK_SIZE,
    ZERO_LIFT,
    ZERO_LOSS,
)
from simengine.models.sections import (
    DELAY_START,
    HIGHEST_REYNOLDS,
    KNEE,
    KORN_LIFT,
    LOCK_FACTOR,
    LOG_TEN,
    LOWEST_REYNOLDS,
)
from simengine.models.vector_math import arc_cosine, exponential, logarithm, sine

Array = NDArray[np.float64]

MOST_STEPS = 9  # secant steps before a lane is left to the reference
NO_LOSS = 37.0  # exponent beyond which an end of the blade is not felt
ACTIVE, SOLVED, GIVEN_UP = 0.0, 1.0, 2.0


@vector_part
def lane_end_loss(factor: float, sine_phi: float) -> float:
    """`end_loss` of the reference [1] for a `factor` of zero or more [1]; `sine_phi` above zero [1]."""
    exponent = factor / sine_phi
    exponent = exponent if exponent < NO_LOSS else NO_LOSS
    return arc_cosine(exponential(-exponent)) * (2.0 / pi)


@vector_part
def lane_loss(work: Array, j: int, s: float) -> float:
    """`prandtl_loss` [1] in lane `j` of `work`, shape (WORK_SIZE,), at the sine `s` of an angle [1]."""
    size = abs(s)
    size = size if size > 1.0e-12 else 1.0e-12
    loss = lane_end_loss(work[TIP_FACTOR + j], size) * lane_end_loss(work[HUB_FACTOR + j], size)
    return loss if loss > LOSS_FLOOR else LOSS_FLOOR


@vector_part
def lane_coefficients(work: Array, j: int, incidence: float) -> tuple[float, float]:
    """Lift and drag of attached flow [1] in lane `j`; `incidence` from the zero-lift angle [rad].

    `work` of shape (WORK_SIZE,), as `set_out` leaves it.
    """
    line, rounding = work[SLOPE + j] * incidence, work[ROUNDING + j]
    above = line - (work[LIFT_MAX + j] - rounding)
    below = line - (work[LIFT_MIN + j] + rounding)
    above = above if above > 0.0 else 0.0
    below = below if below < 0.0 else 0.0
    lost = (above * above - below * below) * 0.25 / rounding
    cl = line - lost
    off = cl - work[DRAG_LIFT + j]
    excess = work[EXCESS + j] + KORN_LIFT * abs(cl)
    excess = excess if excess > 0.0 else 0.0
    square = excess * excess
    cd = work[DRAG_MIN + j] + work[DRAG_RISE + j] * off * off + LOCK_FACTOR * square * square
    cd += work[SUCTION + j] * lost * sine(incidence)
    lost = lost if lost > 0.0 else 0.0
    return cl + work[DELAY + j] * lost, cd


@vector_part
def lane_load(through: float, advance: float, loss: float) -> float:
    """`axial_load` [m2/s2] for an air speed of zero or more; arguments as for `axial_load`."""
    slowed = advance - through
    free = 4.0 * loss * through * slowed
    heavy = (
        8.0 / 9.0 * advance * advance
        + (4.0 * loss - 40.0 / 9.0) * slowed * advance
        + (50.0 / 9.0 - 4.0 * loss) * slowed * slowed
    )
    held = 2.0 * advance * advance
    back = -free if -free > held else held
    beyond = heavy if through >= 0.0 else back
    return free if through >= HEAVY * advance else beyond


@vector_kernel
def set_out(
    table: Array, work: Array, angle: float, rotor_speed: float, airspeed: float, viscous: float, sound: float
) -> None:
    """Copy the table and work out the sections at their Reynolds and Mach numbers.

    `table` of shape (TABLE_SIZE,), `work` of shape (WORK_SIZE,), written; blade angle of the chord `angle`
    [rad], `rotor_speed` [rad/s], `airspeed` [m/s], `viscous` density over viscosity [s/m2], speed of `sound`
    [m/s].
    """
    for k in range(SHAPE):
        work[k] = table[k]
    least = SLOWEST_TURN * abs(airspeed)
    for j in range(LANES):
        turning = rotor_speed * work[RADIUS + j]
        turning = turning if turning > least else least
        speed = square_root(turning * turning + airspeed * airspeed)
        reynolds = viscous * speed * work[CHORD + j]
        held = reynolds if reynolds > LOWEST_REYNOLDS else LOWEST_REYNOLDS
        held = held if held < HIGHEST_REYNOLDS else HIGHEST_REYNOLDS
        decades = logarithm(held * (1.0 / LOWEST_REYNOLDS)) * (1.0 / LOG_TEN) - work[LOG_REFERENCE + j]
        bend = decades + KNEE
        bend = bend if bend > 0.0 else 0.0
        bend = bend * bend * (0.25 / KNEE)
        above = decades if decades >= KNEE else bend
        below = above - decades
        drag_factor = exponential(
            LOG_TEN * (work[EXPONENT_LOW + j] * below - work[EXPONENT_HIGH + j] * above)
        )
        growth = work[GROWTH + j] * above
        mach, limit = speed / sound, work[MACH_LIMIT + j]
        counted = mach if mach < limit else limit
        compression = 1.0 / square_root(1.0 - counted * counted)
        rounding = work[ROUNDING + j]
        top, bottom = work[BARE_MAX + j] + growth, work[BARE_MIN + j] - growth
        work[TURNING + j] = turning
        work[REYNOLDS + j] = reynolds
        work[ANGLE + j] = angle + work[TWIST + j]
        work[ZERO_LIFT + j] = work[BARE_ZERO + j] + work[ZERO_LOSS + j] * below
        work[SLOPE + j] = work[BARE_SLOPE + j] * (compression * work[SLOPE_SHARE + j])
        work[LIFT_MAX + j] = top if top > rounding else rounding
        work[LIFT_MIN + j] = bottom if bottom < -rounding else -rounding
        work[DRAG_MIN + j] = work[BARE_DRAG + j] * drag_factor
        work[DRAG_RISE + j] = work[BARE_RISE + j] * drag_factor
        work[MOMENT + j] = work[BARE_MOMENT + j] * compression
        work[EXCESS + j] = mach - work[MACH_CRITICAL + j]


@vector_kernel
def first_guess(work: Array, airspeed: float) -> None:
    """Attached range of every lane, and where to begin: `linear_guess`; arguments as for `set_out`."""
    for j in range(LANES):
        slope, turning = work[SLOPE + j], work[TURNING + j]
        incidence = work[ANGLE + j] - work[ZERO_LIFT + j]
        low = incidence - (work[LIFT_MAX + j] + work[ROUNDING + j]) / slope
        high = incidence - (work[LIFT_MIN + j] - work[ROUNDING + j]) / slope
        low = low if low > -0.5 * pi else -0.5 * pi
        high = high if high < 0.5 * pi else 0.5 * pi
        ratio, lift = airspeed / turning, work[SOLIDITY + j] * slope
        half = 0.125 * (4.0 * ratio - lift)
        square = half * half + 0.25 * lift * incidence
        square = square if square > 0.0 else 0.0
        loss = lane_loss(work, j, half + square_root(square))
        lift = lift / loss
        half = 0.125 * (4.0 * ratio - lift)
        square = half * half + 0.25 * lift * incidence
        square = square if square > 0.0 else 0.0
        phi = half + square_root(square)
        steep = 8.0 * abs(phi) + lift - 4.0 * ratio
        steep = turning * loss * abs(phi) * (steep if steep > lift else lift)
        flat = SWIRL_FLOOR * turning * lift
        phi = phi if phi > low else low
        work[LOW + j] = low
        work[HIGH + j] = high
        work[PHI + j] = phi if phi < high else high
        work[VALUE + j] = 0.0
        work[GAIN + j] = -1.0 / (steep if steep > flat else flat)
        work[STATE + j] = ACTIVE


@vector_kernel
def guess_again(work: Array) -> None:
    """Attached range of every lane of a `work` space, shape (WORK_SIZE,).

    Begins at the angle found before, with the slope found there.
    """
    for j in range(LANES):
        slope, phi = work[SLOPE + j], work[PHI + j]
        incidence = work[ANGLE + j] - work[ZERO_LIFT + j]
        low = incidence - (work[LIFT_MAX + j] + work[ROUNDING + j]) / slope
        high = incidence - (work[LIFT_MIN + j] - work[ROUNDING + j]) / slope
        low = low if low > -0.5 * pi else -0.5 * pi
        high = high if high < 0.5 * pi else 0.5 * pi
        phi = phi if phi > low else low
        work[LOW + j] = low
        work[HIGH + j] = high
        work[PHI + j] = phi if phi < high else high
        work[STATE + j] = ACTIVE


@vector_part
def lane_residual(work: Array, j: int, phi: float, mirror: float, airspeed: float) -> float:
    """`residual` of the reference [m/s] at an inflow angle `phi` [rad] within lane `j`'s attached range.

    `work` of shape (WORK_SIZE,); `mirror` is the sign of the `airspeed`, +1 or -1 [1], that in [m/s].
    """
    s = sine(phi)
    c = square_root(1.0 - s * s)
    cl, cd = lane_coefficients(work, j, work[ANGLE + j] - phi - work[ZERO_LIFT + j])
    loss, solidity = lane_loss(work, j, s), work[SOLIDITY + j]
    m = square_root(s * s + SWIRL_FLOOR * SWIRL_FLOOR)
    carried = 4.0 * loss * m * c + solidity * (cl * s + cd * c)
    carried = carried if carried > 0.0 else 0.0
    turn = m * work[TURNING + j]
    load = lane_load(mirror * 4.0 * loss * turn * s, mirror * airspeed * carried, loss)
    return float(-turn * solidity * (cl * c - cd * s) - mirror * load / (16.0 * loss * loss * turn))


@vector_kernel
def first_look(work: Array, mirror: float, airspeed: float) -> None:
    """Residual at the first guess, and the step that its slope asks for; arguments as for `lane_residual`."""
    for j in range(LANES):
        value = lane_residual(work, j, work[PHI + j], mirror, airspeed)
        work[VALUE + j] = value
        work[STEP + j] = value * work[GAIN + j]


@vector_kernel
def secant_step(work: Array, mirror: float, airspeed: float) -> None:
    """One secant step of every active lane, held inside its range; arguments as for `lane_residual`."""
    for j in range(LANES):
        phi, value, state = work[PHI + j], work[VALUE + j], work[STATE + j]
        low, high = work[LOW + j], work[HIGH + j]
        x = phi + work[STEP + j]
        x = x if x > low else low
        x = x if x < high else high
        found = lane_residual(work, j, x, mirror, airspeed)
        moved = x - phi
        gain = moved / (value - found)
        step = gain * found
        landed = x + step
        arrived = (abs(step * moved) < STEP_PRODUCT) & (landed > low) & (landed < high)
        stuck = moved == 0.0
        # A step too small to move the angle asks for none; one that a bound undoes does not arrive.
        exact = (found == 0.0) | (stuck & (x > low) & (x < high))
        end = landed if arrived else x
        outcome = SOLVED if arrived | exact else ACTIVE
        outcome = GIVEN_UP if stuck & (not exact) else outcome
        active = state == ACTIVE
        work[PHI + j] = end if active else phi
        work[VALUE + j] = found if active else value
        work[GAIN + j] = gain if active & (not stuck) else work[GAIN + j]
        work[STEP + j] = step
        work[STATE + j] = outcome if active else state


@vector_kernel
def tail(work: Array, mirror: float, airspeed: float) -> None:
    """Force coefficients and speed at the inflow angles found, where momentum theory holds there.

    Lanes where it does not are given up; arguments as for `lane_residual`.
    """
    least = HEAVY * mirror * airspeed
    for j in range(LANES):
        phi, state = work[PHI + j], work[STATE + j]
        s = sine(phi)
        c = square_root(1.0 - s * s)
        alpha = work[ANGLE + j] - phi
        cl, cd = lane_coefficients(work, j, alpha - work[ZERO_LIFT + j])
        loss = lane_loss(work, j, s)
        m = square_root(s * s + SWIRL_FLOOR * SWIRL_FLOOR)
        tangential = cl * s + cd * c
        carried = 4.0 * loss * m * c + work[SOLIDITY + j] * tangential
        sine_alpha = sine(alpha)
        delayed = (alpha < DELAY_START) | (work[DELAY + j] == 0.0)
        speed = 4.0 * loss * m * work[TURNING + j] / carried
        usable = (carried > 0.0) & delayed & (abs(alpha) < 0.5 * pi) & (mirror * speed * s >= least)
        work[STATE + j] = state if usable else GIVEN_UP
        work[NORMAL + j] = cl * c - cd * s
        work[TANGENTIAL + j] = tangential
        work[SPEED + j] = speed
        work[ACROSS + j] = cl * square_root(1.0 - sine_alpha * sine_alpha) + cd * sine_alpha


@compiled_once("solve_lanes", types.void(POINTER, POINTER, *[types.float64] * 5))
def solve_lanes_once(
    table: Any, work: Any, angle: float, rotor_speed: float, airspeed: float, viscous: float, sound: float
) -> None:
    """`solve_lanes` behind a C call: addresses of `table` and `work`; other arguments as for `set_out`."""
    rows, space = array_at(table, (TABLE_SIZE,)), array_at(work, (WORK_SIZE,))
    set_out(rows, space, angle, rotor_speed, airspeed, viscous, sound)
    mirror = 1.0 if airspeed >= 0.0 else -1.0
    # A solution to begin from saves steps. Where it does not lead to one in every lane it is forgotten.
    again = space[KNOWN] == 1.0
    space[KNOWN] = 0.0
    while space[KNOWN] == 0.0:
        if again:
            guess_again(space)
        else:
            first_guess(space, airspeed)
        first_look(space, mirror, airspeed)
        for _ in range(MOST_STEPS):
            secant_step(space, mirror, airspeed)
            active = 0  # whole numbers, which the vector units may count in any order
            for j in range(LANES):
                active += 1 if space[STATE + j] == ACTIVE else 0
            if active == 0:
                break
        tail(space, mirror, airspeed)
        solved = 0
        for j in range(LANES):
            solved += 1 if space[STATE + j] == SOLVED else 0
        space[KNOWN] = 1.0 if solved == LANES else 0.0
        if not again:
            break
        again = False


@kernel
def solve_lanes(
    table: Array, work: Array, angle: float, rotor_speed: float, airspeed: float, air: Air
) -> None:
    """Fill the workspace of one turn; lanes whose `STATE` is not `SOLVED` are for the reference.

    A workspace whose `KNOWN` is 1 holds the solution of a point near by, which is where the search begins;
    any other holds nothing, its `KNOWN` is 0.

    Parameters
    ----------
    table : one row of `lane_table`, shape (TABLE_SIZE,)
    work : shape (WORK_SIZE,), `KNOWN` 0 or 1, overwritten
    angle : blade angle of the chord at the reference station [rad]
    rotor_speed, airspeed : [rad/s], [m/s], not both zero
    air : the air at the disc
    """
    viscous = air.density / air.viscosity
    solve_lanes_once(table.ctypes, work.ctypes, angle, rotor_speed, airspeed, viscous, air.speed_of_sound)
