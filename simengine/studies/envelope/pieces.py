"""An envelope cut into pieces that know nothing of each other, and put together again."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from simengine.balance.assembly import assemble
from simengine.execution.store import Store
from simengine.execution.task import Piece
from simengine.models.atmosphere import Atmosphere, air_at
from simengine.results import envelope_catalogue as catalogue
from simengine.scenario import records
from simengine.studies.envelope.balance_words import balance_words
from simengine.studies.envelope.grid import Grid, flight_figures, grid_of, ground_figures
from simengine.studies.envelope.moment_budget import HIGH
from simengine.studies.envelope.sensitivity import CHANGES, OWN, after_change, change_values
from simengine.studies.envelope.shift_ceiling import (
    SEARCH_TOP,
    Column,
    density_altitude_of,
    service_ceiling,
    shift_ceiling,
)
from simengine.studies.envelope.throttle_map import throttle_sweep, trim_axial_speed
from simengine.studies.machine import Machine, day, machine_of

Values = dict[str, Any]
Task = tuple[str, tuple[int, ...]]

FLIGHT, GROUND, CEILING, BALANCES, CHANGE = "flight", "ground", "ceiling", "balances", "change"
BALANCES_ABOVE = (0.0, HIGH)  # the lowest height [m]


@dataclass(frozen=True)
class Ground:
    """What every piece stands on.

    Attributes
    ----------
    record : ScenarioRecord
    machine : Machine
    own : Atmosphere
        The scenario's own day.
    mass : float
        Its own all-up mass [kg].
    grid : Grid
    tasks : tuple of Task
        Kind and place of each piece, by its number.
    """

    record: records.ScenarioRecord
    machine: Machine
    own: Atmosphere
    mass: float
    grid: Grid
    tasks: tuple[Task, ...]

    def column(self, place: tuple[int, ...]) -> Column:
        """One offset, mass and bar over the heights, by their numbers, the `place`."""
        i, j, k = place
        atmosphere = day(self.own, self.grid.offsets[i])
        return Column(self.machine, atmosphere, self.grid.masses[j], self.grid.bars[k])


def ground_of(record: records.ScenarioRecord) -> Ground:
    """Assemble the machine and list the pieces."""
    aircraft = assemble(record)
    mass = aircraft.dry_mass + aircraft.fuel_start
    grid = grid_of(record, aircraft.atmosphere, mass)
    return Ground(record, machine_of(aircraft), aircraft.atmosphere, mass, grid, tasks_of(grid))


def tasks_of(grid: Grid) -> tuple[Task, ...]:
    """Every piece, those that take longest first."""
    columns = list(np.ndindex(grid.shape))
    return (
        *((FLIGHT, place) for place in columns),
        *((BALANCES, (place,)) for place in range(len(BALANCES_ABOVE))),
        *((GROUND, (i,)) for i in range(len(grid.offsets))),
        *((CEILING, place) for place in columns),
        *((CHANGE, (place,)) for place in (OWN, *range(len(CHANGES)))),
    )


def envelope_piece(ground: Ground, number: int) -> Piece:
    """One piece by its number."""
    kind, place = ground.tasks[number]
    return {name: np.asarray(value) for name, value in WORKED[kind](ground, place).items()}


def flight_column(ground: Ground, place: tuple[int, ...]) -> Values:
    """In flight over the heights: level flight goes on from the height below; `place` by numbers."""
    column, machine = ground.column(place), ground.machine
    opening, near, rows = 0.0, 0.0, []
    for height in ground.grid.heights:
        found = flight_figures(column, float(height), ground.record.fuel.density, opening, near)
        rows.append(found)
        if found["level_status"] == 0:
            opening, near = found["level_throttle"], found["level_rpm"] / machine.reduction
    return {name: [row[name] for row in rows] for name in rows[0]}


def ground_row(ground: Ground, place: tuple[int, ...]) -> Values:
    """On the ground over the heights; `place` by numbers."""
    atmosphere = day(ground.own, ground.grid.offsets[place[0]])
    rows = [ground_figures(ground.machine, atmosphere, float(height)) for height in ground.grid.heights]
    return {name: [row[name] for row in rows] for name in rows[0]}


def ceiling_of(ground: Ground, place: tuple[int, ...]) -> Values:
    """Ceilings of one column of heights; `place` by numbers."""
    column, lowest = ground.column(place), ground.grid.lowest
    ceiling = shift_ceiling(column, ground.record.engine, lowest)
    return {
        "shift_ceiling": ceiling.height,
        "shift_ceiling_density_altitude": density_altitude_of(column, ceiling.height),
        "service_ceiling": service_ceiling(column, lowest, SEARCH_TOP),
        "shift_ceiling_words": ceiling.words,
        "limiting_cause": ceiling.cause,
    }


def balances_of(ground: Ground, place: tuple[int, ...]) -> Values:
    """All balances at one height in words, one sentence a line; `place` by numbers."""
    machine = ground.machine
    if not machine.shifts:
        return {"words": ""}
    height = ground.grid.lowest + BALANCES_ABOVE[place[0]]
    sweep = throttle_sweep(machine, ground.own, ground.mass, height, np.linspace(0.0, 1.0, 41))
    air = air_at(ground.own, height)
    begin, end = shift_openings(sweep)
    words = balance_words(machine, air, trim_axial_speed(machine, air, ground.mass, 0.0), begin, end)
    return {"words": "\n".join(f"at {height:.0f} m: {sentence}" for sentence in words)}


def shift_openings(sweep: Values) -> tuple[float, float]:
    """Throttle openings between which the blade is on its way, either direction [1]."""
    throttles = sweep["sweep_throttle"]
    opening, closing = (sweep[f"sweep_blade_angle_{name}"] for name in ("opening", "closing"))
    on_the_way = np.flatnonzero((opening < opening[0] - 1e-6) & (closing > closing[-1] + 1e-6))
    differs = np.flatnonzero(np.abs(opening - closing) > 1e-6)
    places = np.concatenate([on_the_way, differs])
    if places.size == 0:
        return 0.3, 0.7
    return float(throttles[places.min()]), float(throttles[places.max()])


def change_of(ground: Ground, place: tuple[int, ...]) -> Values:
    """What one change does; `place` by its number."""
    after = after_change(ground.record, ground.own, ground.grid.lowest, place[0])
    return dict(zip(("height", "begin", "finish", "words"), after, strict=True))


WORKED = {
    FLIGHT: flight_column,
    GROUND: ground_row,
    CEILING: ceiling_of,
    BALANCES: balances_of,
    CHANGE: change_of,
}


def put_together(ground: Ground, store: Store) -> tuple[Values, str]:
    """Variables of the catalogue in SI from all pieces, and the balances in words."""
    grid = ground.grid
    columns, heights = grid.shape, grid.heights.size
    values: Values = {each.name: np.full((*columns, heights), np.nan) for each in catalogue.IN_FLIGHT}
    below = (*catalogue.AIR, *catalogue.ON_GROUND)
    values |= {each.name: np.full((columns[0], heights), np.nan) for each in below}
    values |= {
        each.name: np.empty(columns, dtype=object if each.stored == "text" else float)
        for each in catalogue.CEILINGS
    }
    sentences, changes = [], []
    for number, (kind, place) in enumerate(ground.tasks):
        piece = store.read(number)
        if kind == BALANCES:
            sentences.append(str(piece["words"]))
        elif kind == CHANGE:
            figures = (float(piece[name]) for name in ("height", "begin", "finish"))
            changes.append((*figures, str(piece["words"])))
        else:
            for name, array in piece.items():
                values[name][place] = array[()]
    own, *rows = changes
    values |= change_values(own[0], rows)  # type: ignore[arg-type]
    return values, "\n".join(words for words in sentences if words)
