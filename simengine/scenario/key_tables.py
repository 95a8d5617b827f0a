"""Every key of a scenario in words, as Markdown: one section a block, one table each."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.resources import files
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import WithJsonSchema
from pydantic.fields import FieldInfo

from simengine import units
from simengine.scenario.commented_text import value_lines
from simengine.scenario.descriptions import descriptions
from simengine.scenario.loader import plain
from simengine.scenario.problems import is_record, plain_type
from simengine.scenario.quantities import Quantity, Record, dimension_of, marks_in
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.tables import TableRecord
from simengine.scenario.yaml_nodes import parse_text
from simengine.units import Dimension

HEADINGS = "| key | meaning | value | default | range | example |"
RULE = "|---|---|---|---|---|---|"
REQUIRED, NOTHING = "**required**", "–"
BOUNDS = {"ge": "from {}", "gt": "above {}", "le": "to {}", "lt": "and below {}"}
LENGTHS = {"min_length": "at least {}", "max_length": "at most {}"}
LARGER = {"time": ((3600.0, "h"), (120.0, "min")), "length": ((1e4, "km"),)}  # units for large bounds
SCALARS = {str: "text", int: "whole number", float: "number", bool: "`true` or `false`"}


@dataclass
class Walk:
    """What is left to tell, and where each record is told.

    Attributes
    ----------
    examples : dict of str to str
        Values of the starter file by key path.
    listed : dict
        Values of `examples.yaml` by record and key.
    told : dict of record type to str
        Anchor of the section that tells it.
    waiting : list
        Sections still to come: key path, record types.
    """

    examples: dict[str, str]
    listed: dict[str, dict[str, Any]]
    told: dict[type[Record], str] = field(default_factory=dict)
    waiting: list[tuple[str, type[Record]]] = field(default_factory=list)

    def places(self, path: str, record: type[Record]) -> list[str]:
        """Where in the starter file a record of this kind stands."""
        kind = kind_of(record)
        spots = [path.replace("[]", f".{index}") for index in range(6)] if "[]" in path else [path]
        return [spot for spot in spots if not kind or self.examples.get(f"{spot}.kind") == kind]


def key_sections() -> str:
    """Markdown of every key, blocks in the order in which a scenario has them."""
    here = files("simengine.scenario")
    starter = here.joinpath("starter.yaml").read_text(encoding="utf-8")
    walk = Walk(
        {line.path: line.value.removesuffix(", assumed") for line in value_lines(starter)}, listed_examples()
    )
    blocks = [
        (name, records_of(plain_type(item.annotation))) for name, item in ScenarioRecord.model_fields.items()
    ]
    parts = ["## A scenario, from the top\n", key_table("", ScenarioRecord, walk)]
    for name, kinds in blocks:
        if kinds:
            walk.waiting = [(name, kind) for kind in kinds]
            parts += block(name, walk)
    return "\n".join(parts)


def listed_examples() -> dict[str, dict[str, Any]]:
    """Values of keys that the starter file does not have, by record and key."""
    text = files("simengine.scenario").joinpath("examples.yaml").read_text(encoding="utf-8")
    tree: dict[str, dict[str, Any]] = plain(parse_text(text, "examples.yaml")[0])
    return tree


def block(name: str, walk: Walk) -> Iterator[str]:
    """One block with all that is inside it."""
    first = True
    while walk.waiting:
        path, record = walk.waiting.pop(0)
        if record in walk.told and walk.told[record] != anchor(path, record):
            continue
        walk.told[record] = anchor(path, record)
        if first and kind_of(record):
            yield f"\n## `{name}`\n"
        first, top = False, "##" if first and not kind_of(record) else "###"
        yield f"\n{top} {title(path, record)}\n"
        yield f"{words(record)}\n"
        before = list(walk.waiting)
        walk.waiting = []
        yield key_table(path, record, walk)
        walk.waiting += before


def title(path: str, record: type[Record]) -> str:
    """Heading of a section: the key path, and the kind where there are several."""
    kind = kind_of(record)
    return f"`{path}` with `kind: {kind}`" if kind else f"`{path}`"


def anchor(path: str, record: type[Record]) -> str:
    """Link to a section, as common viewers of Markdown make it of the heading."""
    text = re.sub(r"[^\w\s-]", "", title(path, record).lower())
    return "#" + re.sub(r"\s", "-", text)


def kind_of(record: type[Record]) -> str:
    """The word under `kind`; empty if the record has none."""
    item = record.model_fields.get("kind")
    return str(get_args(item.annotation)[0]) if item else ""


def words(record: type[Record]) -> str:
    """What a record is, from its own text."""
    text = " ".join((record.__doc__ or "").split())
    table = " A table: `columns` with a heading and a unit each, `rows` of numbers."
    return text + (table if issubclass(record, TableRecord) else "")


def key_table(path: str, record: type[Record], walk: Walk) -> str:
    """Table of one record's keys, the kind first."""
    names = sorted(record.model_fields, key=lambda name: name != "kind")
    return "\n".join([HEADINGS, RULE, *(row(path, record, name, walk) for name in names)]) + "\n"


