"""What a failed hub still flies like: spring, stops, one blade, washer, bearing."""

from collections.abc import Callable
from dataclasses import dataclass
from math import isnan, nan, sin
from typing import Any, get_args

from scipy.optimize import brentq

from simengine.balance.aircraft import rotor_state, with_parts
from simengine.balance.assembly import plain_hub
from simengine.balance.pitch import pitch_state
from simengine.balance.trim import REACHED, TOO_LITTLE_POWER, TOO_MUCH_POWER
from simengine.models.atmosphere import air_at
from simengine.models.engine import fuel_flow
from simengine.models.mechanism import FIXED, NO_SPRING, Hub, net_moment
from simengine.scenario import records
from simengine.scenario.loads_records import FailureName
from simengine.studies.full_throttle import FullThrottle, full_throttle, ground, shift_speeds
from simengine.studies.level_flight import level
from simengine.studies.loads.blade_sets import (
    BladeSet,
    Imbalance,
    SetFlight,
    imbalance,
    set_flight,
    set_ground,
    set_level,
    settled,
)
from simengine.studies.machine import Condition, Machine, held_flight, machine_of

AS_BUILT = "as built"
ONE_BLADE = ("one_blade_stuck_coarse", "one_blade_stuck_fine")
STUCK = ("stuck_coarse", "stuck_fine", *ONE_BLADE)
TRIM_SPEED = 11.0  # about that of a paraglider [m/s]; which way a blade goes does not depend on it


@dataclass(frozen=True)
class Case:
    """One failure: its `name`, what is assumed, in `words`, and the machine that it leaves.

    `odd_angle` is that of one odd blade [rad], NaN for blades alike.
    """

    name: str
    words: str
    machine: Machine
    odd_angle: float = nan


def cases(machine: Machine, record: records.ScenarioRecord) -> list[Case]:
    """The machine as built, then the failures that are asked for and possible; all where none is named."""
    asked = record.failures or get_args(FailureName)
    found = [Case(AS_BUILT, "nothing failed", machine)]
    hub: Hub = machine.aircraft.hub
    if hub.kind == FIXED:
        return found
    for name in asked:
        made = BUILDERS[name](machine, record) if machine.shifts or name in STUCK else None
        if made is not None:
            words, hub_left, odd = made
            left = machine if hub_left is None else with_hub(machine, hub_left)
            found.append(Case(name, words, left, odd))
    return found


Made = tuple[str, Hub | None, float] | None


def with_hub(machine: Machine, hub: Hub) -> Machine:
    """The machine with another hub."""
    return machine_of(with_parts(machine.aircraft, hub=hub))


def broken_spring(machine: Machine, record: records.ScenarioRecord) -> Made:
    """No spring force on any blade."""
    return "no spring force on any blade", machine.aircraft.hub._replace(spring=NO_SPRING), nan


def one_spring_broken(machine: Machine, record: records.ScenarioRecord) -> Made:
    """One of several springs; the links share what is left."""
    hub, blades = record.hub, record.propeller.blades
    if not isinstance(hub, records.TwoStopHub) or hub.spring.shared or blades < 2:
        return None
    if not hub.blades_linked:
        fine = loads_go_fine(machine)
        stop = "fine" if fine else "coarse"
        words = f"one spring broken, blades not linked: its blade goes {stop}, the others as built"
        return words, None, machine.fine_stop if fine else machine.coarse_stop
    spring = machine.aircraft.hub.spring
    left = spring._replace(share=spring.share * (blades - 1) / blades)
    words = f"one of {blades} springs broken, the links share the others among all blades"
    return words, machine.aircraft.hub._replace(spring=left), nan


def loads_go_fine(machine: Machine) -> bool:
    """Which way loads push a blade without a spring: amid the travel, half the rpm limit, near the sea."""
    free = with_hub(machine, machine.aircraft.hub._replace(spring=NO_SPRING))
    air = air_at(free.aircraft.atmosphere, 0.0)
    middle = 0.5 * (machine.coarse_stop + machine.fine_stop)
    speed = 0.5 * machine.speed_limit / machine.reduction
    moments = rotor_state(free.aircraft, air, middle, speed, machine.inflow_factor * TRIM_SPEED, 0.0).moments
    return bool(net_moment(moments) < 0.0)


def stuck(angle_of: Callable[[Machine], float], where: str) -> Callable[..., Made]:
    """All blades held on one stop, told as `where`; `angle_of` a machine gives its angle [rad]."""

    def made(machine: Machine, record: records.ScenarioRecord) -> Made:
        angle = angle_of(machine)
        hub = plain_hub(FIXED, angle, angle, machine.aircraft.inertia)
        return f"all blades stuck on the {where} stop", hub, nan

    return made


