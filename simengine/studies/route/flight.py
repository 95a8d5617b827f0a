"""Fly legs one after the other: climb or descend to the leg's height, cruise, stop and refuel, land.

Steady flight throughout; mass, height, distance and fuel are integrated by midpoints, the blades' history
is carried along. What a leg cannot do is said on the leg, and the others are flown all the same.
"""

from collections.abc import Sequence
from math import ceil, cos, floor, isfinite, nan, sin

from simengine.balance.pitch import HUNG
from simengine.studies.route.checks import (
    ROUNDING,
    check_fuel,
    check_limits,
    check_path,
    check_terrain,
    landing_height,
    level_possible,
    stuck,
    tell,
)
from simengine.studies.route.geometry import wind_triangle
from simengine.studies.route.legs import RouteLeg, Settings
from simengine.studies.route.performance import Ask, Performance, Point, Speed
from simengine.studies.route.trip import LegFlown, PathPoint, State, Trip

CRUISE_STEP = 20e3  # [m]: a step burns about one per cent of the mass
CLIMB_STEP = 250.0  # [m]
SLOWEST_CLIMB = 0.1  # a climb slower than this is a ceiling [m/s]
CLIMB, CRUISE, DESCENT, STOP = range(4)


def start_state(settings: Settings, blade_angle: float) -> State:
    """Just off the ground, blades as the idling engine leaves them, at a blade angle [rad]."""
    return State(settings.site_height, settings.start_fuel, blade_angle)


def fly_trip(
    legs: Sequence[RouteLeg], performance: Performance, settings: Settings, blade_angle: float
) -> Trip:
    """Fly every leg.

    Parameters
    ----------
    legs : sequence of RouteLeg
        Heights and speeds settled.
    performance : Performance
        Of the machine.
    settings : Settings
        What holds for the whole route.
    blade_angle : float
        That of the idling machine [rad]; a stop brings it back.
    """
    state = start_state(settings, blade_angle)
    flown = []
    for number, leg in enumerate(legs):
        last = number == len(legs) - 1
        flown.append(fly_leg(number, leg, state, performance, settings, blade_angle, last=last))
    return Trip(tuple(flown))


def fly_leg(
    number: int,
    leg: RouteLeg,
    state: State,
    performance: Performance,
    settings: Settings,
    blade_angle: float,
    *,
    last: bool,
) -> LegFlown:
    """Fly one leg, the `number` of it in the route; the state is moved to its end.

    `blade_angle` is that of an idling engine [rad]; the `last` leg lands where the settings ask for it.
    """
    flown = LegFlown()
    state.distance = leg.start
    check_terrain(leg, settings, flown)
    change_height(number, leg, state, performance, settings, flown, leg.height, leg.end)
    fly_cruise(number, leg, state, performance, settings, flown)
    state.distance = leg.end
    if leg.refuel > 0.0 or (last and settings.landing):
        land(number, leg, state, performance, settings, flown, blade_angle)
    flown.fuel_left = state.fuel
    check_fuel(state, settings, flown)
    if leg.refuel > 0.0:
        flown.refuelled = max(leg.refuel - max(state.fuel, 0.0), 0.0)
        state.fuel = max(state.fuel, leg.refuel)
    return flown


def mass_of(state: State, settings: Settings) -> float:
    """All-up mass [kg]; an empty tank weighs nothing."""
    return settings.dry_mass + max(state.fuel, 0.0)


def spend(state: State, flown: LegFlown, seconds: float, fuel: float) -> None:
    """Time and fuel go by: `seconds` [s], `fuel` [kg]."""
    state.time += seconds
    state.fuel -= fuel
    flown.time += seconds
    flown.fuel += fuel


def mark(number: int, part: int, state: State, point: Point, flown: LegFlown) -> None:
    """Put down where the machine is, in a `part` of the leg of a `number`."""
    flown.path.append(
        PathPoint(
            number,
            part,
            state.distance,
            state.height,
            state.time,
            state.fuel,
            point.engine_speed,
            point.blade_angle,
            point.pitch_state,
        )
    )


def change_height(
    number: int,
    leg: RouteLeg,
    state: State,
    performance: Performance,
    settings: Settings,
    flown: LegFlown,
    height: float,
    end: float,
) -> None:
    """Climb or descend along the track toward a height [m], no farther than a distance [m]."""
    up = height > state.height
    throttle, part = (settings.climb_throttle, CLIMB) if up else (0.0, DESCENT)
    speed = Speed(settings.climb_bar)
    while abs(height - state.height) > ROUNDING and state.distance < end - ROUNDING:
        rise = next_height(state.height, height) - state.height
        ask = Ask(state.height + 0.5 * rise, leg.offset, speed)
        point = performance.at_throttle(ask, mass_of(state, settings), throttle, state.blade_angle)
        rate = point.airspeed * sin(point.path_angle)
        if (rate if up else -rate) < SLOWEST_CLIMB:
            tell(flown.problems, stuck(state.height, height, throttle))
            return
        if up:
            note_climb(flown, point, rate)
        ground_speed = along_track(leg, point, ask.height, flown)
        if not isfinite(ground_speed):
            return
        if not flown.path:
            mark(number, part, state, point, flown)
        before, seconds = (state.distance, state.height), rise / rate
        if ground_speed * seconds > end - state.distance:
            seconds = (end - state.distance) / ground_speed
            tell(flown.notes, f"the leg ends on the way {'up' if up else 'down'} to {height:.0f} m")
            rise = rate * seconds
        state.distance += ground_speed * seconds
        state.height += rise
        state.blade_angle = point.blade_angle
        spend(state, flown, seconds, point.fuel_flow * seconds)
        check_path(settings, flown, before, (state.distance, state.height))
        if up:
            flown.climb_time += seconds
            flown.climb_fuel += point.fuel_flow * seconds
        mark(number, part, state, point, flown)


