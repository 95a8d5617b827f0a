"""Keys of the pitch hub and its spring."""

from collections.abc import Iterator
from math import pi, sin
from typing import Annotated, Literal

from pydantic import Field

from simengine import units
from simengine.scenario.quantities import (
    Angle,
    AngularDamping,
    AngularRate,
    AngularStiffness,
    Complaint,
    Fraction,
    Length,
    Mass,
    MomentOfInertia,
    NotNegative,
    Number,
    Positive,
    Record,
    RotationSpeed,
    Stiffness,
    Stress,
    Torque,
    in_mm,
)


class HelicalWire(Record):
    """A round-wire compression spring, from which its rate follows."""

    wire_diameter: Annotated[Length, Positive]
    mean_diameter: Annotated[Length, Positive]
    active_coils: Annotated[Number, Field(gt=0)]
    total_coils: Annotated[Number, Field(gt=0)]
    shear_modulus: Annotated[Stress, Positive] = 79.3e9

    def complaints(self) -> Iterator[Complaint]:
        """A coil that can be wound."""
        if not self.wire_diameter < self.mean_diameter:
            yield Complaint(("wire_diameter",), f"must be below mean_diameter, {in_mm(self.mean_diameter)}")
        if self.active_coils > self.total_coils:
            yield Complaint(("active_coils",), f"must not be above total_coils, {self.total_coils:g}")


class LeverSpring(Record):
    """What every spring that works through a lever has.

    `lever_angle` stands between the lever and the perpendicular to the spring's line where the lever meets
    the spring: with the blade on the coarse stop, or at the end of its lost motion; positive if the lever
    swings toward the perpendicular as the blade goes fine.
    """

    lever_arm: Annotated[Length, Positive]
    lever_angle: Annotated[Angle, Field(ge=-1.2, le=1.2)] = 0.0
    washers: Annotated[int, Field(ge=0, le=100)] = 0
    washer_thickness: Annotated[Length, NotNegative] = 0.0005
    shared: bool = False

    @property
    def shims(self) -> float:
        """Compression by the washers [m]."""
        return self.washers * self.washer_thickness

    def lever_swing(self, travel: float) -> float:
        """Compression added when the blade has moved by `travel` [rad] from the coarse stop [m]."""
        return self.lever_arm * (sin(self.lever_angle) - sin(self.lever_angle - travel))

    def travel_complaints(self, travel: float) -> Iterator[Complaint]:
        """What goes wrong with the spring on the way to the fine stop."""
        if self.lever_angle - travel <= -0.5 * pi:
            yield Complaint(("lever_angle",), "the lever passes its dead centre before the fine stop")


class HelicalSpring(LeverSpring):
    """Compression coil. Give `rate`, or `wire` from which it follows."""

    kind: Literal["helical"]
    rate: Annotated[Stiffness, Positive] | None = None
    wire: HelicalWire | None = None
    free_length: Annotated[Length, Positive]
    fitted_length: Annotated[Length, Positive]
    solid_length: Annotated[Length, Positive] | None = None

    @property
    def solid(self) -> float | None:
        """Length with the coils touching: as given, or all coils side by side [m]."""
        if self.solid_length is None and self.wire is not None:
            return self.wire.total_coils * self.wire.wire_diameter
        return self.solid_length

    def complaints(self) -> Iterator[Complaint]:
        """One rate; pressed when fitted."""
        if self.rate is not None and self.wire is not None:
            yield Complaint(("rate",), "the rate is given twice: leave out rate or wire")
        if self.rate is None and self.wire is None:
            yield Complaint(("rate",), "is required, for example '14 N/mm', or wire, from which it follows")
        if not self.fitted_length < self.free_length:
            yield Complaint(("fitted_length",), f"must be below free_length, {in_mm(self.free_length)}")
        if not self.fitted_length > self.shims:
            message = (
                f"the washers take up {in_mm(self.shims)}, all of fitted_length, {in_mm(self.fitted_length)}"
            )
            yield Complaint(("washers",), message)

    def travel_complaints(self, travel: float) -> Iterator[Complaint]:
        """The coils must not touch before the fine stop."""
        yield from super().travel_complaints(travel)
        shortest = self.fitted_length - self.shims - self.lever_swing(travel)
        if self.solid is not None and shortest <= self.solid:
            message = (
                f"the spring goes solid before the fine stop: {in_mm(self.shims)} of washers and "
                f"{in_mm(self.lever_swing(travel))} by the lever leave {in_mm(shortest)}, "
                f"but its solid length is {in_mm(self.solid)}"
            )
            yield Complaint(("fitted_length",), message)


