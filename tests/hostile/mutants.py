"""Mutants by number: which file is spoiled how, the same for the same seed."""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

from mutations import NUMBER, Mutator
from places import PLACEMENTS, Placement, missing, odd_name
from seeds import SEEDS, Seed, make_inputs

PLACED = 0.12  # how many of the mutants have something wrong with their place
LIGHT = 0.02  # how many are computed to the end in a light campaign
TWICE = 0.25  # how many are spoiled twice
SWEPT = ("0", "-1", "1e300", "1e-300", *(1e6, 1e3, 30.0, 1 / 30.0, 1e-3, 1e-6))  # words, and factors
MOST_SWEPT = 60  # numbers of one file, evenly over it


@dataclass(frozen=True)
class Mutant:
    """One spoiled file.

    Attributes
    ----------
    number : int
    seed : Seed
        What is spoiled.
    mutators : tuple of Mutator
        How its bytes are; nothing if only its place is.
    placement : Placement or None
        What is wrong with its place.
    compute : bool
        Whether it is computed to the end if it is still good.
    """

    number: int
    seed: Seed
    mutators: tuple[Mutator, ...]
    placement: Placement | None
    compute: bool

    @property
    def name(self) -> str:
        """What it is, for a list."""
        how = "+".join(mutator.__name__ for mutator in self.mutators) or "as it is"
        where = f", {self.placement.__name__}" if self.placement else ""
        return f"{self.seed.kind}: {self.seed.file} by {self.seed.command[0]}: {how}{where}"


def mutant(campaign: int, number: int, way: str) -> Mutant:
    """The mutant of a number.

    Of a `whole` campaign all are computed to the end, of a `light` one almost none. A `sweep` leaves nothing
    to chance.
    """
    if way == "sweep":
        return sweep()[number]
    random = Random(f"kind {campaign} {number}")
    seed = pick(random)
    compute = random.random() < LIGHT or way == "whole"
    if random.random() < PLACED:
        fitting = [each for each in PLACEMENTS if seed.named or each not in (odd_name, missing)]
        return Mutant(number, seed, (), random.choice(fitting), compute)
    count = 2 if random.random() < TWICE else 1
    return Mutant(number, seed, tuple(random.choice(seed.mutators) for _ in range(count)), None, compute)


@dataclass(frozen=True)
class OtherNumber:
    """One number of a file replaced by a word, or multiplied by a factor."""

    place: int
    value: str | float

    @property
    def __name__(self) -> str:
        """What is done, for a list."""
        return f"number {self.place} {'times' if isinstance(self.value, float) else 'is'} {self.value}"

    def __call__(self, data: bytes, random: Random) -> bytes:
        """The file with that number."""
        found = list(NUMBER.finditer(data))[self.place]
        value = self.value if isinstance(self.value, str) else f"{self.value * float(found.group()):.6g}"
        return data[: found.start()] + value.encode() + data[found.end() :]


@cache
def sweep() -> tuple[Mutant, ...]:
    """Every number of every text replaced by each of `SWEPT`, one at a time, all computed to the end."""
    with tempfile.TemporaryDirectory() as folder:
        inputs = Path(folder) / "in"
        make_inputs(inputs)
        ways = [(seed, way) for seed in SEEDS for way in other_numbers(inputs / seed.file)]
    return tuple(Mutant(number, seed, (way,), None, True) for number, (seed, way) in enumerate(ways))


def other_numbers(path: Path) -> Iterator[OtherNumber]:
    """Every change of a sweep to one file; none to a file that only a run makes."""
    count = len(NUMBER.findall(path.read_bytes())) if path.is_file() else 0
    for place in range(0, count, -(-count // MOST_SWEPT) or 1):
        yield from (OtherNumber(place, value) for value in SWEPT)


def pick(random: Random) -> Seed:
    """A seed: kinds about evenly, those of which there are many more often."""
    kinds = sorted({seed.kind for seed in SEEDS})
    weights = [sum(seed.kind == kind for seed in SEEDS) ** 0.6 for kind in kinds]
    (kind,) = random.choices(kinds, weights)
    return random.choice([seed for seed in SEEDS if seed.kind == kind])


def put_in_place(mutant: Mutant, campaign: int, pristine: bytes, path: Path, outside: Path) -> Path:
    """Write a mutant where its seed stands, or the name that it goes by instead; returns that."""
    random = Random(f"content {campaign} {mutant.number}")
    path.unlink()
    if mutant.placement is None:
        data = pristine
        for mutator in mutant.mutators:
            data = mutator(data, random)
        path.write_bytes(data)
        return path
    placed = mutant.placement(path, outside, random)
    if mutant.placement is odd_name:
        placed.write_bytes(pristine)
    return placed