def one_stuck(angle_of: Callable[[Machine], float], where: str) -> Callable[..., Made]:
    """One blade held on one stop, told as `where`; `angle_of` a machine gives its angle [rad]."""

    def made(machine: Machine, record: records.ScenarioRecord) -> Made:
        if record.propeller.blades < 2:
            return None
        linked = isinstance(record.hub, records.TwoStopHub) and record.hub.blades_linked
        more = " (its link broken; a whole link would hold all blades)" if linked else ""
        return f"one blade stuck {where}, the others as built{more}", None, angle_of(machine)

    return made


def lost_washer(machine: Machine, record: records.ScenarioRecord) -> Made:
    """Washers gone from under the spring."""
    hub, lost = record.hub, record.loads.washers_lost
    if not isinstance(hub, records.TwoStopHub) or isinstance(hub.spring, records.TorsionSpring):
        return None
    if hub.spring.washers < lost:
        return None
    spring = machine.aircraft.hub.spring
    preload = spring.preload - lost * hub.spring.washer_thickness
    count = "1 washer" if lost == 1 else f"{lost} washers"
    return f"{count} lost", machine.aircraft.hub._replace(spring=spring._replace(preload=preload)), nan


def dry_bearing(machine: Machine, record: records.ScenarioRecord) -> Made:
    """Friction of the pull multiplied."""
    factor, hub = record.loads.dry_bearing_factor, machine.aircraft.hub
    words = f"bearing coefficient {factor:g} times that given"
    return words, hub._replace(friction_arm=factor * hub.friction_arm), nan


BUILDERS: dict[str, Callable[[Machine, records.ScenarioRecord], Made]] = {
    "broken_spring": broken_spring,
    "one_spring_broken": one_spring_broken,
    "stuck_coarse": stuck(lambda machine: machine.coarse_stop, "coarse"),
    "stuck_fine": stuck(lambda machine: machine.fine_stop, "fine"),
    "one_blade_stuck_coarse": one_stuck(lambda machine: machine.coarse_stop, "coarse"),
    "one_blade_stuck_fine": one_stuck(lambda machine: machine.fine_stop, "fine"),
    "lost_washer": lost_washer,
    "dry_bearing": dry_bearing,
}


def failure_figures(
    machine: Machine,
    condition: Condition,
    record: records.ScenarioRecord,
    tell: Callable[[float], None] = lambda share: None,
) -> dict[str, Any]:
    """Variables of the catalogue along `failure`, in SI."""
    every = cases(machine, record)
    full_bar = Condition(condition.air, condition.mass, record.wing.polar.bar[-1])
    rows = []
    hub = machine.aircraft.hub
    for place, case in enumerate(every):
        tell(place / len(every))
        if isnan(case.odd_angle):
            row = whole_set_figures(case.machine, condition, full_bar)
        else:
            row = odd_blade_figures(case, condition, full_bar, record.propeller.blades)
        rows.append(row | common_figures(hub, machine.speed_limit, record.fuel.density, row))
    columns: dict[str, Any] = {name: [row[name] for row in rows] for name in rows[0]}
    return columns | {
        "failure": [case.name for case in every],
        "failure_assumed": [case.words for case in every],
    }


def common_figures(hub: Hub, limit: float, fuel_density: float, row: dict[str, float]) -> dict[str, float]:
    """What follows from the other figures, a `row` in SI; states by the stops of the hub as built; SI.

    `limit` of the engine's speed [rad/s], `fuel_density` [kg/m3].
    """
    return {
        "failure_rpm_margin": limit - row["failure_highest_rpm"],
        "failure_level_fuel_flow": row["failure_level_fuel_flow"] / fuel_density,
        "failure_pitch_state": pitch_state(hub, row["failure_blade_angle"], False),
        "failure_level_pitch_state": pitch_state(hub, row["failure_level_blade_angle"], False),
    }


