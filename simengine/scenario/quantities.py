"""Typed quantities: `46 +- 0.5 mm, measured` -> SI, as the field types of the records.

A record can be built in two ways. From a file every dimensioned value is text with a unit and a bare
number is refused; in Python a plain float is taken as SI.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, ClassVar, NamedTuple, Self, get_args

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, InitErrorDetails, PydanticCustomError, core_schema

from simengine import units
from simengine.units import Dimension, UnitError

ORIGINS = ("measured", "assumed", "fitted")
FROM_FILE = {"from_file": True}  # validation context: the values were typed, so units are required

QUANTITY_KEY = "x-quantity"

UNSIGNED = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
NUMBER = rf"[-+]?{UNSIGNED}"
PLUS_MINUS = r"(?:\+-|\+/-|±)"
LONGEST_TEXT = 1000  # letters of a title or a name
LONGEST_NOTE = 20_000
TYPED = re.compile(rf"({NUMBER})(?:\s*{PLUS_MINUS}\s*({UNSIGNED}))?\s*(.*)", re.DOTALL)


class TypedQuantity(NamedTuple):
    """What a text says, in SI: value, uncertainty, unit as typed, origin."""

    value: float
    plus_minus: float | None
    unit: str
    mark: str | None


class QuantityError(ValueError):
    """A text that is not a quantity of the wanted dimension; the text says what would be."""


@lru_cache(maxsize=4096)
def parse_quantity(text: str, dimension: Dimension) -> TypedQuantity:
    """Read a quantity such as `46 +- 0.5 mm, measured`.

    Parameters
    ----------
    text : str
        Number, optional uncertainty, unit, optional origin after a comma.
    dimension : Dimension
        What is wanted.

    Raises
    ------
    QuantityError
        With what is wrong and what is accepted.
    """
    head, comma, tail = text.partition(",")
    mark = read_mark(tail.strip(), dimension) if comma else None
    match = TYPED.fullmatch(head.strip())
    if match is None:
        raise QuantityError(f"must be {dimension.article}, for example '{dimension.example}'")
    number, plus_minus, unit = match.groups()
    try:
        name = units.accepted_unit(unit, dimension)
    except UnitError as error:
        twice = "; write the unit once, at the end" if re.search(PLUS_MINUS, unit) else ""
        raise QuantityError(f"{error}{twice}") from None
    spread = None if plus_minus is None else float(plus_minus) * units.conversion(name, dimension).factor
    try:
        value = units.within_reason(units.to_si(float(number), name, dimension), dimension)
        spread = None if spread is None else units.within_reason(spread, dimension)
    except UnitError as error:
        raise QuantityError(str(error)) from None
    return TypedQuantity(value, spread, unit.strip(), mark)


def read_mark(text: str, dimension: Dimension) -> str:
    """The origin after the comma."""
    if text in ORIGINS:
        return text
    if re.match(r"[0-9]", text):
        raise QuantityError(f"write decimals with a point, for example '{dimension.example}'")
    near = units.nearest(text, ORIGINS)
    hint = f"; nearest: '{near}'" if near else ""
    raise QuantityError(f"after the comma stands the origin: {', '.join(ORIGINS)} (got '{text}'){hint}")


def refusal(message: str) -> PydanticCustomError:
    """An error whose text is ours."""
    return PydanticCustomError("simengine", "{message}", {"message": message})


class Converted(float):
    """A number that is SI already: a cell of a table, whose unit stands in the column's heading."""


def from_file(info: ValidationInfo) -> bool:
    """Whether the data were typed in a file."""
    return bool(info.context and info.context.get("from_file"))


@dataclass(frozen=True)
class Quantity:
    """Mark of a field that holds a quantity: converts what was typed to SI before ranges are checked."""

    dimension: Dimension

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """A conversion, then a finite float."""
        number = core_schema.float_schema(allow_inf_nan=False, strict=True)
        return core_schema.with_info_before_validator_function(self.convert, number)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """The dimension's name, which `schema` replaces by what may be typed."""
        return {QUANTITY_KEY: self.dimension.name}

    def convert(self, value: Any, info: ValidationInfo) -> float:
        """SI value of what was typed."""
        if isinstance(value, Mapping):
            value = self.unwrap(value)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise refusal(f"must be {self.dimension.article}, for example '{self.dimension.example}'")
        return value_in(self.dimension, value, info)

    def unwrap(self, form: Mapping[str, Any]) -> Any:
        """What stands under `value` in the mapping form."""
        problems = [
            error_at((key,), "unknown key; accepted: value, origin, note")
            for key in form
            if key not in ("value", "origin", "note")
        ]
        if "value" not in form:
            problems.append(error_at((), "'value' is required in the mapping form of a quantity"))
        problems += origin_problems(form)
        raise_all("quantity", problems)
        return form["value"]


def origin_problems(form: Mapping[str, Any]) -> list[InitErrorDetails]:
    """What is wrong with `origin` and `note` of a mapping form."""
    problems = []
    origin, value = form.get("origin"), form.get("value")
    if origin is not None and origin not in ORIGINS:
        problems.append(error_at(("origin",), f"must be one of {', '.join(ORIGINS)}"))
    if origin is not None and isinstance(value, str) and "," in value:
        problems.append(error_at(("value",), "the origin is given twice: after the comma, and by 'origin'"))
    if not isinstance(form.get("note", ""), str | None):
        problems.append(error_at(("note",), "must be text"))
    return problems


def error_at(path: tuple[str | int, ...], message: str) -> InitErrorDetails:
    """A problem of the data under validation, at a key path inside them."""
    return InitErrorDetails(type=refusal(message), loc=path, input=None)


