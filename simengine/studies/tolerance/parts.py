"""Draws worked out part by part, each part kept on the disc: a killed study goes on where it was.

A part is written whole or not at all, and belongs to one plan: scenario, number, seed, program. Parts of
another plan are thrown away.
"""

import hashlib
import json
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel_digest
from simengine.errors import OutputError
from simengine.results.dataset import program_version
from simengine.results.files import written_whole

Array = NDArray[np.float64]

PART = 4096  # hubs of a part, a power of two
PLAN = "plan.json"
PACKAGE = Path(__file__).parents[2]


@dataclass(frozen=True)
class Part:
    """Some of the draws: number of the first, values [SI], figures, verdicts and washers.

    Shapes (n, inputs), (places, n, figures), (places, n) and (n,).
    """

    start: int
    values: Array
    figures: Array
    inside: NDArray[np.bool_]
    washers: NDArray[np.int16]


def plan_digest(scenario_text: str, samples: int, seed: int, hubs: str = "") -> str:
    """Digest of everything that the draws depend on; `scenario_text` with all its layers merged."""
    digest = hashlib.sha256()
    program = (program_version(), kernel_digest(), source_digest())
    for part in (scenario_text, str(samples), str(seed), hubs, str(PART), *program):
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()


@cache
def source_digest() -> str:
    """Digest of the whole program: a part that an older one worked out must never count beside a new one.

    The version tells releases apart and the kernels' digest compiled code, but not what is between them.
    """
    digest = hashlib.sha256()
    for source in sorted(PACKAGE.rglob("*.py")):
        digest.update(source.relative_to(PACKAGE).as_posix().encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()


class PartStore:
    """Parts of one plan in a folder beside the result.

    Parameters
    ----------
    folder : Path
        Made if missing; what is in it of another plan is removed.
    digest : str
        Of the plan.
    """

    def __init__(self, folder: Path, digest: str) -> None:
        self.folder = folder
        plan = folder / PLAN
        try:
            if folder.exists() and self.written_digest(plan) != digest:
                shutil.rmtree(folder)
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(f"{folder}: cannot be used: {error.strerror}") from error
        if not plan.exists():
            with written_whole(plan) as temporary:
                temporary.write_text(json.dumps({"digest": digest, "part": PART}), encoding="utf-8")

    @staticmethod
    def written_digest(plan: Path) -> str:
        """Digest of the plan in the folder; empty if there is none that can be read."""
        try:
            return str(json.loads(plan.read_text(encoding="utf-8"))["digest"])
        except (OSError, ValueError, KeyError, TypeError):
            return ""

    def path(self, start: int) -> Path:
        """File of the part that begins with a draw."""
        return self.folder / f"{start // PART:08d}.npz"

    def has(self, start: int) -> bool:
        """Whether a part is there."""
        return self.path(start).exists()

    def write(self, part: Part) -> None:
        """Keep a part."""
        with written_whole(self.path(part.start)) as temporary, temporary.open("wb") as file:
            np.savez(file, values=part.values, figures=part.figures, inside=part.inside, washers=part.washers)

    def read(self, start: int) -> Part:
        """A part that is there."""
        with np.load(self.path(start), allow_pickle=False) as kept:
            return Part(start, kept["values"], kept["figures"], kept["inside"], kept["washers"])

    def parts(self, samples: int) -> Iterator[Part]:
        """All parts in order, one in memory at a time."""
        for start in range(0, samples, PART):
            yield self.read(start)

    def remove(self) -> None:
        """Take the folder away, once the result has its name."""
        shutil.rmtree(self.folder, ignore_errors=True)
