"""One blade element in momentum balance with the air, at rest, in flight, in descent and windmilling.

The element is solved for its inflow angle `phi`. With `s = sin(phi)`, `c = cos(phi)`, solidity
`sigma = B chord / (2 pi r)`, Prandtl's loss `F`, `cn = cl c - cd s`, `ct = cl s + cd c` and the speed `W` at
the element, air through the disc `u = W s` and swirl `v = Omega r - W c`:

    axial        sigma cn W^2 = -H(u, V)      H = 4 F u (V - u) in the propeller and light windmill state
    tangential   sigma ct W^2 = 4 F m W v     m = |s|, kept above a small floor

The tangential law gives `W = 4 F m Omega r / B`, `B = 4 F m c + sigma ct`; put into the axial law it leaves a
function of `phi` alone without any singularity. For chords below 90 deg it is negative at -90 deg and
positive at +90 deg, so a root lies between. H is of second degree and needs no division by `V`: rest is an
ordinary point.

Where the disc slows the air by more than 0.4 V momentum theory fails and H follows M. L. Buhl,
NREL/TP-500-36834 (2005); when air begins to flow back through the disc the load holds until
momentum theory for reversed flow asks for more.

The bracketed-angle idea: A. Ning, Wind Energy 17 (2014) 1327-1345, doi 10.1002/we.1636.
"""

from math import acos, exp, pi, sin, sqrt
from typing import NamedTuple

from simengine.compiled import kernel, kernel_part, linked_part
from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.sections import Section, SectionCoefficients, coefficients, section_at

STEP_PRODUCT = 1.0e-12  # rad2, of the last two secant steps
BRACKET_TOLERANCE = 1.0e-13  # rad
PATIENCE = 8  # secant steps before the bracket is halved now and then
MOST_ITERATIONS = 200
RIGHT_ANGLE = 0.5 * pi
# Sine of the inflow angle below which swirl gets no less air to carry it: without through-flow momentum
# theory would turn the air with the blade. At an inflow angle of 9 deg it takes 2e-5 off the swirl.
SWIRL_FLOOR = 0.001
SLOWEST_TURN = 1.0e-3  # an element is taken to turn at least at this share of the air speed
LOSS_FLOOR = 1.0e-4  # least loss factor
HEAVY = 0.6  # air through the disc over air speed below which Buhl's relation holds


class Element(NamedTuple):
    """One element at its operating point.

    Attributes
    ----------
    turning : float
        Omega r, positive [m/s].
    advance : float
        Air speed along the axis before induction, positive from ahead [m/s].
    angle : float
        Chord line against the plane of rotation [rad].
    solidity : float
        `B chord / (2 pi r)` [1].
    tip_factor, hub_factor : float
        `factor` of `end_loss` at either end, below zero for no loss [1].
    section : Section
        At the element's Reynolds and Mach number.
    """

    turning: float
    advance: float
    angle: float
    solidity: float
    tip_factor: float
    hub_factor: float
    section: Section


class ElementSolution(NamedTuple):
    """Flow and force coefficients at one element.

    Attributes
    ----------
    inflow_angle, attack_angle : float
        [rad].
    loss : float
        Prandtl's factor [1].
    lift, drag, moment : float
        Coefficients; moment about the quarter chord, nose up positive [1].
    normal, tangential : float
        Coefficients along the thrust and against the rotation [1].
    speed : float
        Air speed at the element [m/s].
    through, swirl : float
        Air speed through the disc, and turned with the blade [m/s].
    stalled : float
        1 beyond the greatest lift on either side, else 0 [1].
    solved : float
        1 where the inflow angle is a root, else 0 [1].
    """

    inflow_angle: float
    attack_angle: float
    loss: float
    lift: float
    drag: float
    moment: float
    normal: float
    tangential: float
    speed: float
    through: float
    swirl: float
    stalled: float
    solved: float


@kernel
def end_loss(factor: float, sine: float) -> float:
    """Prandtl's loss at one end of the blade [1], `2/pi acos(exp(-factor/sine))`.

    `factor` is (B/2) distance / radius [1], the radius that of the element for the tip and that of the hub
    for the hub; below zero stands for no loss. `sine` of the inflow angle, zero or positive [1]. Far from the
    end the arc cosine is its own series, equal to rounding and quicker.
    """
    exponent = factor / max(sine, 1.0e-12)
    if factor < 0.0 or exponent > 37.0:
        return 1.0
    root = exp(-exponent)
    if exponent > 8.0:
        return 1.0 - 2.0 / pi * (root + root * root * root / 6.0)
    return 2.0 / pi * acos(root)


@kernel
def prandtl_loss(element: Element, sine: float) -> float:
    """Loss factor of both ends [1], at least `LOSS_FLOOR`; `sine` of the inflow angle, not negative [1]."""
    return max(end_loss(element.tip_factor, sine) * end_loss(element.hub_factor, sine), LOSS_FLOOR)


