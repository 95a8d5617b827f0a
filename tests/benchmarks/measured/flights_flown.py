"""The flights that are timed: an hour of climb and cruise with the blades shifting, and an hour's cruise."""

from dataclasses import dataclass
from functools import cache
from math import inf

import numpy as np
from flights import climb, cruise, demo_machine, demo_scenario, with_phases

from simengine.balance.aircraft import Aircraft, with_parts
from simengine.flight import dynamic
from simengine.flight.phases import FlyLeg
from simengine.flight.simulate import fly_all
from simengine.flight.state import FUEL_USED
from simengine.scenario import records

HOUR = 3600.0  # s
CLIMB_TO = 3000.0  # m
CRUISE_HEIGHT = 500.0  # m
USUAL, TIGHT = 1e-4, 1e-8  # relative tolerances
# Nobody reads the record of these flights.
NO_RECORD = inf  # s
SPARSE_RECORD = 600.0  # interval of a record that nobody reads [s]


@dataclass(frozen=True)
class Flown:
    """What is left of a flight: fuel used [kg], time [s], steps, events, how it ended."""

    fuel: float
    time: float
    steps: int
    events: int
    outcome: str


def flown(aircraft: Aircraft, record: records.ScenarioRecord, fly_leg: FlyLeg = dynamic.fly_leg) -> Flown:
    """Fly all phases and keep the end only."""
    track, _, outcome = fly_all(aircraft, record, fly_leg, record_interval=NO_RECORD)
    last = track.rows[-1][-1]
    return Flown(float(last[1 + FUEL_USED]), float(last[0]), track.steps, len(track.events), outcome)


def planned(*phases: records.AnyPhase, tolerance: float = USUAL) -> records.ScenarioRecord:
    """The demo flying other phases, in SI, its record left out."""
    scenario = with_phases(
        demo_scenario(), *phases, relative_tolerance=tolerance, record_interval=SPARSE_RECORD
    )
    return scenario.record


@cache
def machine() -> Aircraft:
    """The demo machine, assembled once."""
    return demo_machine()


@cache
def climbing_time() -> float:
    """Time of the demo's climb [s]."""
    return flown(machine(), planned(climb(CLIMB_TO))).time


def climb_and_cruise(hours: float = 1.0, tolerance: float = USUAL) -> records.ScenarioRecord:
    """A climb at full throttle, in which the blades shift, and a cruise: some hours together."""
    rest = hours * HOUR - climbing_time()
    return planned(climb(CLIMB_TO), cruise(rest), tolerance=tolerance)


def cruise_alone(hours: float = 1.0, tolerance: float = USUAL) -> records.ScenarioRecord:
    """A cruise at the site's height."""
    return planned(cruise(hours * HOUR), tolerance=tolerance)


def varied(number: int) -> Aircraft:
    """The demo machine of another mass, day and spring; the number tells which."""
    own = machine()
    mass, warmth, wound = np.random.default_rng(number).uniform(-1.0, 1.0, 3)
    spring = own.hub.spring
    return with_parts(
        own,
        dry_mass=own.dry_mass + 8.0 * mass,
        atmosphere=own.atmosphere._replace(temperature_offset=10.0 * warmth),
        hub=own.hub._replace(spring=spring._replace(linear=spring.linear * (1.0 + 0.03 * wound))),
    )
