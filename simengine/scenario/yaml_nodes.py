"""YAML text -> nodes that remember what was typed, where.

The accepted YAML is a plain subset read the way of YAML 1.2: `1e3` is a number, `on`, `no` and `12:30`
are text, `010` is 10. Anchors, aliases, merge keys and tags are refused: a scenario says everything in
the open, and a small file cannot unfold into a huge one.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import Any

import yaml
from yaml.composer import Composer
from yaml.events import AliasEvent
from yaml.parser import Parser
from yaml.reader import Reader
from yaml.resolver import BaseResolver
from yaml.scanner import Scanner

from simengine.errors import Problem, ScenarioError
from simengine.scenario.text_files import failure, read_text

DEPTH_LIMIT = 30
VALUE_LIMIT = 150_000  # keys and values of one file: the longest table fits

HALF = "holds half a character: an escape from \\ud800 to \\udfff is none by itself"
NULL, BOOL, INT, FLOAT, TEXT = (
    f"tag:yaml.org,2002:{name}" for name in ("null", "bool", "int", "float", "str")
)


@dataclass(frozen=True)
class Place:
    """Where something stands: file as shown to the user, and line from 1."""

    file: str
    line: int


@dataclass
class Scalar:
    """One value, as typed and as YAML reads it."""

    place: Place
    text: str
    value: str | int | float | bool | None


@dataclass
class Sequence:
    """A list."""

    place: Place
    items: "list[Node]"


@dataclass
class Mapping:
    """Keys and values.

    `part` tells that it came by `use`, `incomplete` that a file that belongs in it could not be read.
    """

    place: Place
    entries: "dict[str, Node]" = field(default_factory=dict)
    key_places: dict[str, Place] = field(default_factory=dict)
    part: bool = False
    incomplete: bool = False


Node = Scalar | Sequence | Mapping


class ScenarioResolver(BaseResolver):
    """Which plain scalars are not text (YAML 1.2 core schema, without octal and hexadecimal)."""


for tag, pattern in (
    (NULL, r"^(?:~|null|Null|NULL|)$"),
    (BOOL, r"^(?:true|True|TRUE|false|False|FALSE)$"),
    (INT, r"^[-+]?[0-9]+$"),
    (
        FLOAT,
        r"^(?:[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?|[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN))$",
    ),
):
    ScenarioResolver.add_implicit_resolver(tag, re.compile(pattern), None)


class ScenarioComposer(Reader, Scanner, Parser, Composer, ScenarioResolver):
    """PyYAML's composer with our reading of scalars; notes what is refused and goes on."""

    def __init__(self, text: str, file: str) -> None:
        Reader.__init__(self, text)
        Scanner.__init__(self)
        Parser.__init__(self)
        Composer.__init__(self)
        ScenarioResolver.__init__(self)
        self.file = file
        self.depth = 0
        self.values = 0
        self.problems: list[Problem] = []

    def refuse(self, mark: Any, message: str) -> None:
        """Note something that is not accepted."""
        self.problems.append(Problem(self.file, mark.line + 1, "", message))

    def check_limits(self, mark: Any) -> None:
        """Stop at a file that is no scenario."""
        if self.depth > DEPTH_LIMIT:
            self.refuse(mark, f"nested deeper than {DEPTH_LIMIT} levels")
            raise ScenarioError(self.problems)
        if self.values > VALUE_LIMIT:
            self.refuse(mark, f"holds more than {VALUE_LIMIT:,} keys and values")
            raise ScenarioError(self.problems)

    def compose_node(self, parent: yaml.Node | None, index: Any) -> yaml.Node | None:
        """Compose one node; an alias becomes an empty value."""
        event = self.peek_event()  # type: ignore[no-untyped-call]
        mark: Any = event.start_mark
        if isinstance(event, AliasEvent):
            self.get_event()  # type: ignore[no-untyped-call]
            self.refuse(
                mark, f"alias '*{event.anchor}' is not accepted; write the value, or share it by 'use:'"
            )
            return yaml.ScalarNode(NULL, "", mark, mark)
        if event.anchor is not None:
            self.refuse(
                mark, f"anchor '&{event.anchor}' is not accepted; share values by 'use:' or 'extends:'"
            )
            event.anchor = None
        if event.tag is not None:
            self.refuse(mark, f"tag '{event.tag}' is not accepted; write plain values")
            event.tag = None
            event.implicit = (True, True) if isinstance(event, yaml.ScalarEvent) else True
        self.depth += 1
        self.values += 1
        self.check_limits(mark)
        node = super().compose_node(parent, index)
        self.depth -= 1
        return node


