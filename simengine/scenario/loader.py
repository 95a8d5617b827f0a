"""`load_scenario`: file -> merged layers -> checked record in SI, with the origin of every value."""

import hashlib
import os
from collections.abc import Mapping as AbstractMapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from simengine.errors import Problem, ScenarioError
from simengine.scenario.emit import emit
from simengine.scenario.layers import LayerReader
from simengine.scenario.origins import Origin, collect_origins, list_defaults
from simengine.scenario.problems import describe
from simengine.scenario.quantities import FROM_FILE
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.yaml_nodes import Node, Scalar, Sequence

PROBLEM_LIMIT = 200  # more than anybody reads


@dataclass(frozen=True)
class Scenario:
    """A checked scenario.

    Attributes
    ----------
    record : ScenarioRecord
        Every value in SI.
    path : Path
        The file it came from.
    text : str
        The scenario with its layers merged, as YAML, each value as typed. Loaded again it gives the
        same record.
    sha256 : str
        Digest of `text`.
    files : tuple of str
        Every file that was read, the scenario's own first.
    origins : mapping of key path to Origin
        What was typed for each quantity and table, and where.
    defaults : tuple of str
        'key path = value' of everything that was left to its default.
    """

    record: ScenarioRecord
    path: Path
    text: str
    sha256: str
    files: tuple[str, ...]
    origins: AbstractMapping[str, Origin]
    defaults: tuple[str, ...]


def load_scenario(path: str | os.PathLike[str], root: str | os.PathLike[str] | None = None) -> Scenario:
    """Read and check a scenario.

    Parameters
    ----------
    path : path
        The scenario file.
    root : path, optional
        Folder that holds everything the scenario may pull in by `extends` and `use`; the file's own
        folder if left out. Nothing outside it is read.

    Returns
    -------
    Scenario
        Frozen, in SI.

    Raises
    ------
    ScenarioError
        With every problem found, each with its file, line and key path.
    """
    file = Path(path)
    reader = layer_reader(file, root)
    tree = reader.read_top(file.parent.resolve() / file.name, str(file))
    problems = list(reader.problems)
    try:
        record = ScenarioRecord.model_validate(plain(tree), context=FROM_FILE)
    except ValidationError as error:
        known = {(problem.file, problem.line) for problem in problems}
        found = describe(error, ScenarioRecord, tree)
        problems += [problem for problem in found if (problem.file, problem.line) not in known]
    if problems:
        raise ScenarioError(in_order(problems, reader.files))
    text = emit(tree)
    return Scenario(
        record=record,
        path=file,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        files=tuple(reader.files),
        origins=collect_origins(record, tree),
        defaults=tuple(list_defaults(record)),
    )


def layer_reader(file: Path, root: str | os.PathLike[str] | None) -> LayerReader:
    """Reader whose root holds the scenario file."""
    if "\0" in str(file):
        raise ScenarioError([Problem(str(file), None, "", "is not the name of a file")])
    shown_root = file.parent if root is None else Path(root)
    resolved = shown_root.resolve()
    if not file.parent.resolve().is_relative_to(resolved):
        raise ScenarioError(
            [Problem(str(file), None, "", f"is not inside the scenario folder '{shown_root}'")]
        )
    return LayerReader(resolved, shown_root)


def plain(node: Node) -> Any:
    """Node -> plain Python values, lists as tuples."""
    if isinstance(node, Scalar):
        return node.value
    if isinstance(node, Sequence):
        return tuple(plain(item) for item in node.items)
    return {key: plain(item) for key, item in node.entries.items()}


def in_order(problems: list[Problem], files: list[str]) -> list[Problem]:
    """Each problem once, by file in the order of reading, then by line."""
    order = {name: index for index, name in enumerate(files)}
    unique = dict.fromkeys(problems)
    ordered = sorted(unique, key=lambda problem: (order.get(problem.file, len(order)), problem.line or 0))
    if len(ordered) <= PROBLEM_LIMIT:
        return ordered
    more = Problem(files[0], None, "", f"and {len(ordered) - PROBLEM_LIMIT} more problems")
    return [*ordered[:PROBLEM_LIMIT], more]