def next_height(here: float, wanted: float) -> float:
    """Where the next step from `here` toward a `wanted` height ends [m]: on a whole multiple of a step.

    So steps come again, and what is computed for one serves another.
    """
    if wanted > here:
        return min(wanted, CLIMB_STEP * (floor(here / CLIMB_STEP + ROUNDING) + 1))
    return max(wanted, CLIMB_STEP * (ceil(here / CLIMB_STEP - ROUNDING) - 1))


def note_climb(flown: LegFlown, point: Point, rate: float) -> None:
    """Figures of the climb's beginning, its `rate` [m/s], and blades that hang in it."""
    if not isfinite(flown.climb_rate):
        flown.climb_rate, flown.climb_engine_speed = rate, point.engine_speed
        flown.climb_tip_mach = point.tip_mach
    if point.pitch_state == HUNG:
        tell(flown.problems, "the shift does not finish in the climb: the blades hang between the stops")


def along_track(leg: RouteLeg, point: Point, height: float, flown: LegFlown) -> float:
    """Ground speed [m/s] at a height [m]; NaN, with the reason told, if the machine does not get on."""
    speed, direction = leg.wind.at(height)
    triangle = wind_triangle(point.airspeed * cos(point.path_angle), leg.track, speed, direction)
    if not triangle.ground_speed > 0.0:
        tell(
            flown.problems,
            f"the wind of {3.6 * speed:.0f} km/h at {height:.0f} m is stronger than the airspeed of "
            f"{3.6 * point.airspeed:.0f} km/h allows on this track",
        )
        return nan
    flown.heading = triangle.heading
    return triangle.ground_speed


def fly_cruise(
    number: int,
    leg: RouteLeg,
    state: State,
    performance: Performance,
    settings: Settings,
    flown: LegFlown,
) -> None:
    """Hold the height to the end of the leg."""
    left = leg.end - state.distance
    flown.height = state.height
    if left < ROUNDING:
        return
    ask = Ask(state.height, leg.offset, leg.speed)
    steps = ceil(left / CRUISE_STEP)
    for step in range(steps):
        before = performance.level(ask, mass_of(state, settings), state.blade_angle)
        speed_before = along_track(leg, before, state.height, flown)
        if not level_possible(before, flown) or not isfinite(speed_before):
            return
        if step == 0:
            mark(number, CRUISE, state, before, flown)
        half = 0.5 * left / steps * before.fuel_flow / speed_before
        middle = performance.level(
            ask, max(mass_of(state, settings) - half, settings.dry_mass), before.blade_angle
        )
        ground_speed = along_track(leg, middle, state.height, flown)
        if not level_possible(middle, flown) or not isfinite(ground_speed):
            return
        seconds = left / steps / ground_speed
        fuel = middle.fuel_flow * seconds
        state.distance += left / steps
        state.blade_angle = middle.blade_angle
        spend(state, flown, seconds, fuel)
        flown.cruise_time += seconds
        flown.cruise_fuel += fuel
        flown.cruise_distance += left / steps
        if step == steps // 2:
            flown.cruise, flown.ground_speed = middle, ground_speed
        check_limits(middle, settings, flown)
        mark(number, CRUISE, state, middle, flown)


def land(
    number: int,
    leg: RouteLeg,
    state: State,
    performance: Performance,
    settings: Settings,
    flown: LegFlown,
    blade_angle: float,
) -> None:
    """Idle down over the place to the ground; the engine at idle lets the blades go back."""
    ground = landing_height(leg, settings)
    ask_speed = Speed(0.0)
    if state.height < ground - ROUNDING:
        tell(
            flown.problems,
            f"the landing place at {ground:.0f} m is higher than the {state.height:.0f} m flown",
        )
    while state.height > ground + ROUNDING:
        fall = state.height - next_height(state.height, ground)
        ask = Ask(state.height - 0.5 * fall, leg.offset, ask_speed)
        point = performance.at_throttle(ask, mass_of(state, settings), 0.0, state.blade_angle)
        rate = -point.airspeed * sin(point.path_angle)
        if rate < SLOWEST_CLIMB:
            tell(flown.problems, "does not come down with the throttle closed")
            break
        state.height -= fall
        spend(state, flown, fall / rate, point.fuel_flow * fall / rate)
        mark(number, STOP, state, point, flown)
    state.height, state.blade_angle = ground, blade_angle
