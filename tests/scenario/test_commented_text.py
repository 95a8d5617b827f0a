"""Values put into a commented text: what is asked for changes, everything else stays to the letter."""

from importlib.resources import files

import pytest
import yaml

from simengine.scenario.commented_text import value_lines, with_texts

TEXT = """\
# head: 3
a:
  b: 1 mm        # of it
  rows:
    - [1, 2]     # first
    - [3, 4]
  c:             # holds more

    d: x
list:
  - kind: one    # of two
    e: 5 m
  - kind: two
    e: 6 m       # last
tail: {a: {b: 1}}
"""


def test_paths_and_values():
    assert [(line.path, line.value) for line in value_lines(TEXT)] == [
        ("a.b", "1 mm"),
        ("a.rows.0", "[1, 2]"),
        ("a.rows.1", "[3, 4]"),
        ("a.c.d", "x"),
        ("list.0.kind", "one"),
        ("list.0.e", "5 m"),
        ("list.1.kind", "two"),
        ("list.1.e", "6 m"),
        ("tail", "{a: {b: 1}}"),
    ]


def test_only_what_is_asked_for_changes_and_comments_keep_their_column():
    changed = with_texts(
        TEXT, {"a.b": "22 mm, assumed", "list.1.e": "7 m", "a.c.d": "y"}, {"list.1.e": "[yours]"}
    )
    before, after = TEXT.splitlines(), changed.splitlines()
    assert [i for i, (old, new) in enumerate(zip(before, after, strict=True)) if old != new] == [2, 8, 13]
    assert after[2] == "  b: 22 mm, assumed  # of it"
    assert after[8] == "    d: y"
    assert after[13] == "    e: 7 m       # [yours] last"


def test_nothing_asked_for_changes_nothing():
    assert with_texts(TEXT, {}, {}) == TEXT


def test_a_path_that_is_not_there_is_an_error():
    with pytest.raises(KeyError):
        with_texts(TEXT, {"a.x": "1"}, {})


def test_every_value_of_the_starter_file_is_found_under_its_path():
    """Held against a general YAML reader."""
    text = files("simengine.scenario").joinpath("starter.yaml").read_text(encoding="utf-8")
    tree = yaml.safe_load(text)

    def at(path):
        node = tree
        for step in path.split("."):
            node = node[int(step)] if isinstance(node, list) else node[step]
        return node

    lines = list(value_lines(text))
    assert len(lines) > 120
    for line in lines:
        assert at(line.path) == yaml.safe_load(line.value), line.path
