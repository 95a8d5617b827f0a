"""Keys of the load figures and of the failures: what is known of the blade root, the pin and the wire."""

from collections.abc import Iterator
from math import pi
from typing import Annotated, Literal

from pydantic import Field

from simengine.scenario.quantities import (
    Area,
    Complaint,
    Frequency,
    Length,
    Number,
    Positive,
    Record,
    RotationSpeed,
    SectionModulus,
    Stress,
)

FailureName = Literal[
    "broken_spring",
    "one_spring_broken",
    "stuck_coarse",
    "stuck_fine",
    "one_blade_stuck_coarse",
    "one_blade_stuck_fine",
    "lost_washer",
    "dry_bearing",
]


class RootSection(Record):
    """The section of a blade that is looked at, usually the weakest near its root.

    Give `width` (along the chord) and `thickness` of a solid rectangle, or `diameter` of a solid round
    spigot, or `area` with both section moduli: `flat_modulus` resists bending across the chord,
    `edge_modulus` along it. `radius` from the shaft, the hub radius if left out. `strength` is the stress
    that the material there is known to stand, bond and notches included; without it no margin is claimed.
    `elastic_modulus` gives a first estimate of the bending frequencies.
    """

    radius: Annotated[Length, Positive] | None = None
    """Distance of the section from the shaft; left out, the hub radius."""
    width: Annotated[Length, Field(ge=1e-4, le=1)] | None = None
    """Solid rectangle, along the chord."""
    thickness: Annotated[Length, Field(ge=1e-4, le=1)] | None = None
    """Solid rectangle, across the chord."""
    diameter: Annotated[Length, Field(ge=1e-4, le=1)] | None = None
    """Solid round spigot."""
    area: Annotated[Area, Field(ge=1e-8, le=1)] | None = None
    """Any other shape, with both moduli."""
    flat_modulus: Annotated[SectionModulus, Field(ge=1e-12, le=1)] | None = None
    """Against bending across the chord."""
    edge_modulus: Annotated[SectionModulus, Field(ge=1e-12, le=1)] | None = None
    """Against bending along the chord."""
    material: str = ""
    """In your words."""
    strength: Annotated[Stress, Positive] | None = None
    """Stress that it is known to stand, notches and bond included; without it no margin is claimed."""
    elastic_modulus: Annotated[Stress, Positive] | None = None
    """For a first estimate of the bending frequencies."""

    def complaints(self) -> Iterator[Complaint]:
        """One shape, and all of it."""
        shapes = {
            "width": ("width", "thickness"),
            "diameter": ("diameter",),
            "area": ("area", "flat_modulus", "edge_modulus"),
        }
        begun = [names for names in shapes.values() if any(getattr(self, name) is not None for name in names)]
        if not begun:
            message = "needs a shape: width and thickness, or diameter, or area with flat_ and edge_modulus"
            yield Complaint((), message)
        for names in begun[1:]:
            yield Complaint((names[0],), f"one shape only: leave out {names[0]} or {begun[0][0]}")
        for names in begun[:1]:
            for name in names:
                if getattr(self, name) is None:
                    given = " and ".join(other for other in names if getattr(self, other) is not None)
                    yield Complaint((name,), f"is required with {given}")
        if self.elastic_modulus is not None and self.area is not None:
            yield Complaint(("elastic_modulus",), "needs width and thickness, or diameter: leave it out")


class SpringWire(Record):
    """What the hub's spring is wound of, where the hub does not say: for its stress and life.

    `wire_diameter` and `mean_diameter` stand in place of the hub's own; `tensile_strength` in place of that
    of music wire.
    """

    wire_diameter: Annotated[Length, Positive] | None = None
    """Of the wire, where the hub does not say."""
    mean_diameter: Annotated[Length, Positive] | None = None
    """Of the coil, likewise."""
    tensile_strength: Annotated[Stress, Positive] | None = None
    """Of the wire; left out, that of music wire of its diameter."""
    peened: bool = False
    """Whether it is shot-peened."""

    def complaints(self) -> Iterator[Complaint]:
        """Both diameters or none."""
        wire, mean = self.wire_diameter, self.mean_diameter
        if (wire is None) != (mean is None):
            missing = "mean_diameter" if mean is None else "wire_diameter"
            yield Complaint((missing,), "is required: a coil has both diameters")
        elif wire is not None and mean is not None and not wire < mean:
            yield Complaint(("wire_diameter",), "must be below mean_diameter")


class Loads(Record):
    """What is known for the load figures.

    `overspeed_factor` is that of the engine's rpm limit; `engine_speeds` are further speeds to tell loads at,
    with the blades fine. `pin_radius` is the distance of the pin that carries the stop's moment from the
    pitch axis (the hub's stop_radius if left out), `pin_diameter` gives its mean shear. `flap_frequency` and
    `lag_frequency` are those of a standing blade, clamped as in the hub, by a tap test; they come before
    any estimate. `washers_lost` and `dry_bearing_factor` belong to the failures.
    """

    root: RootSection | None = None
    """Section of the blade that is looked at."""
    spring: SpringWire = SpringWire()
    """What the spring is wound of."""
    pin_radius: Annotated[Length, Positive] | None = None
    """From the pitch axis to the pin that carries the stop's moment; left out, the hub's `stop_radius`."""
    pin_diameter: Annotated[Length, Positive] | None = None
    """Of that pin, for its shear."""
    overspeed_factor: Annotated[Number, Field(ge=1, le=1.6)] = 1.1
    """Over the engine's limit."""
    engine_speeds: Annotated[tuple[Annotated[RotationSpeed, Positive], ...], Field(max_length=20)] = ()
    """Further ENGINE speeds to tell loads at, blades fine."""
    flap_frequency: Annotated[Frequency, Positive] | None = None
    """Of a standing blade across its chord, clamped as in the hub, by a tap test."""
    lag_frequency: Annotated[Frequency, Positive] | None = None
    """Likewise along its chord."""
    engine_cylinders: Annotated[int, Field(ge=1, le=12)] = 1
    """Of the engine, for what it excites."""
    engine_strokes: Literal[2, 4] = 2
    """Two-stroke or four-stroke."""
    washers_lost: Annotated[int, Field(ge=1, le=20)] = 1
    """For the failure `lost_washer`."""
    dry_bearing_factor: Annotated[Number, Field(ge=1, le=200)] = 10.0
    """On the bearing's friction, for the failure `dry_bearing`."""


def section_of(root: RootSection) -> tuple[float, float, float]:
    """Area [m2] and section moduli across and along the chord [m3]."""
    if root.diameter is not None:
        area, modulus = 0.25 * pi * root.diameter**2, pi / 32.0 * root.diameter**3
        return area, modulus, modulus
    if root.width is not None and root.thickness is not None:
        width, thickness = root.width, root.thickness
        return width * thickness, width * thickness**2 / 6.0, thickness * width**2 / 6.0
    assert root.area is not None and root.flat_modulus is not None and root.edge_modulus is not None
    return root.area, root.flat_modulus, root.edge_modulus


def second_moments(root: RootSection) -> tuple[float, float]:
    """Second moments of area across and along the chord [m4], of a solid rectangle or round."""
    _, flat, edge = section_of(root)
    if root.diameter is not None:
        return 0.5 * flat * root.diameter, 0.5 * edge * root.diameter
    assert root.thickness is not None and root.width is not None
    return 0.5 * flat * root.thickness, 0.5 * edge * root.width
