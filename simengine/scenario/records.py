"""Every key a scenario may hold, with its dimension, its range and its default.

A value is SI once loaded (m, kg, s, rad, rad/s, K, Pa, N m ...), whatever unit the file used.
"""

from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field, field_validator

from simengine.scenario.calibration_records import Calibration
from simengine.scenario.choose_records import Choose, CounterweightChoice
from simengine.scenario.engine_records import (
    AltitudeLaw,
    Clutch,
    Drive,
    Engine,
    FullThrottleCurve,
    PartLoadConsumption,
    ReferenceAir,
    ThrottleMap,
)
from simengine.scenario.envelope_records import Envelope
from simengine.scenario.expect_records import Expectation, expectation_complaints
from simengine.scenario.flight_records import (
    AnyPhase,
    Climb,
    Cruise,
    Descend,
    Flight,
    FlyingPhase,
    GroundRun,
    Phase,
    ThrottleFlight,
    ThrottleProgramme,
)
from simengine.scenario.hub_records import (
    Counterweight,
    DiscWasherSpring,
    FixedHub,
    Friction,
    GovernedHub,
    HelicalSpring,
    HelicalWire,
    Hub,
    LeverSpring,
    SelectedHub,
    Spring,
    Stops,
    TorsionSpring,
    TwoStopHub,
)
from simengine.scenario.hub_study_checks import hub_study_complaints
from simengine.scenario.loads_records import FailureName, Loads, RootSection, SpringWire
from simengine.scenario.polar_records import SectionPolar
from simengine.scenario.propeller_records import BladeStations, Installation, Propeller
from simengine.scenario.quantities import (
    Complaint,
    Density,
    Fraction,
    Length,
    Mass,
    NotNegative,
    Pressure,
    Record,
    Speed,
    Temperature,
    TemperatureDifference,
    Volume,
    in_mm,
    in_rpm,
    refusal,
)
from simengine.scenario.route_records import Route
from simengine.scenario.tolerance_records import Tolerance, Varied
from simengine.scenario.wing_records import SinkPolar, Wing

__all__ = [
    "AltitudeLaw",
    "AnyPhase",
    "Atmosphere",
    "BladeStations",
    "Calibration",
    "Choose",
    "Climb",
    "Clutch",
    "Counterweight",
    "CounterweightChoice",
    "Cruise",
    "Descend",
    "DiscWasherSpring",
    "Drive",
    "Engine",
    "Envelope",
    "Expectation",
    "FixedHub",
    "Flight",
    "FlyingPhase",
    "Friction",
    "Fuel",
    "FullThrottleCurve",
    "GovernedHub",
    "GroundRun",
    "HelicalSpring",
    "HelicalWire",
    "Hub",
    "Installation",
    "LeverSpring",
    "Loads",
    "Masses",
    "MeasuredTemperature",
    "PartLoadConsumption",
    "Phase",
    "Propeller",
    "ReferenceAir",
    "RootSection",
    "Route",
    "ScenarioRecord",
    "SectionPolar",
    "SelectedHub",
    "SinkPolar",
    "Site",
    "Spring",
    "SpringWire",
    "Stops",
    "ThrottleFlight",
    "ThrottleMap",
    "ThrottleProgramme",
    "Tolerance",
    "TorsionSpring",
    "TwoStopHub",
    "Varied",
    "Wing",
]


class MeasuredTemperature(Record):
    """A temperature read at a known height, from which the whole column is shifted."""

    height: Annotated[Length, Field(ge=-500, le=9000)]
    """Where it was read, above mean sea level."""
    temperature: Annotated[Temperature, Field(ge=200, le=340)]
    """As read."""


class Atmosphere(Record):
    """The air of the day on top of ISO 2533; heights in a scenario are geometric, above mean sea level."""

    temperature_offset: Annotated[TemperatureDifference, Field(ge=-60, le=60)] = 0.0
    """Warmer (+) or colder (-) than the standard day."""
    measured: MeasuredTemperature | None = None
    """A temperature read at a height, in place of the offset."""
    qnh: Annotated[Pressure, Field(ge=90000, le=108000)] = 101325.0
    """What the altimeter is set to."""
    relative_humidity: Annotated[Fraction, Field(ge=0, le=1)] = 0.0
    """Damp air is lighter."""
    tailwind: Annotated[Speed, Field(ge=-40, le=40)] = 0.0
    """Along the track; a headwind is negative."""

    def complaints(self) -> Iterator[Complaint]:
        """The temperature is said once."""
        if self.measured is not None and "temperature_offset" in self.model_fields_set:
            yield Complaint(("temperature_offset",), "follows from the measured temperature: leave one out")


class Site(Record):
    """Where the flight begins."""

    height: Annotated[Length, Field(ge=-500, le=6000)] = 0.0
    """Of the field, above mean sea level."""


