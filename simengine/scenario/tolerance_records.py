"""Keys of the tolerance study: what varies from hub to hub, and within what bands a hub must be."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from simengine import units
from simengine.scenario.expect_records import FigureValue
from simengine.scenario.quantities import (
    Complaint,
    Length,
    QuantityError,
    Record,
    parse_quantity,
    refusal,
    value_in,
)
from simengine.units import Dimension, nearest

DATUM = "propeller.blade_angle_datum"
BLADE_MASS = "blade_mass"  # no key path: a factor on the mass of all blades
FRICTION = "friction"  # likewise on all friction of the blades

# What may vary from hub to hub. The air's loads on the propeller stay the same for all of them.
INPUTS: Mapping[str, tuple[Dimension, ...]] = {
    "hub.coarse_stop": (units.ANGLE,),
    "hub.fine_stop": (units.ANGLE,),
    "hub.lost_motion": (units.ANGLE,),
    DATUM: (units.ANGLE,),
    "hub.spring.rate": (units.STIFFNESS, units.ANGULAR_STIFFNESS),
    "hub.spring.free_length": (units.LENGTH,),
    "hub.spring.fitted_length": (units.LENGTH,),
    "hub.spring.fitted_compression": (units.LENGTH,),
    "hub.spring.preload_angle": (units.ANGLE,),
    "hub.spring.washer_thickness": (units.LENGTH,),
    "hub.spring.lever_arm": (units.LENGTH,),
    "hub.spring.lever_angle": (units.ANGLE,),
    "hub.spring.wire.wire_diameter": (units.LENGTH,),
    "hub.spring.wire.mean_diameter": (units.LENGTH,),
    "hub.spring.wire.active_coils": (units.NUMBER,),
    "hub.spring.wire.shear_modulus": (units.STRESS,),
    "hub.spring.outer_diameter": (units.LENGTH,),
    "hub.spring.inner_diameter": (units.LENGTH,),
    "hub.spring.thickness": (units.LENGTH,),
    "hub.spring.cone_height": (units.LENGTH,),
    "hub.spring.elastic_modulus": (units.STRESS,),
    "hub.spring.face_friction": (units.FRACTION,),
    "hub.friction.constant": (units.TORQUE,),
    "hub.friction.bearing_coefficient": (units.NUMBER,),
    "hub.friction.bearing_radius": (units.LENGTH,),
    "hub.friction.breakaway": (units.NUMBER,),
    "hub.counterweights.0.mass": (units.MASS,),
    "hub.counterweights.0.arm": (units.LENGTH,),
    "hub.counterweights.0.angle_from_chord": (units.ANGLE,),
    "hub.counterweights.1.mass": (units.MASS,),
    "hub.counterweights.1.arm": (units.LENGTH,),
    "hub.counterweights.1.angle_from_chord": (units.ANGLE,),
    BLADE_MASS: (units.FRACTION,),
    FRICTION: (units.FRACTION,),
}
FACTORS = (BLADE_MASS, FRICTION)
FEWEST_DRAWS, MOST_DRAWS = 2, 10_000_000
BETWEEN_BLADES: Mapping[str, tuple[Dimension, ...]] = {
    "blade_angle": (units.ANGLE,),
    "spring_force": (units.FRACTION,),
    BLADE_MASS: (units.FRACTION,),
    FRICTION: (units.FRACTION,),
}
FIGURES: Mapping[str, Dimension] = {
    "shift_begin_rpm": units.ROTATION_SPEED,
    "shift_finish_rpm": units.ROTATION_SPEED,
    "return_begin_rpm": units.ROTATION_SPEED,
    "return_finish_rpm": units.ROTATION_SPEED,
    "full_throttle_rpm": units.ROTATION_SPEED,
    "shift_margin_rpm": units.ROTATION_SPEED,
    "shift_margin_moment": units.TORQUE,
    "shift_drive": units.TORQUE,
    "full_throttle_blade_angle": units.ANGLE,
    "begin_spread_rpm": units.ROTATION_SPEED,
    "finish_spread_rpm": units.ROTATION_SPEED,
}
Distribution = Literal["normal", "truncated", "uniform", "triangular"]


class HalfWidth:
    """A half-width as typed: a share of the nominal value, or in the unit of the input.

    Attributes
    ----------
    value : float
        Share [1] or SI.
    relative : bool
        Whether it is a share of the nominal value.
    """

    def __init__(self, value: float, relative: bool) -> None:
        self.value, self.relative = value, relative


def half_width(text: str, dimensions: tuple[Dimension, ...]) -> HalfWidth:
    """Read `5 %`, `0.2 mm`, `0.5 deg`.

    Raises
    ------
    QuantityError
        If it is neither a share nor a quantity of one of the dimensions.
    """
    stripped = text.strip()
    if stripped.endswith("%"):
        return HalfWidth(parse_quantity(stripped, units.FRACTION).value, units.FRACTION not in dimensions)
    for dimension in dimensions[:-1]:
        try:
            return HalfWidth(parse_quantity(stripped, dimension).value, False)
        except QuantityError:
            continue
    return HalfWidth(parse_quantity(stripped, dimensions[-1]).value, False)


class Varied(Record):
    """One input that varies, about the scenario's own value.

    `plus_minus` is the half-width: two standard deviations of a `normal` or `truncated` distribution, the
    whole half-width of a `uniform` or `triangular` one. Give it in the unit of the input or as a share of
    its value (`5 %`). `within` is where a truncated one ends: outside it the part was thrown away.
    """

    input: str
    """Key path of what varies, or `blade_mass`, `friction`, `blade_angle`, `spring_force`."""
    distribution: Distribution = "normal"
    """How it is spread about the scenario's value."""
    plus_minus: str
    """Half-width: two standard deviations, or the whole of a uniform or triangular one; in the input's
    unit or as a share such as `5 %`."""
    within: str | None = None
    """Where a truncated one ends."""

    def known(self) -> Mapping[str, tuple[Dimension, ...]]:
        """Inputs of this kind and their dimensions."""
        return INPUTS

    def complaints(self) -> Iterator[Complaint]:
        """A known input, half-widths above zero, an end where one is asked for."""
        dimensions = self.known().get(self.input)
        if dimensions is None:
            near = nearest(self.input, self.known())
            hint = f"; nearest: '{near}'" if near else ""
            yield Complaint(("input",), f"cannot be varied; accepted: {', '.join(self.known())}{hint}")
            return
        for name in ("plus_minus", "within"):
            text = getattr(self, name)
            if text is None:
                continue
            try:
                if not half_width(text, dimensions).value > 0.0:
                    yield Complaint((name,), "must be greater than zero")
            except QuantityError as error:
                yield Complaint((name,), f"{error}; or a share of the value, for example '5 %'")
        if (self.distribution == "truncated") != (self.within is not None):
            words = (
                "is required for a truncated distribution"
                if self.within is None
                else "is for a truncated one"
            )
            yield Complaint(("within",), words)


