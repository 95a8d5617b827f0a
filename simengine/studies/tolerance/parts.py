"""Draws worked out part by part: what a part holds, and how it is kept."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simengine.execution.store import Store
from simengine.execution.task import Piece

Array = NDArray[np.float64]

PART = 1024  # hubs of a part, a power of two


@dataclass(frozen=True)
class Part:
    """Some of the draws, the first of them numbered `start`.

    `values`, shape (n, inputs) [SI]; `figures`, shape (places, n, figures); verdicts `inside`,
    shape (places, n); `washers`, shape (n,).
    """

    start: int
    values: Array
    figures: Array
    inside: NDArray[np.bool_]
    washers: NDArray[np.int16]

    def piece(self) -> Piece:
        """Its arrays by their names."""
        return {
            "values": self.values,
            "figures": self.figures,
            "inside": self.inside,
            "washers": self.washers,
        }


def count_of(draws: int) -> int:
    """Parts of so many draws."""
    return -(-draws // PART)


def read_part(store: Store, number: int) -> Part:
    """A part that is kept."""
    return Part(number * PART, **store.read(number))


def parts_of(store: Store, draws: int) -> Iterator[Part]:
    """All parts in order, one in memory at a time."""
    for number in range(count_of(draws)):
        yield read_part(store, number)
