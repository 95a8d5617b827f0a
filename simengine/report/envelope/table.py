"""Figures of an envelope as tables: by height, by mass and bar, and by change."""

from collections.abc import Callable, Sequence
from math import isfinite

import xarray
from rich import box
from rich.table import Table

from simengine.report.envelope.facts import (
    Own,
    every_point,
    handful,
    own,
    ranked_changes,
    stops,
)
from simengine.report.envelope.text import offset_words
from simengine.report.facts import moves_by_itself
from simengine.report.flight.table import NOTHING, figure
from simengine.results.catalogue import PitchState

HEIGHTS_TOLD = 6

Column = tuple[str, Callable[[int], str]]


def envelope_tables(dataset: xarray.Dataset) -> list[Table]:
    """Tables of an envelope; those on the shift only for a hub that shifts by itself."""
    point = own(dataset)
    rows = handful(point.height.size, HEIGHTS_TOLD)
    if not moves_by_itself(dataset):
        return [flown_table(point, rows)]
    tables = [shift_table(point, rows), flown_table(point, rows), ground_table(point, rows)]
    return [*tables, ceilings_table(dataset), changes_table(dataset)]


def shift_table(point: Own, rows: Sequence[int]) -> Table:
    """When the blades go fine and come back in the full-throttle climb."""
    columns: list[Column] = [
        height_column(point),
        density_column(point),
        ("shift begins", cells(point, "shift_begin_rpm")),
        ("shift finishes", cells(point, "shift_finish_rpm")),
        ("full throttle", cells(point, "full_throttle_rpm")),
        ("margin, rpm", cells(point, "shift_margin_rpm", "+.0f")),
        ("margin, N m per blade", cells(point, "shift_margin_moment", "+.2f")),
        ("blades at full throttle", lambda row: blades_cell(point, row)),
        ("return begins", cells(point, "return_begin_rpm")),
        ("return finishes", cells(point, "return_finish_rpm")),
    ]
    return table_of(f"Shift in the full-throttle climb, {point.place}: ENGINE rpm", columns, rows)


def flown_table(point: Own, rows: Sequence[int]) -> Table:
    """Climb and level flight."""
    columns: list[Column] = [
        height_column(point),
        ("full throttle, ENGINE rpm", cells(point, "full_throttle_rpm")),
        ("thrust, N", cells(point, "full_throttle_thrust")),
        ("climb, m/s", cells(point, "climb_rate", "+.2f")),
        ("airspeed, km/h", cells(point, "airspeed", ".1f", 3.6)),
        ("level: throttle, %", cells(point, "level_throttle", ".0f", 100.0)),
        ("level: ENGINE rpm", cells(point, "level_rpm")),
        ("level: fuel, L/h", cells(point, "level_fuel_flow", ".2f")),
        ("level: blades", lambda row: level_cell(point, row)),
    ]
    return table_of(f"Climb at full throttle and level flight, {point.place}", columns, rows)


def ground_table(point: Own, rows: Sequence[int]) -> Table:
    """What a ground run at each height would show."""
    columns: list[Column] = [
        height_column(point),
        ("shift begins", cells(point, "ground_shift_begin_rpm")),
        ("shift finishes", cells(point, "ground_shift_finish_rpm")),
        ("full throttle", cells(point, "ground_full_throttle_rpm")),
        ("margin, rpm", cells(point, "ground_shift_margin_rpm", "+.0f")),
        ("margin, N m per blade", cells(point, "ground_shift_margin_moment", "+.2f")),
        ("blade angle", cells(point, "ground_full_throttle_blade_angle", ".1f")),
        ("return begins", cells(point, "ground_return_begin_rpm")),
        ("return finishes", cells(point, "ground_return_finish_rpm")),
        ("static thrust, N", cells(point, "ground_thrust")),
    ]
    return table_of("Standing on the ground at that height: ENGINE rpm", columns, rows)


