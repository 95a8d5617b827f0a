"""A scenario that lies over another: fitted values with their bands, as YAML that loads and flies."""

from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

import yaml

from simengine.errors import OutputError
from simengine.results.files import is_there
from simengine.scenario.text_files import SIZE_LIMIT

MARK = "# Written by simengine calibrate"
SUM = "# sum "  # of everything below that line: tells a file changed by hand


def overlay_path(original: Path) -> Path:
    """Where the overlay of a scenario goes: beside it, because `extends` stays inside its folder."""
    return original.with_name(f"{original.stem}.fitted.yaml")


def refuse_foreign(path: Path) -> None:
    """Refuse to write over a link, a file that no calibration wrote, or one changed by hand since.

    Raises
    ------
    OutputError
    """
    if path.is_symlink():
        raise OutputError(f"{path}: is a link, and nothing is read or written where it leads; move it away")
    if not is_there(path) or not path.is_file():
        return
    first, _, rest = beginning_of(path).partition("\n")
    if not first.startswith(MARK):
        raise OutputError(f"{path}: is there already and was not written by a calibration; move it away")
    mark, _, body = rest.partition("\n")
    if mark != f"{SUM}{sum_of(body)}":
        raise OutputError(f"{path}: was changed by hand since a calibration wrote it; move or rename it")


def beginning_of(path: Path) -> str:
    """Text of a file, as far as a fitted scenario can reach."""
    try:
        with path.open("rb") as stream:
            return stream.read(SIZE_LIMIT).decode("utf-8", "replace")
    except OSError as error:
        raise OutputError(f"{path}: is there already and cannot be read: {error.strerror}") from None


def sum_of(body: str) -> str:
    """Short check sum of a text."""
    return sha256(body.encode()).hexdigest()[:16]


def overlay_text(
    original: str,
    title: str,
    values: Mapping[str, Any],
    readings: str,
    parameters: Sequence[str],
    correlation: Sequence[Sequence[float]],
    mass_per_length_band: float | None,
) -> str:
    """YAML text of an overlay.

    Parameters
    ----------
    original : str
        Name of the file it extends.
    title : str
    values : mapping of key path to value
        Quantities as text, tables as mappings.
    readings : str
        What it was fitted to.
    parameters, correlation
        Key paths and the correlation of their values.
    mass_per_length_band : float, optional
        Half-width of the factor on the stations' mass_per_length [1].
    """
    tree: dict[str, Any] = {"extends": original, "title": title}
    for path, value in values.items():
        place = tree
        *owners, name = path.split(".")
        for owner in owners:
            place = place.setdefault(owner, {})
        place[name] = value
    calibration: dict[str, Any] = {"readings": readings, "parameters": list(parameters)}
    if mass_per_length_band is not None:
        calibration["mass_per_length_band"] = f"{100.0 * mass_per_length_band:.4g} %"
    calibration["correlation"] = [[round(float(cell), 5) for cell in row] for row in correlation]
    head = (
        "# 'fitted' were narrowed by the readings; the rest is about as it was before. +- holds 95 %.\n"
        "# The correlation belongs to these values: change one by hand and the block calibration must go.\n"
    )
    body = yaml.safe_dump(
        tree | {"calibration": calibration}, sort_keys=False, allow_unicode=True, width=1000
    )
    return f"{MARK}: {original} with values fitted to {readings}.\n{SUM}{sum_of(head + body)}\n{head}{body}"
