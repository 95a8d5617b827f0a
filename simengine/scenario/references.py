"""What may stand for a scenario where one is asked for: a file, or `file.yaml:variant`."""

import os
from pathlib import Path

from simengine.scenario.layers import SUFFIXES
from simengine.scenario.loader import Scenario, load_scenario, load_variant

SEPARATOR = ":"


def split_reference(reference: str | os.PathLike[str]) -> tuple[Path, str | None]:
    """File, and the variant if one is named.

    `a.yaml:b` is the variant b of a.yaml, unless there is a file of that very name.
    """
    text = os.fspath(reference)
    head, separator, tail = text.rpartition(SEPARATOR)
    if separator and head.endswith(SUFFIXES) and not os.path.lexists(text):
        return Path(head), tail
    return Path(text), None


def reference_to(file: str | os.PathLike[str], variant: str | None) -> Path:
    """The reference to a file's variant; to the file itself if none is named."""
    return Path(file) if variant is None else Path(f"{os.fspath(file)}{SEPARATOR}{variant}")


def load_reference(reference: str | os.PathLike[str]) -> Scenario:
    """Read and check what a reference stands for; errors as in `load_scenario`."""
    file, variant = split_reference(reference)
    return load_scenario(file) if variant is None else load_variant(file, variant)


def reference_stem(reference: str | os.PathLike[str]) -> str:
    """Name for the files of its results: that of the file, and of the variant after a dash."""
    file, variant = split_reference(reference)
    return file.stem if variant is None else f"{file.stem}-{variant}"
