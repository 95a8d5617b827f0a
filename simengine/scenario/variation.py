"""Vary a checked scenario: other values at given key paths, and the inputs that say how sure they are."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from simengine.scenario.loader import Scenario
from simengine.scenario.origins import leaves
from simengine.scenario.quantities import Record, dimension_of
from simengine.units import Dimension

# `+-` in a scenario is an expanded uncertainty: JCGM 100:2008 (GUM) 6.2 and G.6.6, coverage factor 2,
# about 95 % of a normal distribution.
COVERAGE_FACTOR = 2.0

AnyRecord = TypeVar("AnyRecord", bound=Record)


@dataclass(frozen=True)
class UncertainInput:
    """One quantity that was typed with `+-`.

    Attributes
    ----------
    path : str
        Key path, for example `hub.spring.rate`.
    value : float
        In SI.
    plus_minus : float
        Half-width in SI, `COVERAGE_FACTOR` standard deviations.
    dimension : Dimension
        For showing it.
    """

    path: str
    value: float
    plus_minus: float
    dimension: Dimension

    @property
    def deviation(self) -> float:
        """Standard deviation [SI]."""
        return self.plus_minus / COVERAGE_FACTOR


def rebuilt(record: AnyRecord, **changes: Any) -> AnyRecord:
    """The record with some values replaced and its own checks run again; defaults stay defaults."""
    kept = {name: getattr(record, name) for name in record.model_fields_set}
    made: AnyRecord = type(record)(**(kept | changes))
    return made


def with_values(record: AnyRecord, values: Mapping[str, Any]) -> AnyRecord:
    """A record with other values at key paths such as `hub.spring.rate` or `flight.phases.0.bar`.

    Parameters
    ----------
    record : Record
        Usually a whole `ScenarioRecord`.
    values : mapping of str to value
        In SI; a record or a table may be put in whole.

    Raises
    ------
    KeyError
        A path that leads nowhere.
    pydantic.ValidationError
        A value out of its range, or one that does not fit the others.
    """
    own = {path: value for path, value in values.items() if "." not in path}
    inner: dict[str, dict[str, Any]] = {}
    for path, value in values.items():
        if "." in path:
            head, _, tail = path.partition(".")
            inner.setdefault(head, {})[tail] = value
    for name in (*own, *inner):
        if name not in type(record).model_fields:
            raise KeyError(f"{type(record).__name__} has no key '{name}'")
    changes = own | {name: changed(getattr(record, name), below) for name, below in inner.items()}
    return rebuilt(record, **changes) if changes else record


def changed(value: Any, values: Mapping[str, Any]) -> Any:
    """What `with_values` makes of one field."""
    if isinstance(value, Record):
        return with_values(value, values)
    if not isinstance(value, tuple):
        raise KeyError(f"nothing can be reached below this value: {', '.join(values)}")
    items = list(value)
    by_place: dict[int, dict[str, Any]] = {}
    for path, new in values.items():
        head, _, tail = path.partition(".")
        if not head.isdigit() or int(head) >= len(items):
            raise KeyError(f"'{head}' is not the number of an item, 0 to {len(items) - 1}")
        if tail:
            by_place.setdefault(int(head), {})[tail] = new
        else:
            items[int(head)] = new
    for place, below in by_place.items():
        items[place] = changed(items[place], below)
    return tuple(items)


def value_at(record: Record, path: str) -> Any:
    """What stands at a key path; KeyError if it leads nowhere."""
    value: Any = record
    for step in path.split("."):
        if isinstance(value, Record) and step in type(value).model_fields:
            value = getattr(value, step)
        elif isinstance(value, tuple) and step.isdigit() and int(step) < len(value):
            value = value[int(step)]
        else:
            raise KeyError(f"'{path}' leads nowhere at '{step}'")
    return value


def uncertain_inputs(scenario: Scenario) -> tuple[UncertainInput, ...]:
    """Every quantity typed with a `+-` above zero, in the order of the records."""
    found = []
    for steps, owner, name, value, _ in leaves(scenario.record):
        path = ".".join(str(step) for step in steps)
        origin = scenario.origins.get(path)
        dimension = dimension_of(type(owner).model_fields[name])
        if origin is None or dimension is None or not origin.plus_minus:
            continue
        found.append(UncertainInput(path, float(value), origin.plus_minus, dimension))
    return tuple(found)
