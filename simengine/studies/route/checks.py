"""What keeps a leg from being flown as asked, in words: power, wind, ground, fuel, hanging blades."""

from math import isfinite

from simengine.balance.pitch import HUNG
from simengine.balance.trim import JUMPS, REACHED, TOO_LITTLE_POWER, TOO_MUCH_POWER
from simengine.constants import DEGREE
from simengine.studies.route.legs import RouteLeg, Settings
from simengine.studies.route.performance import SLOW_OR_FAST, Point
from simengine.studies.route.trip import LegFlown, State

ROUNDING = 1e-6  # [m]


def level_possible(point: Point, flown: LegFlown) -> bool:
    """Whether there are figures of a level flight; what is wrong with it is told."""
    words = {
        TOO_LITTLE_POWER: "full throttle does not hold this height",
        TOO_MUCH_POWER: "even closed throttle climbs",
        SLOW_OR_FAST: "no bar position gives the airspeed asked for",
        JUMPS: "no throttle holds this height steadily: the blades snap past the pitch that would, and hunt",
    }
    if point.status in words:
        tell(flown.problems, words[point.status])
    elif point.pitch_state == HUNG:
        tell(
            flown.problems,
            f"the blades hang between the stops at {point.blade_angle / DEGREE:.1f} deg in level flight: "
            "not to be cruised",
        )
    return point.status in (REACHED, JUMPS)


def check_limits(point: Point, settings: Settings, flown: LegFlown) -> None:
    """Throttle and bar kept inside what the route allows."""
    if point.throttle > settings.most_throttle + 1e-9:
        tell(flown.notes, f"takes {100 * point.throttle:.0f} % throttle, more than most_throttle")
    if point.bar > settings.most_bar + 1e-9:
        tell(flown.notes, f"takes {100 * point.bar:.0f} % bar, more than most_bar")


def check_path(
    settings: Settings,
    flown: LegFlown,
    before: tuple[float, float],
    after: tuple[float, float],
) -> None:
    """A climb or descent from `before` to `after`, each distance and height [m], stays above the ground."""
    ground = settings.ground
    inside = ground.distances[(ground.distances > before[0]) & (ground.distances < after[0])]
    for place in (*inside.tolist(), after[0]):
        share = (place - before[0]) / max(after[0] - before[0], ROUNDING)
        height = before[1] + share * (after[1] - before[1])
        if ground.known and height < ground.at(place) - ROUNDING:
            words = f"the ground stands at {ground.at(place):.0f} m at km {place / 1e3:.1f}"
            tell(flown.problems, f"{words}, above the way up or down at {height:.0f} m")
            return


def check_terrain(leg: RouteLeg, settings: Settings, flown: LegFlown) -> None:
    """The leg's height clears the ground under it."""
    place, highest = settings.ground.highest(leg.start, leg.end)
    if settings.ground.known and leg.height < highest + settings.clearance - ROUNDING:
        tell(
            flown.problems,
            f"the ground stands at {highest:.0f} m at km {place / 1e3:.1f}: with {settings.clearance:.0f} m "
            f"clearance the leg needs {highest + settings.clearance:.0f} m, it has {leg.height:.0f} m",
        )


def landing_height(leg: RouteLeg, settings: Settings) -> float:
    """Height of the ground where a leg ends: as given, else the terrain's, else that of the start [m]."""
    given = leg.stop_height if leg.refuel > 0.0 else settings.landing_height
    for height in (given, settings.ground.at(leg.end)):
        if isfinite(height):
            return height
    return settings.site_height


def reserve_of(settings: Settings, fuel_flow: float) -> float:
    """Fuel to be kept [kg]: the scenario's reserve or the reserve time, whichever is more.

    `fuel_flow` of the last leg [kg/s]; not counted where it is no number.
    """
    timed = settings.reserve_time * fuel_flow if isfinite(fuel_flow) else 0.0
    return max(settings.reserve, timed)


def check_fuel(state: State, settings: Settings, flown: LegFlown) -> None:
    """The reserve is still there at the end of the leg."""
    reserve = reserve_of(settings, flown.fuel_flow)
    if state.fuel < reserve:
        litres = 1e3 / settings.fuel_density
        empty = "" if state.fuel > 0.0 else ": the tank is empty on the way"
        tell(
            flown.problems,
            f"fuel short: at its end {litres * (reserve - state.fuel):.2f} L below the reserve of "
            f"{litres * reserve:.2f} L{empty}",
        )


def stuck(here: float, height: float, throttle: float) -> str:
    """Why a `height` [m] is not reached from `here` [m] at a throttle [1]."""
    if throttle == 0.0:
        return f"does not come down from {here:.0f} m with the throttle closed"
    opening = "full throttle" if throttle == 1.0 else f"{100 * throttle:.0f} % throttle"
    return f"above the ceiling: {opening} climbs no higher than {here:.0f} m, the leg wants {height:.0f} m"


def tell(sentences: list[str], sentence: str) -> None:
    """Say a `sentence` once: add it to `sentences` that do not hold it."""
    if sentence not in sentences:
        sentences.append(sentence)
