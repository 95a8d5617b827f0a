"""What pydantic found wrong -> problems with file, line, key path, the text as typed and a remedy."""

from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from simengine import units
from simengine.errors import Problem
from simengine.scenario.quantities import QuantityError, Record, dimension_of, parse_quantity
from simengine.scenario.yaml_nodes import Mapping, Node, Place, Scalar, Sequence, shorten

KeyPath = tuple[str | int, ...]

DESCRIBED = 1000  # problems, more than anybody reads
BOUNDS = {
    "greater_than": ("gt", "must be greater than"),
    "greater_than_equal": ("ge", "must be at least"),
    "less_than": ("lt", "must be less than"),
    "less_than_equal": ("le", "must be at most"),
}
WITHOUT_VALUE = ("missing", "union_tag_not_found", "extra_forbidden", "too_short", "too_long")
WRONG_TYPE = {
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "finite_number": "must be a finite number",
    "bool_type": "must be true or false",
    "string_type": "must be text; put it in quotes",
    "model_type": "must be a mapping of keys and values",
    "model_attributes_type": "must be a mapping of keys and values",
    "tuple_type": "must be a list",
}


@dataclass(frozen=True)
class Target:
    """What an error is about.

    Key path in the file; the field, and the record that it stands in; the type wanted at the path.
    """

    path: KeyPath
    field: FieldInfo | None
    record: type[Record] | None
    kind: Any


def plain_type(annotation: Any) -> Any:
    """A type without its marks and without `None`."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (Union, UnionType):
        members = [member for member in get_args(annotation) if member is not type(None)]
        return plain_type(members[0]) if len(members) == 1 else Union[tuple(members)]  # noqa: UP007
    return annotation


def is_record(kind: Any) -> bool:
    """Whether a type is one of our records."""
    return isinstance(kind, type) and issubclass(kind, Record)


def kinds(union: Any) -> dict[str, type[Record]]:
    """Records of a union by their `kind`."""
    return {get_args(member.model_fields["kind"].annotation)[0]: member for member in get_args(union)}


def find_target(record: type[Record], location: KeyPath) -> Target:
    """Follow pydantic's location through the record types; the tags of unions drop out."""
    path: list[str | int] = []
    kind: Any = record
    owner: type[Record] | None = None
    field: FieldInfo | None = None
    for step in location:
        if get_origin(kind) is Union:
            kind = kinds(kind).get(str(step))
            if kind is not None:  # else a complaint of the record around the union, which knows no tags
                continue
        path.append(step)
        if get_origin(kind) is tuple and isinstance(step, int):
            kind = plain_type(get_args(kind)[0])
            continue
        owner = kind if is_record(kind) else None
        field = owner.model_fields.get(str(step)) if owner else None
        kind = plain_type(field.annotation) if field else None
    return Target(tuple(path), field, owner, kind)


def describe(error: ValidationError, record: type[Record], tree: Mapping) -> list[Problem]:
    """Every problem of a failed validation.

    A missing key is not reported where a file could not be read, nor where a misspelt key is nearest to it.
    """
    details = error.errors(include_url=False, include_context=True)[:DESCRIBED]
    targets = [(detail, find_target(record, detail["loc"])) for detail in details]
    misspelt = {
        (*target.path[:-1], unknown_key(target)[1])
        for detail, target in targets
        if detail["type"] == "extra_forbidden"
    }
    problems = []
    for detail, target in targets:
        if is_unread(node_at(tree, target.path)):
            continue
        absent = detail["type"] in ("missing", "union_tag_not_found")
        if absent and (target.path in misspelt or is_incomplete(tree, target.path)):
            continue
        if detail["type"] == "too_short" and typed_length(tree, target.path) >= detail["ctx"]["min_length"]:
            continue  # pydantic counts the sound entries only; the others have their own problems
        problems.append(problem_of(detail, target, tree))
    return problems


