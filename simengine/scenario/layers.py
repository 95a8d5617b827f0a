"""Layers of a scenario: `extends:` puts a file on top of another, `use:` pulls a part into a mapping.

Merging, in one place:

- a key of the upper layer wins; mappings are merged key by key; lists are replaced;
- a mapping with another `kind`, a quantity written as a mapping, a table with its own `columns`, and a
  mapping that names a part by `use` all replace what lies below, because half of each would be neither;
- an empty value takes away what lies below.

A table that may stand in a file of its own (`polar: polars/example.csv`) is put in place of its name, so that
the merged scenario holds it.

Only files inside the root folder can be read; which one that is tells `simengine.scenario.folder`.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PureWindowsPath

from simengine.errors import Problem, ScenarioError
from simengine.scenario.folder import MARK
from simengine.scenario.table_files import SUFFIX, TABLE_KEYS, read_table
from simengine.scenario.text_files import SIZE_LIMIT, names_in
from simengine.scenario.yaml_nodes import VALUE_LIMIT, Mapping, Node, Place, Scalar, Sequence, read_nodes
from simengine.units import nearest

CHAIN_LIMIT = 20  # files that pull one another
DEPTH_LIMIT = 30  # levels at which a part can be pulled in
FILE_LIMIT = 500  # files that one scenario pulls in, a part used twice counted twice
TOTAL_LIMIT = 10_000_000  # bytes of these
VARIANTS = "variants"  # key; variants are not passed on by `extends` or `use`
SUFFIXES = (".yaml", ".yml")
MOST_HINTS = 100  # at names like those of missing files: to look for each of thousands takes seconds
HOW_TO_WIDEN = f"a file '{MARK}' in a folder above makes that one the scenario folder"


def merge(lower: Node, upper: Node) -> Node:
    """The upper layer put on the lower one; neither is changed."""
    if not isinstance(lower, Mapping) or not isinstance(upper, Mapping) or starts_afresh(lower, upper):
        return upper
    result = Mapping(upper.place, dict(lower.entries), dict(lower.key_places))
    result.incomplete = lower.incomplete or upper.incomplete
    for key, node in upper.entries.items():
        below = lower.entries.get(key)
        result.entries[key] = node if below is None else merge(below, node)
        result.key_places[key] = upper.key_places[key]
    return result


def starts_afresh(lower: Mapping, upper: Mapping) -> bool:
    """Whether an upper mapping replaces the lower one whole."""
    if upper.part or "value" in upper.entries or "columns" in upper.entries:
        return True
    kinds = [
        node.text
        for node in (lower.entries.get("kind"), upper.entries.get("kind"))
        if isinstance(node, Scalar)
    ]
    return len(kinds) == 2 and kinds[0] != kinds[1]


@dataclass
class LayerReader:
    """Reads a scenario with all the files it pulls in.

    Attributes
    ----------
    root : Path
        Folder, resolved, outside of which nothing is read.
    shown_root : Path
        The same as the user typed it, for messages.
    """

    root: Path
    shown_root: Path
    problems: list[Problem] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    parsed: dict[Path, Mapping] = field(default_factory=dict)
    pulled_files: int = 0
    pulled_bytes: int = 0
    pulled_values: int = 0
    failed_bytes: int = 0
    sizes: dict[Path, int] = field(default_factory=dict)
    exhausted: bool = False

    def read_top(self, path: Path, shown: str) -> Mapping:
        """The merged scenario; raises if its own file cannot be read at all."""
        mapping, problems = read_nodes(path, shown)
        self.problems += problems
        self.files.append(shown)
        self.parsed[path] = mapping
        return self.expand_file(path, (path,), "")

    def expand_file(self, path: Path, chain: tuple[Path, ...], key: str) -> Mapping:
        """A file with its parts, on top of the file it extends."""
        mapping = self.parsed[path]
        own = Mapping(mapping.place, dict(mapping.entries), dict(mapping.key_places))
        reference = own.entries.pop("extends", None)
        if len(chain) > 1:
            own.entries.pop(VARIANTS, None)  # made for that file: they need not fit what is put on top of it
        expanded = self.expand(own, chain, key)
        if reference is None:
            return expanded
        lower = self.pull(reference, chain, below(key, "extends"))
        expanded.part = False
        merged = merge(lower, expanded)
        return merged if isinstance(merged, Mapping) else expanded

    def expand_node(self, node: Node, chain: tuple[Path, ...], key: str) -> Node:
        """A node with every `use` in it replaced by what it names."""
        if isinstance(node, Mapping):
            return self.expand(node, chain, key)
        if isinstance(node, Sequence):
            items = [self.expand_node(item, chain, below(key, str(i))) for i, item in enumerate(node.items)]
            return Sequence(node.place, items)
        return node

    def expand(self, mapping: Mapping, chain: tuple[Path, ...], key: str) -> Mapping:
        """A mapping on top of the part that it uses, if any."""
        result = Mapping(mapping.place, {}, dict(mapping.key_places))
        for name, node in mapping.entries.items():
            path = below(key, name)
            if path in TABLE_KEYS and isinstance(node, Scalar) and node.value is not None:
                result.entries[name] = self.pull(node, chain, path, self.table_of)
            elif name != "use":
                result.entries[name] = self.expand_node(node, chain, path)
        reference = mapping.entries.get("use")
        if reference is None:
            return result
        lower = self.pull(reference, chain, below(key, "use"))
        merged = merge(lower, result)
        assert isinstance(merged, Mapping)
        merged.part = True
        return merged

    def pull(
        self,
        reference: Node,
        chain: tuple[Path, ...],
        key: str,
        content: Callable[[Path, tuple[Path, ...], str], Mapping] | None = None,
    ) -> Mapping:
        """What a reference names: layers, or the `content` of another kind of file.

        An incomplete empty mapping if that fails.
        """
        if self.exhausted:
            return Mapping(reference.place, incomplete=True)
        try:
            path = self.locate(reference, chain[-1].parent, (SUFFIX,) if content else SUFFIXES)
            self.check_limits(path, chain, key)
            return (content or self.layers_of)(path, chain, key)
        except PullError as error:
            self.problems.append(Problem(reference.place.file, reference.place.line, key, str(error)))
        except OSError as error:
            message = f"cannot be read: {error.strerror}"
            self.problems.append(Problem(reference.place.file, reference.place.line, key, message))
        except ScenarioError as error:
            self.problems += error.problems
        return Mapping(reference.place, incomplete=True)

    def layers_of(self, path: Path, chain: tuple[Path, ...], key: str) -> Mapping:
        """The mapping of a file with all that it pulls in itself."""
        self.parse(path, read_nodes)
        return self.expand_file(path, (*chain, path), key.rpartition(".")[0])

    def table_of(self, path: Path, chain: tuple[Path, ...], key: str) -> Mapping:
        """The table of a file."""
        self.parse(path, read_table)
        return self.parsed[path]

    def parse(self, path: Path, read: Callable[[Path, str], tuple[Mapping, list[Problem]]]) -> None:
        """Read a file once, even if it cannot be read: that is told once, and costs its time once."""
        if path in self.parsed:
            return
        shown = self.shown(path)
        self.files.append(shown)
        self.parsed[path], self.sizes[path] = Mapping(Place(shown, 1), incomplete=True), 0
        try:
            self.parsed[path], problems = read(path, shown)
        except ScenarioError:
            self.failed_bytes += path.stat().st_size
            self.exhausted = self.failed_bytes > SIZE_LIMIT  # enough is told, and to look costs time
            raise
        self.sizes[path] = size_of(self.parsed[path])
        self.pulled_values += self.sizes[path]
        self.problems += problems

    def check_limits(self, path: Path, chain: tuple[Path, ...], key: str) -> None:
        """Refuse loops, and layers without end."""
        names = " > ".join(self.shown(step) for step in (*chain, path))
        if path in chain:
            raise PullError(f"files pull one another in a loop: {names}")
        if len(chain) >= CHAIN_LIMIT:
            raise PullError(f"more than {CHAIN_LIMIT} files pull one another: {names}")
        if key.count(".") > DEPTH_LIMIT:
            raise PullError(f"nested deeper than {DEPTH_LIMIT} levels")
        self.pulled_files += 1
        self.pulled_bytes += path.stat().st_size
        self.pulled_values += self.sizes.get(path, 0)
        self.exhausted = (
            self.pulled_files > FILE_LIMIT
            or self.pulled_bytes > TOTAL_LIMIT
            or self.pulled_values > VALUE_LIMIT
        )
        if self.exhausted:
            limits = f"{FILE_LIMIT} files, {TOTAL_LIMIT // 1_000_000} MB or {VALUE_LIMIT:,} keys and values"
            raise PullError(f"the scenario pulls in more than {limits}, a part used twice counted twice")

    def locate(self, reference: Node, folder: Path, suffixes: tuple[str, ...]) -> Path:
        """The file that a reference names: looked for in the folder, then upward to the root."""
        name = reference_name(reference, suffixes)
        outside = f"'{name}' leads outside the scenario folder '{self.shown_root}'"
        inside = [path for path in self.candidates(name, folder) if path.is_relative_to(self.root)]
        if not inside:
            raise PullError(f"{outside}, where nothing is read; {HOW_TO_WIDEN}")
        found = next((path for path in inside if path.exists()), None)
        if found is None:
            hint = nearest_file(inside, suffixes) if len(self.problems) < MOST_HINTS else ""
            raise PullError(f"no file '{name}' in {self.folders(folder)}{hint}")
        resolved = found.resolve()
        if not resolved.is_relative_to(self.root):
            raise PullError(f"{outside} by a link, where nothing is read")
        return resolved

    def candidates(self, name: str, folder: Path) -> list[Path]:
        """Where a file may be, in the order of looking."""
        folders = [folder, *folder.parents]
        return [Path(os.path.normpath(place / name)) for place in folders if place.is_relative_to(self.root)]

    def folders(self, folder: Path) -> str:
        """Folders that were searched, for a message."""
        first, last = self.shown(folder), str(self.shown_root)
        return f"'{first}'" if first == last else f"'{first}' or above it up to '{last}'"

    def shown(self, path: Path) -> str:
        """A path as the user would type it."""
        if not path.is_relative_to(self.root):
            return str(path)
        inside = self.shown_root / path.relative_to(self.root)
        return os.path.relpath(inside) if inside.parts[:1] == ("..",) else str(inside)


def size_of(node: Node) -> int:
    """How many values a node holds, itself counted."""
    count, waiting = 0, [node]
    while waiting:
        node = waiting.pop()
        count += 1
        if isinstance(node, Mapping):
            waiting += node.entries.values()
        elif isinstance(node, Sequence):
            waiting += node.items
    return count


def below(key: str, name: str) -> str:
    """Key path of a name under a key path."""
    return f"{key}.{name}" if key else name


class PullError(ValueError):
    """A `use`, `extends` or name of a table that cannot be followed."""


def reference_name(reference: Node, suffixes: tuple[str, ...]) -> str:
    """The path typed after `use` or `extends`, or in place of a table, checked for its form."""
    if not isinstance(reference, Scalar) or not isinstance(reference.value, str):
        raise PullError(f"must be the path of one file, for example 'parts/example{suffixes[0]}'")
    name = reference.text
    if "\\" in name or "\0" in name or PureWindowsPath(name).drive:
        raise PullError(f"'{name}': write a path with '/' between folders, relative to the scenario folder")
    if name.startswith(("/", "~")):
        raise PullError(f"'{name}': the path must be relative, inside the scenario folder")
    if not name.endswith(suffixes):
        raise PullError(f"'{name}': must name a {' or '.join(suffixes)} file")
    return name


def nearest_file(paths: list[Path], suffixes: tuple[str, ...]) -> str:
    """A hint at the file most like those that do not exist."""
    for path in paths:
        names = [name for name in names_in(path.parent) if name.endswith(suffixes)]
        near = nearest(path.name, names)
        if near:
            return f"; nearest: '{near}' in the folder '{path.parent.name}'"
    return ""
