"""Keys of the propeller and where it is fitted."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from simengine.scenario.polar_records import SectionPolar, TableFileMark
from simengine.scenario.quantities import (
    Angle,
    Area,
    Complaint,
    Density,
    Fraction,
    Length,
    LinearDensity,
    MomentOfInertia,
    NotNegative,
    Number,
    Positive,
    Record,
    Stress,
    in_mm,
)
from simengine.scenario.tables import Column, TableRecord, rising

STATION_TOLERANCE = 1e-6  # m, rounding of a unit
SHORTEST_REACH = 0.98  # of half the diameter: what lies beyond is a rounding of the tip


class BladeStations(TableRecord):
    """Blade from root to tip.

    `blade_angle` may be measured at any setting: only its change along the blade (twist) is used.
    `axis` is where the pitch axis crosses the chord, from the leading edge, as a share of the chord.
    `mass_centre` likewise; left out, it is the centroid of the section's outline.
    `mass_per_length` replaces `density` where a blade is not solid.
    """

    radius: Column[Annotated[Length, Positive]]
    """From the shaft, rising; the last at the tip."""
    chord: Column[Annotated[Length, Field(gt=0, le=1)]]
    """Width of the blade."""
    blade_angle: Column[Annotated[Angle, Field(ge=-0.6, le=1.6)]]
    """All read at one setting, whichever: it gives the twist."""
    thickness: Column[Annotated[Fraction, Field(gt=0, le=0.6)]]
    """As a share of the chord."""
    axis: Column[Annotated[Fraction, Field(ge=-1, le=2)]]
    """Where the pitch axis crosses the chord, from the leading edge, as a share of the chord; negative
    where the chord lies behind the axis."""
    mass_per_length: Column[Annotated[LinearDensity, Field(gt=0, le=100)]] | None = None
    """Mass of the blade per length; or give `density`."""
    mass_centre: Column[Annotated[Fraction, Field(ge=-1, le=2)]] | None = None
    """From the leading edge, as a share of the chord; left out, the centroid of the outline."""

    def complaints(self) -> Iterator[Complaint]:
        """From root to tip."""
        yield from rising(self, "radius")


class Propeller(Record):
    """Blades: shape, section and mass.

    `section` is a family; `polar` in its place is the user's own section, a table or the name of a CSV
    file. Where a `density` asks for the section's outline, it is then that of `flat_bottom`, or with a
    `camber` that of `naca_4digit`.

    `air_moment_factor` multiplies the air's moment about the pitch axis and the air's damping of the pitch
    motion. No measured source for them is at hand: let a calibration on a ground run scale them.

    `shear_modulus` of a solid blade; with it the wind-up of the blade under its twisting moments is
    estimated, and told where it matters. Left out, the blade is stiff and nothing is said.
    """

    name: str
    """Shown with the results."""
    blades: Annotated[int, Field(ge=1, le=8)]
    """Number of blades, all alike."""
    diameter: Annotated[Length, Field(gt=0, le=5)]
    """Tip to tip."""
    hub_radius: Annotated[Length, Positive]
    """Where the blade begins."""
    section: Literal["flat_bottom", "naca_4digit", "thin_low_reynolds"] = "flat_bottom"
    """Family of sections."""
    polar: Annotated[SectionPolar, TableFileMark()] | None = None
    """Your own section in its place: a table, or the name of its csv file."""
    camber: Annotated[Fraction, Field(ge=0, le=0.12)] | None = None
    """Of the section; for `flat_bottom` it follows from the thickness."""
    stations: BladeStations
    """The blade from root to tip."""
    density: Annotated[Density, Field(gt=0, le=30_000)] | None = None
    """Of a solid blade; or the column `mass_per_length`."""
    reference_station: Annotated[Fraction, Field(ge=0.3, le=1)] = 0.75
    """Where blade angles are read, as a share of the tip's radius."""
    blade_angle_datum: Annotated[Angle, Field(ge=-0.2, le=0.2)] = 0.0
    """The chord line stands this much coarser than the face you read on; best found from a static run."""
    cone_angle: Annotated[Angle, Field(ge=-0.3, le=0.3)] = 0.0
    """Pitch axis ahead of the plane of rotation."""
    axis_offset: Length = 0.0
    """Distance at which the pitch axis passes the shaft, along the rotation."""
    hub_inertia: Annotated[MomentOfInertia, NotNegative] = 0.0
    """Of the hub about the propeller shaft."""
    air_moment_factor: Annotated[Number, Field(ge=0, le=3)] = 1.0
    """On the air's twisting moment, which has no measured source: fit it to your ground run."""
    shear_modulus: Annotated[Stress, Field(ge=1e7, le=1e11)] | None = None
    """Of a solid blade, for an estimate of its wind-up; left out, the blade is stiff."""
    elements: Annotated[int, Field(ge=6, le=200)] = 24
    """Blade elements of the computation."""

    def complaints(self) -> Iterator[Complaint]:
        """Stations reach from hub to tip; the mass is said once."""
        tip = 0.5 * self.diameter
        if not self.hub_radius < tip:
            yield Complaint(("hub_radius",), f"must be below half the diameter, {in_mm(tip)}")
        yield from self.station_complaints(tip)
        mass_per_length = self.stations.mass_per_length is not None
        if self.density is not None and mass_per_length:
            message = "the blade's mass is given twice: leave out this, or the column mass_per_length"
            yield Complaint(("density",), message)
        if self.density is None and not mass_per_length:
            message = "is required, for example '720 kg/m3', or a column mass_per_length in the stations"
            yield Complaint(("density",), message)
        if self.polar is not None and "section" in self.model_fields_set:
            message = "the section is given twice: leave out this, or polar (an empty value takes it away)"
            yield Complaint(("section",), message)
        if self.polar is None and self.section == "flat_bottom" and self.camber is not None:
            yield Complaint(
                ("camber",), "a flat_bottom section has the camber of its thickness: leave this out"
            )

    def unused(self) -> frozenset[str]:
        """A polar stands in place of the family."""
        return frozenset() if self.polar is None else frozenset({"section"})

    def station_complaints(self, tip: float) -> Iterator[Complaint]:
        """The first station is not inside the hub, the last one is at the tip."""
        radius = self.stations.radius
        if radius[0] < self.hub_radius - STATION_TOLERANCE:
            yield Complaint(("stations", "radius", 0), f"is inside hub_radius, {in_mm(self.hub_radius)}")
        last = ("stations", "radius", len(radius) - 1)
        if radius[-1] > tip + STATION_TOLERANCE:
            yield Complaint(last, f"is beyond half the diameter, {in_mm(tip)}")
        if radius[-1] < SHORTEST_REACH * tip:
            message = f"the last station must be within 2 % of half the diameter, {in_mm(tip)}"
            yield Complaint(last, message)


class Installation(Record):
    """The propeller behind the pilot.

    `inflow_factor` is the air speed at the disc over the flight speed (wake of pilot and cage);
    `thrust_loss` the part of the thrust spent on cage, netting and frame in the propeller's own stream;
    `drag_area` that of machine and cage on top of the wing's glide without motor. The defaults are
    estimates, common practice, no source; a static pull on a scale fixes `thrust_loss`.
    """

    inflow_factor: Annotated[Fraction, Field(gt=0, le=1.2)] = 0.85
    """Air speed at the disc, in the wake of pilot and cage, over flight speed."""
    thrust_loss: Annotated[Fraction, Field(ge=0, le=0.5)] = 0.1
    """Share of the thrust spent on cage and netting; a static pull on a scale fixes it."""
    drag_area: Annotated[Area, NotNegative] = 0.5
    """Of machine and cage, on top of the wing's glide without motor."""
    thrust_tilt: Annotated[Angle, Field(ge=-0.5, le=0.5)] = 0.0
    """Thrust line above (+) the flight path."""