def row(path: str, record: type[Record], name: str, walk: Walk) -> str:
    """One key."""
    item, below = record.model_fields[name], f"{path}.{name}" if path else name
    dimension, example = dimension_of(item), example_words(below, record, name, walk)
    cells = (
        f"`{name}`",
        descriptions(record).get(name, ""),
        value_words(below, item, dimension, issubclass(record, TableRecord), walk),
        default_words(item, dimension, example.strip("`").rpartition(" ")[2]),
        range_words(item, dimension),
        example,
    )
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def value_words(path: str, item: FieldInfo, dimension: Dimension | None, column: bool, walk: Walk) -> str:
    """What may stand there, with a link to its units or its section."""
    kind = plain_type(item.annotation)
    listed = get_origin(kind) is tuple and not column
    records = records_of(kind)
    if records:
        links = []
        for each in records:
            here = f"{path}[]" if listed else path
            if each not in walk.told:
                walk.told[each] = anchor(here, each)
                walk.waiting.append((here, each))
            links.append(f"[{kind_of(each) or 'block'}]({walk.told[each]})")
        return ("list of " if listed else "") + ", ".join(links)
    inside = plain_type(get_args(kind)[0]) if get_origin(kind) is tuple else kind
    if dimension is not None:
        shown = f"[{dimension.name}](#{dimension.name.replace(' ', '-')})"
    elif get_origin(inside) is Literal:
        shown = ", ".join(f"`{choice}`" for choice in get_args(inside))
    elif get_origin(inside) is tuple:
        shown = "list of number"
    elif any(isinstance(mark, WithJsonSchema) for mark in (*item.metadata, *marks_in(item.annotation))):
        shown = "in a unit of the figure"
    else:
        shown = SCALARS.get(inside, "text")
    return f"list of {shown}" if listed else shown


def records_of(kind: Any) -> list[type[Record]]:
    """Record types that a key may hold: itself, those of a list, those of a choice."""
    if is_record(kind):
        return [kind]
    if get_origin(kind) is tuple or get_origin(kind) in (Union, UnionType):
        return [
            found
            for part in get_args(kind)
            if part not in (NoneType, Ellipsis)
            for found in records_of(plain_type(part))
        ]
    return []


def default_words(item: FieldInfo, dimension: Dimension | None, unit: str) -> str:
    """The default as one would type it, in the unit of the example where that is shorter."""
    if item.is_required():
        return REQUIRED
    value = item.default
    if value is None or value in ("", ()) or isinstance(value, Record):
        return NOTHING
    values = value if isinstance(value, tuple) else (value,)
    known = [unit] if dimension is not None and unit in dimension.units else []
    shown = [
        min((units.readable(each, dimension, one) for one in (None, *known)), key=len)
        if dimension
        else plain_words(each)
        for each in values
    ]
    return f"`[{', '.join(shown)}]`" if isinstance(value, tuple) else f"`{shown[0]}`"


def plain_words(value: Any) -> str:
    """A value without a dimension, as typed."""
    return (
        str(value).lower()
        if isinstance(value, bool)
        else f"{value:g}"
        if isinstance(value, float)
        else str(value)
    )


def range_words(item: FieldInfo, dimension: Dimension | None) -> str:
    """Bounds of the value, and of a list's length."""
    marks = [*item.metadata, *marks_in(item.annotation)]
    found = [mark for each in marks for mark in (*getattr(each, "metadata", ()), each)]
    bounds = [
        text.format(bound_words(getattr(mark, name), dimension))
        for name, text in BOUNDS.items()
        for mark in found
        if getattr(mark, name, None) is not None and not isinstance(mark, Quantity)
    ]
    told = [" ".join(dict.fromkeys(bounds))] if bounds else []
    lengths = [
        text.format(getattr(mark, name)) + " of them"
        for name, text in LENGTHS.items()
        for mark in found
        if getattr(mark, name, None) is not None
    ]
    return ", ".join([*told, *dict.fromkeys(lengths)]) or NOTHING


def bound_words(bound: float, dimension: Dimension | None) -> str:
    """A bound in a unit for reading, rounded."""
    if dimension is None:
        return f"{bound:g}"
    larger = next((unit for least, unit in LARGER.get(dimension.name, ()) if abs(bound) >= least), None)
    number, _, unit = units.readable(bound, dimension, larger).partition(" ")
    return f"{float(number):.4g} {unit}".rstrip()


def example_words(path: str, record: type[Record], name: str, walk: Walk) -> str:
    """A value as typed: the starter file's where it has this key of this kind, else one of the list."""
    item = record.model_fields[name]
    if issubclass(record, TableRecord):
        dimension = dimension_of(item)
        unit = walk.listed.get(record.__name__, {}).get(name, dimension.shown[-1] if dimension else "")
        return f"`{name} {unit}".rstrip() + "`" if dimension else NOTHING
    kind = plain_type(item.annotation)
    if get_origin(kind) is Literal and name == "kind":
        return f"`{get_args(kind)[0]}`"
    for place in walk.places(path.rpartition(".")[0], record):
        known = walk.examples.get(f"{place}.{name}" if place else name)
        if known and not known.startswith("{"):
            return f"`{known}`"
    typed = walk.listed.get(record.__name__, {}).get(name)
    if typed is not None:
        return f"`{plain_words(typed)}`"
    return f"`{get_args(kind)[0]}`" if get_origin(kind) is Literal else NOTHING
