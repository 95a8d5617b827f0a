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
    Record,
    Share,
    Speed,
)
from simengine.scenario.tables import Column, TableRecord, rising


class SinkPolar(TableRecord):
    """Measured glide at each bar position (0 = trim, 1 = full bar), without motor."""

    bar: Column[Annotated[Fraction, Share]]
    """Bar position, rising from trim, 0 %."""
    speed: Column[Annotated[Speed, Field(ge=1, le=60)]]
    """Along the path."""
    sink: Column[Annotated[Speed, Field(ge=0.01, le=60)]]
    """Loss of height."""

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
    """Shown with the results."""
    area: Annotated[Area, Field(gt=5, le=60)]
    """Flat."""
    polar: SinkPolar
    """Glides without motor, from trim to full bar."""
    polar_mass: Annotated[Mass, Field(gt=0, le=1000)]
    """All-up mass of those glides."""
    polar_density: Annotated[Density, Field(gt=0, le=2)] = 1.225
    """Air density of those glides."""
