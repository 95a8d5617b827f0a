"""Which limits of the model an envelope met: nothing doubtful reaches a reader without a word."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from simengine.balance import limits
from simengine.balance.limits import DiscPoint
from simengine.constants import RPM
from simengine.models.atmosphere import Atmosphere, air_at
from simengine.models.engine import outside_table
from simengine.models.momentum import RotorLoads, rotor_loads
from simengine.models.windup import TorsionBlade
from simengine.results.envelope_catalogue import LEVEL_STATES
from simengine.studies.machine import Machine, day

FULL_THROTTLE = "full_throttle_rpm"
WORDS = {
    FULL_THROTTLE: "at full throttle",
    "level_rpm": "in level flight",
    "shift_begin_rpm": "where the shift begins",
    "shift_finish_rpm": "where the shift finishes",
    "return_begin_rpm": "where the return begins",
    "return_finish_rpm": "where the return finishes",
}


class LoadedPoint(NamedTuple):
    """Loads at one point of the grid, what they were taken at, and the place in words, `where`.

    `speed_name` is that of the engine speed in the envelope.
    """

    loads: RotorLoads
    disc: DiscPoint
    speed_name: str
    where: str


def model_limits(
    machine: Machine, own: Atmosphere, values: dict[str, Any], torsion: TorsionBlade | None
) -> list[str]:
    """One sentence for each limit of the model that the points of the grid met.

    `values` are the envelope's, SI, by the catalogue's names.
    """
    points = list(loaded_points(machine, own, values))
    return [
        *root_limits([point.loads for point in points]),
        *load_limits(machine, points),
        *pitch_limits(machine, points, torsion),
        *engine_limits(machine, values),
        *level_limits(values),
    ]


def loaded_points(machine: Machine, own: Atmosphere, values: dict[str, Any]) -> Iterator[LoadedPoint]:
    """The grid at full throttle, in level flight and where the moments on the stops change over.

    `values` as for `model_limits`.
    """
    for place in np.ndindex(values[FULL_THROTTLE].shape):
        for name, angle in (
            (FULL_THROTTLE, float(values["full_throttle_blade_angle"][place])),
            ("level_rpm", float(values["level_blade_angle"][place])),
            ("shift_begin_rpm", machine.coarse_edge),
            ("shift_finish_rpm", machine.fine_stop),
            ("return_begin_rpm", machine.fine_stop),
            ("return_finish_rpm", machine.coarse_edge),
        ):
            if values[name][place] > 0.0:
                yield loaded_point(machine, own, values, place, name, angle)


def loaded_point(
    machine: Machine,
    own: Atmosphere,
    values: dict[str, Any],
    place: tuple[int, ...],
    speed_name: str,
    blade_angle: float,
) -> LoadedPoint:
    """Loads at one point of the grid, at one of its engine speeds and a blade angle [rad].

    `values` as for `model_limits`; `place` in the grid, by numbers; `speed_name` that of the speed.
    """
    height, offset = float(values["height"][place[-1]]), float(values["temperature_offset"][place[0]])
    disc = DiscPoint(
        blade_angle,
        float(values[speed_name][place]) / machine.reduction,
        machine.inflow_factor * float(values["airspeed"][place]),
        air_at(day(own, offset), height),
    )
    where = f"{WORDS[speed_name]} at {height:.0f} m and {offset:+.0f} K"
    return LoadedPoint(rotor_loads(machine.aircraft.blade, *disc), disc, speed_name, where)


def root_limits(loads: list[RotorLoads]) -> list[str]:
    """A sentence if any blade element had no balance of its own."""
    failed = sum(each.status > 0.0 for each in loads)
    if not failed:
        return []
    return [
        f"at {failed} of {len(loads)} points some blade elements found no inflow angle that balances them: "
        "loads are wrong there"
    ]


def load_limits(machine: Machine, points: list[LoadedPoint]) -> Iterator[str]:
    """Sentences on the blade elements."""
    if not points:
        return
    blade = machine.aircraft.blade
    stalled = max(points, key=lambda point: point.loads.stalled_fraction)
    yield from limits.stalled_words(blade, stalled.disc, stalled.loads.stalled_fraction, stalled.where)
    fastest = max(points, key=lambda point: point.loads.tip_mach)
    yield from limits.mach_words(fastest.loads.tip_mach, fastest.where)
    driven = [point for point in points if point.loads.windmilling or point.loads.thrust < 0.0]
    if driven:
        yield (
            f"the propeller windmilled or braked at {len(driven)} of {len(points)} points, such as "
            f"{driven[0].where}: loads of a windmilling propeller are rough"
        )
    lowest = min(point.loads.lowest_reynolds for point in points)
    highest = max(point.loads.highest_reynolds for point in points)
    yield from limits.reynolds_words(blade.sections, lowest, highest)
    polar = limits.polar_of(blade.sections)
    if polar is not None:
        first, last = limits.polar_angles(polar)
        shares = [float(limits.share_outside(blade, first, last, *point.disc)) for point in points]
        worst = int(np.argmax(shares))
        yield from limits.outside_polar_words(polar, shares[worst], points[worst].where)


def pitch_limits(machine: Machine, points: list[LoadedPoint], torsion: TorsionBlade | None) -> Iterator[str]:
    """What is uncertain of the moments about the pitch axis."""
    factor = machine.aircraft.air_moment_factor
    if machine.shifts:
        yield limits.air_moment_words(factor)
    full = [point.disc for point in points if point.speed_name == FULL_THROTTLE]
    if full:
        fastest = max(full, key=lambda disc: disc.rotor_speed)
        yield from limits.wind_up_words(machine.aircraft.blade, torsion, fastest, factor)


def engine_limits(machine: Machine, values: dict[str, Any]) -> list[str]:
    """Sentences on the engine's bench curve and speed limit; `values` as for `model_limits`."""
    engine = machine.aircraft.engine
    speeds = np.concatenate([values[name].ravel() for name in ("full_throttle_rpm", "level_rpm")])
    listed = []
    if speeds.max() > machine.speed_limit:
        listed.append(
            f"the engine ran at {speeds.max() / RPM:.0f} rpm, above its limit of "
            f"{machine.speed_limit / RPM:.0f} rpm"
        )
    outside = [speed for speed in speeds if outside_table(engine, float(speed))]
    if outside:
        listed.append(
            f"the engine ran outside its bench curve, between {min(outside) / RPM:.0f} and "
            f"{max(outside) / RPM:.0f} rpm: torque and fuel are extrapolated there"
        )
    return listed


def level_limits(values: dict[str, Any]) -> list[str]:
    """Sentences on points without level flight; `values` as for `model_limits`."""
    status = values["level_status"]
    words = {
        "too_little_power": "full throttle does not hold level flight",
        "too_much_power": "even closed throttle climbs",
        "jumps": "no throttle holds level flight: the blades snap past the pitch that would",
    }
    listed = []
    for number, name in enumerate(LEVEL_STATES):
        count = int(np.sum(status == number))
        if name in words and count:
            listed.append(f"at {count} of {status.size} points {words[name]}")
    return listed
