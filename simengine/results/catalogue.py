"""Every variable a result may hold: its name, its stored unit and how that follows from SI.

Units are written as UDUNITS reads them. Standard names are those of the CF table, version 93, and
are given only where the table's definition is what we store.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from simengine.constants import DEGREE, RPM

PER_HOUR = 3600.0
LITRE = 1e-3  # m3
STUDY = "study"  # attribute that says which study a result is of; a flight has none
NOT_HAPPENED = "NaN where it did not happen"
NOT_FULL = "NaN where the throttle was never held full for 5 s"
PER_BLADE = "one blade; positive toward coarse"


class EventKind(StrEnum):
    """What can happen in a flight; the order is that of the stored flag values."""

    PHASE_BEGINS = "phase_begins"
    PHASE_ENDS = "phase_ends"
    SHIFT_BEGINS = "shift_begins"
    SHIFT_FINISHES = "shift_finishes"
    RETURN_BEGINS = "return_begins"
    RETURN_FINISHES = "return_finishes"
    SHIFT_HANGS = "shift_hangs"
    RPM_LIMIT_PASSED = "rpm_limit_passed"
    RPM_LIMIT_REGAINED = "rpm_limit_regained"
    HEIGHT_REACHED = "height_reached"
    CEILING = "ceiling"
    FUEL_RESERVE = "fuel_reserve"
    FUEL_EMPTY = "fuel_empty"
    ENGINE_TABLE_LEFT = "engine_table_left"
    OUT_OF_TIME = "out_of_time"
    DISTANCE_REACHED = "distance_reached"
    GROUND_REACHED = "ground_reached"
    ENGINE_TABLE_REGAINED = "engine_table_regained"


class PitchState(StrEnum):
    """Where the blades are; the order is that of the stored flag values."""

    COARSE = "coarse"
    SHIFTING = "shifting"
    HUNG = "hung"
    FINE = "fine"


@dataclass(frozen=True)
class Variable:
    """One stored variable.

    Attributes
    ----------
    name, long_name : str
        In the file, and in words.
    units : str
        Of the stored number, as CF writes them; "1" for none.
    factor : float
        Stored number over SI number, in the stored unit of one SI unit.
    standard_name : str, optional
        Of CF, where it has one.
    comment : str, optional
        What the name does not tell, such as a sign.
    flags : tuple of str
        Meanings of the values 0, 1, 2 ...; empty for a plain number.
    stored : {"number", "count", "flag", "text"}
        Double, short integer, byte or string. A text has no unit.
    """

    name: str
    units: str
    long_name: str
    factor: float = 1.0
    standard_name: str | None = None
    comment: str | None = None
    flags: tuple[str, ...] = ()
    stored: Literal["number", "count", "flag", "text"] = "number"

    def attributes(self) -> dict[str, object]:
        """Attributes that the file carries, except flag values, which need the stored type."""
        attributes: dict[str, object] = {"long_name": self.long_name}
        if self.stored in ("number", "count"):
            attributes["units"] = self.units
        if self.standard_name:
            attributes["standard_name"] = self.standard_name
        if self.comment:
            attributes["comment"] = self.comment
        if self.standard_name == "air_temperature":
            attributes["units_metadata"] = "temperature: on_scale"
        return attributes


def _rpm(name: str, long_name: str, comment: str | None = None) -> Variable:
    return Variable(name, "rpm", long_name, 1.0 / RPM, comment=comment)


def _moment(name: str, source: str, comment: str = PER_BLADE) -> Variable:
    return Variable(name, "N m", f"pitch moment of {source}", comment=comment)


def _flag(name: str, long_name: str, meanings: Iterable[str]) -> Variable:
    return Variable(name, "1", long_name, flags=tuple(str(meaning) for meaning in meanings), stored="flag")


def _count(name: str, long_name: str) -> Variable:
    return Variable(name, "1", long_name, stored="count")


def _text(name: str, long_name: str) -> Variable:
    return Variable(name, "", long_name, stored="text")


TIME = Variable("time", "s", "time since the start of the flight")

TRACES: tuple[Variable, ...] = (
    Variable("throttle", "1", "throttle opening, 0 closed to 1 full"),
    Variable("bar", "1", "speed bar, 0 trim to 1 full"),
    _rpm("engine_rpm", "engine speed"),
    _rpm("propeller_rpm", "propeller speed"),
    Variable("blade_angle", "degree", "blade angle from the plane of rotation", 1.0 / DEGREE),
    Variable("pitch_rate", "degree s-1", "rate of the blade angle, positive toward coarse", 1.0 / DEGREE),
    _flag("pitch_state", "where the blades are", PitchState),
    Variable(
        "height",
        "m",
        "geometric height above mean sea level",
        standard_name="height_above_mean_sea_level",
    ),
    Variable("distance", "m", "distance flown over the ground"),
    Variable("airspeed", "m s-1", "true airspeed", standard_name="platform_speed_wrt_air"),
    Variable("vertical_speed", "m s-1", "vertical speed, positive up"),
    Variable("path_angle", "degree", "angle of the flight path through the air, positive up", 1.0 / DEGREE),
    Variable("thrust", "N", "thrust left for the aircraft, cage and frame paid"),
    Variable("drag", "N", "drag of wing, pilot, lines and machine"),
    Variable("propeller_torque", "N m", "torque taken by the propeller"),
    Variable("engine_torque", "N m", "torque of the engine at its own shaft"),
    Variable("shaft_power", "W", "power at the propeller shaft"),
    Variable("fuel_flow", "kg h-1", "fuel flow by mass", PER_HOUR),
    Variable("fuel_flow_volume", "L h-1", "fuel flow by volume", PER_HOUR / LITRE),
    Variable("fuel_used", "kg", "fuel used since the start"),
    _moment("spring_moment", "the spring"),
    _moment("centrifugal_moment", "the blade's own mass in rotation"),
    _moment("counterweight_moment", "the counterweights"),
    _moment("air_moment", "the air"),
    _moment("friction_limit", "friction, the most it can hold", "one blade; size only, opposes movement"),
    _moment(
        "stop_reaction", "the stop that the blade rests on", f"{PER_BLADE}; the stop's push on the blade"
    ),
    Variable("blade_pull", "N", "outward pull of one blade at its root"),
    Variable("stop_force", "N", "force of one blade on its stop"),
    Variable("tip_mach", "1", "Mach number of the blade tip"),
    Variable("stalled_fraction", "1", "share of the blade, by stations, beyond its stall"),
    Variable("lowest_reynolds", "1", "lowest Reynolds number along the blade"),
    Variable("advance_ratio", "1", "airspeed over propeller revolutions per second times diameter"),
    Variable("propeller_efficiency", "1", "thrust left for the aircraft times airspeed over shaft power"),
    Variable("air_temperature", "K", "air temperature", standard_name="air_temperature"),
    Variable("air_pressure", "Pa", "static air pressure", standard_name="air_pressure"),
    Variable("air_density", "kg m-3", "air density", standard_name="air_density"),
    Variable("density_altitude", "m", "height in the standard atmosphere at which the air is as dense"),
    _count("phase_index", "number of the phase, from 0, along the dimension phase"),
)

EVENTS: tuple[Variable, ...] = (
    Variable("event_time", "s", "time of the event since the start of the flight"),
    _flag("event_kind", "what happened", EventKind),
    _count("event_phase", "number of the phase, from 0, in which it happened"),
    _rpm("event_engine_rpm", "engine speed at the event"),
    _rpm("event_propeller_rpm", "propeller speed at the event"),
    Variable("event_blade_angle", "degree", "blade angle at the event", 1.0 / DEGREE),
    Variable("event_height", "m", "geometric height above mean sea level at the event"),
    Variable("event_airspeed", "m s-1", "true airspeed at the event"),
    _text("event_note", "more about the event, in words"),
)

PHASES: tuple[Variable, ...] = (
    _text("phase_name", "name of the phase"),
    _text("phase_kind", "kind of the phase"),
    Variable("phase_start", "s", "time at which the phase begins"),
    Variable("phase_end", "s", "time at which the phase ends"),
    Variable("phase_duration", "s", "duration of the phase"),
    _text("phase_outcome", "how the phase ended"),
    _rpm("shift_begin_rpm", "engine speed at which the blades leave the coarse stop", NOT_HAPPENED),
    _rpm("shift_finish_rpm", "engine speed at which the blades reach the fine stop", NOT_HAPPENED),
    _rpm("return_begin_rpm", "engine speed at which the blades leave the fine stop", NOT_HAPPENED),
    _rpm("return_finish_rpm", "engine speed at which the blades are back on the coarse stop", NOT_HAPPENED),
    _rpm(
        "full_throttle_rpm",
        "engine speed at the end of the last stretch of full throttle",
        NOT_FULL,
    ),
    _rpm(
        "shift_margin_rpm",
        "full-throttle engine speed minus that at which the shift finishes in the same air",
        NOT_FULL,
    ),
    Variable(
        "shift_margin_moment",
        "N m",
        "moment left to hold one blade on the fine stop at full throttle",
        comment=f"one blade; positive holds fine; {NOT_FULL} or blades cannot move",
    ),
    _rpm("highest_engine_rpm", "highest engine speed"),
    Variable(
        "static_thrust",
        "N",
        "thrust on the ground at the end of the last stretch of full throttle",
        comment=f"NaN in the air; {NOT_FULL}",
    ),
    Variable("highest_thrust", "N", "highest thrust"),
    Variable(
        "mean_climb_rate",
        "m s-1",
        "height gained over duration",
        comment="NaN on the ground; negative is sink",
    ),
    Variable(
        "initial_climb_rate",
        "m s-1",
        "height gained between 20 s and 60 s of the phase, over that time",
        comment="NaN on the ground and in a phase shorter than 60 s; negative is sink",
    ),
    Variable("phase_fuel", "kg", "fuel used in the phase"),
    Variable("phase_fuel_volume", "L", "fuel used in the phase by volume", 1.0 / LITRE),
    Variable("phase_fuel_flow", "L h-1", "mean fuel flow of the phase by volume", PER_HOUR / LITRE),
    Variable("phase_distance", "m", "distance over the ground in the phase"),
    _flag("initial_pitch_state", "where the blades are when the phase begins", PitchState),
    _flag("final_pitch_state", "where the blades are when the phase ends", PitchState),
    Variable(
        "final_blade_angle", "degree", "blade angle at the end of the phase, reference station", 1.0 / DEGREE
    ),
)

SETUP: tuple[Variable, ...] = (
    Variable("coarse_stop", "degree", "blade angle on the coarse stop", 1.0 / DEGREE),
    Variable("fine_stop", "degree", "blade angle on the fine stop", 1.0 / DEGREE),
    _rpm("engine_rpm_limit", "engine speed limit"),
    Variable("reduction", "1", "engine turns for one turn of the propeller"),
    Variable("fuel_density", "kg m-3", "density of the fuel"),
    Variable("fuel_start", "kg", "fuel on board at the start"),
    Variable("site_height", "m", "geometric height of the start above mean sea level"),
)


def all_variables() -> tuple[Variable, ...]:
    """Every variable of a result, in file order."""
    return (TIME, *TRACES, *EVENTS, *PHASES, *SETUP)