def whole_set_figures(machine: Machine, condition: Condition, full_bar: Condition) -> dict[str, float]:
    """Figures with all blades alike, by the catalogue's names, SI."""
    climb, static = full_throttle(machine, condition), ground(machine, condition.air)
    fastest = full_throttle(machine, full_bar)
    flown = level(machine, condition, 0.0, 0.0, climb)
    shift = shift_speeds(machine, condition.air, machine.inflow_factor * climb.airspeed)
    highest = max(climb.engine_speed, static.engine_speed, fastest.engine_speed)
    return {
        "failure_static_rpm": static.engine_speed,
        "failure_static_thrust": static.thrust,
        "failure_climb_rpm": climb.engine_speed,
        "failure_climb_rate": climb.climb_rate,
        "failure_highest_rpm": highest,
        "failure_blade_angle": climb.blade_angle,
        "failure_level_status": flown.status,
        "failure_level_throttle": flown.throttle,
        "failure_level_rpm": flown.engine_speed,
        "failure_level_fuel_flow": flown.fuel_flow,
        "failure_level_blade_angle": flown.blade_angle,
        "failure_shift_begin_rpm": shift.shift_begin,
        "failure_shift_finish_rpm": shift.shift_finish,
        "failure_return_begin_rpm": shift.return_begin,
        "failure_return_finish_rpm": shift.return_finish,
        "failure_throttle_at_limit": throttle_at_limit(machine, condition, climb),
        "failure_thrust_difference": 0.0,
        "failure_out_of_plane": 0.0,
        "failure_in_plane": 0.0,
        "failure_level_thrust_difference": 0.0,
        "failure_level_out_of_plane": 0.0,
        "failure_level_in_plane": 0.0,
    }


def throttle_at_limit(machine: Machine, condition: Condition, climb: FullThrottle) -> float:
    """Throttle at which the climb meets the rpm limit, blades as at full throttle [1]; NaN if none does."""
    if climb.engine_speed <= machine.speed_limit:
        return nan

    def over(throttle: float) -> float:
        flight = held_flight(machine, condition, climb.blade_angle, 0.0, throttle)
        return machine.reduction * flight.rotor_speed - machine.speed_limit

    return float(brentq(over, 0.0, 1.0, xtol=1e-4)) if over(0.0) < 0.0 < over(1.0) else nan


def odd_blade_figures(case: Case, condition: Condition, full_bar: Condition, blades: int) -> dict[str, float]:
    """Figures, SI, with one blade stuck and the others where the hub as built, or this flight, puts them.

    `blades` in all; names are those of the catalogue.
    """
    machine = case.machine
    built, built_ground = full_throttle(machine, condition), ground(machine, condition.air)
    built_level = level(machine, condition, 0.0, 0.0, built)

    def settle(built_angle: float, fly: Callable[[BladeSet], SetFlight | None]) -> BladeSet:
        return settled(machine, condition, BladeSet(case.odd_angle, built_angle, blades), fly)

    opened = settle(built.blade_angle, lambda tried: set_flight(machine, condition, tried, 1.0))
    tied = settle(built_ground.blade_angle, lambda tried: set_ground(machine, condition, tried))
    resting = settle(built_level.blade_angle, lambda tried: set_level(machine, condition, tried))
    climb, static = set_flight(machine, condition, opened, 1.0), set_ground(machine, condition, tied)
    fastest = set_flight(machine, full_bar, opened, 1.0)
    flown = set_level(machine, condition, resting)
    status = REACHED
    if flown is None:
        status = TOO_LITTLE_POWER if climb.path_angle < 0.0 else TOO_MUCH_POWER
        flown = set_flight(machine, condition, resting, 1.0 if status == TOO_LITTLE_POWER else 0.0)
    shift = shift_speeds(machine, condition.air, machine.inflow_factor * built.airspeed)
    engine, reduction = machine.aircraft.engine, machine.reduction
    speeds = [reduction * each.rotor_speed for each in (static, climb, fastest, flown)]
    figures = {
        "failure_static_rpm": speeds[0],
        "failure_static_thrust": static.thrust,
        "failure_climb_rpm": speeds[1],
        "failure_climb_rate": climb.airspeed * sin(climb.path_angle),
        "failure_highest_rpm": max(speeds[:3]),
        "failure_blade_angle": opened.others,
        "failure_level_status": status,
        "failure_level_throttle": flown.throttle,
        "failure_level_rpm": speeds[3],
        "failure_level_fuel_flow": fuel_flow(engine, speeds[3], flown.throttle, condition.air),
        "failure_level_blade_angle": resting.others,
        "failure_shift_begin_rpm": shift.shift_begin,
        "failure_shift_finish_rpm": shift.shift_finish,
        "failure_return_begin_rpm": shift.return_begin,
        "failure_return_finish_rpm": shift.return_finish,
        "failure_throttle_at_limit": nan,
    }
    figures |= shaking("failure_", imbalance(machine, condition, opened, climb))
    return figures | shaking("failure_level_", imbalance(machine, condition, resting, flown))


def shaking(prefix: str, shaken: Imbalance) -> dict[str, float]:
    """Figures of what an odd blade does to the hub, SI; names begin with `prefix`."""
    return {f"{prefix}{name}": value for name, value in shaken._asdict().items()}
