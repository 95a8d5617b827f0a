"""Keys of the wing."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from simengine import units
from simengine.scenario.quantities import (
    Area,
    Complaint,
    Density,
    Fraction,
    Mass,
    Positive,
    Record,
    Share,
    Speed,
)
from simengine.scenario.tables import Column, TableRecord, rising


class SinkPolar(TableRecord):
    """Measured glide at each bar position (0 = trim, 1 = full bar), without motor."""

    bar: Column[Annotated[Fraction, Share]]
    speed: Column[Annotated[Speed, Positive]]
    sink: Column[Annotated[Speed, Positive]]

    def complaints(self) -> Iterator[Complaint]:
        """From trim to full bar, gliding."""
        if self.bar[0] != 0.0:
            yield Complaint(("bar", 0), "the first row must be at trim, bar 0")
        yield from rising(self, "bar")
        for row, (speed, sink) in enumerate(zip(self.speed, self.sink, strict=True)):
            if not sink < speed:
                yield Complaint(
                    ("sink", row), f"must be below the speed, {units.readable(speed, units.SPEED)}"
                )


class Wing(Record):
    """A paraglider by its measured glide."""

    name: str
    area: Annotated[Area, Field(gt=5, le=60)]
    polar: SinkPolar
    polar_mass: Annotated[Mass, Positive]
    polar_density: Annotated[Density, Positive] = 1.225
