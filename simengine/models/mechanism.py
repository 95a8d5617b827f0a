"""The pitch hub: what pushes one blade about its pitch axis, and by how much.

Sign: positive moments push toward COARSE. Every moment is that of one blade. `travel` is the angle
from the coarse stop toward fine, zero or positive.
"""

from math import cos, sin
from typing import NamedTuple

from simengine.compiled import kernel_part
from simengine.constants import DEGREE
from simengine.models.inertia import BladeInertia, blade_pull, centrifugal_moment

FIXED, TWO_STOP, SELECTED, GOVERNED = range(4)

# A blade counts as being on a stop within this angle of it: far below what a light or an eye can tell,
# and small enough that the rpm of a shift is read within about 1 rpm of the first movement.
CONTACT_BAND = 0.002 * DEGREE
# The lever takes up a spring over this angle at the end of the lost motion (elastic contact, estimate).
PICK_UP_ANGLE = 0.05 * DEGREE


class Spring(NamedTuple):
    """Spring of one hub by its force against compression, `F = c1 x + c2 x2 + c3 x3`.

    Attributes
    ----------
    linear, quadratic, cubic : float
        Coefficients [N/m, N/m2, N/m3]; about the pitch axis [N m/rad, ...] where `lever_arm` is zero.
    preload : float
        Compression on the coarse stop, washers included [m], or wind-up [rad].
    lever_arm, lever_angle : float
        Lever [m] and its angle from the perpendicular to the spring's line where it meets the spring: on the
        coarse stop, or after the lost motion [rad]; a zero arm stands for a spring wound about the pitch
        axis.
    share : float
        Part of the spring's moment that one blade gets [1]: 1, or 1/blades for a shared spring.
    friction_share : float
        Friction inside the spring as a part of its moment (faces of a disc-washer stack) [1].
    """

    linear: float
    quadratic: float
    cubic: float
    preload: float
    lever_arm: float
    lever_angle: float
    share: float
    friction_share: float


class Hub(NamedTuple):
    """Pitch hub. Angles at the reference station [rad]; moments and inertia of one blade.

    Attributes
    ----------
    kind : int
        FIXED, TWO_STOP, SELECTED or GOVERNED.
    coarse_stop, fine_stop : float
        Stops [rad]; equal for a fixed hub.
    spring : Spring
        Holds the blades coarse.
    lost_motion : float
        Travel from the coarse stop before the lever meets the spring [rad].
    friction_constant : float
        Dry friction that does not depend on rotor speed [N m].
    friction_arm : float
        Bearing coefficient times mean bearing radius [m]: friction moment for each newton of pull.
    breakaway : float
        Friction at rest over friction in motion [1].
    counterweight_sin2, counterweight_cos2 : float
        Coefficients of the counterweights' moment [kg m2].
    pitch_inertia : float
        Blade, root and counterweights about the pitch axis [kg m2].
    damping : float
        Viscous damping of bearing and grease [N m s/rad].
    stop_radius : float
        Distance of the stop's contact from the pitch axis [m].
    pitch_rate : float
        Fastest movement of a driven hub (SELECTED, GOVERNED) [rad/s].
    governed_speed : float
        Rotor speed held by a GOVERNED hub [rad/s].
    """

    kind: int
    coarse_stop: float
    fine_stop: float
    spring: Spring
    lost_motion: float
    friction_constant: float
    friction_arm: float
    breakaway: float
    counterweight_sin2: float
    counterweight_cos2: float
    pitch_inertia: float
    damping: float
    stop_radius: float
    pitch_rate: float
    governed_speed: float


class PitchMoments(NamedTuple):
    """Moment budget of one blade: `spring`, `centrifugal`, `counterweight` and `air` [N m], toward coarse.

    `friction` is a limit [N m], zero or positive, not signed.
    """

    spring: float
    centrifugal: float
    counterweight: float
    air: float
    friction: float


NO_SPRING = Spring(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0)


@kernel_part
def spring_compression(spring: Spring, travel: float) -> float:
    """Compression [m] (wind-up [rad] without a lever) after a travel from the coarse stop [rad]."""
    if spring.lever_arm == 0.0:
        return spring.preload + travel
    swing = sin(spring.lever_angle) - sin(spring.lever_angle - travel)
    return spring.preload + spring.lever_arm * swing


