"""A flight against its baseline: which figures, events and traces moved, and how far for what is allowed."""

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from simengine.results import catalogue
from simengine.results.tolerances import difference_tolerance, trace_tolerance
from simengine.studies.check.baseline import Baseline, EventRow, Value
from simengine.studies.check.trace_norm import Samples, distances, moved_times, sampled
from simengine.studies.envelope.points import VARIABLES

if TYPE_CHECKING:
    import xarray

PHASE_UNITS = {variable.name: variable.units for variable in catalogue.PHASES}
TRACE_UNITS = {variable.name: variable.units for variable in catalogue.TRACES}
EVENTS, TRACES, ENVELOPE = "events", "traces", "envelope"
NOTHING = "did not happen"
Pair = tuple[float, float]  # relative tolerances of both flights


@dataclass(frozen=True)
class Comparison:
    """One thing compared.

    Attributes
    ----------
    group : str
        `phase NAME`, `envelope`, `events` or `traces`.
    name : str
        Figure, event or trace.
    before, now : str
        In words, with unit.
    share : float
        Difference over tolerance; infinite for what cannot be measured, such as another state.
    difference, tolerance : str
        In words, with unit.
    """

    group: str
    name: str
    before: str
    now: str
    share: float
    difference: str = ""
    tolerance: str = ""

    @property
    def moved(self) -> bool:
        """Whether it is another than before."""
        return self.share > 1.0


def compare(before: Baseline, now: Baseline, dataset: "xarray.Dataset") -> list[Comparison]:
    """Everything that a baseline holds against the same flight of today.

    Parameters
    ----------
    before, now : Baseline
        As stored, and of today.
    dataset : xarray.Dataset
        The flight of today.
    """
    both = (before.relative_tolerance, now.relative_tolerance)
    return [
        *figure_comparisons(before, now, both),
        *envelope_comparisons(before, now, both),
        *event_comparisons(before.events, now.events, both),
        *trace_comparisons(before, now, dataset, trace_tolerance(max(both))),
    ]


def figure_comparisons(before: Baseline, now: Baseline, both: Pair) -> Iterator[Comparison]:
    """Every figure of every phase; a phase that is new or gone counts once."""
    for phase in dict.fromkeys([*before.figures, *now.figures]):
        group = f"phase {phase}"
        old, new = before.figures.get(phase), now.figures.get(phase)
        if old is None or new is None:
            words = ("not flown", "flown") if old is None else ("flown", "not flown")
            yield Comparison(group, "phase", *words, np.inf)
            continue
        for name in dict.fromkeys([*old, *new]):
            if name in PHASE_UNITS:
                allowed = difference_tolerance(name, *both)
                yield value_comparison(group, name, old.get(name), new.get(name), PHASE_UNITS[name], allowed)


def envelope_comparisons(before: Baseline, now: Baseline, both: Pair) -> Iterator[Comparison]:
    """Figures of the envelope that both agree on."""
    for wanted, new in now.envelope.items():
        if wanted in before.envelope:
            name, height = wanted
            label = name if height is None else f"{name} at {height:g} m"
            units, allowed = VARIABLES[name].units, difference_tolerance(name, *both)
            yield value_comparison(ENVELOPE, label, before.envelope[wanted], new, units, allowed)


def value_comparison(group: str, name: str, old: Value, new: Value, units: str, allowed: float) -> Comparison:
    """One figure."""
    if isinstance(old, float) and isinstance(new, float):
        return measured(group, name, old, new, units, allowed)
    return Comparison(group, name, shown(old, units), shown(new, units), 0.0 if old == new else np.inf)


def measured(group: str, name: str, old: float, new: float, units: str, allowed: float) -> Comparison:
    """Two numbers."""
    return Comparison(
        group,
        name,
        shown(old, units),
        shown(new, units),
        abs(new - old) / allowed,
        f"{new - old:+.3g} {unit_words(units)}".rstrip(),
        f"{allowed:.2g} {unit_words(units)}".rstrip(),
    )


def shown(value: Value, units: str) -> str:
    """A figure with its unit."""
    if value is None:
        return NOTHING
    return value if isinstance(value, str) else f"{number(value)} {unit_words(units)}".rstrip()