def read_nodes(path: Path, file: str) -> tuple[Mapping, list[Problem]]:
    """Read one file.

    Parameters
    ----------
    path : Path
        The file.
    file : str
        Its name in messages.

    Returns
    -------
    tuple of Mapping and list of Problem
        What it holds, and what in it is not accepted.

    Raises
    ------
    ScenarioError
        If nothing useful can be read from it.
    """
    return parse_text(read_text(path, file), file)


def parse_text(text: str, file: str) -> tuple[Mapping, list[Problem]]:
    """Nodes of a YAML text, whose top must be a mapping."""
    try:
        composer = ScenarioComposer(text, file)
        root = composer.get_single_node()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise failure(file, syntax_message(error), mark.line + 1 if mark else None) from None
    except yaml.reader.ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        raise failure(
            file, f"holds a character that YAML does not accept (U+{ord_of(error):04X})", line
        ) from None
    if root is None:
        raise failure(file, "is empty")
    if not isinstance(root, yaml.MappingNode):
        raise failure(file, "must hold keys and values ('key: value'), not a single value or a list", 1)
    converter = Converter(file, composer.problems)
    mapping = converter.mapping(root, "")
    return mapping, converter.problems


def ord_of(error: "yaml.reader.ReaderError") -> int:
    """Code of the character that the reader refused."""
    character: Any = error.character
    return ord(character) if isinstance(character, str) else int(character)


def syntax_message(error: yaml.MarkedYAMLError) -> str:
    """What is wrong with the YAML, in one line."""
    parts = [part for part in (error.context, error.problem) if part]
    return "not valid YAML: " + ", ".join(parts)


@dataclass
class Converter:
    """PyYAML's nodes -> ours, with a check of every key and number."""

    file: str
    problems: list[Problem]

    def refuse(self, node: yaml.Node, key: str, message: str) -> None:
        """Note a problem at a node."""
        self.problems.append(Problem(self.file, self.place(node).line, key, message))

    def place(self, node: yaml.Node) -> Place:
        """Where a node begins."""
        return Place(self.file, node.start_mark.line + 1)

    def node(self, node: yaml.Node, path: str) -> Node:
        """Any node."""
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            items = [self.node(item, f"{path}.{index}") for index, item in enumerate(node.value)]
            return Sequence(self.place(node), items)
        return self.scalar(node, path)

    def mapping(self, node: yaml.MappingNode, path: str) -> Mapping:
        """A mapping; of a key given twice the first counts."""
        result = Mapping(self.place(node))
        for key_node, value_node in node.value:
            key = self.key(key_node, path)
            if key is None:
                continue
            key_path = f"{path}.{key}" if path else key
            if key in result.entries:
                first = result.key_places[key].line
                self.refuse(key_node, key_path, f"given twice; the first is in line {first}")
                continue
            result.entries[key] = self.node(value_node, key_path)
            result.key_places[key] = self.place(key_node)
        return result

    def key(self, node: yaml.Node, path: str) -> str | None:
        """Text of a key."""
        if not isinstance(node, yaml.ScalarNode) or node.value == "":
            self.refuse(node, path, "a key must be a plain word")
            return None
        if not is_text(node.value):
            self.refuse(node, path, HALF)
            return None
        if node.value == "<<":
            self.refuse(node, path, "merge key '<<' is not accepted; share values by 'use:' or 'extends:'")
            return None
        return str(node.value)

    def scalar(self, node: yaml.Node, path: str) -> Scalar:
        """A value; a number must be finite."""
        text = str(node.value)
        value: str | int | float | bool | None = text
        if not is_text(text):
            self.refuse(node, path, HALF)
            return Scalar(self.place(node), "", None)
        if node.tag == NULL:
            value = None
        elif node.tag == BOOL:
            value = text.lower() == "true"
        elif node.tag in (INT, FLOAT):
            value = self.number(node, text, path)
        return Scalar(self.place(node), text, value)

    def number(self, node: yaml.Node, text: str, path: str) -> int | float | None:
        """A finite number; a whole one is an int if it has no point or exponent."""
        value = float(text.lower().replace(".inf", "inf").replace(".nan", "nan"))
        if not isfinite(value):
            self.refuse(node, path, f"must be a finite number (got '{shorten(text)}')")
            return None
        return int(value) if node.tag == INT else value


def is_text(text: str) -> bool:
    """Whether a text can be written: an escape such as `\\ud800` makes half a character."""
    return text.isascii() or not any("\ud800" <= letter <= "\udfff" for letter in text)


def shorten(text: str, limit: int = 60) -> str:
    """Text on one line, for a message."""
    line = " ".join(text.split())
    return line if len(line) <= limit else line[: limit - 3] + "..."


def walk_scalars(
    node: Node, path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], Scalar]]:
    """Every value of a tree with its key path."""
    if isinstance(node, Scalar):
        yield path, node
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from walk_scalars(item, (*path, index))
    else:
        for key, item in node.entries.items():
            yield from walk_scalars(item, (*path, key))
