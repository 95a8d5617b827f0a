"""Flights laid beside one another: phase by phase, each from the moment at which its phase begins.

Flights of one plan do not last equally long: a better climb is over sooner. On one time since take-off the
climb of one would stand beside the cruise of the other. So every phase begins at zero for all, and where
the shorter one is over there is nothing to compare.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simengine.results.catalogue import EventKind
from simengine.results.compare_catalogue import ALIGNED_TRACES, COMPARED_EVENTS
from simengine.scenario import records

if TYPE_CHECKING:
    import xarray

Array = NDArray[np.float64]
PhaseKey = tuple[object, ...]

SAME_INSTANT = 1e-3  # samples closer than this are one [s]
MOST_SAMPLES = 4000  # of one phase; in a longer one every so manyth is kept
BOUNDS = (EventKind.PHASE_BEGINS, EventKind.PHASE_ENDS)


@dataclass(frozen=True)
class AlignedPhase:
    """A phase of the plan, and its number in each flight; None where it was not flown."""

    name: str
    kind: str
    rows: tuple[int | None, ...]


@dataclass(frozen=True)
class AlignedEvent:
    """An event by kind, phase and order, and its number in each flight; None where it did not happen."""

    kind: int
    phase: int
    order: int
    rows: tuple[int | None, ...]


@dataclass(frozen=True)
class Traces:
    """Traces of all flights at the same times since their phase began.

    Attributes
    ----------
    phase : array of int, shape (n,)
    elapsed : array, shape (n,)
        [s].
    values : mapping of str to array, shape (cases, n)
        In stored units; NaN where a flight's phase is over.
    """

    phase: NDArray[np.int64]
    elapsed: Array
    values: dict[str, Array]


# --- phases -----------------------------------------------------------------------------------------
def aligned_phases(
    datasets: "Sequence[xarray.Dataset]", flights: Sequence[records.Flight]
) -> list[AlignedPhase]:
    """Phases side by side: by their place in the plan where all plans are alike, else by kind and order."""
    plans = [[phase.kind for phase in flight.phases] for flight in flights]
    alike = all(plan == plans[0] for plan in plans)
    keys = [
        planned_places(dataset, flight) if alike else named_places(dataset)
        for dataset, flight in zip(datasets, flights, strict=True)
    ]
    order = list(dict.fromkeys(key for own in keys for key in own))
    if alike:
        order.sort(key=str)
    phases = []
    for key in order:
        rows = tuple(own.index(key) if key in own else None for own in keys)
        case, row = next((case, row) for case, row in enumerate(rows) if row is not None)
        name, kind = (str(datasets[case][f"phase_{what}"].values[row]) for what in ("name", "kind"))
        phases.append(AlignedPhase(name, kind, rows))
    return phases


def planned_places(dataset: "xarray.Dataset", flight: records.Flight) -> list[PhaseKey]:
    """Place in the plan of each phase flown; a phase that took no time was not flown."""
    kinds = [str(kind) for kind in dataset["phase_kind"].values]
    names = [str(name) for name in dataset["phase_name"].values]
    places: list[PhaseKey] = []
    for place, phase in enumerate(flight.phases):
        name = phase.name or phase.kind.replace("_", " ")
        if len(places) < len(kinds) and (kinds[len(places)], names[len(places)]) == (phase.kind, name):
            places.append((f"{place:06d}",))
    return places


def named_places(dataset: "xarray.Dataset") -> list[PhaseKey]:
    """Kind of each phase flown, and which of that kind it is."""
    seen: Counter[str] = Counter()
    places: list[PhaseKey] = []
    for kind in dataset["phase_kind"].values:
        seen[str(kind)] += 1
        places.append((str(kind), seen[str(kind)]))
    return places


# --- traces -----------------------------------------------------------------------------------------
def aligned_traces(datasets: "Sequence[xarray.Dataset]", phases: Sequence[AlignedPhase]) -> Traces:
    """Every compared trace on the times at which any of the flights was recorded in that phase."""
    columns = [
        {variable.name: np.asarray(dataset[variable.name].values, np.float64) for variable in ALIGNED_TRACES}
        for dataset in datasets
    ]
    numbers, times = [], []
    blocks: list[dict[str, Array]] = []
    for number, phase in enumerate(phases):
        parts = [phase_rows(dataset, row) for dataset, row in zip(datasets, phase.rows, strict=True)]
        grid = common_times([elapsed for _, elapsed in parts])
        numbers.append(np.full(grid.size, number))
        times.append(grid)
        blocks.append(
            {
                name: np.array(
                    [
                        sampled(grid, elapsed, own[name][rows])
                        for own, (rows, elapsed) in zip(columns, parts, strict=True)
                    ]
                )
                for name in columns[0]
            }
        )
    values = {name: np.concatenate([block[name] for block in blocks], axis=1) for name in columns[0]}
    return Traces(np.concatenate(numbers), np.concatenate(times), values)


def phase_rows(dataset: "xarray.Dataset", row: int | None) -> tuple[NDArray[np.int64], Array]:
    """Recorded rows of a phase, by its `row`, shape (n,), and the time since it began, shape (n,) [s]."""
    if row is None:
        return np.empty(0, np.int64), np.empty(0)
    rows = np.flatnonzero(dataset["phase_index"].values == row)
    elapsed = np.asarray(dataset["time"].values[rows] - dataset["phase_start"].values[row])
    return rows, np.asarray(np.maximum(elapsed, 0.0))


def common_times(parts: Sequence[Array]) -> Array:
    """Times at which any of the flights was recorded, shape (m,) [s]; neighbours of one instant only once.

    `parts` are the times of every flight, shape (n,) each [s].
    """
    times = np.unique(np.round(np.concatenate(list(parts)) / SAME_INSTANT)) * SAME_INSTANT
    if times.size <= MOST_SAMPLES:
        return np.asarray(times)
    return np.asarray(times[np.linspace(0, times.size - 1, MOST_SAMPLES).astype(np.int64)])


def sampled(grid: Array, elapsed: Array, values: Array) -> Array:
    """A trace at the common times, straight between its rows; NaN once its phase is over.

    `grid` are the common times, shape (m,) [s], as the result; `elapsed` those of the rows, and `values`,
    shape (n,).
    """
    if elapsed.size == 0:
        return np.full(grid.size, nan)
    inside = np.interp(grid, elapsed, values)
    inside[grid > elapsed[-1] + SAME_INSTANT] = nan
    return np.asarray(inside)


# --- events -----------------------------------------------------------------------------------------
def aligned_events(
    datasets: "Sequence[xarray.Dataset]", phases: Sequence[AlignedPhase]
) -> list[AlignedEvent]:
    """Events matched by kind, phase and order, by phase and then by the time at which they first happen."""
    keys = [
        event_keys(dataset, [phase.rows[case] for phase in phases]) for case, dataset in enumerate(datasets)
    ]
    events = []
    for key in dict.fromkeys(key for own in keys for key in own):
        rows = tuple(own.get(key) for own in keys)
        kind, phase, order = key
        events.append(AlignedEvent(kind, phase, order, rows))
    return sorted(events, key=lambda event: (event.phase, earliest(event, datasets, phases)))


def event_keys(dataset: "xarray.Dataset", rows: Sequence[int | None]) -> dict[tuple[int, int, int], int]:
    """Numbers of the flight's events by (kind, aligned phase, order); bounds of phases left out."""
    places = {row: place for place, row in enumerate(rows) if row is not None}
    bounds = [list(EventKind).index(kind) for kind in BOUNDS]
    seen: Counter[tuple[int, int]] = Counter()
    found = {}
    for number in range(dataset.sizes["event"]):
        kind = int(dataset["event_kind"].values[number])
        phase = places.get(int(dataset["event_phase"].values[number]))
        if kind in bounds or phase is None:
            continue
        seen[kind, phase] += 1
        found[kind, phase, seen[kind, phase]] = number
    return found


def earliest(
    event: AlignedEvent, datasets: "Sequence[xarray.Dataset]", phases: Sequence[AlignedPhase]
) -> float:
    """Least time since the phase began at which any flight has the event [s]."""
    times = event_values(event, datasets, phases)["event_elapsed"]
    return float(np.nanmin(times))


def event_values(
    event: AlignedEvent, datasets: "Sequence[xarray.Dataset]", phases: Sequence[AlignedPhase]
) -> dict[str, Array]:
    """Time since the phase began, speeds, angle and height of an event in every flight; NaN where absent."""
    values = {name: np.full(len(datasets), nan) for name in ("event_elapsed", *COMPARED_EVENTS)}
    for case, (dataset, row) in enumerate(zip(datasets, event.rows, strict=True)):
        phase = phases[event.phase].rows[case]
        if row is None or phase is None:
            continue
        start = float(dataset["phase_start"].values[phase])
        values["event_elapsed"][case] = float(dataset["event_time"].values[row]) - start
        for name in COMPARED_EVENTS:
            values[name][case] = float(dataset[name].values[row])
    return values
