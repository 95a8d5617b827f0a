"""Keys of agreed figures: what a scenario's flight or envelope must show, by how much, and why."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any

from pydantic import Field, ValidationInfo, WithJsonSchema, field_validator

from simengine import units
from simengine.results import catalogue, envelope_catalogue
from simengine.results.catalogue import Variable
from simengine.results.figures import ENVELOPE_FIGURES, NOT_COMPARED
from simengine.scenario.flight_records import Phase
from simengine.scenario.quantities import (
    Complaint,
    Length,
    Record,
    refusal,
    value_in,
)
from simengine.units import Dimension, nearest

FLIGHT: Mapping[str, Variable] = {
    variable.name: variable for variable in catalogue.PHASES if variable.name not in NOT_COMPARED
}
CEILINGS: Mapping[str, Variable] = {variable.name: variable for variable in ENVELOPE_FIGURES}
AT_HEIGHT: Mapping[str, Variable] = {
    variable.name: variable for variable in (*envelope_catalogue.IN_FLIGHT, *envelope_catalogue.ON_GROUND)
}

# Dimension of each unit that figures are stored in.
DIMENSIONS: Mapping[str, Dimension] = {
    "rpm": units.ROTATION_SPEED,
    "N m": units.TORQUE,
    "N": units.FORCE,
    "m": units.LENGTH,
    "m s-1": units.SPEED,
    "s": units.TIME,
    "degree": units.ANGLE,
    "kg": units.MASS,
    "L": units.VOLUME,
    "L h-1": units.VOLUME_FLOW,
    "1": units.FRACTION,
}

# What the bounds of a figure may be typed as: its dimension follows from the figure's name.
FigureValue = Annotated[
    float,
    WithJsonSchema(
        {
            "anyOf": [{"type": "string", "examples": ["7000 rpm", "0.4 N*m"]}, {"type": "number"}],
            "description": "in a unit of the figure",
        }
    ),
]


class Expectation(Record):
    """One agreed figure.

    Without `height` a figure of a flight's `phase`, or a ceiling of the envelope; with `height` one of the
    envelope at that height. The envelope's are those of the scenario's own mass and day, without bar.
    """

    figure: str
    """Name of the figure, as in the result file."""
    phase: str | None = None
    """Name or kind of the phase that it belongs to."""
    height: Annotated[Length, Field(ge=-500, le=9000)] | None = None
    """Height above mean sea level, for a figure of the envelope."""
    at_least: FigureValue | None = None
    """Lower bound, in a unit of the figure."""
    at_most: FigureValue | None = None
    """Upper bound, in a unit of the figure."""
    value: FigureValue | None = None
    """The figure itself, with `tolerance`."""
    tolerance: Annotated[FigureValue, Field(gt=0)] | None = None
    """Allowed either way from `value`."""
    state: str | None = None
    """For a figure that is a state: `fine`, `coarse` ..."""
    reason: str = ""
    """Why it was agreed; shown when it fails."""

    @field_validator("figure")
    @classmethod
    def check_figure(cls, figure: str) -> str:
        """A name of the catalogues."""
        known = {**FLIGHT, **CEILINGS, **AT_HEIGHT}
        if figure not in known:
            near = nearest(figure, known)
            more = ", ".join(name for name in AT_HEIGHT if name not in FLIGHT)
            hint = f"; nearest: '{near}'" if near else ""
            raise refusal(
                f"is not a figure{hint}; accepted of a phase: {', '.join(FLIGHT)}; of the envelope: "
                f"{', '.join(CEILINGS)}; of the envelope with height also: {more}"
            )
        return figure

    @field_validator("at_least", "at_most", "value", "tolerance", mode="before")
    @classmethod
    def read_value(cls, typed: Any, info: ValidationInfo) -> Any:
        """SI value of what was typed, in the dimension of the figure."""
        variable = variable_of(str(info.data.get("figure", "")))
        if variable is None or isinstance(typed, bool) or not isinstance(typed, str | int | float):
            return typed if variable else None  # an unknown figure is reported once, as that
        if variable.flags:
            raise refusal(f"{variable.name} is a state: write 'state: {variable.flags[-1]}' instead")
        return value_in(DIMENSIONS[variable.units], typed, info)

    def complaints(self) -> Iterator[Complaint]:
        """One figure, one bound."""
        yield from self.place_complaints()
        given = [
            name for name in ("at_least", "at_most", "value", "state") if getattr(self, name) is not None
        ]
        variable = self.variable
        if not given:
            bounds = "state" if variable.flags else "at_least, at_most, or value with tolerance"
            yield Complaint((), f"what is agreed is missing: give {bounds}")
        if len(given) > 1:
            yield Complaint((given[1],), f"one bound for each entry: leave out {given[0]} or {given[1]}")
        if self.value is not None and self.tolerance is None:
            yield Complaint(("value",), "needs a tolerance, in the unit of the figure")
        if self.tolerance is not None and self.value is None:
            yield Complaint(("tolerance",), "belongs to value, which is not given")
        if self.state is not None:
            yield from self.state_complaints()

    def place_complaints(self) -> Iterator[Complaint]:
        """A figure of a phase, of the envelope, or of the envelope at a height."""
        if self.height is not None and self.figure not in AT_HEIGHT:
            known = ", ".join(AT_HEIGHT)
            yield Complaint(("height",), f"{self.figure} is not a figure at a height; those are: {known}")
        if self.height is not None and self.phase is not None:
            yield Complaint(
                ("phase",), "a figure at a height is one of the envelope: leave out height or phase"
            )
        if self.height is None and self.figure not in FLIGHT and self.figure not in CEILINGS:
            yield Complaint(("figure",), "is a figure of the envelope at a height: height is required")
        if self.phase is not None and self.figure in CEILINGS:
            yield Complaint(("phase",), f"{self.figure} is a figure of the envelope, not of a phase")

    def state_complaints(self) -> Iterator[Complaint]:
        """A state is one of those that the figure knows."""
        flags = self.variable.flags
        if not flags:
            example = DIMENSIONS[self.variable.units].example
            yield Complaint(("state",), f"{self.figure} is a number: give at_least, for example '{example}'")
        elif self.state not in flags:
            yield Complaint(("state",), f"must be one of {', '.join(flags)}")

    @property
    def of_envelope(self) -> bool:
        """Whether the envelope must be computed for it."""
        return self.height is not None or self.figure in CEILINGS

    @property
    def variable(self) -> Variable:
        """Unit and words of the figure."""
        if self.height is not None and self.figure in AT_HEIGHT:
            return AT_HEIGHT[self.figure]
        found = variable_of(self.figure)
        assert found is not None
        return found


def variable_of(figure: str) -> Variable | None:
    """Unit and words of a figure; one name has one unit, wherever it is asked for."""
    return FLIGHT.get(figure) or CEILINGS.get(figure) or AT_HEIGHT.get(figure)


def phase_name(phase: Phase) -> str:
    """Name under which a phase's figures are stored."""
    return phase.name or str(getattr(phase, "kind", "")).replace("_", " ")


