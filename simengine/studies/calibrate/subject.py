"""A scenario as readings see it, and how it changes with a few values without being assembled anew."""

from dataclasses import dataclass, field
from math import cos, isclose, sin, sqrt
from typing import Any

from simengine.balance.aircraft import Aircraft, with_parts
from simengine.balance.assembly import (
    assemble,
    assemble_blade,
    assemble_engine,
    assemble_hub,
    blade_mass,
    blade_shape,
)
from simengine.models.drive import rotor_inertia
from simengine.models.inertia import BladeInertia, build_inertia
from simengine.scenario import records
from simengine.scenario.variation import with_values
from simengine.studies.machine import Machine, machine_of

REASSEMBLED = ("engine", "hub", "installation", "masses", "propeller")
OF_THE_BLADE = ("density", "stations", "blade_angle_datum", "air_moment_factor")


@dataclass(frozen=True)
class Subject:
    """A scenario as the readings see it.

    Attributes
    ----------
    record : ScenarioRecord
    machine : Machine
    mass_centre : float
        Distance of one blade's centre of mass from its pitch axis [m].
    known : dict
        What was computed already, by place: the readings of one run share it.
    """

    record: records.ScenarioRecord
    machine: Machine
    mass_centre: float
    known: dict[tuple[object, ...], Any] = field(default_factory=dict)

    @property
    def mass(self) -> float:
        """All-up mass at the start [kg]."""
        return float(self.machine.aircraft.dry_mass + self.machine.aircraft.fuel_start)


def subject_of(record: records.ScenarioRecord) -> Subject:
    """Assemble a scenario."""
    return Subject(record, machine_of(assemble(record)), mass_centre(record.propeller))


def mass_centre(propeller: records.Propeller) -> float:
    """Distance of one blade's centre of mass from its pitch axis [m].

    The moments of a blade whose axis passes the shaft at 1 m hold its first moments about that axis.
    """
    inertia = build_inertia(
        cone_angle=0.0, axis_offset=1.0, **blade_mass(propeller), **blade_shape(propeller)
    )
    return sqrt(inertia.sin1**2 + inertia.cos1**2) / inertia.mass


def varied(base: Subject, values: dict[str, object]) -> Subject:
    """The subject with other values; what they do not touch is not assembled again.

    Raises
    ------
    ValidationError
        If the values do not fit together.
    """
    own, record = base.record, with_values(base.record, values)
    if any(differ(own, record, name) for name in type(own).model_fields if name not in REASSEMBLED):
        return subject_of(record)
    if differ(own.engine, record.engine, "inertia"):
        return subject_of(record)
    aircraft: Aircraft = base.machine.aircraft
    inertia = aircraft.inertia
    changes: dict[str, object] = {
        name: getattr(record.installation, name)
        for name in ("drag_area", "thrust_loss", "inflow_factor", "thrust_tilt")
    }
    masses = record.masses
    changes["dry_mass"] = masses.pilot + masses.equipment + masses.machine + masses.wing
    if record.engine is not own.engine:
        changes["engine"] = assemble_engine(record.engine)
    if record.propeller is not own.propeller:
        moved = moved_inertia(inertia, own.propeller, record.propeller)
        if moved is None:
            return subject_of(record)
        inertia = moved
        changes["inertia"] = inertia
        propeller_inertia = record.propeller.blades * inertia.second_moment + record.propeller.hub_inertia
        changes["rotor_inertia"] = rotor_inertia(propeller_inertia, aircraft.drive, record.engine.inertia)
        changes["air_moment_factor"] = record.propeller.air_moment_factor
        if differ(own.propeller, record.propeller, "blade_angle_datum"):
            changes["blade"] = assemble_blade(record.propeller)
    changes["hub"] = assemble_hub(record, inertia)
    return Subject(record, machine_of(with_parts(aircraft, **changes)), base.mass_centre)


def varied_if_possible(base: Subject, values: dict[str, object]) -> Subject | None:
    """The same; None if the values do not fit together, as where a spring would go solid."""
    try:
        return varied(base, values)
    except ValueError:  # pydantic's own error is one
        return None


def differ(one: Any, other: Any, name: str) -> bool:
    """Whether a field of two records differs, where both have it."""
    before, after = getattr(one, name, None), getattr(other, name, None)
    return before is not after and before != after


def moved_inertia(
    inertia: BladeInertia, own: records.Propeller, other: records.Propeller
) -> BladeInertia | None:
    """Inertia of a blade whose mass is multiplied and whose datum is moved; None for any other change.

    All of it is in proportion to the mass; turning the chord against the measured angle by `d` turns the
    pairs of factors by `2 d` and `d`.
    """
    if any(differ(own, other, name) for name in type(own).model_fields if name not in OF_THE_BLADE):
        return None
    factor = mass_factor(own, other)
    if factor is None:
        return None
    turn = other.blade_angle_datum - own.blade_angle_datum
    s1, c1, s2, c2 = sin(turn), cos(turn), sin(2.0 * turn), cos(2.0 * turn)
    turned = inertia._replace(
        sin2=c2 * inertia.sin2 - s2 * inertia.cos2,
        cos2=c2 * inertia.cos2 + s2 * inertia.sin2,
        sin1=c1 * inertia.sin1 - s1 * inertia.cos1,
        cos1=c1 * inertia.cos1 + s1 * inertia.sin1,
    )
    return BladeInertia(*(factor * value for value in turned))


def mass_factor(own: records.Propeller, other: records.Propeller) -> float | None:
    """Mass of the other blade over that of one's own [1]; None if they differ in more than a factor."""
    stations, others = own.stations, other.stations
    if any(
        differ(stations, others, name) for name in type(stations).model_fields if name != "mass_per_length"
    ):
        return None
    if own.density is not None and other.density is not None:
        return other.density / own.density
    if stations.mass_per_length is None or others.mass_per_length is None:
        return None
    ratios = [
        after / before for before, after in zip(stations.mass_per_length, others.mass_per_length, strict=True)
    ]
    return ratios[0] if all(isclose(ratio, ratios[0], rel_tol=1e-12) for ratio in ratios) else None
