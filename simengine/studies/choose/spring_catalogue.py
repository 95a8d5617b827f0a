"""Coil springs on offer: to be wound from standard wire, from a scenario's table, or from a csv file."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from simengine.errors import Problem, ScenarioError
from simengine.models.springs import helical_rate
from simengine.scenario import Scenario, records
from simengine.scenario.choose_records import Choose, SpringTable, WireSprings
from simengine.scenario.text_files import csv_rows, read_text

# Preferred diameters of spring wire from 1 to 8 mm, EN 10270-1 (value from memory) [m].
STANDARD_WIRES = tuple(
    1e-3 * size
    for size in (
        *(1.0, 1.05, 1.1, 1.2, 1.25, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.1, 2.25, 2.4, 2.5, 2.6),
        *(2.8, 3.0, 3.2, 3.4, 3.6, 3.8, 4.0, 4.25, 4.5, 4.75, 5.0, 5.3, 5.6, 6.0, 6.3, 6.5, 7.0, 7.5, 8.0),
    )
)
COLUMNS = {
    "wire_diameter mm": "wire_diameter",
    "mean_diameter mm": "mean_diameter",
    "active_coils": "active_coils",
    "total_coils": "total_coils",
    "free_length mm": "free_length",
}
NAME = "name"
LEAST, MOST = 0.01, 10_000.0  # of every number [mm or coils]


@dataclass(frozen=True)
class SpringOffer:
    """One coil spring.

    Attributes
    ----------
    name : str
    rate : float
        [N/m].
    free_length : float
        [m].
    solid_length, wire_diameter, mean_diameter : float or None
        [m]; None where the scenario's own spring does not tell them.
    """

    name: str
    rate: float
    free_length: float
    solid_length: float | None
    wire_diameter: float | None
    mean_diameter: float | None


def own_spring(spring: records.HelicalSpring, rate: float) -> SpringOffer:
    """The scenario's own spring with its `rate` [N/m]."""
    wire = spring.wire
    return SpringOffer(
        "the scenario's own",
        rate,
        spring.free_length,
        spring.solid,
        wire.wire_diameter if wire else None,
        wire.mean_diameter if wire else None,
    )


def offers(block: Choose) -> tuple[SpringOffer, ...]:
    """Springs of a scenario's block; none where it has no catalogue."""
    if block.springs is not None:
        return tuple(table_offers(block.springs, block.shear_modulus))
    if block.wire_springs is not None:
        return tuple(wire_offers(block.wire_springs, block.shear_modulus))
    return ()


def offer_of(
    wire: float, mean: float, active: float, total: float, free: float, modulus: float, name: str = ""
) -> SpringOffer:
    """A round-wire coil spring called `name`.

    Diameters of `wire` and coil, `mean` [m]; `active` and `total` coils [1]; length `free` [m]; shear
    `modulus` [Pa].
    """
    sizes = f"wire {1e3 * wire:g} mm, mean {1e3 * mean:g} mm"
    words = f"{sizes}, {active:g} of {total:g} coils, free {1e3 * free:g} mm"
    rate = helical_rate(wire, mean, active, modulus)
    return SpringOffer(f"{name}: {words}" if name else words, rate, free, total * wire, wire, mean)


def table_offers(table: SpringTable, modulus: float) -> Iterator[SpringOffer]:
    """Springs of a table, row by row; shear `modulus` [Pa]."""
    rows = zip(
        table.wire_diameter,
        table.mean_diameter,
        table.active_coils,
        table.total_coils,
        table.free_length,
        strict=True,
    )
    for number, row in enumerate(rows, start=1):
        wire, mean, active, total, free = row
        yield offer_of(wire, mean, active, total, free, modulus, f"spring {number}")


def wire_offers(block: WireSprings, modulus: float) -> Iterator[SpringOffer]:
    """Every spring that can be wound with an index inside the range and is longer free than solid.

    Shear `modulus` [Pa].
    """
    for wire in block.wires or STANDARD_WIRES:
        for mean in block.mean_diameters:
            if not block.lowest_index <= mean / wire <= block.highest_index:
                continue
            for active in block.active_coils:
                total = active + block.end_coils
                for free in block.free_lengths:
                    if free > total * wire:
                        yield offer_of(wire, mean, active, total, free, modulus)


def read_springs(path: Path, modulus: float) -> tuple[SpringOffer, ...]:
    """Springs of a csv file with the columns `name` and those of `COLUMNS`; shear `modulus` [Pa].

    Raises
    ------
    ScenarioError
        With every problem found, each with its line.
    """
    rows = [(line, row) for line, row in csv_rows(read_text(path, str(path)), str(path)) if any(row)]
    headings = [NAME, *COLUMNS]
    given = [cell.strip() for cell in rows[0][1]] if len(rows) > 1 else []
    if missing := [heading for heading in headings if heading not in given]:
        message = f"needs the columns {', '.join(headings)}; missing: {', '.join(missing)}"
        raise ScenarioError([Problem(str(path), 1, "", message)])
    found, problems = [], []
    for line, texts in rows[1:]:
        row = dict(zip(given, texts, strict=False))
        try:
            cells = {COLUMNS[heading]: float(row[heading]) for heading in COLUMNS}
            name = row[NAME].strip()
        except (KeyError, ValueError):
            problems.append(Problem(str(path), line, "", "every column but the name must hold a number"))
            continue
        message = spring_problem(cells)
        if message:
            problems.append(Problem(str(path), line, "", message))
            continue
        lengths = {name: 1e-3 * cells[name] for name in ("wire_diameter", "mean_diameter", "free_length")}
        found.append(
            offer_of(
                lengths["wire_diameter"],
                lengths["mean_diameter"],
                cells["active_coils"],
                cells["total_coils"],
                lengths["free_length"],
                modulus,
                name,
            )
        )
    if problems:
        raise ScenarioError(problems[:100])
    return tuple(found)


def refuse_catalogue(scenario: Scenario, path: str) -> None:
    """A catalogue of coil springs, the file `path`, fits only a hub that has one; ScenarioError if not."""
    hub = scenario.record.hub
    if not (isinstance(hub, records.TwoStopHub) and isinstance(hub.spring, records.HelicalSpring)):
        message = "a catalogue of coil springs is for a two_stop hub with a helical spring"
        raise ScenarioError([Problem(path, None, "", message)])


def spring_problem(cells: dict[str, float]) -> str:
    """What is wrong with a row; nothing if a spring can be wound so."""
    if not all(LEAST <= value <= MOST for value in cells.values()):
        return f"every number must be above zero: {LEAST:g} to {MOST:,.0f}"
    if not cells["wire_diameter"] < cells["mean_diameter"]:
        return "wire_diameter must be below mean_diameter"
    if cells["active_coils"] > cells["total_coils"]:
        return "active_coils must not be above total_coils"
    if cells["free_length"] <= cells["total_coils"] * cells["wire_diameter"]:
        return "the spring is solid without load: free_length must exceed total_coils times wire_diameter"
    return ""
