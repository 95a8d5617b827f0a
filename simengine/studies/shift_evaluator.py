"""Thousands of hubs on one propeller: shift speeds and margins in the places that a study lists."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from simengine.balance.air_tables import AirMoment, fill_air_moment
from simengine.balance.assembly import assemble
from simengine.balance.pitch import balance_at
from simengine.balance.rotor import highest_searched_speed
from simengine.balance.shift_tables import (
    BLADE_FIELDS,
    FIGURES,
    FullThrottleLine,
    shift_figures,
)
from simengine.constants import DEGREE
from simengine.execution.where import on_threads
from simengine.models.atmosphere import Air, Atmosphere, air_at
from simengine.scenario import records
from simengine.scenario.variation import with_values
from simengine.studies.machine import Condition, Machine, day, held_flight, machine_of

Array = NDArray[np.float64]

ENGINE_SPEEDS = (
    "shift_begin",
    "shift_finish",
    "return_begin",
    "return_finish",
    "speed_coarse",
    "speed_fine",
    "margin_speed",
    "full_throttle",
    "begin_spread",
    "finish_spread",
)
ANGLE_STEP = 0.4 * DEGREE
SPEED_PLACES = 41  # as many as `shift_speed` looks at on the way up
LOWEST_SHARE = 0.02  # of the top of the search, likewise
AXIAL_PLACES = 6
AXIAL_MARGIN = 0.5  # [m/s]
SLICE = 512  # hubs for one thread at a time


@dataclass(frozen=True, order=True)
class Place:
    """Where the hubs are looked at: full throttle in the climb, or tied down on the ground.

    `height` [m], `temperature_offset` [K], all-up `mass` [kg], `bar` [1], `torque_factor` on the engine's
    torque [1]. On the `ground` mass and bar do not count.
    """

    height: float
    temperature_offset: float
    mass: float
    bar: float = 0.0
    torque_factor: float = 1.0
    ground: bool = False


@dataclass(frozen=True)
class Tables:
    """Tables of one place."""

    place: Place
    moment: AirMoment
    line: FullThrottleLine


@dataclass(frozen=True)
class ShiftEvaluator:
    """Shift figures of any hub on the propeller, engine and wing of one scenario.

    Attributes
    ----------
    machine : Machine
        The scenario's own.
    tables : tuple of Tables
        One for each place.
    linked : bool
        Whether the blades of a hub move together.
    """

    machine: Machine
    tables: tuple[Tables, ...]
    linked: bool

    def figures(self, hubs: Array, blades: Array | None = None) -> Array:
        """Figures of hubs in the order of `FIGURES`, engine speeds [rad/s], shape (places, n, figures).

        Parameters
        ----------
        hubs : numbers of each hub in the order of `HUB_FIELDS`, shape (n, fields)
        blades : differences of its blades, shape (n, blades, 4); none where left out
        """
        count = hubs.shape[0]
        if blades is None:
            blades = equal_blades(count)
        out = np.full((len(self.tables), count, len(FIGURES)), np.nan)
        tasks = [
            partial(self.fill, place, slice(start, start + SLICE), hubs, blades, out)
            for place in range(len(self.tables))
            for start in range(0, count, SLICE)
        ]
        run_all(tasks)
        for name in ENGINE_SPEEDS:
            out[..., FIGURES.index(name)] *= self.machine.reduction
        return out

    def fill(self, place: int, part: slice, hubs: Array, blades: Array, out: Array) -> None:
        """Work out one slice, `part`, of the hubs in one place, by its number; arguments as in `figures`.

        `out` of shape (places, n, figures) is written, speeds of the rotor [rad/s].
        """
        tables = self.tables[place]
        shift_figures(tables.moment, tables.line, self.linked, hubs[part], blades[part], out[place, part])


def equal_blades(count: int, blades: int = 1) -> Array:
    """Blades without a difference, shape (count, blades, 4)."""
    same = np.zeros((count, blades, len(BLADE_FIELDS)))
    same[..., 1:] = 1.0
    return same


def run_all(tasks: Sequence[partial[None]]) -> None:
    """Run `tasks` on as many threads as this thread may start."""
    on_threads(lambda task: task(), tasks)


def shift_evaluator(
    record: records.ScenarioRecord,
    places: Iterable[Place],
    lowest_angle: float,
    highest_angle: float,
) -> ShiftEvaluator:
    """Tabulate the air once for a scenario.

    Parameters
    ----------
    record : ScenarioRecord
        With a two-stop hub; its own hub does not enter the tables.
    places : Place
        Where the hubs are looked at.
    lowest_angle, highest_angle : float
        Blade angles that any hub will ask for, errors included [rad].

    Raises
    ------
    ValueError
        If there is no place or the angles do not rise.
    """
    where = tuple(places)
    if not where or not lowest_angle < highest_angle:
        raise ValueError("an evaluator needs a place, and blade angles that rise")
    count = max(int((highest_angle - lowest_angle) / ANGLE_STEP + 1.5), 5)
    angles = np.linspace(lowest_angle, highest_angle, count)
    factors = {place.torque_factor for place in where}
    machines = {factor: machine_with(record, factor) for factor in factors}
    own = machine_of(assemble(record))
    lines: list[FullThrottleLine | None] = [None] * len(where)

    def draw(number: int) -> None:
        place = where[number]
        lines[number] = line_of(machines[place.torque_factor], own.aircraft.atmosphere, place, angles)

    run_all([partial(draw, number) for number in range(len(where))])
    drawn = [line for line in lines if line is not None]
    moments = moments_of(own, where, drawn, angles)
    return ShiftEvaluator(
        own,
        tuple(Tables(place, moments[air_key(place)], line) for place, line in zip(where, drawn, strict=True)),
        isinstance(record.hub, records.TwoStopHub) and record.hub.blades_linked,
    )


def machine_with(record: records.ScenarioRecord, torque_factor: float) -> Machine:
    """The machine with a stronger or weaker engine, `torque_factor` times its torque [1]."""
    if torque_factor == 1.0:
        return machine_of(assemble(record))
    factor = torque_factor * record.engine.torque_factor
    return machine_of(assemble(with_values(record, {"engine.torque_factor": factor})))


def air_key(place: Place) -> tuple[float, float]:
    """What the air depends on: height [m] and temperature offset [K]."""
    return place.height, place.temperature_offset


def air_of(own: Atmosphere, place: Place) -> Air:
    """Air at a place."""
    return air_at(day(own, place.temperature_offset), place.height)


def line_of(machine: Machine, own: Atmosphere, place: Place, angles: Array) -> FullThrottleLine:
    """Full throttle by the blade angle, the blades held; `angles` of shape (angle,), evenly spaced [rad]."""
    air = air_of(own, place)
    speeds, axials = np.zeros(angles.size), np.zeros(angles.size)
    for i, angle in enumerate(angles):
        if place.ground:
            speeds[i] = balance_at(machine.aircraft, air, float(angle), 0.0, 1.0, 0.0).rotor_speed
            continue
        flight = held_flight(machine, Condition(air, place.mass, place.bar), float(angle))
        speeds[i], axials[i] = flight.rotor_speed, machine.inflow_factor * flight.airspeed
    return FullThrottleLine(float(angles[0]), float(angles[1] - angles[0]), speeds, axials)


def moments_of(
    own: Machine,
    places: Sequence[Place],
    lines: Sequence[FullThrottleLine],
    angles: Array,
) -> dict[tuple[float, float], AirMoment]:
    """The air's moment in each air that is met, by `air_key` [m], [K].

    `angles` of shape (angle,), evenly spaced [rad]; the disc's air speeds are those of the `lines`.
    """
    top = highest_searched_speed(own.aircraft)
    speeds = np.linspace(LOWEST_SHARE * top, top, SPEED_PLACES)
    made: dict[tuple[float, float], AirMoment] = {}
    tasks: list[partial[None]] = []
    for key in sorted({air_key(place) for place in places}):
        met = [line.axial_speed for place, line in zip(places, lines, strict=True) if air_key(place) == key]
        axials = axial_places(met)
        air = air_at(day(own.aircraft.atmosphere, key[1]), key[0])
        moment = np.empty((axials.size, angles.size, speeds.size))
        made[key] = AirMoment(
            float(axials[0]),
            float(axials[1] - axials[0]),
            float(angles[0]),
            float(angles[1] - angles[0]),
            float(speeds[0]),
            float(speeds[1] - speeds[0]),
            moment,
        )
        tasks += [
            partial(
                fill_air_moment, own.aircraft.blade, air, axials[i : i + 1], angles, speeds, moment[i : i + 1]
            )
            for i in range(axials.size)
        ]
    run_all(tasks)
    return made


def axial_places(met: Sequence[Array]) -> Array:
    """Air speeds at the disc to tabulate, around those `met`; at rest the air stands still [m/s].

    Of shape (axial,), evenly spaced; each of those met of shape (angle,).
    """
    lowest = max(min(float(speeds.min()) for speeds in met) - AXIAL_MARGIN, 0.0)
    highest = max(float(speeds.max()) for speeds in met) + AXIAL_MARGIN
    return np.linspace(lowest, highest, AXIAL_PLACES)


def places_in_order(
    heights: Iterable[float],
    offsets: Iterable[float],
    masses: Iterable[float],
    bars: Iterable[float] = (0.0,),
    torque_factors: Iterable[float] = (1.0,),
) -> Iterator[Place]:
    """Every combination in flight of `heights` [m], `offsets` [K], `masses` [kg], `bars` and factors [1].

    Temperature `offsets` of the day; `torque_factors` on the engine's torque.
    """
    rest = [(o, m, b, f) for o in offsets for m in masses for b in bars for f in torque_factors]
    for height in heights:
        for offset, mass, bar, factor in rest:
            yield Place(height, offset, mass, bar, factor)
