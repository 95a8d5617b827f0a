"""Other values in a commented scenario text, line by line: comments, order and blank lines stay as they are.

It knows the form of our own starter file: a key and its value on one line, tables with a row a line.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

KEY_LINE = re.compile(r"(?P<head>[a-z_]+:)(?: +(?P<value>[^#]*?))?(?P<gap> *)(?P<comment>#.*)?$")
ROW_LINE = re.compile(r"(?P<head>)(?P<value>\[.*?\])(?P<gap> *)(?P<comment>#.*)?$")
ITEM = "- "


@dataclass(frozen=True)
class Line:
    """One line that holds a value: its key path, what stands before the value, the value, the comment."""

    number: int
    path: str
    before: str
    value: str
    comment: str
    comment_column: int


def value_lines(text: str) -> Iterator[Line]:
    """Every line with a value, by key path such as `hub.spring.rate` or `engine.curve.rows.0`."""
    parents: list[tuple[int, str]] = []
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines()):
        body = line.lstrip()
        if not body or body.startswith("#"):
            continue
        depth = len(line) - len(body)
        if body.startswith(ITEM):
            parents = [parent for parent in parents if parent[0] < depth]
            above = ".".join(name for _, name in parents)
            counts[above] = counts.get(above, -1) + 1
            parents.append((depth, str(counts[above])))
            body, depth = body[len(ITEM) :], depth + len(ITEM)
        parts = (ROW_LINE if body.startswith("[") else KEY_LINE).match(body)
        if parts is None:
            continue
        parents = [parent for parent in parents if parent[0] < depth]
        if parts["head"]:
            parents.append((depth, parts["head"][:-1]))
        if parts["value"]:
            before = line[: len(line) - len(body)] + (f"{parts['head']} " if parts["head"] else "")
            comment = parts["comment"] or ""
            path = ".".join(name for _, name in parents)
            yield Line(number, path, before, parts["value"], comment, len(line) - len(comment))


def with_texts(text: str, values: Mapping[str, str], marks: Mapping[str, str]) -> str:
    """The text with other values at key paths.

    Parameters
    ----------
    text : str
        Commented YAML.
    values : mapping of str to str
        Key path to value, as it shall stand there.
    marks : mapping of str to str
        Key path to a mark put in front of the line's comment, such as `[yours]`.

    Raises
    ------
    KeyError
        A path that no line has.
    """
    lines = text.splitlines()
    known = {line.path: line for line in value_lines(text)}
    for path in dict.fromkeys((*values, *marks)):
        line = known[path]
        new = line.before + values.get(path, line.value)
        words = " ".join(part for part in (marks.get(path, ""), line.comment.removeprefix("# ")) if part)
        if words:
            new = f"{new.ljust(max(line.comment_column, len(new) + 2))}# {words}"
        lines[line.number] = new
    return "\n".join(lines) + "\n"