def phase_names(typed: str | None, phases: Sequence[Phase]) -> list[str]:
    """Names of the phases that an expectation may mean, by name or by kind; all if none was typed."""
    if typed is None:
        return [phase_name(phase) for phase in phases]
    by_name = [phase_name(phase) for phase in phases if phase_name(phase) == typed]
    return by_name or [phase_name(phase) for phase in phases if getattr(phase, "kind", "") == typed]


def expectation_complaints(
    expectations: Sequence[Expectation], phases: Sequence[Phase]
) -> Iterator[Complaint]:
    """Expectations about phases that the flight does not have, or has twice."""
    for index, expectation in enumerate(expectations):
        if expectation.of_envelope:
            continue
        names = phase_names(expectation.phase, phases)
        if len(names) == 1:
            continue
        listed = ", ".join(f"'{phase_name(phase)}'" for phase in phases)
        if expectation.phase is None:
            yield Complaint(("expect", index, "phase"), f"is required: which phase; the flight has {listed}")
        elif names:
            message = f"means {len(names)} phases; give each phase a name of its own and write that"
            yield Complaint(("expect", index, "phase"), message)
        else:
            near = nearest(expectation.phase, [phase_name(phase) for phase in phases])
            hint = f"; nearest: '{near}'" if near else ""
            yield Complaint(("expect", index, "phase"), f"no such phase; the flight has {listed}{hint}")