@kernel_part
def spring_force(spring: Spring, compression: float) -> float:
    """Force [N] (moment [N m] without a lever) of the whole spring at a `compression` [m] (wind-up [rad]).

    A spring never pulls.
    """
    force = compression * (spring.linear + compression * (spring.quadratic + compression * spring.cubic))
    return max(force, 0.0) if compression > 0.0 else 0.0


@kernel_part
def spring_moment(hub: Hub, blade_angle: float) -> float:
    """Moment of the spring on one blade [N m], never negative, at a blade angle [rad].

    While the blade moves through the lost motion the spring rests on its own seat and gives nothing; over the
    last `PICK_UP_ANGLE` of it the lever takes the preload up. Lever arm times force: own derivation.
    """
    spring = hub.spring
    travel = hub.coarse_stop - blade_angle - hub.lost_motion
    taken_up = 1.0
    if hub.lost_motion > 0.0 and travel < 0.0:
        part = max(0.0, 1.0 + travel / min(PICK_UP_ANGLE, hub.lost_motion))
        taken_up = part * part * (3.0 - 2.0 * part)
        travel = 0.0
    force = spring_force(spring, spring_compression(spring, travel))
    arm = 1.0 if spring.lever_arm == 0.0 else spring.lever_arm * cos(spring.lever_angle - travel)
    return taken_up * spring.share * force * arm


@kernel_part
def coarse_edge(hub: Hub) -> float:
    """Blade angle at which the blade leaves coarse: the stop, or the end of the lost motion [rad]."""
    return hub.coarse_stop - hub.lost_motion


@kernel_part
def past_coarse_contact(hub: Hub, blade_angle: float) -> float:
    """How far a blade angle [rad] is on the coarse side of where the coarse contact opens [rad]."""
    return blade_angle - (coarse_edge(hub) - CONTACT_BAND)


@kernel_part
def past_fine_contact(hub: Hub, blade_angle: float) -> float:
    """How far a blade angle [rad] is on the fine side of where the fine contact opens [rad]."""
    return hub.fine_stop + CONTACT_BAND - blade_angle


@kernel_part
def counterweight_moment(hub: Hub, blade_angle: float, rotor_speed: float) -> float:
    """Moment of the counterweights on one blade [N m], `-m (Omega a)2 sin(b + q) cos(b + q)` summed.

    At a blade angle b [rad] and a rotor speed [rad/s]; toward coarse.
    """
    return -(rotor_speed**2) * (
        hub.counterweight_sin2 * sin(2.0 * blade_angle) + hub.counterweight_cos2 * cos(2.0 * blade_angle)
    )


@kernel_part
def friction_moment(hub: Hub, inertia: BladeInertia, spring: float, rotor_speed: float) -> float:
    """Largest dry friction of a moving blade [N m], zero or positive: constant, blade pull and spring faces.

    `spring` is the spring's moment on the blade [N m]; at a rotor speed [rad/s].
    """
    pull = blade_pull(inertia, rotor_speed)
    return hub.friction_constant + hub.friction_arm * pull + hub.spring.friction_share * spring


@kernel_part
def pitch_moments(
    hub: Hub, inertia: BladeInertia, blade_angle: float, rotor_speed: float, air_moment: float
) -> PitchMoments:
    """Moment budget of one blade at a blade angle [rad] and rotor speed [rad/s].

    `air_moment` comes from the blade elements [N m]. The reaction of a stop is not in the budget: it is
    whatever the rest leaves, and only ever pushes the blade off the stop.
    """
    spring = spring_moment(hub, blade_angle)
    return PitchMoments(
        spring,
        centrifugal_moment(inertia, blade_angle, rotor_speed),
        counterweight_moment(hub, blade_angle, rotor_speed),
        air_moment,
        friction_moment(hub, inertia, spring, rotor_speed),
    )


@kernel_part
def net_moment(moments: PitchMoments) -> float:
    """Sum of the driving moments, friction and stops left out [N m], positive toward coarse."""
    return moments.spring + moments.centrifugal + moments.counterweight + moments.air


@kernel_part
def stop_reaction(hub: Hub, blade_angle: float, net: float) -> float:
    """Moment by which a stop pushes the blade [N m]: negative on the coarse stop, positive on the fine.

    At a blade angle [rad] and `net` driving moment, toward coarse [N m]. Friction of a resting blade is not
    determined between its limits; the reaction given is the one with no help from friction, the largest that
    the stop may have to carry.
    """
    if blade_angle >= hub.coarse_stop and net > 0.0:
        return -net
    if blade_angle <= hub.fine_stop and net < 0.0:
        return -net
    return 0.0
