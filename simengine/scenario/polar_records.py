"""The user's own section: coefficients against the angle of attack, at one or more Reynolds numbers."""

from collections.abc import Iterator
from itertools import groupby, pairwise
from math import pi
from typing import Annotated, Any, NamedTuple

from pydantic import Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from simengine.constants import DEGREE
from simengine.scenario.quantities import Angle, Complaint, Number
from simengine.scenario.tables import Column, TableRecord

FEWEST_ANGLES = 5  # at one Reynolds number
MOST_REYNOLDS = 50
# Lift per degree where it passes zero: thin-aerofoil theory gives 0.11; what lies far off is a wrong unit.
FLATTEST, STEEPEST = 0.02, 0.25


class TableFileMark:
    """Mark of a table that may stand in a CSV file, whose name then stands in its place."""

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """The table, or the name of its file."""
        path = {"type": "string", "pattern": r"^[^/~\\].*\.csv$", "examples": ["polars/example.csv"]}
        return {"anyOf": [path, handler(schema)]}


class Block(NamedTuple):
    """Rows of one Reynolds number: the first, and the one after the last."""

    reynolds: float
    first: int
    end: int


class SectionPolar(TableRecord):
    """Coefficients of one section, the same over the whole blade.

    `alpha` is the angle of attack of the chord line; `cm` is about the quarter chord, nose up positive.
    Rows of one Reynolds number stand together, angles rising; Reynolds numbers rise from block to block.
    Wind-tunnel or computed values at low Mach number; compressibility is put on by the model. Beyond the
    angles of the table the model goes over into a flat plate, beyond its Reynolds numbers values are held,
    and either is told with the result.
    """

    reynolds: Column[Annotated[Number, Field(ge=1e3, le=1e8)]]
    """Reynolds number; rows of one number stand together."""
    alpha: Column[Annotated[Angle, Field(ge=-pi - 1e-9, le=pi + 1e-9)]]
    """Angle of attack of the chord line, rising."""
    cl: Column[Annotated[Number, Field(ge=-4, le=4)]]
    """Lift coefficient."""
    cd: Column[Annotated[Number, Field(gt=0, le=3)]]
    """Drag coefficient."""
    cm: Column[Annotated[Number, Field(ge=-1.5, le=1.5)]]
    """Moment coefficient about the quarter chord, nose up positive."""

    def complaints(self) -> Iterator[Complaint]:
        """Blocks in order, each good enough to make a curve of."""
        blocks = self.blocks()
        if len(blocks) > MOST_REYNOLDS:
            yield Complaint((), f"must have at most {MOST_REYNOLDS} Reynolds numbers, but has {len(blocks)}")
            return
        for before, block in pairwise(blocks):
            if block.reynolds < before.reynolds:
                message = "must be larger than in the rows before: Reynolds numbers rise from block to block"
                yield Complaint(("reynolds", block.first), message)
        for block in blocks:
            yield from self.block_complaints(block)

    def blocks(self) -> list[Block]:
        """Runs of rows of one Reynolds number."""
        listed, first = [], 0
        for reynolds, rows in groupby(self.reynolds):
            end = first + len(list(rows))
            listed.append(Block(reynolds, first, end))
            first = end
        return listed

    def block_complaints(self, block: Block) -> Iterator[Complaint]:
        """Angles rise, are enough, and reach from below zero lift to above it."""
        at = f"at Reynolds number {block.reynolds:g}"
        count = block.end - block.first
        if count < FEWEST_ANGLES:
            message = f"{at} there are {count} angles, but {FEWEST_ANGLES} are the least for a curve"
            yield Complaint(("alpha", block.first), message)
            return
        falling = [i for i in range(block.first + 1, block.end) if not self.alpha[i] > self.alpha[i - 1]]
        for row in falling:
            yield Complaint(("alpha", row), "must be larger than in the row before")
        if falling:
            return
        crossing = zero_lift_row(self.alpha, self.cl, block)
        if crossing is None:
            message = f"{at} lift does not rise through zero: begin below zero lift and end above it"
            yield Complaint(("cl", block.first), message)
            return
        rise = (self.cl[crossing + 1] - self.cl[crossing]) * DEGREE
        slope = rise / (self.alpha[crossing + 1] - self.alpha[crossing])
        if not FLATTEST <= slope <= STEEPEST:
            message = (
                f"{at} lift rises by {slope:.3g} for each degree where it passes zero; a section's lift "
                f"does so by {FLATTEST} to {STEEPEST}: is the unit of alpha right?"
            )
            yield Complaint(("cl", crossing + 1), message)


def zero_lift_row(alpha: tuple[float, ...], cl: tuple[float, ...], block: Block) -> int | None:
    """Row of a block after which lift rises through zero, nearest to an angle of zero; None without."""
    rows = [i for i in range(block.first, block.end - 1) if cl[i] <= 0.0 < cl[i + 1]]
    return min(rows, key=lambda i: abs(alpha[i]), default=None)
