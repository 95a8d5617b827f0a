"""Keys of the choice of spring, washers and stops: what the hub must do, and what may be fitted."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated

from pydantic import Field

from simengine.scenario.quantities import (
    Angle,
    Complaint,
    Fraction,
    Length,
    Mass,
    NotNegative,
    Number,
    Positive,
    Record,
    RotationSpeed,
    Stress,
    TemperatureDifference,
)
from simengine.scenario.tables import Column, TableRecord

Height = Annotated[Length, Field(ge=-500, le=9000)]
Angles = Annotated[tuple[Annotated[Angle, Field(ge=-0.1, le=1.4)], ...], Field(max_length=40)]


class Targets(Record):
    """What the hub must do in every place that is listed; engine speeds.

    The shift begins at least `begin_above_cruise` above `cruise_rpm`, finishes at least `finish_below_full`
    below the full-throttle speed on the fine stop, the return ends at least `return_above_idle` above idle,
    and full throttle stays `limit_reserve` below the engine's limit. The spring stands `strokes` strokes,
    with `life_factor` in stress; 10 million strokes and more mean for ever (Goodman).
    """

    cruise_rpm: Annotated[RotationSpeed, Positive]
    begin_above_cruise: Annotated[RotationSpeed, NotNegative] = 10.471975511965978  # 100 rpm
    finish_below_full: Annotated[RotationSpeed, NotNegative] = 10.471975511965978  # 100 rpm
    return_above_idle: Annotated[RotationSpeed, NotNegative] = 20.943951023931955  # 200 rpm
    limit_reserve: Annotated[RotationSpeed, NotNegative] = 0.0
    strokes: Annotated[Number, Field(ge=1e4, le=1e9)] = 1e6
    life_factor: Annotated[Number, Field(ge=1, le=5)] = 1.0


class SpringTable(TableRecord):
    """Coil springs on offer: round wire, lengths without load."""

    wire_diameter: Column[Annotated[Length, Positive]]
    mean_diameter: Column[Annotated[Length, Positive]]
    active_coils: Column[Annotated[Number, Positive]]
    total_coils: Column[Annotated[Number, Positive]]
    free_length: Column[Annotated[Length, Positive]]

    def complaints(self) -> Iterator[Complaint]:
        """Springs that can be wound."""
        for row, (wire, mean) in enumerate(zip(self.wire_diameter, self.mean_diameter, strict=True)):
            if not wire < mean:
                yield Complaint(("wire_diameter", row), "must be below mean_diameter")
        for row, (active, total) in enumerate(zip(self.active_coils, self.total_coils, strict=True)):
            if active > total:
                yield Complaint(("active_coils", row), "must not be above total_coils")


class WireSprings(Record):
    """Coil springs to be wound from standard wire: every combination that fits is tried.

    Left empty, the wires are the preferred sizes of spring wire from 1 to 8 mm. Two coils more than the
    active ones lie flat on the ends.
    """

    mean_diameters: Annotated[tuple[Annotated[Length, Positive], ...], Field(min_length=1, max_length=20)]
    active_coils: Annotated[
        tuple[Annotated[Number, Field(ge=2, le=40)], ...], Field(min_length=1, max_length=40)
    ]
    free_lengths: Annotated[tuple[Annotated[Length, Positive], ...], Field(min_length=1, max_length=60)]
    wires: Annotated[tuple[Annotated[Length, Positive], ...], Field(max_length=60)] = ()
    end_coils: Annotated[Number, NotNegative] = 2.0
    lowest_index: Annotated[Number, Field(ge=2)] = 4.0
    highest_index: Annotated[Number, Field(ge=2, le=40)] = 16.0

    def complaints(self) -> Iterator[Complaint]:
        """A range."""
        if not self.lowest_index < self.highest_index:
            yield Complaint(("highest_index",), "must be above lowest_index")


class CounterweightChoice(Record):
    """A counterweight that may be fitted to each blade's root; a mass of 0 means none."""

    masses: Annotated[tuple[Annotated[Mass, NotNegative], ...], Field(min_length=1, max_length=20)]
    arm: Annotated[Length, Positive]
    angle_from_chord: Angle = 1.5707963267948966


class Choose(Record):
    """Spring, washers and stops that meet the targets in every place, and robustly so.

    Left empty, the stops are the scenario's own, and so is the spring, whose washers alone are chosen. The
    places are all combinations of heights, temperature offsets, masses, bars and engines
    (`engine_torque`, a factor on the torque of the curve); left empty, the scenario's own day and mass.
    """

    targets: Targets
    heights: Annotated[tuple[Height, ...], Field(min_length=1, max_length=20)] = (0.0, 1500.0, 3000.0)
    temperature_offsets: Annotated[
        tuple[Annotated[TemperatureDifference, Field(ge=-60, le=60)], ...], Field(max_length=10)
    ] = ()
    masses: Annotated[tuple[Annotated[Mass, Field(gt=0, le=600)], ...], Field(max_length=10)] = ()
    bars: Annotated[tuple[Annotated[Fraction, Field(ge=0, le=1)], ...], Field(max_length=10)] = ()
    engine_torque: Annotated[
        tuple[Annotated[Fraction, Field(ge=0.5, le=1.5)], ...], Field(max_length=10)
    ] = ()
    fewest_washers: Annotated[int, Field(ge=0, le=100)] = 0
    most_washers: Annotated[int, Field(ge=0, le=100)] = 12
    coarse_stops: Angles = ()
    fine_stops: Angles = ()
    springs: SpringTable | None = None
    wire_springs: WireSprings | None = None
    counterweight: CounterweightChoice | None = None
    shear_modulus: Annotated[Stress, Positive] = 79.3e9
    peened: bool = False
    draws: Annotated[int, Field(ge=8, le=100_000)] = 256
    seed: Annotated[int, Field(ge=0)] = 1

    def complaints(self) -> Iterator[Complaint]:
        """Rising values, one catalogue, washers in order."""
        for name in (
            "heights",
            "temperature_offsets",
            "masses",
            "bars",
            "engine_torque",
            "coarse_stops",
            "fine_stops",
        ):
            for index, (before, after) in enumerate(pairwise(getattr(self, name))):
                if not after > before:
                    yield Complaint((name, index + 1), "the values must rise")
        if self.springs is not None and self.wire_springs is not None:
            yield Complaint(("wire_springs",), "the springs are given twice: leave out springs or this")
        if self.fewest_washers > self.most_washers:
            yield Complaint(("most_washers",), f"must be at least fewest_washers, {self.fewest_washers}")
