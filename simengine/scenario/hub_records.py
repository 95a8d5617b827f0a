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
    """Of the wire."""
    mean_diameter: Annotated[Length, Positive]
    """Of the coil, from wire centre to wire centre."""
    active_coils: Annotated[Number, Field(gt=0)]
    """Coils that move."""
    total_coils: Annotated[Number, Field(gt=0)]
    """All coils, the flat end ones too."""
    shear_modulus: Annotated[Stress, Positive] = 79.3e9
    """Of the wire; that of spring steel if left out."""

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
    """From the pitch axis to where the lever meets the spring."""
    lever_angle: Annotated[Angle, Field(ge=-1.2, le=1.2)] = 0.0
    """Lever from square to the spring's line, on the coarse stop."""
    washers: Annotated[int, Field(ge=0, le=100)] = 0
    """Shims under the spring: one more, a later shift."""
    washer_thickness: Annotated[Length, NotNegative] = 0.0005
    """Of each washer."""
    shared: bool = False
    """True: one spring for all blades; false: one for each."""

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
    """Compression coil."""
    rate: Annotated[Stiffness, Positive] | None = None
    """Force for each length of compression, best measured; or give `wire`."""
    wire: HelicalWire | None = None
    """Dimensions from which the rate follows."""
    free_length: Annotated[Length, Positive]
    """Out of the hub."""
    fitted_length: Annotated[Length, Positive]
    """On the coarse stop, without the washers."""
    solid_length: Annotated[Length, Positive] | None = None
    """With the coils touching; the scenario is refused if it comes to that."""

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
    """Stack of disc washers."""
    outer_diameter: Annotated[Length, Positive]
    """Of a washer."""
    inner_diameter: Annotated[Length, Positive]
    """Of its hole."""
    thickness: Annotated[Length, Positive]
    """Of its sheet."""
    cone_height: Annotated[Length, Positive]
    """Free height above flat, of one washer."""
    elastic_modulus: Annotated[Stress, Positive] = 206e9
    """Of the sheet; that of spring steel if left out."""
    poisson_ratio: Annotated[Number, Field(gt=0, lt=0.5)] = 0.3
    """Of the sheet."""
    parallel: Annotated[int, Field(ge=1, le=20)] = 1
    """Washers the same way round in one pack."""
    series: Annotated[int, Field(ge=1, le=100)]
    """Packs turned against each other."""
    fitted_compression: Annotated[Length, NotNegative]
    """Of the stack, on the coarse stop, without the shims."""
    face_friction: Annotated[Fraction, Field(ge=0, le=0.2)] = 0.025
    """Between washers lying in each other, as a share of the force."""

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
    """Wound about the pitch axis."""
    rate: Annotated[AngularStiffness, Positive]
    """Torque for each angle of winding."""
    preload_angle: Annotated[Angle, NotNegative]
    """Wound up by this much on the coarse stop."""
    shared: bool = False
    """True: one spring for all blades; false: one for each."""


Spring = Annotated[HelicalSpring | TorsionSpring | DiscWasherSpring, Field(discriminator="kind")]


class Friction(Record):
    """Dry friction of one blade: a constant part and one in proportion to the blade's pull.

    `breakaway` is the ratio of the friction at rest to that in motion.
    """

    constant: Annotated[Torque, NotNegative] = 0.05
    """Torque about the pitch axis with the propeller at rest."""
    bearing_coefficient: Annotated[Number, Field(ge=0, le=0.5)] = 0.003
    """Of the blade bearing under the blade's pull; rolling 0.002 to 0.005, plain faces 0.08 and more."""
    bearing_radius: Annotated[Length, NotNegative] = 0.015
    """Mean radius of that bearing."""
    breakaway: Annotated[Number, Field(ge=1, le=3)] = 1.0
    """Friction at rest over friction in motion."""


class Counterweight(Record):
    """A mass on an arm fixed to each blade's root.

    `angle_from_chord` is that of the arm from the chord at the reference station: 0 deg points to the
    leading edge, 90 deg to the suction side (drives coarse).
    """

    mass: Annotated[Mass, NotNegative]
    """Of one blade's counterweight."""
    arm: Annotated[Length, NotNegative]
    """From the pitch axis to its centre of mass."""
    angle_from_chord: Angle = 1.5707963267948966
    """Of the arm from the chord at the reference station: 0 deg points to the leading edge, 90 deg to
    the suction side (drives coarse)."""


class FixedHub(Record):
    """Blades that do not move."""

    kind: Literal["fixed"]
    """Bolted blades."""
    name: str
    """Shown with the results."""
    blade_angle: Annotated[Angle, Field(ge=-0.1, le=1.4)]
    """At the reference station, from the plane of rotation."""


class Stops(Record):
    """The two ends of the blade's travel, at the reference station."""

    name: str
    """Shown with the results."""
    coarse_stop: Annotated[Angle, Field(ge=-0.1, le=1.4)]
    """Blade angle at the reference station, from the plane of rotation."""
    fine_stop: Annotated[Angle, Field(ge=-0.1, le=1.4)]
    """Likewise; finer lets the engine turn faster at full throttle."""

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
    """Shifts by itself."""
    spring: Spring
    """Holds the blades coarse."""
    friction: Friction = Friction()
    """Of one blade."""
    counterweights: tuple[Counterweight, ...] = ()
    """On each blade's root; an empty list for none."""
    lost_motion: Annotated[Angle, Field(ge=0, le=0.1)] = 0.0
    """Free play before the lever meets the spring."""
    stop_radius: Annotated[Length, Positive] = 0.02
    """From the pitch axis to where a stop touches."""
    root_inertia: Annotated[MomentOfInertia, NotNegative] = 2e-5
    """Of root and lever about the pitch axis."""
    damping: Annotated[AngularDamping, Field(ge=0, le=10)] = 0.02
    """Drag of the grease, about the pitch axis."""
    blades_linked: bool = True
    """Whether a link makes all blades turn together."""

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
    """Two stops, moved by the pilot."""
    pitch_rate: Annotated[AngularRate, Positive] = 0.05
    """How fast the blades are moved."""


class GovernedHub(Stops):
    """Holds an engine speed between its stops, for comparison."""

    kind: Literal["governed"]
    """Holds an engine speed; an ideal, to compare with."""
    engine_speed: Annotated[RotationSpeed, Positive]
    """ENGINE speed to hold."""
    pitch_rate: Annotated[AngularRate, Positive] = 0.05
    """How fast the blades are moved."""


Hub = Annotated[FixedHub | TwoStopHub | SelectedHub | GovernedHub, Field(discriminator="kind")]