@kernel_part
def axial_load(through: float, advance: float, loss: float) -> float:
    """H(u, V): minus thrust over 0.5 rho and annulus area [m2/s2], for any signs of both speeds.

    `through` is u, `advance` V [m/s], `loss` F [1]. Momentum theory; M. L. Buhl, NREL/TP-500-36834 (2005),
    where it fails. A stream from behind is the mirror image of one from ahead.
    """
    mirror = 1.0 if advance >= 0.0 else -1.0
    u, v = mirror * through, mirror * advance
    if u >= HEAVY * v:
        return mirror * 4.0 * loss * u * (v - u)
    slowed = v - u
    if u >= 0.0:
        return mirror * (
            8.0 / 9.0 * v * v
            + (4.0 * loss - 40.0 / 9.0) * slowed * v
            + (50.0 / 9.0 - 4.0 * loss) * slowed * slowed
        )
    return mirror * max(2.0 * v * v, -4.0 * loss * u * slowed)


@kernel
def residual(element: Element, phi: float) -> float:
    """Axial law with the speed of the tangential law put in [m/s], a function of the inflow angle alone.

    It rises with the angle `phi` [rad], within +-90 deg, near its root; both laws stand in the head of this
    file.
    """
    s = sin(phi)
    c = sqrt(1.0 - s * s)
    air = coefficients(element.section, element.angle - phi)
    loss = prandtl_loss(element, abs(s))
    m = sqrt(s * s + SWIRL_FLOOR * SWIRL_FLOOR)
    normal = element.solidity * (air.cl * c - air.cd * s)
    # Below zero the air would have to meet the blade from behind: held there the residual keeps its sign.
    carried = max(4.0 * loss * m * c + element.solidity * (air.cl * s + air.cd * c), 0.0)
    turn = m * element.turning
    load = axial_load(4.0 * loss * turn * s, element.advance * carried, loss)
    return -turn * normal - load / (16.0 * loss * loss * turn)


@kernel
def root_between(
    element: Element, phi: float, f: float, step: float, low: float, high: float, known: bool
) -> tuple[float, float, bool]:
    """Root of the residual, which rises, between two angles.

    Secant steps from `phi`, where the residual is `f`, the first of them given; whatever leaves the bracket
    or comes late is replaced by halving it. The error of a secant step is about the product of the last two
    steps, so the last one needs no further look.

    Parameters
    ----------
    element : Element
    phi, low, high : float
        Where to begin, and the bracket [rad].
    f : float
        Residual at `phi` [m/s].
    step : float
        First step to take from `phi` [rad].
    known : bool
        Whether the ends hold a root between them; if not, an end is looked at when a step would pass it.

    Returns
    -------
    tuple
        Root [rad], zero, true; or the end beyond which the root must lie (or where `MOST_ITERATIONS` ended),
        the residual there [m/s], false.
    """
    known_low, known_high = known, known
    for iteration in range(MOST_ITERATIONS):
        if f > 0.0:
            if phi <= low and not known_low:
                return phi, f, False
            high, known_high = phi, True
        else:
            if phi >= high and not known_high:
                return phi, f, False
            low, known_low = phi, True
        if f == 0.0 or high - low < BRACKET_TOLERANCE:
            return phi, 0.0, True
        x = phi + step
        if not low < x < high or (iteration >= PATIENCE and iteration % 3 == 0):
            x = bracket_step(x, low, high, known_low, known_high)
            step = x - phi
            last = 1.0
        else:
            if iteration > 0 and abs(step * last) < STEP_PRODUCT:
                return x, 0.0, True
            last = step
        f_before = f
        phi, f = x, residual(element, x)
        step *= f / (f_before - f)
    return phi, f, False


@kernel_part
def bracket_step(x: float, low: float, high: float, known_low: bool, known_high: bool) -> float:
    """Next angle [rad] to look at in place of `x` [rad]: an end that is not known yet, or the middle.

    `low` and `high` are the ends [rad], `known_low` and `known_high` say whether they are known.
    """
    if x <= low and not known_low:
        return low
    if x >= high and not known_high:
        return high
    return 0.5 * (low + high)


@kernel_part
def inflow_angle(element: Element) -> tuple[float, bool]:
    """Inflow angle of an element [rad] and whether it is a root.

    Attached flow is looked at first; where it holds no root, the stalling range next to it, then the
    rest on that side. So an attached root is always taken before a stalled one: the state that a blade
    reaches coming from light load. None may exist where the chord at a root section stands beyond 90 deg.
    """
    section, angle = element.section, element.angle
    low, high = held_angle(angle - section.stall_above), held_angle(angle - section.stall_below)
    guess, slope = linear_guess(element)
    guess = min(max(guess, low), high)
    f = residual(element, guess)
    phi, f, found = root_between(element, guess, f, -f / slope, low, high, False)
    if found:
        return phi, True
    side = -1.0 if f > 0.0 else 1.0
    return stalled_angle(element, phi, f, held_angle(phi + side * section.stall_width), side)