def problem_of(detail: Any, target: Target, tree: Mapping) -> Problem:
    """One problem in the user's words."""
    kind, context = detail["type"], detail.get("ctx", {})
    path = target.path
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        path = (*path, "kind")
    spot = find_spot(tree, path)
    message, near = message_of(kind, context, target, spot, detail["msg"])
    got = f" (got {spot.typed})" if spot.typed and kind not in WITHOUT_VALUE else ""
    key = ".".join(str(step) for step in spot.key)
    return Problem(spot.place.file, spot.place.line, key, f"{spot.prefix}{message}{got}{near}")


def message_of(kind: str, context: Any, target: Target, spot: "Spot", default: str) -> tuple[str, str]:
    """What is wrong and what is accepted; and the nearest name, if there is one."""
    if kind == "missing":
        return f"is required{example(target)}", ""
    if kind == "extra_forbidden":
        return unknown_key(target)[0], ""
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return choice(list(kinds(target.kind)), spot, kind)
    if kind == "literal_error":
        return choice([str(name) for name in get_args(target.kind)], spot, kind)
    if kind in BOUNDS:
        return bound_message(kind, context, target, spot), ""
    if kind in ("too_short", "too_long"):
        word, limit = ("at least", "min_length") if kind == "too_short" else ("at most", "max_length")
        return f"must have {word} {context[limit]} entries, but has {context['actual_length']}", ""
    return WRONG_TYPE.get(kind, default), ""


def choice(names: list[str], spot: "Spot", kind: str) -> tuple[str, str]:
    """A message for one of several words."""
    required = "is required: " if kind == "union_tag_not_found" else "must be "
    listed = f"one of {', '.join(names)}" if len(names) > 1 else "".join(names)
    near = units.nearest(spot.typed.strip("'"), names) if len(names) > 1 and spot.typed else None
    return f"{required}{listed}", f"; nearest: '{near}'" if near else ""


def example(target: Target) -> str:
    """What a missing key should hold."""
    dimension = dimension_of(target.field) if target.field else None
    if get_origin(target.kind) is Literal:
        return f": {' or '.join(str(name) for name in get_args(target.kind))}"
    if dimension is None or is_record(target.kind):
        return ""
    return f": {dimension.article}, for example '{dimension.example}'"


def unknown_key(target: Target) -> tuple[str, str | None]:
    """Message about a key that is not known, and the known one most like it."""
    key = str(target.path[-1])
    if key in ("use", "extends"):
        return "'extends' stands at the top of a file only; inside, write 'use'", None
    known = [*target.record.model_fields, *target.record.taken_out] if target.record else []
    near = units.nearest(key, known)
    hint = f"; nearest: '{near}'" if near else ""
    return f"unknown key; accepted: {', '.join(known)}{hint}", near


def bound_message(kind: str, context: Any, target: Target, spot: "Spot") -> str:
    """A range, in the unit that the user typed."""
    name, words = BOUNDS[kind]
    dimension = dimension_of(target.field) if target.field else None
    if dimension is None:
        return f"{words} {context[name]:g}"
    unit = spot.unit if spot.unit is not None else typed_unit(spot.typed.strip("'"), dimension)
    percent = dimension is units.FRACTION and unit == "" and name in ("le", "lt")
    hint = f"; in percent write '{spot.typed.strip(chr(39))} %'" if percent and spot.unit is None else ""
    return f"{words} {units.readable(context[name], dimension, unit)}{hint}"


def typed_unit(text: str, dimension: units.Dimension) -> str | None:
    """Unit of a text in our spelling."""
    try:
        return units.normalise(parse_quantity(text, dimension).unit)
    except QuantityError:
        return None


# --- places ----------------------------------------------------------------------------------------
@dataclass(frozen=True)
class Spot:
    """Where a key path stands in the files.

    `typed` is what stands there, for a message; `unit` that of a table's heading; `prefix` names a row.
    """

    place: Place
    key: KeyPath
    typed: str
    unit: str | None = None
    prefix: str = ""


