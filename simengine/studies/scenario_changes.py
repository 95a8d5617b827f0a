"""What differs between two scenarios, key by key, and whether they still fly the same flight."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isclose
from typing import Any

from simengine import units
from simengine.results.compare_catalogue import ChangeKind
from simengine.scenario.loader import Scenario
from simengine.scenario.origins import leaves
from simengine.scenario.quantities import dimension_of
from simengine.scenario.tables import TableRecord

NOT_GIVEN = "not given"
# Words, and keys of other commands: a flight and its ceilings do not depend on them.
LEFT_OUT = frozenset({"title", "note", "expect", "calibration", "route", "envelope"})
# Two machines are compared on one flight: same load, same air, same wing, same plan.
FLIGHT = frozenset({"masses", "atmosphere", "site", "fuel", "wing", "flight"})
SOLVER = frozenset({"relative_tolerance", "record_interval"})
SAME = 1e-12  # relative: 46 mm and 0.046 m


@dataclass(frozen=True)
class Change:
    """One key that differs.

    Attributes
    ----------
    path : str
        Key path, for example `hub.spring.washers`.
    first, here : str
        Both values as typed, or the default.
    kind : ChangeKind
        Whether it makes another machine, another flight, or is a setting of the solver.
    file, line : str, int or None
        Where the second was typed, if it was.
    """

    path: str
    first: str
    here: str
    kind: ChangeKind
    file: str
    line: int | None


@dataclass(frozen=True)
class Leaf:
    """One value of a record: in SI, and as it is shown."""

    value: Any
    shown: str


def scenario_changes(first: Scenario, here: Scenario) -> list[Change]:
    """Every key whose value differs, in the order of the records.

    Values are compared in SI: `46 mm` and `0.046 m` are the same. Of a part of another `kind`, and of one
    that only one of them has, the kind and the name are listed: its other keys have no counterpart. Words
    are left out, and what only other commands read.
    """
    before, now = scenario_leaves(first), scenario_leaves(here)
    other_kinds = {
        path.removesuffix("kind")
        for path in (*before, *now)
        if path.endswith(".kind") and kind_of(before, path) != kind_of(now, path)
    }
    changes = []
    for path in dict.fromkeys([*before, *now]):
        if path.partition(".")[0] in LEFT_OUT or without_counterpart(path, other_kinds):
            continue
        old, new = before.get(path), now.get(path)
        if not same_value(old.value if old else None, new.value if new else None):
            changes.append(change(path, old, new, here))
    return changes


def kind_of(values: Mapping[str, Leaf], path: str) -> Any:
    """The kind at a key path; None where there is none."""
    return values[path].value if path in values else None


def scenario_leaves(scenario: Scenario) -> dict[str, Leaf]:
    """Every value by its key path."""
    return dict(shown_leaves(scenario))


def shown_leaves(scenario: Scenario) -> Iterator[tuple[str, Leaf]]:
    """Key path and value of everything in a scenario."""
    for steps, owner, name, value, _ in leaves(scenario.record):
        path = ".".join(str(step) for step in steps)
        origin = scenario.origins.get(path)
        dimension = dimension_of(type(owner).model_fields[name])
        yield path, Leaf(value, origin.text if origin and origin.text else shown(value, dimension))


def shown(value: Any, dimension: units.Dimension | None) -> str:
    """A value that was not typed as a quantity."""
    if value is None or value == ():
        return NOT_GIVEN
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return ", ".join(shown(item, dimension) for item in value)
    return units.readable(value, dimension) if dimension is not None else str(value)


def without_counterpart(path: str, other_kinds: set[str]) -> bool:
    """A key inside a part of another kind; its kind and name stand for it."""
    inside = (path.removeprefix(prefix) for prefix in other_kinds if path.startswith(prefix))
    return any(rest not in ("kind", "name") for rest in inside)


def same_value(first: Any, here: Any) -> bool:
    """Whether two values of a record are the same; nothing and an empty list are."""
    if isinstance(first, float) and isinstance(here, float):
        return isclose(first, here, rel_tol=SAME)
    if isinstance(first, TableRecord) and type(first) is type(here):
        return all(same_value(getattr(first, name), getattr(here, name)) for name in type(first).model_fields)
    if isinstance(first, tuple) and isinstance(here, tuple) and len(first) == len(here):
        return all(same_value(a, b) for a, b in zip(first, here, strict=True))
    return bool(first == here) or (first in (None, ()) and here in (None, ()))


def change(path: str, first: Leaf | None, here: Leaf | None, scenario: Scenario) -> Change:
    """A change with both values as shown."""
    origin = scenario.origins.get(path)
    before, now = (leaf.shown if leaf else NOT_GIVEN for leaf in (first, here))
    tables = [leaf.value for leaf in (first, here) if leaf and isinstance(leaf.value, TableRecord)]
    if len(tables) == 2:
        before, now = (table_words(table) for table in tables)
        now = f"{now}, {rows_apart(*tables)}"
    file, line = (origin.file, origin.line) if origin else ("", None)
    return Change(path, before, now, change_kind(path), file, line)


def change_kind(path: str) -> ChangeKind:
    """What a key belongs to."""
    steps = path.split(".")
    if steps[0] == "flight" and steps[1] in SOLVER:
        return ChangeKind.SOLVER
    if steps[-1] in ("name", "pitch") or steps[0] not in FLIGHT:
        return ChangeKind.MACHINE
    return ChangeKind.FLIGHT


def table_words(table: TableRecord) -> str:
    """A table in a few words."""
    return f"table of {len(rows(table))} rows"


def rows(table: TableRecord) -> list[tuple[Any, ...]]:
    """Rows of a table, of its columns that hold numbers."""
    columns: Mapping[str, Any] = {name: getattr(table, name) for name in type(table).model_fields}
    return list(zip(*(column for column in columns.values() if isinstance(column, tuple)), strict=False))


def rows_apart(first: TableRecord, here: TableRecord) -> str:
    """How many rows of a table differ."""
    pairs = list(zip(rows(first), rows(here), strict=False))
    apart = sum(not same_value(one, other) for one, other in pairs)
    apart += abs(len(rows(first)) - len(rows(here)))
    return f"{apart} of them different"
