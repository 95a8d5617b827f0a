"""All places where rotor and blade are in balance together: every root, stable or not, and what they mean.

Unknowns are blade angle and rotor speed. Between the stops both the torque left over and the net pitch
moment vanish; on a stop only the torque does, and the moment presses the blade onto it. Friction widens a
root to an interval of rest. Roots are found by looking at every cell of a grid, so that none hides behind
another, and closed in by Newton's method.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from simengine.balance.aircraft import Aircraft, pitch_damping, rotor_state
from simengine.balance.pitch import balance_at
from simengine.balance.rotor import highest_searched_speed
from simengine.compiled import kernel
from simengine.models.atmosphere import Air
from simengine.models.mechanism import PICK_UP_ANGLE, coarse_edge, net_moment

Array = NDArray[np.float64]

ANGLE_CELLS, SPEED_CELLS = 48, 64
LOWEST_SPEED_SHARE = 0.04  # of the top of the search
NEWTON_STEPS = 30
REST_POINTS = 141
PICK_UP_POINTS = 13  # where the lever takes up the spring
ANGLE_INCREMENT, SPEED_INCREMENT = 1e-6, 1e-4  # [rad], [rad/s]


class Place(StrEnum):
    """Where a balance is."""

    COARSE_STOP = "coarse stop"
    BETWEEN = "between the stops"
    FINE_STOP = "fine stop"


@dataclass(frozen=True)
class Equilibrium:
    """One balance of rotor and blade, friction left out.

    Attributes
    ----------
    place : Place
    blade_angle, rotor_speed : float
        [rad], [rad/s].
    net : float
        Driving moment of one blade [N m], positive toward coarse; zero between the stops.
    stable : bool
        Whether a small disturbance dies out.
    growth_rate : float
        Largest real part of the coupled modes [1/s]; negative dies out.
    pitch_frequency : float
        Frequency of the pitch mode [rad/s]; zero if it does not swing.
    per_revolution : float
        That frequency over the rotor speed [1]: near 1 the wake of the pilot drives it.
    """

    place: Place
    blade_angle: float
    rotor_speed: float
    net: float
    stable: bool
    growth_rate: float
    pitch_frequency: float
    per_revolution: float


@dataclass(frozen=True)
class RestInterval:
    """Blade angles at which friction holds the blade, rotor in torque balance [rad], `coarse >= fine`."""

    coarse: float
    fine: float


@kernel
def balance_grid(
    aircraft: Aircraft,
    air: Air,
    angles: Array,
    speeds: Array,
    axial_speed: float,
    throttle: float,
    torque_left: Array,
    net: Array,
) -> None:
    """Write torque left over and net moment at every pairing of `angles` and `speeds`.

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    angles, speeds : shape (n,) [rad] and shape (m,) [rad/s]
    axial_speed : air speed at the disc [m/s]
    throttle : opening, 0 to 1 [1]
    torque_left, net : written, shape (n, m) each [N m]
    """
    for i in range(angles.size):
        for j in range(speeds.size):
            state = rotor_state(aircraft, air, angles[i], speeds[j], axial_speed, throttle)
            torque_left[i, j] = state.drive.rotor_torque - state.loads.torque
            net[i, j] = net_moment(state.moments)


def residuals(
    aircraft: Aircraft, air: Air, angle: float, speed: float, axial_speed: float, throttle: float
) -> Array:
    """Torque left over and net moment toward coarse at one place [N m], shape (2,).

    At a blade `angle` [rad], a rotor `speed` [rad/s], an `axial_speed` at the disc [m/s] and a `throttle`
    [1].
    """
    state = rotor_state(aircraft, air, angle, speed, axial_speed, throttle)
    return np.array([state.drive.rotor_torque - state.loads.torque, net_moment(state.moments)])


def slopes(
    aircraft: Aircraft, air: Air, angle: float, speed: float, axial_speed: float, throttle: float
) -> Array:
    """Derivatives of the residuals with angle and speed, shape (2, 2), by central differences.

    Columns: angle [N m/rad] and speed [N m s/rad]; arguments as for `residuals`.
    """

    def at(da: float, ds: float) -> Array:
        return residuals(aircraft, air, angle + da, speed + ds, axial_speed, throttle)

    with_angle = (at(ANGLE_INCREMENT, 0.0) - at(-ANGLE_INCREMENT, 0.0)) / (2.0 * ANGLE_INCREMENT)
    with_speed = (at(0.0, SPEED_INCREMENT) - at(0.0, -SPEED_INCREMENT)) / (2.0 * SPEED_INCREMENT)
    return np.column_stack([with_angle, with_speed])


def changes_sign(values: Array) -> NDArray[np.bool_]:
    """Cells of a grid whose four corners do not all have one sign, shape (n - 1, m - 1).

    `values` at the corners, shape (n, m), any unit.
    """
    corners = np.stack([values[:-1, :-1], values[1:, :-1], values[:-1, 1:], values[1:, 1:]])
    return np.asarray((corners.min(axis=0) <= 0.0) & (corners.max(axis=0) >= 0.0))


def close_in(
    aircraft: Aircraft, air: Air, angle: float, speed: float, axial_speed: float, throttle: float
) -> tuple[float, float] | None:
    """Blade angle [rad] and rotor speed [rad/s] by Newton's method from inside a cell; None if unsettled.

    Arguments as for `residuals`.
    """
    for _ in range(NEWTON_STEPS):
        left = residuals(aircraft, air, angle, speed, axial_speed, throttle)
        matrix = slopes(aircraft, air, angle, speed, axial_speed, throttle)
        if abs(np.linalg.det(matrix)) < 1e-14:
            return None
        step = np.linalg.solve(matrix, -left)
        angle, speed = angle + float(step[0]), speed + float(step[1])
        if abs(step[0]) < 1e-11 and abs(step[1]) < 1e-8:
            return angle, speed
    return None


def search_axes(aircraft: Aircraft) -> tuple[Array, Array]:
    """The cells' edges: angles from stop to stop [rad], and speeds up to beyond the limit [rad/s].

    Of shape (n,) and shape (m,), with n more than usual where there is lost motion.
    """
    top = highest_searched_speed(aircraft)
    return angles_to_search(aircraft, ANGLE_CELLS + 1), np.linspace(
        LOWEST_SPEED_SHARE * top, top, SPEED_CELLS + 1
    )


def angles_to_search(aircraft: Aircraft, count: int) -> Array:
    """Angles from the fine to the coarse stop, close together where the lever takes up the spring [rad].

    Shape (n,) with n the `count` asked for, or more where there is lost motion.
    """
    hub = aircraft.hub
    angles = np.linspace(hub.fine_stop, hub.coarse_stop, count)
    if hub.lost_motion == 0.0:
        return angles
    edge = coarse_edge(hub)
    taking_up = np.linspace(edge, min(edge + PICK_UP_ANGLE, hub.coarse_stop), PICK_UP_POINTS)
    inside = taking_up[(taking_up > hub.fine_stop) & (taking_up < hub.coarse_stop)]
    return np.unique(np.concatenate([angles, inside]))


def roots_between(
    aircraft: Aircraft, air: Air, axial_speed: float, throttle: float, grids: tuple[Array, Array]
) -> list[tuple[float, float]]:
    """Blade angle [rad] and rotor speed [rad/s] of every balance between the stops, each once.

    `axial_speed` at the disc [m/s], `throttle` [1]; `grids` are torque left and net moment as `balance_grid`
    writes them on `search_axes`, shape (n, m) each [N m].
    """
    angles, speeds = search_axes(aircraft)
    found: list[tuple[float, float]] = []
    for i, j in np.argwhere(changes_sign(grids[0]) & changes_sign(grids[1])):
        middle = 0.5 * (angles[i] + angles[i + 1]), 0.5 * (speeds[j] + speeds[j + 1])
        root = close_in(aircraft, air, *middle, axial_speed, throttle)
        inside = root is not None and angles[0] < root[0] < angles[-1] and root[1] > 0.0
        if root and inside and all(abs(root[0] - a) + abs(root[1] - s) / 100 > 1e-7 for a, s in found):
            found.append(root)
    return found


def roots_on_stop(
    aircraft: Aircraft, air: Air, angle: float, axial_speed: float, throttle: float, torque_left: Array
) -> list[float]:
    """Rotor speeds at which the torque balances on a stop, whose blade `angle` is given [rad] [rad/s].

    `axial_speed` at the disc [m/s], `throttle` [1]; `torque_left` at that angle on the speeds of
    `search_axes`, shape (m,) [N m].
    """
    _, speeds = search_axes(aircraft)
    found = []
    for j in np.flatnonzero(np.signbit(torque_left[:-1]) != np.signbit(torque_left[1:])):
        low, high = speeds[j], speeds[j + 1]
        rising = torque_left[j] < 0.0
        while high - low > 1e-9 * high:
            middle = 0.5 * (low + high)
            left = residuals(aircraft, air, angle, middle, axial_speed, throttle)[0]
            low, high = (middle, high) if (left < 0.0) == rising else (low, middle)
        found.append(0.5 * (low + high))
    return found


def stability(
    aircraft: Aircraft,
    air: Air,
    angle: float,
    speed: float,
    axial_speed: float,
    throttle: float,
    *,
    blade_free: bool,
) -> tuple[float, float]:
    """Growth rate [1/s] and pitch frequency [rad/s] of small disturbances of rotor and blade.

    States rotor speed, blade angle, pitch rate; unless `blade_free` only the first can move. Eigenvalues of
    the equations of motion, linear about a balance (own derivation); arguments as for `residuals`.
    """
    matrix = slopes(aircraft, air, angle, speed, axial_speed, throttle)
    if not blade_free:
        return float(matrix[0, 1] / aircraft.rotor_inertia), 0.0
    hub = aircraft.hub
    damping = pitch_damping(aircraft, speed, air)
    modes = np.linalg.eigvals(
        np.array(
            [
                [matrix[0, 1] / aircraft.rotor_inertia, matrix[0, 0] / aircraft.rotor_inertia, 0.0],
                [0.0, 0.0, 1.0],
                [
                    matrix[1, 1] / hub.pitch_inertia,
                    matrix[1, 0] / hub.pitch_inertia,
                    -damping / hub.pitch_inertia,
                ],
            ]
        )
    )
    return float(modes.real.max()), float(np.abs(modes.imag).max())


def equilibrium(
    aircraft: Aircraft,
    air: Air,
    place: Place,
    angle: float,
    speed: float,
    axial_speed: float,
    throttle: float,
) -> Equilibrium:
    """Describe one balance at a place; arguments as for `residuals`, the rotor speed above zero."""
    growth, frequency = stability(
        aircraft, air, angle, speed, axial_speed, throttle, blade_free=place is Place.BETWEEN
    )
    net = float(residuals(aircraft, air, angle, speed, axial_speed, throttle)[1])
    return Equilibrium(place, angle, speed, net, growth < 0.0, growth, frequency, frequency / speed)


def all_equilibria(
    aircraft: Aircraft, air: Air, axial_speed: float, throttle: float
) -> tuple[Equilibrium, ...]:
    """Every balance without friction, from coarse to fine.

    Parameters
    ----------
    aircraft : Aircraft
        With a two-stop hub.
    air : Air
        At the disc.
    axial_speed : float
        Air speed at the disc [m/s].
    throttle : float
        Opening, 0 to 1 [1].
    """
    angles, speeds = search_axes(aircraft)
    torque_left, net = (np.empty((angles.size, speeds.size)) for _ in range(2))
    balance_grid(aircraft, air, angles, speeds, axial_speed, throttle, torque_left, net)
    found = [
        equilibrium(aircraft, air, Place.BETWEEN, angle, speed, axial_speed, throttle)
        for angle, speed in roots_between(aircraft, air, axial_speed, throttle, (torque_left, net))
    ]
    for place, angle, row in ((Place.COARSE_STOP, angles[-1], -1), (Place.FINE_STOP, angles[0], 0)):
        pressing = 1.0 if place is Place.COARSE_STOP else -1.0
        for speed in roots_on_stop(aircraft, air, float(angle), axial_speed, throttle, torque_left[row]):
            here = equilibrium(aircraft, air, place, float(angle), speed, axial_speed, throttle)
            if pressing * here.net >= 0.0:
                found.append(here)
    return tuple(sorted(found, key=lambda e: (-e.blade_angle, e.rotor_speed)))


def rest_intervals(
    aircraft: Aircraft, air: Air, axial_speed: float, throttle: float
) -> tuple[RestInterval, ...]:
    """Where friction holds the blade with the rotor in torque balance, from coarse to fine.

    A stop belongs to an interval if the blade stays on it. One interval that reaches from stop to stop means
    that friction locks the blade at this throttle. Arguments as for `all_equilibria`.
    """
    angles = angles_to_search(aircraft, REST_POINTS)[::-1]
    near, hold = 0.0, np.empty(angles.size)
    for i, angle in enumerate(angles):
        hold[i], near = held_by(aircraft, air, float(angle), axial_speed, throttle, near)
    found: list[RestInterval] = []
    resting = np.concatenate([[False], hold >= 0.0, [False]])
    edges = np.flatnonzero(resting[1:] != resting[:-1])
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        coarse, fine = angles[first], angles[after - 1]
        if first > 0:
            coarse = edge_of_rest(aircraft, air, angles[first - 1], angles[first], axial_speed, throttle)
        if after < angles.size:
            fine = edge_of_rest(aircraft, air, angles[after], angles[after - 1], axial_speed, throttle)
        found.append(RestInterval(float(coarse), float(fine)))
    return tuple(found)


def held_by(
    aircraft: Aircraft, air: Air, angle: float, axial_speed: float, throttle: float, near: float
) -> tuple[float, float]:
    """Friction left over before the blade moves [N m], negative if it does; and the rotor speed [rad/s].

    On a stop only the movement away from it counts. At a blade `angle` [rad], an `axial_speed` at the disc
    [m/s] and a `throttle` [1]; `near` is a rotor speed to look around [rad/s], zero for the highest.
    """
    hub = aircraft.hub
    here = balance_at(aircraft, air, angle, axial_speed, throttle, near)
    drive = abs(here.net)
    if angle >= hub.coarse_stop:
        drive = max(-here.net, 0.0)
    elif angle <= hub.fine_stop:
        drive = max(here.net, 0.0)
    return hub.breakaway * here.friction - drive, here.rotor_speed


def edge_of_rest(
    aircraft: Aircraft, air: Air, moving: float, resting: float, axial_speed: float, throttle: float
) -> float:
    """Blade angle at which friction just holds [rad], bisected between a `moving` and a `resting` one [rad].

    `axial_speed` at the disc [m/s], `throttle` [1].
    """
    near = 0.0
    while abs(moving - resting) > 1e-9:
        middle = 0.5 * (moving + resting)
        hold, near = held_by(aircraft, air, middle, axial_speed, throttle, near)
        moving, resting = (moving, middle) if hold >= 0.0 else (middle, resting)
    return resting
