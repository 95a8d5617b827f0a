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
    """From the start of the phase, rising from 0."""
    throttle: Column[Annotated[Fraction, Share]]
    """Opening, 0 to 100 %."""

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
    """Shown in tables and pictures; left out, its kind."""
    pitch: Literal["coarse", "fine"] | None = None
    """For a hub that the pilot moves; left out, coarse in cruise and descent, fine otherwise."""


class GroundRun(Phase):
    """Tied down, facing the wind."""

    kind: Literal["ground_run"]
    """Tied down."""
    throttle: ThrottleProgramme
    """Throttle against time."""
    headwind: Annotated[Speed, Field(ge=0, le=20)] = 0.0
    """Onto the propeller's face."""


class FlyingPhase(Phase):
    """What every phase in the air has."""

    bar: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    """Speed bar: 0 % trim, 100 % full."""
    throttle_time: Annotated[Time, Field(gt=0, le=600)] = 2.0
    """Taken to bring the throttle where this phase wants it."""


class Climb(FlyingPhase):
    """Up to a height at a given throttle; ends early, and says so, at the ceiling."""

    kind: Literal["climb"]
    """Up to a height."""
    throttle: Annotated[Fraction, Field(ge=0, le=1)] = 1.0
    """Opening."""
    to_height: Annotated[Length, Field(ge=-500, le=9000)]
    """Where it ends, above mean sea level."""
    time_limit: Annotated[Time, Field(gt=0, le=LONGEST)] = 7200.0
    """Ends then if the height is not reached."""


class Cruise(FlyingPhase):
    """Hold the height by throttle for a duration or an air distance; `airspeed` finds the bar."""

    kind: Literal["cruise"]
    """Holds the height by throttle."""
    duration: Annotated[Time, Field(gt=0, le=LONGEST)] | None = None
    """Until then; or give `distance`."""
    distance: Annotated[Length, Field(gt=0, le=3e6)] | None = None
    """Through the air; or give `duration`."""
    airspeed: Annotated[Speed, Positive] | None = None
    """To hold, in place of `bar`."""

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
    """Down to a height."""
    throttle: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    """Opening; 0 % is idle."""
    to_height: Annotated[Length, Field(ge=-500, le=9000)]
    """Where it ends, above mean sea level."""
    time_limit: Annotated[Time, Field(gt=0, le=LONGEST)] = 7200.0
    """Ends then if the height is not reached."""


class ThrottleFlight(Phase):
    """Fly a throttle programme in the air."""

    kind: Literal["throttle_programme"]
    """A throttle programme in the air."""
    throttle: ThrottleProgramme
    """Throttle against time."""
    bar: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    """Speed bar: 0 % trim, 100 % full."""


AnyPhase = Annotated[GroundRun | Climb | Cruise | Descend | ThrottleFlight, Field(discriminator="kind")]


class Flight(Record):
    """What is flown, and how finely."""

    phases: Annotated[tuple[AnyPhase, ...], Field(min_length=1, max_length=200)]
    """Flown one after the other."""
    fidelity: Literal["dynamic", "steady"] = "dynamic"
    """`dynamic` resolves pitch and rotor in time, `steady` keeps them in balance."""
    record_interval: Annotated[Time, Field(ge=0.01, le=600)] = 1.0
    """How close together results are kept."""
    relative_tolerance: Annotated[float, Field(ge=1e-8, le=1e-2)] = 1e-4
    """Of the solver."""

    def complaints(self) -> Iterator[Complaint]:
        """A machine in the air is not tied down."""
        airborne = False
        for index, phase in enumerate(self.phases):
            airborne = airborne or not isinstance(phase, GroundRun)
            if airborne and isinstance(phase, GroundRun):
                yield Complaint(("phases", index, "kind"), "a ground_run cannot follow a phase in the air")
