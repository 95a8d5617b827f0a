"""Mutants by number: which file is spoiled how, the same for the same seed."""

from dataclasses import dataclass
from pathlib import Path
from random import Random

from mutations import Mutator
from places import PLACEMENTS, Placement, missing, odd_name
from seeds import SEEDS, Seed

PLACED = 0.12  # how many of the mutants have something wrong with their place
LIGHT = 0.02  # how many are computed to the end in a light campaign
TWICE = 0.25  # how many are spoiled twice


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


def mutant(campaign: int, number: int, *, light: bool = False) -> Mutant:
    """The mutant of a number; of a light campaign almost none is computed to the end, else all are."""
    random = Random(f"kind {campaign} {number}")
    seed = pick(random)
    compute = random.random() < LIGHT or not light
    if random.random() < PLACED:
        fitting = [each for each in PLACEMENTS if seed.named or each not in (odd_name, missing)]
        return Mutant(number, seed, (), random.choice(fitting), compute)
    count = 2 if random.random() < TWICE else 1
    return Mutant(number, seed, tuple(random.choice(seed.mutators) for _ in range(count)), None, compute)


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