class DiscWasherSpring(LeverSpring):
    """Stack of disc washers: `parallel` the same way round, `series` such packs against each other."""

    kind: Literal["disc_washers"]
    outer_diameter: Annotated[Length, Positive]
    inner_diameter: Annotated[Length, Positive]
    thickness: Annotated[Length, Positive]
    cone_height: Annotated[Length, Positive]
    elastic_modulus: Annotated[Stress, Positive] = 206e9
    poisson_ratio: Annotated[Number, Field(gt=0, lt=0.5)] = 0.3
    parallel: Annotated[int, Field(ge=1, le=20)] = 1
    series: Annotated[int, Field(ge=1, le=100)]
    fitted_compression: Annotated[Length, NotNegative]
    face_friction: Annotated[Fraction, Field(ge=0, le=0.2)] = 0.025

    def complaints(self) -> Iterator[Complaint]:
        """A washer has a hole."""
        if not self.inner_diameter < self.outer_diameter:
            yield Complaint(
                ("inner_diameter",), f"must be below outer_diameter, {in_mm(self.outer_diameter)}"
            )

    def travel_complaints(self, travel: float) -> Iterator[Complaint]:
        """The stack must not be flat before the fine stop."""
        yield from super().travel_complaints(travel)
        pressed = self.fitted_compression + self.shims + self.lever_swing(travel)
        flat = self.series * self.cone_height
        if pressed >= flat:
            message = (
                f"the stack is flat before the fine stop: with {in_mm(self.shims)} of washers and "
                f"{in_mm(self.lever_swing(travel))} by the lever it is pressed by {in_mm(pressed)}, "
                f"but it is flat at {in_mm(flat)}"
            )
            yield Complaint(("fitted_compression",), message)


class TorsionSpring(Record):
    """Spring wound about the pitch axis."""

    kind: Literal["torsion"]
    rate: Annotated[AngularStiffness, Positive]
    preload_angle: Annotated[Angle, NotNegative]
    shared: bool = False


Spring = Annotated[HelicalSpring | TorsionSpring | DiscWasherSpring, Field(discriminator="kind")]


class Friction(Record):
    """Dry friction of one blade: a constant part and one in proportion to the blade's pull.

    `breakaway` is the ratio of the friction at rest to that in motion.
    """

    constant: Annotated[Torque, NotNegative] = 0.05
    bearing_coefficient: Annotated[Number, Field(ge=0, le=0.5)] = 0.003
    bearing_radius: Annotated[Length, NotNegative] = 0.015
    breakaway: Annotated[Number, Field(ge=1, le=3)] = 1.0


class Counterweight(Record):
    """A mass on an arm fixed to each blade's root.

    `angle_from_chord` is that of the arm from the chord at the reference station: 0 deg points to the
    leading edge, 90 deg to the suction side (drives coarse).
    """

    mass: Annotated[Mass, NotNegative]
    arm: Annotated[Length, NotNegative]
    angle_from_chord: Angle = 1.5707963267948966


class FixedHub(Record):
    """Blades that do not move."""

    kind: Literal["fixed"]
    name: str
    blade_angle: Annotated[Angle, Field(ge=-0.1, le=1.4)]


class Stops(Record):
    """The two ends of the blade's travel, at the reference station."""

    name: str
    coarse_stop: Annotated[Angle, Field(ge=-0.1, le=1.4)]
    fine_stop: Annotated[Angle, Field(ge=-0.1, le=1.4)]

    @property
    def travel(self) -> float:
        """From stop to stop [rad]."""
        return self.coarse_stop - self.fine_stop

    def complaints(self) -> Iterator[Complaint]:
        """Fine is the smaller angle."""
        if not self.fine_stop < self.coarse_stop:
            coarse = units.readable(self.coarse_stop, units.ANGLE)
            yield Complaint(("fine_stop",), f"must be a smaller angle than coarse_stop, {coarse}")


class TwoStopHub(Stops):
    """Self-shifting hub: the spring holds coarse, the blade loads carry fine."""

    kind: Literal["two_stop"]
    spring: Spring
    friction: Friction = Friction()
    counterweights: tuple[Counterweight, ...] = ()
    lost_motion: Annotated[Angle, Field(ge=0, le=0.1)] = 0.0
    stop_radius: Annotated[Length, Positive] = 0.02
    root_inertia: Annotated[MomentOfInertia, NotNegative] = 2e-5
    damping: Annotated[AngularDamping, Field(ge=0, le=10)] = 0.02
    blades_linked: bool = True

    def complaints(self) -> Iterator[Complaint]:
        """The spring can follow the blade from stop to stop."""
        yield from super().complaints()
        if self.travel <= 0.0:
            return
        if self.lost_motion >= self.travel:
            travel = units.readable(self.travel, units.ANGLE)
            yield Complaint(("lost_motion",), f"must be smaller than the travel between the stops, {travel}")
        elif isinstance(self.spring, LeverSpring):
            for path, message in self.spring.travel_complaints(self.travel - self.lost_motion):
                yield Complaint(("spring", *path), message)


class SelectedHub(Stops):
    """Two stops, moved by the pilot."""

    kind: Literal["two_stop_selected"]
    pitch_rate: Annotated[AngularRate, Positive] = 0.05


class GovernedHub(Stops):
    """Holds an engine speed between its stops, for comparison."""

    kind: Literal["governed"]
    engine_speed: Annotated[RotationSpeed, Positive]
    pitch_rate: Annotated[AngularRate, Positive] = 0.05


Hub = Annotated[FixedHub | TwoStopHub | SelectedHub | GovernedHub, Field(discriminator="kind")]
