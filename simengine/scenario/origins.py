"""Where each value of a scenario came from: typed, and how, or a default."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from simengine import units
from simengine.scenario.problems import find_spot, node_at
from simengine.scenario.quantities import Record, dimension_of, parse_quantity
from simengine.scenario.tables import TableRecord
from simengine.scenario.yaml_nodes import Mapping, Node, Scalar, Sequence


@dataclass(frozen=True)
class Origin:
    """What was typed for one quantity or table.

    Attributes
    ----------
    text : str
        As typed; for a table its headings.
    unit : str
        As typed.
    value : float or None
        In SI; None for a table.
    plus_minus : float or None
        Uncertainty in SI, if one was typed.
    mark : str or None
        `measured`, `assumed` or `fitted`, if one was typed.
    note : str
        Text of the mapping form.
    file, line
        Where.
    """

    text: str
    unit: str
    value: float | None
    plus_minus: float | None
    mark: str | None
    note: str
    file: str
    line: int


def leaves(record: Record, path: tuple[str | int, ...] = (), default: bool = False) -> Iterator[Any]:
    """Every field that is not itself a record: key path, record, name, value, whether it is a default."""
    for name in type(record).model_fields:
        value = getattr(record, name)
        left_out = default or name not in record.model_fields_set
        yield from leaves_of(record, name, value, (*path, name), left_out)


def leaves_of(
    record: Record, name: str, value: Any, path: tuple[str | int, ...], default: bool
) -> Iterator[Any]:
    """The leaves of one field."""
    if isinstance(value, Record) and not isinstance(value, TableRecord):
        yield from leaves(value, path, default)
    elif isinstance(value, tuple) and value and isinstance(value[0], Record):
        for index, item in enumerate(value):
            yield from leaves(item, (*path, index), default)
    else:
        yield path, record, name, value, default


def collect_origins(record: Record, tree: Mapping) -> dict[str, Origin]:
    """Origin of every quantity and table that was typed, by key path."""
    origins: dict[str, Origin] = {}
    for path, owner, name, value, default in leaves(record):
        if default or isinstance(value, str | bool):
            continue
        node, spot = node_at(tree, path), find_spot(tree, path)
        dimension = dimension_of(type(owner).model_fields[name])
        if isinstance(value, TableRecord) and isinstance(node, Mapping):
            typed = table_origin(node, spot.place.file, spot.place.line)
        elif isinstance(node, Sequence):
            typed = list_origin(node, spot.place.file, spot.place.line)
        elif dimension is not None and node is not None:
            typed = quantity_origin(node, dimension, spot.place.file, spot.place.line)
        else:
            continue
        origins[".".join(str(step) for step in path)] = typed
    return origins


def text_of(node: Node | None) -> str | None:
    """Text of a value; None if there is none."""
    return node.text if isinstance(node, Scalar) and node.value is not None else None


def quantity_origin(node: Node, dimension: units.Dimension, file: str, line: int) -> Origin:
    """Origin of a quantity in its plain or its mapping form."""
    form = node.entries if isinstance(node, Mapping) else {"value": node}
    text = text_of(form["value"]) or ""
    typed = parse_quantity(text, dimension)
    mark = text_of(form.get("origin")) or typed.mark
    note = text_of(form.get("note")) or ""
    return Origin(text, typed.unit, typed.value, typed.plus_minus, mark, note, file, line)


def table_origin(table: Mapping, file: str, line: int) -> Origin:
    """Origin of a table."""
    headings = table.entries.get("columns")
    texts = [text_of(item) or "" for item in headings.items] if isinstance(headings, Sequence) else []
    mark, note = text_of(table.entries.get("origin")), text_of(table.entries.get("note"))
    return Origin(", ".join(texts), "", None, None, mark, note or "", file, line)


def list_origin(items: Sequence, file: str, line: int) -> Origin:
    """Origin of a list of quantities."""
    text = ", ".join(text_of(item) or "" for item in items.items)
    return Origin(text, "", None, None, None, "", file, line)


def list_defaults(record: Record) -> Iterator[str]:
    """`key path = value` of everything that was left to its default; what is simply absent is left out."""
    for path, owner, name, value, default in leaves(record):
        if default and value not in (None, (), "") and name not in owner.unused():
            dimension = dimension_of(type(owner).model_fields[name])
            values = value if isinstance(value, tuple) and dimension else (value,)
            shown = ", ".join(
                units.readable(item, dimension) if dimension else default_text(item) for item in values
            )
            yield f"{'.'.join(str(step) for step in path)} = {shown}"


def default_text(value: Any) -> str:
    """A default that is no quantity, as it would be typed."""
    return str(value).lower() if isinstance(value, bool) else str(value)