class Masses(Record):
    """Everything that flies except the fuel."""

    pilot: Annotated[Mass, Field(gt=0, le=250)]
    """Dressed to fly."""
    equipment: Annotated[Mass, Field(ge=0, le=100)] = 8.0
    """Harness, reserve, helmet, water."""
    machine: Annotated[Mass, Field(ge=0, le=150)]
    """Motor, frame, cage, hub and propeller, without fuel."""
    wing: Annotated[Mass, Field(ge=0, le=60)] = 6.0
    """With its bag if you carry it."""


class Fuel(Record):
    """Fuel on board at the start."""

    start: Annotated[Volume, Field(gt=0, le=0.1)]
    """In the tank at the start."""
    reserve: Annotated[Volume, NotNegative] = 0.001
    """To be left at the end."""
    density: Annotated[Density, Field(ge=650, le=900)] = 745.0
    """Weigh a litre of your mix."""


class ScenarioRecord(Record):
    """One scenario file after its layers are merged."""

    taken_out: ClassVar[tuple[str, ...]] = ("variants",)

    simengine: Literal[1]
    """Version of this format."""
    title: str
    """Heads every table and picture."""
    note: str = ""
    """For yourself; kept with the result."""
    atmosphere: Atmosphere = Atmosphere()
    """The air of the day."""
    site: Site = Site()
    """Where the flight begins."""
    masses: Masses
    """Everything that flies except the fuel."""
    fuel: Fuel
    """Fuel on board."""
    engine: Engine
    """The engine, or `use:` a part."""
    drive: Drive
    """Belt or gear."""
    propeller: Propeller
    """The propeller, or `use:` a part."""
    installation: Installation = Installation()
    """The propeller behind a pilot."""
    hub: Hub
    """The pitch hub, or `use:` a part."""
    wing: Wing
    """The wing, or `use:` a part."""
    flight: Flight
    """What is flown."""
    envelope: Envelope = Envelope()
    """Where `simengine envelope` computes."""
    loads: Loads = Loads()
    """What `simengine loads` needs to know."""
    failures: Annotated[tuple[FailureName, ...], Field(max_length=20)] = ()
    """Failures that `simengine loads` tells; left out, all that apply."""
    calibration: Calibration | None = None
    """Left by `simengine calibrate`."""
    tolerance: Tolerance = Tolerance()
    """How hubs of one drawing differ, for `simengine tolerance`."""
    choose: Choose | None = None
    """Targets and options of `simengine choose`."""
    route: Route | None = None
    """A cross-country route, for `simengine route`."""
    expect: Annotated[tuple[Expectation, ...], Field(max_length=200)] = ()
    """What was agreed, for `simengine check`."""

    @field_validator("simengine", mode="before")
    @classmethod
    def check_version(cls, version: object) -> object:
        """A whole number: a literal alone lets `true` pass for 1."""
        if type(version) is not int:
            raise refusal("must be 1, the version of this format")
        return version

    def complaints(self) -> Iterator[Complaint]:
        """What parts of a scenario say about one another."""
        hub, engine = self.hub, self.engine
        if isinstance(hub, GovernedHub) and not engine.idle_speed < hub.engine_speed <= engine.speed_limit:
            between = f"{in_rpm(engine.idle_speed)} and {in_rpm(engine.speed_limit)}"
            message = f"must lie between the engine's idle_speed and speed_limit, {between}"
            yield Complaint(("hub", "engine_speed"), message)
        for index, phase in enumerate(self.flight.phases):
            if phase.pitch is not None and not isinstance(hub, SelectedHub):
                message = f"is for a hub that the pilot moves, two_stop_selected; this hub is {hub.kind}"
                yield Complaint(("flight", "phases", index, "pitch"), message)
            most = self.wing.polar.bar[-1]
            if not isinstance(phase, GroundRun) and phase.bar > most:
                message = f"is beyond the wing's measured polar, which ends at {100 * most:g} % bar"
                yield Complaint(("flight", "phases", index, "bar"), message)
        for index, bar in enumerate(self.envelope.bars):
            most = self.wing.polar.bar[-1]
            if bar > most:
                message = f"is beyond the wing's measured polar, which ends at {100 * most:g} % bar"
                yield Complaint(("envelope", "bars", index), message)
        root, tip = self.loads.root, 0.5 * self.propeller.diameter
        if root is not None and root.radius is not None and not root.radius < tip:
            yield Complaint(("loads", "root", "radius"), f"must be below half the diameter, {in_mm(tip)}")
        if self.route is not None:
            for complaint in self.route.bar_complaints(self.wing.polar.bar[-1]):
                yield Complaint(("route", *complaint.path), complaint.message)
        yield from expectation_complaints(self.expect, self.flight.phases)
        yield from hub_study_complaints(self)
