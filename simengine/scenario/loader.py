"""`load_scenario`: file -> merged layers -> checked record in SI, with the origin of every value.

`load_variants` gives the same for every variant that the file holds.
"""

import hashlib
import os
from collections.abc import Mapping as AbstractMapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from simengine.errors import Problem, ScenarioError, letters
from simengine.scenario.emit import emit
from simengine.scenario.folder import scenario_folder, shown_folder
from simengine.scenario.layers import LayerReader
from simengine.scenario.origins import Origin, collect_origins, list_defaults
from simengine.scenario.problems import describe
from simengine.scenario.quantities import FROM_FILE
from simengine.scenario.records import ScenarioRecord
from simengine.scenario.variants import KEY, laid_over, problems_of_variant, take_variants
from simengine.scenario.yaml_nodes import Mapping, Node, Scalar, Sequence, parse_text
from simengine.units import nearest

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
        Folder that holds everything the scenario may pull in by `extends` and `use`. If left out, the file's
        own folder, or the nearest one above that holds a file `simengine.root`. Nothing outside it is read.

    Returns
    -------
    Scenario
        Frozen, in SI.

    Raises
    ------
    ScenarioError
        With every problem found, each with its file, line and key path.

    Examples
    --------
    >>> import simengine
    >>> scenario = simengine.load_scenario("scenarios/ground_run.yaml")
    >>> scenario.record.site.height  # [m]
    120.0
    """
    return checked_scenarios(Path(path), root, ())[Path(path).stem]


def load_variants(
    path: str | os.PathLike[str], root: str | os.PathLike[str] | None = None
) -> dict[str, Scenario]:
    """Read and check a scenario with all its variants.

    Parameters
    ----------
    path, root : path
        As in `load_scenario`.

    Returns
    -------
    dict of str to Scenario
        First the file itself under its own name without the ending, then the variants in their order. Each
        is complete: text, digest, origins and defaults are those of the variant.

    Raises
    ------
    ScenarioError
        With every problem found; those of a variant under the key path `variants.NAME`.

    Examples
    --------
    >>> import simengine
    >>> list(simengine.load_variants("scenarios/two_stop_or_fixed.yaml"))[0]
    'two_stop_or_fixed'
    """
    return checked_scenarios(Path(path), root, None)


def load_variant(
    path: str | os.PathLike[str], name: str, root: str | os.PathLike[str] | None = None
) -> Scenario:
    """Read and check one variant of a scenario.

    Raises
    ------
    ScenarioError
        Also if the file has no variant of that name.
    """
    file = Path(path)
    scenarios = checked_scenarios(file, root, (name,))
    if name not in scenarios:
        raise ScenarioError([Problem(str(file), None, KEY, unknown_variant(name, variant_names(file, root)))])
    return scenarios[name]


def variant_names(file: Path, root: str | os.PathLike[str] | None = None) -> tuple[str, ...]:
    """Names of a scenario's variants, in their order; of one that cannot be read, none."""
    try:
        return tuple(checked_scenarios(file, root, None))[1:]
    except ScenarioError:
        return ()


def unknown_variant(name: str, known: tuple[str, ...]) -> str:
    """Message about a variant that the file does not have."""
    if not known:
        return f"the file has no variants, and so no '{name}'"
    near = nearest(name, known)
    hint = f"; nearest: '{near}'" if near else ""
    return f"no variant '{name}'; the file has {', '.join(known)}{hint}"


def checked_scenarios(
    file: Path, root: str | os.PathLike[str] | None, wanted: tuple[str, ...] | None
) -> dict[str, Scenario]:
    """The file's own scenario by the file's name, then those of its variants that are wanted; None: all.

    All variants are checked whichever are wanted: an error in one is told as soon as the file is used.
    """
    reader = layer_reader(file, root)
    tree = reader.read_top(file.parent.resolve() / file.name, str(file))
    overlays = take_variants(tree, file.stem, reader.problems)
    trees = {file.stem: tree} | {name: laid_over(tree, overlay, name) for name, overlay in overlays.items()}
    known = {(problem.file, problem.line) for problem in reader.problems}
    found = {name: validated(merged, known) for name, merged in trees.items()}
    of_base = found[file.stem].problems
    problems = [*reader.problems, *of_base]
    for name in overlays:
        problems += problems_of_variant(name, found[name].problems, of_base)
    if problems:
        raise ScenarioError(in_order(problems, reader.files))
    chosen = [name for name in trees if name == file.stem or wanted is None or name in wanted]
    files = tuple(reader.files)
    return {name: finished(found[name].record, trees[name], file, files) for name in chosen}


def scenario_of_text(text: str, shown: str) -> Scenario:
    """A scenario from the text that a result carries: layers merged, and so without other files.

    Raises
    ------
    ScenarioError
        With every problem found, as of a file named `shown`.
    """
    tree, problems = parse_text(text, shown)
    found = validated(tree, {(problem.file, problem.line) for problem in problems})
    if problems or found.problems:
        raise ScenarioError(in_order([*problems, *found.problems], [shown]))
    return finished(found.record, tree, Path(shown), (shown,))


@dataclass(frozen=True)
class Validated:
    """A record, or what is wrong with what was typed."""

    record: ScenarioRecord | None
    problems: list[Problem]


def validated(tree: Mapping, known: set[tuple[str, int | None]]) -> Validated:
    """Check a merged scenario; problems at places that are told already are left out."""
    try:
        return Validated(ScenarioRecord.model_validate(plain(tree), context=FROM_FILE), [])
    except ValidationError as error:
        found = describe(error, ScenarioRecord, tree)
        return Validated(None, [problem for problem in found if (problem.file, problem.line) not in known])


def finished(record: ScenarioRecord | None, tree: Mapping, file: Path, files: tuple[str, ...]) -> Scenario:
    """A scenario from a record that was found good."""
    assert record is not None
    text = emit(tree)
    return Scenario(
        record=record,
        path=file,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        files=files,
        origins=collect_origins(record, tree),
        defaults=tuple(list_defaults(record)),
    )


def layer_reader(file: Path, root: str | os.PathLike[str] | None) -> LayerReader:
    """Reader whose root holds the scenario file."""
    if letters(str(file)) != str(file):
        message = "is a name that is no text (UTF-8), which no result could tell; rename it"
        raise ScenarioError([Problem(str(file), None, "", message)])
    try:
        file.parent.resolve()
    except (OSError, RuntimeError, ValueError):  # a link that leads round to itself, a zero byte
        raise ScenarioError([Problem(str(file), None, "", "is not the name of a file")]) from None
    if root is None:
        folder = scenario_folder(file)
        return LayerReader(folder, shown_folder(file, folder))
    shown_root = Path(root)
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