def ceilings_table(dataset: xarray.Dataset) -> Table:
    """Shift ceiling beside service ceiling for every mass, bar position and temperature."""
    points = every_point(dataset)
    columns: list[Column] = [
        ("all-up, bar", lambda row: points[row].place.replace(" all-up", "")),
        ("shift ceiling, m", lambda row: ceiling_cell(points[row])),
        ("density altitude, m", lambda row: figure(points[row].number("shift_ceiling_density_altitude"))),
        ("service ceiling, m", lambda row: figure(points[row].number("service_ceiling"))),
        ("limiting cause", lambda row: points[row].words("limiting_cause") or NOTHING),
    ]
    if dataset.sizes["temperature_offset"] > 1:
        columns.insert(1, ("air", lambda row: offset_words(points[row]).removeprefix(", air ")))
    return table_of("Ceilings", columns, range(len(points)), words_from=len(columns) - 1)


def ceiling_cell(point: Own) -> str:
    """The ceiling, or in words why there is none."""
    ceiling = point.number("shift_ceiling")
    return figure(ceiling) if isfinite(ceiling) else point.words("shift_ceiling_words")


def changes_table(dataset: xarray.Dataset) -> Table:
    """What one change does to the shift ceiling, best first."""
    changes, lowest = ranked_changes(dataset), f"{float(dataset['height'].values[0]):.0f} m"
    columns: list[Column] = [
        ("one change", lambda row: changes[row].name),
        ("gain, m", lambda row: figure(changes[row].gain, "+.0f")),
        ("shift ceiling, m", lambda row: figure(changes[row].ceiling)),
        (f"climb at {lowest}: begins", lambda row: figure(changes[row].shift_begin_rpm)),
        (f"climb at {lowest}: finishes", lambda row: figure(changes[row].shift_finish_rpm)),
        ("", lambda row: changes[row].words),
    ]
    return table_of("What one change does to the shift ceiling", columns, range(len(changes)), words_from=5)


def table_of(
    title: str, columns: Sequence[Column], rows: Sequence[int], *, words_from: int | None = None
) -> Table:
    """One line a row; the first column and those from `words_from` on are words and stand left."""
    table = Table(
        title=title,
        title_justify="left",
        title_style="bold",
        header_style="",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
    )
    for place, (heading, _) in enumerate(columns):
        is_words = place == 0 or (words_from is not None and place >= words_from)
        table.add_column(heading, justify="left" if is_words else "right", overflow="fold")
    for row in rows:
        table.add_row(*(cell(row) for _, cell in columns))
    return table


def height_column(point: Own) -> Column:
    """Geometric height."""
    return ("height, m", lambda row: f"{point.height[row]:.0f}")


def density_column(point: Own) -> Column:
    """Density altitude of that height."""
    return ("density altitude, m", cells(point, "density_altitude"))


def cells(point: Own, name: str, form: str = ".0f", factor: float = 1.0) -> Callable[[int], str]:
    """Figures of one variable, height by height."""
    line = point.line(name)
    return lambda row: figure(factor * float(line[row]), form)


def blades_cell(point: Own, row: int) -> str:
    """Where the blades are at full throttle; the angle where they hang."""
    state = point.state[row]
    if state in (PitchState.HUNG, PitchState.SHIFTING):
        return f"{state} at {point.line('full_throttle_blade_angle')[row]:.1f}°"
    return str(state)


LEVEL_WORDS = {1: "too little power", 2: "too much power", 3: "jumps past it"}


def level_cell(point: Own, row: int) -> str:
    """Where the blades are in level flight, or why it cannot be held."""
    status = int(point.line("level_status")[row])
    angle = float(point.line("level_blade_angle")[row])
    if status in LEVEL_WORDS or not isfinite(angle):
        return LEVEL_WORDS.get(status, NOTHING)
    coarse, fine = stops(point.dataset)
    if coarse == fine:
        return f"{angle:.1f}°"
    for stop, word in ((coarse, "coarse"), (fine, "fine")):
        if abs(angle - stop) < 1e-3:
            return word
    return f"hung at {angle:.1f}°"