def typed_text(node: Node | None) -> str:
    """What was typed, for a message."""
    if node is None:
        return ""
    if isinstance(node, Scalar):
        return f"'{shorten(node.text)}'" if node.text else "nothing"
    if isinstance(node, Mapping) and isinstance(node.entries.get("value"), Scalar):
        return typed_text(node.entries["value"])
    return "a list" if isinstance(node, Sequence) else "a mapping"


def find_spot(tree: Mapping, path: KeyPath) -> Spot:
    """Where a key path stands; for a missing key, where the mapping stands that should hold it."""
    place, node = Place(tree.place.file, tree.place.line), tree
    current: Node | None = node
    for depth, step in enumerate(path):
        if isinstance(current, Mapping) and step in current.entries:
            place, current = current.key_places[str(step)], current.entries[str(step)]
        elif isinstance(current, Sequence) and isinstance(step, int) and step < len(current.items):
            current = current.items[step]
            place = current.place
        elif isinstance(current, Mapping) and "columns" in current.entries:
            return table_spot(current, place, path, depth)
        else:
            return Spot(place, path, "")
        if isinstance(current, Sequence) and step in ("columns", "rows"):
            return list_spot(current, place, path, depth)
    return Spot(current.place if isinstance(current, Scalar) else place, path, typed_text(current))


def list_spot(sequence: Sequence, place: Place, path: KeyPath, depth: int) -> Spot:
    """Where something stands in the rows or headings of a table."""
    rest = [step for step in path[depth + 1 :] if isinstance(step, int)]
    key = path[: depth + 1]
    node: Node = sequence
    for step in rest:
        if not isinstance(node, Sequence) or step >= len(node.items):
            break
        node = node.items[step]
    prefix = f"row {rest[0] + 1}: " if rest and path[depth] == "rows" else ""
    shown = typed_text(node) if isinstance(node, Scalar) else ""
    return Spot(node.place if rest else place, key, shown, None, prefix)


def table_spot(table: Mapping, place: Place, path: KeyPath, depth: int) -> Spot:
    """Where a loaded column, or a cell of it, stands in the rows that were typed."""
    name, rest = str(path[depth]), path[depth + 1 :]
    headings, rows = table.entries.get("columns"), table.entries.get("rows")
    key = path[: depth + 1]
    if not isinstance(headings, Sequence) or not isinstance(rows, Sequence):
        return Spot(place, key, "")
    texts = [item.text.split(" ", 1) if isinstance(item, Scalar) else [""] for item in headings.items]
    column = next((index for index, text in enumerate(texts) if text[0] == name), None)
    if column is None:
        return Spot(table.key_places["columns"], key, "")
    unit = units.normalise(texts[column][1]) if len(texts[column]) > 1 else ""
    if not rest or not isinstance(rest[0], int):
        return Spot(headings.items[column].place, key, "", unit)
    row = rows.items[rest[0]]
    cell = row.items[column] if isinstance(row, Sequence) else row
    return Spot(cell.place, key, typed_text(cell), unit, f"row {rest[0] + 1}: ")


def typed_length(tree: Mapping, path: KeyPath) -> int:
    """How many entries were typed in a list."""
    node = node_at(tree, path)
    return len(node.items) if isinstance(node, Sequence) else 0


def node_at(tree: Node, path: KeyPath) -> Node | None:
    """Node at a key path."""
    node: Node | None = tree
    for step in path:
        if isinstance(node, Mapping):
            node = node.entries.get(str(step))
        elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
        else:
            return None
    return node


def is_unread(node: Node | None) -> bool:
    """Whether this is what stands for a file that could not be read, which has its own problem."""
    return isinstance(node, Mapping) and node.incomplete and not node.entries


def is_incomplete(tree: Mapping, path: KeyPath) -> bool:
    """Whether a file that belongs around this key could not be read."""
    around = (node_at(tree, path[:depth]) for depth in range(len(path) + 1))
    return any(node.incomplete for node in around if isinstance(node, Mapping))