def number(value: float) -> str:
    """A number with the digits that a reader wants."""
    return f"{value:.0f}" if abs(value) >= 10_000 else f"{value:.5g}"


def unit_words(units: str) -> str:
    """A stored unit as people write it."""
    return {"1": "", "m s-1": "m/s", "L h-1": "L/h", "kg h-1": "kg/h", "degree": "deg", "N m": "N m"}.get(
        units, units
    )


# --- events ----------------------------------------------------------------------------------------
def event_comparisons(
    before: tuple[EventRow, ...], now: tuple[EventRow, ...], both: Pair
) -> Iterator[Comparison]:
    """Events by kind and order, then each pair in time, rpm, blade angle and height."""
    old_kinds, new_kinds = ([(row.kind, row.phase) for row in rows] for rows in (before, now))
    for step, i1, i2, j1, j2 in SequenceMatcher(None, old_kinds, new_kinds, autojunk=False).get_opcodes():
        if step == "equal":
            pairs = zip(before[i1:i2], now[j1:j2], strict=True)
            yield from (event_comparison(old, new, both) for old, new in pairs)
            continue
        for row in before[i1:i2]:
            yield Comparison(EVENTS, row.words, place(row), NOTHING, np.inf)
        for row in now[j1:j2]:
            yield Comparison(EVENTS, row.words, NOTHING, place(row), np.inf)


def place(row: EventRow) -> str:
    """When and at which rpm."""
    return f"{row.time:.2f} s, {row.engine_rpm:.0f} rpm"


def event_comparison(old: EventRow, new: EventRow, both: Pair) -> Comparison:
    """One event, by that of its figures which moved most for its tolerance."""
    measures = (
        ("event_time", "s", old.time, new.time),
        ("event_engine_rpm", "rpm", old.engine_rpm, new.engine_rpm),
        ("event_blade_angle", "degree", old.blade_angle, new.blade_angle),
        ("event_height", "m", old.height, new.height),
    )
    found = [
        measured(EVENTS, old.words, before, now, units, difference_tolerance(name, *both))
        for name, units, before, now in measures
    ]
    worst = max(found, key=lambda comparison: comparison.share)
    return Comparison(
        EVENTS, old.words, place(old), place(new), worst.share, worst.difference, worst.tolerance
    )


# --- traces ----------------------------------------------------------------------------------------
def paired_times(before: Baseline, now: Baseline) -> tuple[list[float], list[float]]:
    """Times of the events that belong together: all of them, or as far as the phases agree."""
    kinds = [[(row.kind, row.phase) for row in rows] for rows in (before.events, now.events)]
    if kinds[0] == kinds[1]:
        return [row.time for row in before.events], [row.time for row in now.events]
    limits = [
        [row for row in rows if row.kind in ("phase_begins", "phase_ends")]
        for rows in (before.events, now.events)
    ]
    pairs = [
        (a.time, b.time) for a, b in zip(*limits, strict=False) if (a.kind, a.phase) == (b.kind, b.phase)
    ]
    return [a for a, _ in pairs], [b for _, b in pairs]


def trace_comparisons(
    before: Baseline, now: Baseline, dataset: "xarray.Dataset", allowed: float
) -> Iterator[Comparison]:
    """Every trace by its mean distance, laid over event by event."""
    old_times, new_times = paired_times(before, now)
    if len(old_times) < 2:
        return
    times = before.samples.times
    inside = (times >= old_times[0]) & (times <= old_times[-1])
    old = Samples(times[inside], {name: values[inside] for name, values in before.samples.values.items()})
    new = sampled(dataset, moved_times(old.times, np.array(old_times), np.array(new_times)))
    for distance in distances(old, new):
        units = unit_words(TRACE_UNITS[distance.name])
        yield Comparison(
            TRACES,
            distance.name,
            "",
            f"at most {distance.worst:.3g} {units} away, at {distance.at_time:.1f} s".replace("  ", " "),
            distance.norm / allowed if isfinite(distance.norm) else np.inf,
            f"{100 * distance.norm:.2g} % of its range on the mean" if isfinite(distance.norm) else "",
            f"{100 * allowed:.2g} %",
        )