def raise_all(title: str, problems: list[InitErrorDetails]) -> None:
    """Raise the problems, if any, as one error that keeps their key paths."""
    if problems:
        raise ValidationError.from_exception_data(title, problems)


Length = Annotated[float, Quantity(units.LENGTH)]
Mass = Annotated[float, Quantity(units.MASS)]
Time = Annotated[float, Quantity(units.TIME)]
Speed = Annotated[float, Quantity(units.SPEED)]
Angle = Annotated[float, Quantity(units.ANGLE)]
AngularRate = Annotated[float, Quantity(units.ANGULAR_RATE)]
AngularDamping = Annotated[float, Quantity(units.ANGULAR_DAMPING)]
AngularStiffness = Annotated[float, Quantity(units.ANGULAR_STIFFNESS)]
Area = Annotated[float, Quantity(units.AREA)]
Density = Annotated[float, Quantity(units.DENSITY)]
Fraction = Annotated[float, Quantity(units.FRACTION)]
Frequency = Annotated[float, Quantity(units.FREQUENCY)]
LinearDensity = Annotated[float, Quantity(units.LINEAR_DENSITY)]
MomentOfInertia = Annotated[float, Quantity(units.MOMENT_OF_INERTIA)]
Number = Annotated[float, Quantity(units.NUMBER)]
Pressure = Annotated[float, Quantity(units.PRESSURE)]
RotationSpeed = Annotated[float, Quantity(units.ROTATION_SPEED)]
SectionModulus = Annotated[float, Quantity(units.SECTION_MODULUS)]
SpecificConsumption = Annotated[float, Quantity(units.SPECIFIC_CONSUMPTION)]
Stiffness = Annotated[float, Quantity(units.STIFFNESS)]
Stress = Annotated[float, Quantity(units.STRESS)]
Temperature = Annotated[float, Quantity(units.TEMPERATURE)]
TemperatureDifference = Annotated[float, Quantity(units.TEMPERATURE_DIFFERENCE)]
Torque = Annotated[float, Quantity(units.TORQUE)]
Volume = Annotated[float, Quantity(units.VOLUME)]

Positive = Field(gt=0)
NotNegative = Field(ge=0)
Share = Field(ge=0, le=1)


def in_mm(length: float) -> str:
    """A length for a message."""
    return units.readable(length, units.LENGTH, "mm")


def in_rpm(speed: float) -> str:
    """A rotation speed for a message."""
    return units.readable(speed, units.ROTATION_SPEED, "rpm")


def value_in(dimension: Dimension, typed: str | float, info: ValidationInfo) -> float:
    """SI value of what was typed.

    Raises
    ------
    PydanticCustomError
        If the unit is of another kind, or missing where one is needed.
    """
    try:
        if isinstance(typed, str):
            return parse_quantity(typed, dimension).value
        if from_file(info) and not dimension.bare and not isinstance(typed, Converted):
            raise QuantityError(units.unit_message("", "", dimension))
        return units.within_reason(float(typed), dimension)
    except OverflowError:
        raise refusal("must be a finite number") from None
    except (QuantityError, UnitError) as error:
        raise refusal(str(error)) from None


class Complaint(NamedTuple):
    """Something wrong between several values; it is shown at `path`, relative to the record."""

    path: tuple[str | int, ...]
    message: str


class Record(BaseModel):
    """Base of all records: frozen, no unknown keys, no silent change of type."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    taken_out: ClassVar[tuple[str, ...]] = ()  # keys that may be typed and are read before the record is made

    def complaints(self) -> Iterator[Complaint]:
        """What does not fit together in this record; overridden where there is something to check."""
        return iter(())

    def unused(self) -> frozenset[str]:
        """Keys whose default means nothing beside what else was given."""
        return frozenset()

    def all_complaints(self) -> Iterator[Complaint]:
        """Complaints in an order in which each may rely on those before."""
        return self.complaints()

    def endless_texts(self) -> Iterator[Complaint]:
        """Complain of titles and names that no picture has room for."""
        for name in type(self).model_fields:
            text, longest = getattr(self, name), LONGEST_NOTE if name == "note" else LONGEST_TEXT
            if not isinstance(text, str):
                continue
            if len(text) > longest:
                yield Complaint((name,), f"has {len(text):,} letters; at most {longest:,} are accepted")
            elif name != "note" and len(text.strip().splitlines()) > 1:
                yield Complaint((name,), "must stand on one line")

    @model_validator(mode="before")
    @classmethod
    def drop_empty(cls, data: Any) -> Any:
        """An empty value means the same as leaving the key out."""
        if not isinstance(data, Mapping):
            return data
        return {k: v for k, v in data.items() if v is not None or k not in cls.model_fields}

    @model_validator(mode="after")
    def check_together(self) -> Self:
        """Raise all complaints, each at its key."""
        complaints = [*self.endless_texts(), *self.all_complaints()]
        problems = [error_at(complaint.path, complaint.message) for complaint in complaints]
        raise_all(type(self).__name__, problems)
        return self


def dimension_of(field: FieldInfo) -> Dimension | None:
    """Dimension of a field of a record, or of a table's column; None if it holds no quantity."""
    marks = [*field.metadata, *marks_in(field.annotation)]
    return next((mark.dimension for mark in marks if isinstance(mark, Quantity)), None)


def marks_in(annotation: Any) -> Iterator[Any]:
    """Every mark inside a type, however deep."""
    yield from getattr(annotation, "__metadata__", ())
    for part in get_args(annotation):
        yield from marks_in(part)