class VariedBlade(Varied):
    """What differs from blade to blade of one hub, drawn for every blade on its own."""

    def known(self) -> Mapping[str, tuple[Dimension, ...]]:
        """Inputs of this kind and their dimensions."""
        return BETWEEN_BLADES


class Limit(Record):
    """A band that a hub must be in, at every height of the study or at those listed.

    `where` is `flight` (full throttle in the climb) or `ground` (tied down at the height of the site).
    """

    figure: str
    """Name of the figure."""
    where: Literal["flight", "ground"] = "flight"
    """At full throttle in the climb, or tied down on the ground."""
    heights: Annotated[tuple[Annotated[Length, Field(ge=-500, le=9000)], ...], Field(max_length=20)] = ()
    """At which it holds; left out, all of the study."""
    at_least: FigureValue | None = None
    """Lower bound, in a unit of the figure."""
    at_most: FigureValue | None = None
    """Upper bound, in a unit of the figure."""

    @field_validator("figure")
    @classmethod
    def check_figure(cls, figure: str) -> str:
        """A figure of this study."""
        if figure in FIGURES:
            return figure
        near = nearest(figure, FIGURES)
        hint = f"; nearest: '{near}'" if near else ""
        raise refusal(f"is not a figure of this study; accepted: {', '.join(FIGURES)}{hint}")

    @field_validator("at_least", "at_most", mode="before")
    @classmethod
    def read_value(cls, typed: Any, info: ValidationInfo) -> Any:
        """SI value of what was typed, in the dimension of the figure."""
        dimension = FIGURES.get(str(info.data.get("figure", "")))
        if dimension is None or isinstance(typed, bool) or not isinstance(typed, str | int | float):
            return typed if dimension else None  # an unknown figure is reported once, as that
        return value_in(dimension, typed, info)

    def complaints(self) -> Iterator[Complaint]:
        """A band with an end."""
        if self.at_least is None and self.at_most is None:
            yield Complaint((), "what is asked for is missing: give at_least, at_most or both")
        elif self.at_least is not None and self.at_most is not None and not self.at_least < self.at_most:
            yield Complaint(("at_most",), "must be greater than at_least")
        if self.where == "ground" and self.heights:
            yield Complaint(("heights",), "the ground is at the height of the site: leave this out")


class Tolerance(Record):
    """How hubs of one drawing differ, and what they must do.

    Left out, `inputs` are what the scenario gives with a `+-`, with usual tolerances for the rest; without
    `limits` the shift must finish, the rpm limit must hold and the return must end above idle.
    """

    draws: Annotated[int, Field(ge=FEWEST_DRAWS, le=MOST_DRAWS)] = 10_000
    """Hubs to draw."""
    seed: Annotated[int, Field(ge=0)] = 1
    """Number that fixes the draws."""
    heights: Annotated[
        tuple[Annotated[Length, Field(ge=-500, le=9000)], ...], Field(min_length=1, max_length=20)
    ] = (0.0, 1500.0, 3000.0)
    """Above mean sea level, rising."""
    ground: bool = True
    """Whether the ground run counts too."""
    inputs: Annotated[tuple[Varied, ...], Field(max_length=40)] = ()
    """What varies from hub to hub."""
    between_blades: Annotated[tuple[VariedBlade, ...], Field(max_length=4)] = ()
    """What differs between the blades of one hub."""
    limits: Annotated[tuple[Limit, ...], Field(max_length=60)] = ()
    """Bands that a hub must be in."""
    most_washers: Annotated[int, Field(ge=0, le=100)] = 12
    """Most washers that may be fitted to bring a hub in."""

    def complaints(self) -> Iterator[Complaint]:
        """Rising heights, every input once, limits where something is computed."""
        for index, (before, after) in enumerate(pairwise(self.heights)):
            if not after > before:
                yield Complaint(("heights", index + 1), "the heights must rise")
        for name in ("inputs", "between_blades"):
            seen: set[str] = set()
            for index, varied in enumerate(getattr(self, name)):
                if varied.input in seen:
                    yield Complaint((name, index, "input"), "is given twice")
                seen.add(varied.input)
        for index, limit in enumerate(self.limits):
            if limit.where == "ground" and not self.ground:
                yield Complaint(("limits", index, "where"), "the ground is left out by 'ground: false'")
            for place, height in enumerate(limit.heights):
                if height not in self.heights:
                    yield Complaint(
                        ("limits", index, "heights", place), "is not one of the heights of this study"
                    )
