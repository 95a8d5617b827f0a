"""Keys of the flight."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from simengine.scenario.quantities import (
    Complaint,
    Fraction,
    Length,
    Positive,
    Record,
    Share,
    Speed,
    Time,
)
from simengine.scenario.tables import Column, TableRecord, rising

LONGEST = 86400.0  # of one phase [s]


class ThrottleProgramme(TableRecord):
    """Throttle against time; straight lines between the rows."""

    time: Column[Annotated[Time, Field(ge=0, le=LONGEST)]]
    throttle: Column[Annotated[Fraction, Share]]

    def complaints(self) -> Iterator[Complaint]:
        """Time runs from 0."""
        if self.time[0] != 0.0:
            yield Complaint(("time", 0), "a programme begins at time 0")
        yield from rising(self, "time")


class Phase(Record):
    """What every phase has.

    `pitch` is for a hub that the pilot moves; left out, coarse in cruise and descent, fine otherwise.
    """

    name: str | None = None
    pitch: Literal["coarse", "fine"] | None = None


class GroundRun(Phase):
    """Tied down, facing the wind."""

    kind: Literal["ground_run"]
    throttle: ThrottleProgramme
    headwind: Annotated[Speed, Field(ge=0, le=20)] = 0.0


class FlyingPhase(Phase):
    """What every phase in the air has."""

    bar: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    throttle_time: Annotated[Time, Field(gt=0, le=600)] = 2.0


class Climb(FlyingPhase):
    """Up to a height at a given throttle; ends early, and says so, at the ceiling."""

    kind: Literal["climb"]
    throttle: Annotated[Fraction, Field(ge=0, le=1)] = 1.0
    to_height: Annotated[Length, Field(ge=-500, le=9000)]
    time_limit: Annotated[Time, Field(gt=0, le=LONGEST)] = 7200.0


class Cruise(FlyingPhase):
    """Hold the height by throttle for a duration or an air distance; `airspeed` finds the bar."""

    kind: Literal["cruise"]
    duration: Annotated[Time, Field(gt=0, le=LONGEST)] | None = None
    distance: Annotated[Length, Field(gt=0, le=3e6)] | None = None
    airspeed: Annotated[Speed, Positive] | None = None

    def complaints(self) -> Iterator[Complaint]:
        """One end; one way to set the speed."""
        if self.duration is not None and self.distance is not None:
            yield Complaint(("distance",), "a cruise ends by duration or by distance: leave one out")
        if self.duration is None and self.distance is None:
            yield Complaint(
                ("duration",), "is required, for example '20 min', or distance, for example '15 km'"
            )
        if self.airspeed is not None and "bar" in self.model_fields_set:
            yield Complaint(("bar",), "follows from airspeed: leave one out")


class Descend(FlyingPhase):
    """Down to a height at a given throttle."""

    kind: Literal["descend"]
    throttle: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    to_height: Annotated[Length, Field(ge=-500, le=9000)]
    time_limit: Annotated[Time, Field(gt=0, le=LONGEST)] = 7200.0


class ThrottleFlight(Phase):
    """Fly a throttle programme in the air."""

    kind: Literal["throttle_programme"]
    throttle: ThrottleProgramme
    bar: Annotated[Fraction, Field(ge=0, le=1)] = 0.0


AnyPhase = Annotated[GroundRun | Climb | Cruise | Descend | ThrottleFlight, Field(discriminator="kind")]


class Flight(Record):
    """What is flown, and how finely."""

    phases: Annotated[tuple[AnyPhase, ...], Field(min_length=1, max_length=200)]
    fidelity: Literal["dynamic", "steady"] = "dynamic"
    record_interval: Annotated[Time, Field(ge=0.01, le=600)] = 1.0
    relative_tolerance: Annotated[float, Field(ge=1e-8, le=1e-2)] = 1e-4

    def complaints(self) -> Iterator[Complaint]:
        """A machine in the air is not tied down."""
        airborne = False
        for index, phase in enumerate(self.phases):
            airborne = airborne or not isinstance(phase, GroundRun)
            if airborne and isinstance(phase, GroundRun):
                yield Complaint(("phases", index, "kind"), "a ground_run cannot follow a phase in the air")
