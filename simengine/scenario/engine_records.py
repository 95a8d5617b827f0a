"""Keys of the engine and its drive."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from simengine.scenario.quantities import (
    Complaint,
    Fraction,
    MomentOfInertia,
    Number,
    Pressure,
    Record,
    RotationSpeed,
    Share,
    SpecificConsumption,
    Temperature,
    Torque,
    in_rpm,
)
from simengine.scenario.tables import Column, TableRecord, rising

FASTEST = 3141.592653589793  # 30,000 rpm [rad/s]: far above any engine of this use
THIRSTIEST = 5.0 / 3.6e6  # 5000 g/kWh [kg/J]


class FullThrottleCurve(TableRecord):
    """Full-throttle bench curve at the reference air."""

    engine_speed: Column[Annotated[RotationSpeed, Field(gt=0, le=FASTEST)]]
    """ENGINE speed, rising; from idle or below to the limit or above."""
    torque: Column[Annotated[Torque, Field(gt=0, le=1000)]]
    """At the engine's shaft, throttle full."""
    consumption: Column[Annotated[SpecificConsumption, Field(gt=0, le=THIRSTIEST)]]
    """Fuel per shaft work."""

    def complaints(self) -> Iterator[Complaint]:
        """Speeds rise."""
        yield from rising(self, "engine_speed")


class ThrottleMap(TableRecord):
    """Share of the full-throttle indicated torque against throttle opening; both 0 to 1, rising."""

    throttle: Column[Annotated[Fraction, Share]]
    """Opening, from 0 to 100 %."""
    torque_share: Column[Annotated[Fraction, Share]]
    """Share of the full-throttle torque."""

    def complaints(self) -> Iterator[Complaint]:
        """Both rise, from 0 to 1."""
        for name in ("throttle", "torque_share"):
            yield from rising(self, name)
            values = getattr(self, name)
            if values[0] != 0.0:
                yield Complaint((name, 0), "must be 0 in the first row")
            if values[-1] != 1.0:
                yield Complaint((name, len(values) - 1), "must be 100 % in the last row")


class PartLoadConsumption(TableRecord):
    """Brake specific consumption at part load: every pairing of its engine speeds and loads once."""

    engine_speed: Column[Annotated[RotationSpeed, Field(gt=0, le=FASTEST)]]
    """ENGINE speed."""
    load: Column[Annotated[Fraction, Field(gt=0, le=1)]]
    """Torque over the full-throttle torque at that speed."""
    consumption: Column[Annotated[SpecificConsumption, Field(gt=0, le=THIRSTIEST)]]
    """Fuel per shaft work."""

    def complaints(self) -> Iterator[Complaint]:
        """Every pairing once."""
        pairs = list(zip(self.engine_speed, self.load, strict=True))
        for row, pair in enumerate(pairs):
            if pair in pairs[:row]:
                yield Complaint(("load", row), "this engine speed and load were given before")
        wanted = len(set(self.engine_speed)) * len(set(self.load))
        if len(set(pairs)) < wanted:
            message = (
                f"must hold every pairing of its engine speeds and loads, {wanted} rows, not {len(pairs)}"
            )
            yield Complaint(("rows",), message)


class Clutch(Record):
    """Centrifugal clutch: nothing is carried below this engine speed."""

    engage_speed: Annotated[RotationSpeed, Field(gt=0, le=FASTEST)]
    """ENGINE speed at which it grips."""


class AltitudeLaw(Record):
    """How full-throttle torque falls with thinner air."""

    law: Literal["gagg_ferrar", "density", "sae_j1349"] = "gagg_ferrar"
    """Rule by which full-throttle torque falls with thinner air."""
    loss_factor: Annotated[Fraction, Field(ge=0, le=3)] = 1.0
    """On the loss by that rule: above 100 % for an engine that suffers more."""


class ReferenceAir(Record):
    """Air on the day of the bench curve."""

    pressure: Annotated[Pressure, Field(ge=60000, le=108000)] = 101325.0
    """On the day of the bench curve, read on the spot."""
    temperature: Annotated[Temperature, Field(ge=230, le=330)] = 288.15
    """Of the air that the engine breathed."""


class Engine(Record):
    """A spark-ignition engine.

    `torque_factor` and `consumption_factor` multiply the torque and the fuel of the tables: where one bench
    curve stands for an engine of the same type, or a calibration found it stronger or thirstier.
    """

    name: str
    """Shown with the results."""
    curve: FullThrottleCurve
    """Full throttle on the bench, lowest speed first."""
    torque_factor: Annotated[Fraction, Field(ge=0.3, le=2)] = 1.0
    """On the torque of the curve: a stronger or weaker engine of the type."""
    consumption_factor: Annotated[Fraction, Field(ge=0.3, le=3)] = 1.0
    """On the fuel of the curve: a thirstier or leaner engine of the type."""
    throttle_map: ThrottleMap | None = None
    """Torque by throttle opening; left out, a usual one."""
    part_load: PartLoadConsumption | None = None
    """Fuel at part load; left out, estimated from the curve."""
    friction_torque: Annotated[Torque, Field(gt=0, le=1000)]
    """What it takes to turn the engine over, unfired."""
    idle_speed: Annotated[RotationSpeed, Field(gt=0, le=FASTEST)]
    """ENGINE speed with the throttle closed and nothing to drive."""
    speed_limit: Annotated[RotationSpeed, Field(gt=0, le=FASTEST)]
    """ENGINE speed never to be passed; a flight that does says so."""
    inertia: Annotated[MomentOfInertia, Field(gt=0, le=10)]
    """Crank, flywheel and clutch drum."""
    altitude: AltitudeLaw = AltitudeLaw()
    """How torque falls with height."""
    reference_air: ReferenceAir = ReferenceAir()
    """Air of the bench curve."""
    fixed_jet: bool = True
    """True: the mixture grows rich with height; false: the carburettor is leaned out."""
    clutch: Clutch | None = None
    """Centrifugal clutch; left out, none."""

    def complaints(self) -> Iterator[Complaint]:
        """Idle, clutch and limit stand in order, inside the tables."""
        if not self.idle_speed < self.speed_limit:
            yield Complaint(("idle_speed",), f"must be below speed_limit, {in_rpm(self.speed_limit)}")
        if self.clutch and not self.idle_speed < self.clutch.engage_speed < self.speed_limit:
            between = f"{in_rpm(self.idle_speed)} and {in_rpm(self.speed_limit)}"
            yield Complaint(
                ("clutch", "engage_speed"), f"must lie between idle_speed and speed_limit, {between}"
            )
        yield from self.inside_curve(("idle_speed",), self.idle_speed)
        yield from self.inside_curve(("speed_limit",), self.speed_limit)
        for row, speed in enumerate(self.part_load.engine_speed if self.part_load else ()):
            yield from self.inside_curve(("part_load", "engine_speed", row), speed)

    def inside_curve(self, path: tuple[str | int, ...], speed: float) -> Iterator[Complaint]:
        """Complain about a speed at which the full-throttle curve says nothing."""
        lowest, highest = self.curve.engine_speed[0], self.curve.engine_speed[-1]
        tolerance = 1e-9 * highest
        if not lowest - tolerance <= speed <= highest + tolerance:
            yield Complaint(path, f"is outside the engine table, {in_rpm(lowest)} to {in_rpm(highest)}")


class Drive(Record):
    """Reduction: engine turns for one turn of the propeller."""

    reduction: Annotated[Number, Field(ge=1, le=8)]
    """Engine turns for one turn of the propeller."""
    efficiency: Annotated[Fraction, Field(gt=0, le=1)] = 0.97
    """What the belt or gear passes on."""