@kernel_part
def linear_guess(element: Element) -> tuple[float, float]:
    """Inflow angle [rad] for small angles and a straight lift line, and the residual's slope there [m/s].

    `4 F phi (phi - V/(Omega r)) = sigma a (angle - zero lift - phi)`, Glauert's quadratic, with the loss at
    its own root for F = 1.
    """
    turning, ratio = element.turning, element.advance / element.turning
    lift = element.solidity * element.section.lift_slope
    incidence = element.angle - element.section.zero_lift_angle
    phi = quadratic_angle(ratio, lift, incidence)
    loss = prandtl_loss(element, abs(phi))
    lift /= loss
    phi = quadratic_angle(ratio, lift, incidence)
    slope = turning * loss * abs(phi) * max(8.0 * abs(phi) + lift - 4.0 * ratio, lift)
    return phi, max(slope, SWIRL_FLOOR * turning * lift)


@kernel_part
def quadratic_angle(ratio: float, lift: float, incidence: float) -> float:
    """Greater root [rad] of `4 phi (phi - ratio) = lift (incidence - phi)`; the vertex where there is none.

    `ratio` of air speed over turning speed [1], `lift` solidity times slope over loss [1], `incidence` [rad].
    """
    half = 0.125 * (4.0 * ratio - lift)
    return half + sqrt(max(half * half + 0.25 * lift * incidence, 0.0))


@kernel_part
def held_angle(phi: float) -> float:
    """Inflow angle `phi` cut to +-90 deg [rad]."""
    return min(max(phi, -RIGHT_ANGLE), RIGHT_ANGLE)


@kernel_part
def stalled_angle(
    element: Element, inner: float, f_inner: float, plate: float, side: float
) -> tuple[float, bool]:
    """Root beyond the attached range [rad], and whether there is one.

    Looked for between the range's end `inner` [rad], where the residual is `f_inner` [m/s], and flow over a
    `plate` from the angle of that name on [rad], then from there to 90 deg on the same `side`, +1 or -1 [1].
    """
    for outer in (plate, side * RIGHT_ANGLE):
        f_outer = residual(element, outer)
        if (f_outer > 0.0) != (f_inner > 0.0):
            low, high = min(inner, outer), max(inner, outer)
            step = (outer - inner) * f_inner / (f_inner - f_outer)
            phi, _, found = root_between(element, inner, f_inner, step, low, high, True)
            return phi, found
        inner, f_inner = outer, f_outer
    return inner, False


@kernel_part
def element_at(
    blade: Blade, i: int, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> Element:
    """Element `i` at an operating point; arguments as for `rotor_loads`."""
    radius = blade.radius[i]
    turning = max(rotor_speed * radius, SLOWEST_TURN * abs(airspeed))
    speed = sqrt(turning * turning + airspeed * airspeed)
    half = 0.5 * blade.blades
    return Element(
        turning,
        airspeed,
        blade_angle + blade.datum + blade.twist[i],
        blade.blades * blade.chord[i] / (2.0 * pi * radius),
        half * (blade.tip_radius - radius) / radius if blade.tip_loss > 0.0 else -1.0,
        half * (radius - blade.hub_radius) / blade.hub_radius if blade.hub_loss > 0.0 else -1.0,
        section_at(
            blade.sections,
            i,
            air.density * speed * blade.chord[i] / air.viscosity,
            speed / air.speed_of_sound,
        ),
    )


@kernel_part
def element_flow(element: Element) -> ElementSolution:
    """Solve one element."""
    phi, solved = inflow_angle(element)
    s = sin(phi)
    c = sqrt(1.0 - s * s)
    alpha = element.angle - phi
    air: SectionCoefficients = coefficients(element.section, alpha)
    loss = prandtl_loss(element, abs(s))
    m = sqrt(s * s + SWIRL_FLOOR * SWIRL_FLOOR)
    tangential = air.cl * s + air.cd * c
    carried = 4.0 * loss * m * c + element.solidity * tangential
    if carried > 0.0:
        speed = 4.0 * loss * m * element.turning / carried
    else:
        speed = sqrt(element.turning * element.turning + element.advance * element.advance)
    stalled = alpha > element.section.stall_above or alpha < element.section.stall_below
    return ElementSolution(
        phi,
        alpha,
        loss,
        air.cl,
        air.cd,
        air.cm,
        air.cl * c - air.cd * s,
        tangential,
        speed,
        speed * s,
        element.turning - speed * c,
        1.0 if stalled else 0.0,
        1.0 if solved and carried > 0.0 else 0.0,
    )


@linked_part
def element_solution(
    blade: Blade, i: int, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> ElementSolution:
    """Flow at element `i`; arguments as for `rotor_loads`."""
    return element_flow(element_at(blade, i, blade_angle, rotor_speed, airspeed, air))
