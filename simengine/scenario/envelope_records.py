"""Keys of the envelope study."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated

from pydantic import Field

from simengine.scenario.quantities import (
    Complaint,
    Fraction,
    Length,
    Mass,
    Record,
    TemperatureDifference,
)


class Envelope(Record):
    """Where the envelope is computed.

    Left empty, `temperature_offsets` means the scenario's own day, `masses` its all-up mass, 15 kg less and
    15 kg more, and `bars` no bar and as much as the wing's polar goes to. A temperature offset stands in
    place of the scenario's own, it is not added to it. The scenario's own day and mass, and no bar, are
    computed in any case: the answer in words is about them.
    """

    heights_to: Annotated[Length, Field(ge=100, le=9000)] = 5000.0
    """Highest height computed, above mean sea level."""
    heights_count: Annotated[int, Field(ge=2, le=1000)] = 41
    """Number of heights."""
    temperature_offsets: Annotated[
        tuple[Annotated[TemperatureDifference, Field(ge=-60, le=60)], ...], Field(max_length=20)
    ] = ()
    """Days warmer (+) or colder (-) than standard; left out, the scenario's own."""
    masses: Annotated[tuple[Annotated[Mass, Field(gt=0, le=600)], ...], Field(max_length=50)] = ()
    """All-up masses; left out, the scenario's own, 15 kg less and 15 kg more."""
    bars: Annotated[tuple[Annotated[Fraction, Field(ge=0, le=1)], ...], Field(max_length=20)] = ()
    """Bar positions; left out, none and the most the wing's polar goes to."""
    map_heights: Annotated[int, Field(ge=2, le=1000)] = 60
    """Rows of the map of pitch states."""
    map_throttles: Annotated[int, Field(ge=2, le=1000)] = 40
    """Columns of that map."""

    def complaints(self) -> Iterator[Complaint]:
        """Coordinates rise."""
        for name in ("temperature_offsets", "masses", "bars"):
            values = getattr(self, name)
            for index, (before, after) in enumerate(pairwise(values)):
                if not after > before:
                    yield Complaint((name, index + 1), "the values must rise")
