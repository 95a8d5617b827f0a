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
    """ENGINE speed of your level cruise on the coarse stop."""
    begin_above_cruise: Annotated[RotationSpeed, NotNegative] = 10.471975511965978  # 100 rpm
    """The shift begins at least this much above `cruise_rpm`."""
    finish_below_full: Annotated[RotationSpeed, NotNegative] = 10.471975511965978  # 100 rpm
    """The shift finishes at least this much below full-throttle speed on the fine stop."""
    return_above_idle: Annotated[RotationSpeed, NotNegative] = 20.943951023931955  # 200 rpm
    """The return ends at least this much above idle."""
    limit_reserve: Annotated[RotationSpeed, NotNegative] = 0.0
    """Full throttle stays at least this much below the engine's limit."""
    strokes: Annotated[Number, Field(ge=1e4, le=1e9)] = 1e6
    """Strokes that the spring must stand; 1e7 and more mean for ever."""
    life_factor: Annotated[Number, Field(ge=1, le=5)] = 1.0
    """Reserve in stress on that life."""


class SpringTable(TableRecord):
    """Coil springs on offer: round wire, lengths without load."""

    wire_diameter: Column[Annotated[Length, Positive]]
    """Of the wire."""
    mean_diameter: Column[Annotated[Length, Positive]]
    """Of the coil, from wire centre to wire centre."""
    active_coils: Column[Annotated[Number, Positive]]
    """Coils that move."""
    total_coils: Column[Annotated[Number, Positive]]
    """All coils, the flat end ones too."""
    free_length: Column[Annotated[Length, Positive]]
    """Without load."""

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
    """Coil diameters to try, from wire centre to wire centre."""
    active_coils: Annotated[
        tuple[Annotated[Number, Field(ge=2, le=40)], ...], Field(min_length=1, max_length=40)
    ]
    """Numbers of moving coils to try."""
    free_lengths: Annotated[tuple[Annotated[Length, Positive], ...], Field(min_length=1, max_length=60)]
    """Lengths without load to try."""
    wires: Annotated[tuple[Annotated[Length, Positive], ...], Field(max_length=60)] = ()
    """Wire diameters to try; left out, the preferred sizes from 1 to 8 mm."""
    end_coils: Annotated[Number, NotNegative] = 2.0
    """Coils that lie flat on the ends, both together."""
    lowest_index: Annotated[Number, Field(ge=2)] = 4.0
    """Least coil diameter over wire diameter that can be wound."""
    highest_index: Annotated[Number, Field(ge=2, le=40)] = 16.0
    """Greatest coil diameter over wire diameter that can be wound."""

    def complaints(self) -> Iterator[Complaint]:
        """A range."""
        if not self.lowest_index < self.highest_index:
            yield Complaint(("highest_index",), "must be above lowest_index")


class CounterweightChoice(Record):
    """A counterweight that may be fitted to each blade's root; a mass of 0 means none."""

    masses: Annotated[tuple[Annotated[Mass, NotNegative], ...], Field(min_length=1, max_length=20)]
    """Masses to try on each blade; 0 g means none."""
    arm: Annotated[Length, Positive]
    """From the pitch axis to the mass."""
    angle_from_chord: Angle = 1.5707963267948966
    """Of the arm from the chord at the reference station; 0 deg points to the leading edge, 90 deg to
    the suction side (drives coarse)."""


class Choose(Record):
    """Spring, washers and stops that meet the targets in every place, and robustly so.

    Left empty, the stops are the scenario's own, and so is the spring, whose washers alone are chosen. The
    places are all combinations of heights, temperature offsets, masses, bars and engines
    (`engine_torque`, a factor on the torque of the curve); left empty, the scenario's own day and mass.
    """

    targets: Targets
    """What the hub must do in every place listed."""
    heights: Annotated[tuple[Height, ...], Field(min_length=1, max_length=20)] = (0.0, 1500.0, 3000.0)
    """Heights above mean sea level at which it must."""
    temperature_offsets: Annotated[
        tuple[Annotated[TemperatureDifference, Field(ge=-60, le=60)], ...], Field(max_length=10)
    ] = ()
    """Days warmer (+) or colder (-) than standard; left out, the scenario's own."""
    masses: Annotated[tuple[Annotated[Mass, Field(gt=0, le=600)], ...], Field(max_length=10)] = ()
    """All-up masses; left out, the scenario's own."""
    bars: Annotated[tuple[Annotated[Fraction, Field(ge=0, le=1)], ...], Field(max_length=10)] = ()
    """Bar positions; left out, no bar."""
    engine_torque: Annotated[
        tuple[Annotated[Fraction, Field(ge=0.5, le=1.5)], ...], Field(max_length=10)
    ] = ()
    """Factors on the engine's torque: a tired and a strong one; left out, 100 %."""
    fewest_washers: Annotated[int, Field(ge=0, le=100)] = 0
    """Fewest washers to try."""
    most_washers: Annotated[int, Field(ge=0, le=100)] = 12
    """Most washers to try."""
    coarse_stops: Angles = ()
    """Coarse stops to try; left out, the scenario's own."""
    fine_stops: Angles = ()
    """Fine stops to try; left out, the scenario's own."""
    springs: SpringTable | None = None
    """Springs on offer, a row each."""
    wire_springs: WireSprings | None = None
    """Springs to be wound from standard wire."""
    counterweight: CounterweightChoice | None = None
    """A counterweight that may be fitted."""
    shear_modulus: Annotated[Stress, Positive] = 79.3e9
    """Of the wire."""
    peened: bool = False
    """Whether the springs are shot-peened, which lengthens their life."""
    draws: Annotated[int, Field(ge=8, le=100_000)] = 256
    """Draws of the uncertain inputs for each option's robustness."""
    seed: Annotated[int, Field(ge=0)] = 1
    """Number that fixes the draws."""

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
