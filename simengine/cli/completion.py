"""What the shell offers when Tab is pressed: scenarios, variants, results. Imports nothing heavy."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import typer

from simengine.results.files import is_folder

SCENARIOS = (".yaml", ".yml")
RESULTS = (".nc",)
BASELINE = ".baseline.yaml"  # written by `simengine check`, no scenario
MOST_BYTES = 1_000_000  # of a file that is looked into for variants
VARIANT_NAME = re.compile(r"^(?:  +)([A-Za-z0-9][A-Za-z0-9_.+-]*):(?=[ \n]|$)")


def listed(incomplete: str, endings: tuple[str, ...]) -> list[str]:
    """Folders and files of some kinds that begin with what was typed, as it was typed."""
    head, slash, tail = incomplete.rpartition("/")
    folder = Path(head + slash) if slash else Path()
    try:
        entries = sorted(folder.iterdir())
    except (OSError, ValueError):
        return []
    found = []
    for entry in entries:
        if not entry.name.startswith(tail) or (entry.name.startswith(".") and not tail.startswith(".")):
            continue
        if is_folder(entry):
            found.append(f"{head}{slash}{entry.name}/")
        elif entry.name.endswith(endings) and not entry.name.endswith(BASELINE):
            found.append(f"{head}{slash}{entry.name}")
    # A space follows what is offered alone: not good after a folder, so what is in it is offered at once.
    return listed(found[0], endings) or found if len(found) == 1 and found[0].endswith("/") else found


def yaml_files(incomplete: str) -> list[str]:
    """Scenario files and folders."""
    return listed(incomplete, SCENARIOS)


def scenarios(incomplete: str) -> list[str]:
    """Scenario files, and `file.yaml:variant` once a colon is typed."""
    if ":" in incomplete or split_variants(incomplete):
        return split_variants(incomplete) or variants(incomplete)
    return yaml_files(incomplete)


def result_files(incomplete: str) -> list[str]:
    """Result files and folders."""
    return listed(incomplete, RESULTS)


def cases(incomplete: str) -> list[str]:
    """Scenario files, `file.yaml:variant` once a colon is typed, and results."""
    if ":" in incomplete or split_variants(incomplete):
        return split_variants(incomplete) or variants(incomplete)
    return listed(incomplete, (*SCENARIOS, *RESULTS))


def variants(incomplete: str) -> list[str]:
    """`file.yaml:variant` for each variant of the file that begins with what was typed."""
    file, _, begun = incomplete.partition(":")
    return [f"{file}:{name}" for name in variant_names(Path(file)) if name.startswith(begun)]


def split_variants(incomplete: str) -> list[str]:
    """The same in bash, to which `file.yaml`, `:` and what follows are three words; the last is completed."""
    words = os.environ.get("COMP_WORDS", "").split("\n")
    place = os.environ.get("COMP_CWORD", "")
    before = words[: int(place)] if place.isdigit() else []
    if incomplete == ":" and before:
        return list(variant_names(Path(before[-1])))
    if len(before) > 1 and before[-1] == ":":
        return [name for name in variant_names(Path(before[-2])) if name.startswith(incomplete)]
    return []


def variants_of_file(ctx: typer.Context, incomplete: str) -> list[str]:
    """Names of the variants of the scenario that stands in the command."""
    words = [str(ctx.params.get("scenario") or ""), *ctx.args]
    file = next((word for word in words if word.endswith(SCENARIOS)), None)
    names = variant_names(Path(str(file))) if file else ()
    return [name for name in names if name.startswith(incomplete)]


def variant_names(file: Path) -> Iterator[str]:
    """Names below `variants:` of a file, by its text alone: reading it as a scenario would take too long."""
    try:
        if file.stat().st_size > MOST_BYTES:
            return
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError):
        return
    inside, indent = False, 0
    for line in lines:
        if line.startswith("variants:"):
            inside = True
        elif inside and line and not line[0].isspace() and not line.startswith("#"):
            return
        elif inside and (match := VARIANT_NAME.match(line)):
            depth = len(line) - len(line.lstrip())
            indent = indent or depth
            if depth == indent:
                yield match[1]
