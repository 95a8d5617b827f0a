"""`variants:` of a scenario: parts of a scenario by name, each laid over the file like an upper layer.

They belong to the file that they stand in: a file that extends it does not have them, for they need not fit
what it changes.
"""

import re
from pathlib import PurePath

from simengine.errors import Problem
from simengine.scenario.layers import VARIANTS, merge
from simengine.scenario.yaml_nodes import Mapping, Node, Scalar

KEY = VARIANTS
EXPECT = "expect"
NAME = r"[A-Za-z0-9](?:[A-Za-z0-9_.+-]*[A-Za-z0-9_+-])?"  # it becomes part of a file's name
VARIANT_LIMIT = 50  # more than one picture can show by far; a design study has its own command


def take_variants(tree: Mapping, base_name: str, problems: list[Problem]) -> dict[str, Mapping]:
    """Take the overlays out of a merged scenario; an empty one is left out.

    Parameters
    ----------
    tree : Mapping
        The scenario with its layers merged; its `variants` are removed.
    base_name : str
        Name that the file itself goes by, which no variant may have.
    problems : list of Problem
        What is wrong with the names and the form is added here.
    """
    node = tree.entries.pop(KEY, None)
    place = tree.key_places.pop(KEY, None)
    if node is None or (isinstance(node, Scalar) and node.value is None):
        return {}
    if not isinstance(node, Mapping):
        line = place.line if place else node.place.line
        message = "must be a mapping: the name of each variant and what differs in it"
        problems.append(Problem(node.place.file, line, KEY, message))
        return {}
    overlays = {}
    for name, overlay in node.entries.items():
        if isinstance(overlay, Scalar) and overlay.value is None:
            continue
        at = node.key_places[name]
        complaint = name_complaint(name, base_name) or form_complaint(overlay, at.file)
        if complaint:
            problems.append(Problem(at.file, at.line, f"{KEY}.{name}", complaint))
        elif isinstance(overlay, Mapping):
            overlays[name] = overlay
    if len(overlays) > VARIANT_LIMIT:
        message = f"holds {len(overlays)} variants; at most {VARIANT_LIMIT} are accepted"
        problems.append(Problem(node.place.file, node.place.line, KEY, message))
    return overlays


def name_complaint(name: str, base_name: str) -> str:
    """What is wrong with a variant's name; empty if nothing."""
    if re.fullmatch(NAME, name) is None:
        return "the name of a variant begins with a letter or digit and holds only these, '_', '-', '+', '.'"
    if name == base_name:
        return "is the name of the file itself, which the scenario without its variants goes by"
    return ""


def form_complaint(overlay: Node, file: str) -> str:
    """What is wrong with the form of a variant that stands in a file; empty if nothing."""
    if not isinstance(overlay, Mapping):
        return "must be a mapping of what differs, for example '{hub: {spring: {washers: 5}}}'"
    if KEY in overlay.entries:
        return "a variant cannot have variants of its own"
    if "extends" in overlay.entries:
        return "'extends' stands at the top of a file only; a variant is laid over its file; pull in by 'use'"
    if expects(overlay, file):
        return (
            "a variant cannot hold 'expect': 'simengine check' flies files, not their variants; give it a "
            f"file of its own with 'extends: {PurePath(file).name}' and put 'expect' there"
        )
    return ""


def expects(overlay: Mapping, file: str) -> bool:
    """Whether something is agreed in a variant itself; what a file that it uses agrees on belongs there."""
    agreed, place = overlay.entries.get(EXPECT), overlay.key_places.get(EXPECT)
    is_empty = agreed is None or (isinstance(agreed, Scalar) and agreed.value is None)
    return not is_empty and place is not None and place.file == file


def laid_over(tree: Mapping, overlay: Mapping, name: str) -> Mapping:
    """A variant: its overlay on top of the file. One that came whole by `use` still is only a layer.

    Without a title of its own it gets the file's, with its name.
    """
    layer = Mapping(overlay.place, overlay.entries, overlay.key_places, incomplete=overlay.incomplete)
    merged = merge(tree, layer)
    assert isinstance(merged, Mapping)
    title = tree.entries.get("title")
    if "title" not in overlay.entries and isinstance(title, Scalar) and isinstance(title.value, str):
        text = f"{title.text}: {name}"
        merged.entries["title"] = Scalar(title.place, text, text)
    return merged


def problems_of_variant(name: str, found: list[Problem], of_base: list[Problem]) -> list[Problem]:
    """Problems of a variant under its own key path, without those that the file has anyway."""
    known = set(of_base)
    return [
        Problem(problem.file, problem.line, f"{KEY}.{name}.{problem.key}".rstrip("."), problem.message)
        for problem in found
        if problem not in known
    ]
