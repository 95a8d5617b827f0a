"""The phases of a flight: what the pilot does in each, leg by leg, and how each one ended in words."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from simengine.balance.aircraft import Aircraft
from simengine.balance.level import level_flight
from simengine.balance.pitch import pitch_balance
from simengine.balance.trim import JUMPS, TOO_LITTLE_POWER, TOO_MUCH_POWER, SteadyFlight, flight_speed
from simengine.errors import NoSolutionError
from simengine.flight import events
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    STATE_SIZE,
    THROTTLE_TRIM,
    Command,
)
from simengine.flight.track import FlightState, LegResult, Settings, Track
from simengine.models.atmosphere import air_at
from simengine.models.friction import REST
from simengine.models.mechanism import SELECTED
from simengine.scenario import records

FlyLeg = Callable[[Aircraft, Command, FlightState, Settings, Track], LegResult]

CEILING_DELAY = 60.0  # a climb is not judged before the start's phugoid has died out [s]
LONGEST_CRUISE = 24 * 3600.0  # [s]
HEIGHT_KEPT_WITHIN = 20.0  # [m]
OUT_OF_TIME = "out of time"
PROGRAMME_LEAD = 1.0  # time to bring the throttle to the first value of a programme [s]


@dataclass
class Cockpit:
    """What is needed to fly a phase.

    Attributes
    ----------
    aircraft : Aircraft
    fly_leg : FlyLeg
        Flies one leg, of the dynamic or of the steady fidelity.
    settings : Settings
    track : Track
        Filled as the flight goes on.
    state : FlightState
        Where the flight stands; moved by every leg.
    ground_height : float
        Of the site [m].
    airborne : bool
        Whether the flight has left the ground.
    """

    aircraft: Aircraft
    fly_leg: FlyLeg
    settings: Settings
    track: Track
    state: FlightState
    ground_height: float
    airborne: bool = False

    @property
    def mass(self) -> float:
        """All-up mass now [kg]."""
        return self.aircraft.dry_mass + self.aircraft.fuel_start - float(self.state.vector[FUEL_USED])

    @property
    def height(self) -> float:
        """Height now [m]."""
        return float(self.state.vector[HEIGHT])


@dataclass(frozen=True)
class PhaseOutcome:
    """How a phase ended, a `sentence`; `ends_flight` if the phases after it cannot be flown."""

    sentence: str
    ends_flight: bool = False


def pitch_target(aircraft: Aircraft, phase: records.AnyPhase) -> float:
    """Blade angle selected in a phase [rad]; the coarse stop for hubs that choose themselves."""
    hub = aircraft.hub
    chosen = phase.pitch or ("coarse" if isinstance(phase, records.Cruise | records.Descend) else "fine")
    return hub.fine_stop if hub.kind == SELECTED and chosen == "fine" else hub.coarse_stop


def first_state(aircraft: Aircraft, phase: records.AnyPhase, height: float) -> FlightState:
    """State at the very start: tied down in balance, or, to be put into flight, at the site's `height` [m].

    Blades are where `pitch_target` has them, coarse for a hub that shifts itself, before they move in
    balance.
    """
    vector = np.zeros(STATE_SIZE)
    vector[HEIGHT] = height
    vector[BLADE_ANGLE] = pitch_target(aircraft, phase)
    if not isinstance(phase, records.GroundRun):
        return FlightState(0.0, vector, REST, 0.0)
    throttle = phase.throttle.throttle[0]
    air = air_at(aircraft.atmosphere, height)
    axial_speed = aircraft.inflow_factor * phase.headwind
    balance = pitch_balance(aircraft, air, vector[BLADE_ANGLE], axial_speed, throttle, 0.0)
    vector[AIRSPEED] = phase.headwind
    vector[ROTOR_SPEED], vector[BLADE_ANGLE] = balance.rotor_speed, balance.blade_angle
    return FlightState(0.0, vector, REST, throttle)


def enter_level_flight(cockpit: Cockpit, bar: float) -> None:
    """Put the aircraft into level flight where it is, at a `bar` position [1]: the launch is not flown."""
    state = cockpit.state
    flight = level_at(cockpit, bar)
    vector = state.vector
    vector[AIRSPEED], vector[PATH_ANGLE] = flight.airspeed, flight.path_angle
    vector[ROTOR_SPEED], vector[BLADE_ANGLE] = flight.rotor_speed, flight.blade_angle
    vector[PITCH_RATE] = 0.0
    state.throttle, state.mode = flight.throttle, REST


def level_at(cockpit: Cockpit, bar: float) -> SteadyFlight:
    """Level flight at the present height, mass and blade angle and a `bar` position [1]."""
    air = air_at(cockpit.aircraft.atmosphere, cockpit.height)
    angle = float(cockpit.state.vector[BLADE_ANGLE])
    near = float(cockpit.state.vector[ROTOR_SPEED])
    return level_flight(cockpit.aircraft, air, cockpit.mass, bar, angle, near, 0.0, 0.0)


def command(cockpit: Cockpit, phase: records.AnyPhase, duration: float, throttle: float) -> Command:
    """A leg from the present throttle to another, `throttle` [1], over a `duration` [s].

    Tied down or in the air, as the phase is.
    """
    grounded = isinstance(phase, records.GroundRun)
    return Command(
        start=cockpit.state.time,
        end=cockpit.state.time + duration,
        throttle_start=cockpit.state.throttle,
        throttle_end=throttle,
        bar=0.0 if isinstance(phase, records.GroundRun) else phase.bar,
        airborne=not grounded,
        headwind=phase.headwind if isinstance(phase, records.GroundRun) else 0.0,
        hold_height=False,
        target_height=cockpit.height,
        target_speed=0.0,
        vertical_sense=0.0,
        distance_end=inf,
        ceiling_from=inf,
        pitch_target=pitch_target(cockpit.aircraft, phase),
        ground_height=cockpit.ground_height,
    )


def fly(cockpit: Cockpit, order: Command) -> LegResult:
    """Fly one leg, the `order`, and remember the throttle at its end."""
    result = cockpit.fly_leg(cockpit.aircraft, order, cockpit.state, cockpit.settings, cockpit.track)
    if order.hold_height:
        cockpit.state.throttle = float(np.clip(cockpit.state.vector[THROTTLE_TRIM], 0.0, 1.0))
    elif order.end > order.start:
        share = min((cockpit.state.time - order.start) / (order.end - order.start), 1.0)
        cockpit.state.throttle = order.throttle_start + share * (order.throttle_end - order.throttle_start)
    return result


def broken_off(cockpit: Cockpit, result: LegResult) -> PhaseOutcome | None:
    """Outcome of a leg that ended the whole flight; None if the flight goes on.

    Raises
    ------
    NoSolutionError
        If the leg failed, or its path became steeper than any paraglider flies.
    """
    if result.failure is not None:
        raise NoSolutionError(result.failure)
    if result.event == events.STEEP:
        raise NoSolutionError(
            f"the path became steeper than 60 deg at {cockpit.height:.0f} m: no paraglider flies that, the "
            f"thrust is too near to the weight of {cockpit.mass:.0f} kg; add mass, or give less throttle"
        )
    if result.event == events.EMPTY:
        return PhaseOutcome(f"the fuel ran out at {cockpit.height:.0f} m", ends_flight=True)
    if result.event == events.GROUND:
        return PhaseOutcome(f"came down to the ground at {cockpit.ground_height:.0f} m", ends_flight=True)
    return None


def fly_phase(cockpit: Cockpit, phase: records.AnyPhase) -> PhaseOutcome:
    """Fly one phase from where the flight stands.

    Raises
    ------
    NoSolutionError
        If it asks for what the machine cannot fly, see `broken_off`, `bar_for_airspeed`,
        `check_ground_speed`.
    """
    if not isinstance(phase, records.GroundRun) and not cockpit.airborne:
        enter_level_flight(cockpit, phase.bar)
        cockpit.airborne = True
    if isinstance(phase, records.GroundRun | records.ThrottleFlight):
        return fly_programme(cockpit, phase)
    if isinstance(phase, records.Cruise):
        return fly_cruise(cockpit, phase)
    return fly_to_height(cockpit, phase)


def fly_programme(cockpit: Cockpit, phase: records.GroundRun | records.ThrottleFlight) -> PhaseOutcome:
    """A throttle programme, tied down or in the air; NoSolutionError as `broken_off`."""
    times, openings = phase.throttle.time, phase.throttle.throttle
    durations = (
        [PROGRAMME_LEAD, *np.diff(times)] if cockpit.state.throttle != openings[0] else [0.0, *np.diff(times)]
    )
    for duration, opening in zip(durations, openings, strict=True):
        if duration <= 0.0:
            continue
        outcome = broken_off(cockpit, fly(cockpit, command(cockpit, phase, duration, opening)))
        if outcome is not None:
            return outcome
    return PhaseOutcome("flew the whole throttle programme")


def fly_to_height(cockpit: Cockpit, phase: records.Climb | records.Descend) -> PhaseOutcome:
    """Climb or descend at a set throttle through a height; NoSolutionError as `broken_off`."""
    climbing = isinstance(phase, records.Climb)
    sense = 1.0 if climbing else -1.0
    if sense * (phase.to_height - cockpit.height) <= 0.0:
        side = "above" if climbing else "below"
        return PhaseOutcome(
            f"cannot begin: the flight is already {side} {phase.to_height:.0f} m, at {cockpit.height:.0f} m",
            ends_flight=True,
        )
    start = cockpit.state.time
    limits: dict[str, Any] = {"target_height": phase.to_height, "vertical_sense": sense}
    if climbing:
        limits["ceiling_from"] = start + phase.throttle_time + CEILING_DELAY
    opening = command(cockpit, phase, min(phase.throttle_time, phase.time_limit), phase.throttle)
    result = fly(cockpit, opening._replace(**limits))
    left = start + phase.time_limit - cockpit.state.time
    if result.event is None and result.failure is None and left > 0.0:
        result = fly(cockpit, command(cockpit, phase, left, phase.throttle)._replace(**limits))
    return broken_off(cockpit, result) or PhaseOutcome(height_outcome(cockpit, phase, result))


def height_outcome(cockpit: Cockpit, phase: records.Climb | records.Descend, result: LegResult) -> str:
    """How a climb or descent ended."""
    if result.event == events.HEIGHT_REACHED:
        return f"reached {phase.to_height:.0f} m"
    if result.event == events.CEILING:
        return (
            f"stopped at its ceiling: at {cockpit.height:.0f} m it climbs no more than "
            f"{events.CEILING_CLIMB_RATE} m/s, {phase.to_height - cockpit.height:.0f} m too low"
        )
    return (
        f"{OUT_OF_TIME} after {phase.time_limit:.0f} s at {cockpit.height:.0f} m, "
        f"not at {phase.to_height:.0f} m"
    )


def fly_cruise(cockpit: Cockpit, phase: records.Cruise) -> PhaseOutcome:
    """Bring the throttle to level flight, then hold the height; NoSolutionError as `fly_phase`."""
    bar = phase.bar if phase.airspeed is None else bar_for_airspeed(cockpit, phase.airspeed)
    phase = phase.model_copy(update={"bar": bar})
    start, height = cockpit.state.time, cockpit.height
    distance_end = inf
    if phase.distance is not None:
        distance_end = float(cockpit.state.vector[DISTANCE]) + phase.distance
        check_ground_speed(cockpit, bar)
    duration = phase.duration if phase.duration is not None else LONGEST_CRUISE
    level = level_at(cockpit, bar)
    opening = command(cockpit, phase, min(phase.throttle_time, duration), level.throttle)
    result = fly(cockpit, opening._replace(distance_end=distance_end))
    left = start + duration - cockpit.state.time
    if result.event is None and result.failure is None and left > 0.0:
        cockpit.state.vector[THROTTLE_TRIM] = level.throttle
        hold = command(cockpit, phase, left, level.throttle)
        limits: dict[str, Any] = {
            "hold_height": True,
            "target_height": height,
            "target_speed": level.airspeed,
            "distance_end": distance_end,
        }
        result = fly(cockpit, hold._replace(**limits))
    return broken_off(cockpit, result) or PhaseOutcome(cruise_outcome(cockpit, height, level))


def cruise_outcome(cockpit: Cockpit, height: float, level: SteadyFlight) -> str:
    """How a cruise at a `height` [m] went."""
    drift = cockpit.height - height
    if level.status == TOO_LITTLE_POWER or drift < -HEIGHT_KEPT_WITHIN:
        return f"full throttle does not hold {height:.0f} m: {-drift:.0f} m lost"
    if level.status == TOO_MUCH_POWER or drift > HEIGHT_KEPT_WITHIN:
        return f"a closed throttle still climbs from {height:.0f} m: {drift:.0f} m gained"
    if level.status == JUMPS:
        return (
            f"no throttle is level at {height:.0f} m: the blades snap between two pitches with level "
            "flight between them, so the throttle hunts"
        )
    return f"held {height:.0f} m"


def bar_for_airspeed(cockpit: Cockpit, airspeed: float) -> float:
    """Bar position, 0 to 1 [1], at which level flight has an `airspeed` [m/s], by bisection.

    Raises
    ------
    NoSolutionError
        If the wing flies so slow or so fast at no bar position.
    """
    aircraft = cockpit.aircraft
    air = air_at(aircraft.atmosphere, cockpit.height)

    def level_speed(bar: float) -> float:
        return flight_speed(aircraft, air, cockpit.mass, bar, 0.0, 0.0)

    slow, fast = level_speed(0.0), level_speed(1.0)
    if not slow <= airspeed <= fast:
        raise NoSolutionError(
            f"a cruise at {airspeed * 3.6:.1f} km/h is outside what this wing flies level at "
            f"{cockpit.height:.0f} m and {cockpit.mass:.0f} kg: {slow * 3.6:.1f} km/h at trim to "
            f"{fast * 3.6:.1f} km/h at full bar; change airspeed, or give bar instead"
        )
    low, high = 0.0, 1.0
    while high - low > 1e-9:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if level_speed(middle) < airspeed else (low, middle)
    return 0.5 * (low + high)


def check_ground_speed(cockpit: Cockpit, bar: float) -> None:
    """A distance can only be flown if the wind lets the aircraft get ahead at a `bar` position [1].

    Raises
    ------
    NoSolutionError
        If less than 0.5 m/s over the ground are left.
    """
    air = air_at(cockpit.aircraft.atmosphere, cockpit.height)
    airspeed = flight_speed(cockpit.aircraft, air, cockpit.mass, bar, 0.0, 0.0)
    ground_speed = airspeed + cockpit.aircraft.tailwind
    if ground_speed < 0.5:
        raise NoSolutionError(
            f"the wind of {-cockpit.aircraft.tailwind * 3.6:.0f} km/h on the nose leaves "
            f"{ground_speed * 3.6:.1f} km/h over the ground at {airspeed * 3.6:.0f} km/h through the air: "
            "a cruise over a distance would not arrive; use more bar, or give a duration"
        )
