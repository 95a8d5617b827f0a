"""Level flight, climb and descent of one machine, as a route asks for them."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import floor, hypot
from typing import NamedTuple, Protocol

from scipy.optimize import brentq, minimize_scalar

from simengine.balance.aircraft import Aircraft
from simengine.balance.pitch import pitch_state
from simengine.balance.trim import REACHED, SteadyFlight, flight_speed
from simengine.models.atmosphere import Atmosphere, air_at
from simengine.models.engine import Engine, fuel_flow
from simengine.models.mechanism import SELECTED, Hub
from simengine.models.wing import Wing
from simengine.studies.level_flight import level_from
from simengine.studies.machine import Condition, Machine, day, held_flight, machine_of
from simengine.studies.route.blades import flight_after, level_after, level_on_stops

SLOW_OR_FAST = 9  # status: no bar position gives the airspeed asked for
BAR_TOLERANCE = 1e-10
NODES = 3  # masses at which level flight is computed; between them a parabola
ANGLE_STEP = 0.02  # around a known best blade angle [rad]
ANGLE_FOUND = 2e-3  # [rad]; the fuel is flat around its least


class Speed(NamedTuple):
    """How the speed is set: a bar position [1], or an airspeed [m/s] where that is above zero."""

    bar: float
    airspeed: float = 0.0


class Ask(NamedTuple):
    """What is asked for: `height` [m], temperature `offset` [K] and speed of a flight."""

    height: float
    offset: float
    speed: Speed


class Point(NamedTuple):
    """One steady flight.

    Attributes
    ----------
    airspeed : float
        [m/s].
    path_angle : float
        Positive up [rad].
    fuel_flow : float
        [kg/s].
    throttle, bar : float
        [1].
    engine_speed : float
        Of the ENGINE [rad/s].
    blade_angle : float
        [rad].
    tip_mach : float
        [1].
    pitch_state : int
        COARSE, SHIFTING, HUNG or FINE.
    status : int
        As of `balance.trim`, or SLOW_OR_FAST.
    """

    airspeed: float
    path_angle: float
    fuel_flow: float
    throttle: float
    engine_speed: float
    blade_angle: float
    tip_mach: float
    bar: float
    pitch_state: int
    status: int


NUMBERS = Point._fields[:8]  # what may be interpolated


class Performance(Protocol):
    """What a route wants of a machine; `blade_angle` is that held before [rad]."""

    def level(self, ask: Ask, mass: float, blade_angle: float) -> Point:
        """Level flight at an all-up mass [kg], from a blade angle before [rad]."""

    def direct(self, ask: Ask, mass: float, blade_angle: float) -> Point:
        """The same where one flight only is asked for: at a mass [kg], from a blade angle before [rad]."""

    def at_throttle(self, ask: Ask, mass: float, throttle: float, blade_angle: float) -> Point:
        """Climb or descent at a mass [kg] and a throttle [1], from a blade angle before [rad]."""


@dataclass
class MachinePerformance:
    """Performance of a machine, the history of its blades followed.

    Attributes
    ----------
    machine : Machine
        With its hub.
    lightest, heaviest : float
        Range of masses between which level flight is interpolated [kg]; equal for no interpolation.
    stops_only : bool
        Do not work out how blades that stand on no stop hang or hunt, which takes long: they hang.
    """

    machine: Machine
    lightest: float = 0.0
    heaviest: float = 0.0
    stops_only: bool = field(default=False, kw_only=True)
    kept: dict[tuple[Ask, int], tuple[Point, ...]] = field(default_factory=dict)
    kept_kilograms: dict[tuple[Ask, int, int], Point] = field(default_factory=dict)
    kept_climbs: dict[tuple[Ask, float, int], tuple[Point, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Read the parts once: every reading of one fetches them all."""
        aircraft = self.machine.aircraft
        self.atmosphere: Atmosphere = aircraft.atmosphere
        self.engine: Engine = aircraft.engine
        self.hub: Hub = aircraft.hub
        self.wing: Wing = aircraft.wing
        self.tip_radius = float(aircraft.blade.tip_radius)
        self.opening, self.near = 0.0, 0.0  # of the last level flight: where the next is looked for

    def level(self, ask: Ask, mass: float, blade_angle: float) -> Point:
        """Level flight, between three masses by a parabola where the blades stand alike at all three.

        At an all-up mass [kg], from a blade angle before [rad].
        """
        blade_angle = self.selected(blade_angle, self.hub.coarse_stop)
        before = pitch_state(self.hub, blade_angle, False)
        if not self.lightest < self.heaviest or not self.lightest <= mass <= self.heaviest:
            return self.direct(ask, mass, blade_angle)
        key = (ask, before)
        if key not in self.kept:
            here = self.direct(ask, mass, blade_angle)
            if here.pitch_state != before or here.status != REACHED:
                self.kept[key] = ()  # blades that go over are asked for once a leg
                return here
        if not self.kept.get(key):
            self.kept[key] = tuple(self.direct(ask, one, blade_angle) for one in self.masses())
        nodes = self.kept[key]
        return self.between(nodes, mass) if alike(nodes) else self.by_the_kilogram(key, mass, blade_angle)

    def by_the_kilogram(self, key: tuple[Ask, int], mass: float, blade_angle: float) -> Point:
        """Level flight where the blades change place with the mass [kg]: straight between whole kilograms.

        From a blade angle before [rad].
        """
        ends = []
        for whole in (floor(mass), floor(mass) + 1):
            if (*key, whole) not in self.kept_kilograms:
                self.kept_kilograms[*key, whole] = self.direct(key[0], float(whole), blade_angle)
            ends.append(self.kept_kilograms[*key, whole])
        low, high = ends
        if not alike((low, high)):
            return low if mass - floor(mass) < 0.5 else high
        share = mass - floor(mass)
        return blended((low, high), (1.0 - share, share))

    def selected(self, blade_angle: float, stop: float) -> float:
        """Where the pilot of a hub moved by hand puts the blades, `stop`; others keep `blade_angle` [rad]."""
        return stop if self.hub.kind == SELECTED else blade_angle

    def masses(self) -> list[float]:
        """Lightest, middle, heaviest [kg]."""
        step = (self.heaviest - self.lightest) / (NODES - 1)
        return [self.lightest + step * i for i in range(NODES)]

    def between(self, nodes: tuple[Point, ...], mass: float) -> Point:
        """The point at a mass [kg] by the parabola through three."""
        return between(nodes, (mass - self.lightest) / (self.heaviest - self.lightest))

    def direct(self, ask: Ask, mass: float, blade_angle: float) -> Point:
        """Level flight computed at this very mass [kg], from a blade angle before [rad]."""
        condition, found = self.condition(ask, mass)
        blade_angle = self.selected(blade_angle, self.hub.coarse_stop)
        after = level_on_stops if self.stops_only and self.machine.shifts else level_after
        flight, status = after(self.machine, condition, blade_angle, self.opening, self.near)
        if status == REACHED:
            self.opening, self.near = flight.throttle, flight.rotor_speed
        return self.point(condition, flight, status if found else SLOW_OR_FAST)

    def condition(self, ask: Ask, mass: float) -> tuple[Condition, bool]:
        """Air, mass and bar at a mass [kg]; and whether a bar gives the airspeed asked for."""
        air = air_at(day(self.atmosphere, ask.offset), ask.height)
        condition = Condition(air, mass, ask.speed.bar)
        if not ask.speed.airspeed > 0.0:
            return condition, True
        most = float(self.wing.lift_table[-1, 0])
        bar, found = bar_for(self.machine.aircraft, condition, ask.speed.airspeed, most)
        return Condition(air, mass, bar), found

    def at_throttle(self, ask: Ask, mass: float, throttle: float, blade_angle: float) -> Point:
        """Climb or descent; one that is asked for again is kept at three masses, as level flight is.

        At a mass [kg] and a throttle [1], from a blade angle before [rad].
        """
        stop = self.hub.fine_stop if throttle > 0.0 else self.hub.coarse_stop
        blade_angle = self.selected(blade_angle, stop)
        key = (ask, throttle, pitch_state(self.hub, blade_angle, False))
        if not self.lightest < self.heaviest or not self.lightest <= mass <= self.heaviest:
            return self.one_climb(ask, mass, throttle, blade_angle)
        if key not in self.kept_climbs:
            self.kept_climbs[key] = ()
            return self.one_climb(ask, mass, throttle, blade_angle)
        if not self.kept_climbs[key]:
            nodes = tuple(self.one_climb(ask, one, throttle, blade_angle) for one in self.masses())
            self.kept_climbs[key] = nodes
        nodes = self.kept_climbs[key]
        return self.between(nodes, mass) if alike(nodes) else self.one_climb(ask, mass, throttle, blade_angle)

    def one_climb(self, ask: Ask, mass: float, throttle: float, blade_angle: float) -> Point:
        """Climb or descent at a mass [kg] and a throttle [1], from a blade angle before [rad]."""
        condition, found = self.condition(ask, mass)
        flight = flight_after(self.machine, condition, throttle, blade_angle)
        return self.point(condition, flight, REACHED if found else SLOW_OR_FAST)

    def point(self, condition: Condition, flight: SteadyFlight, status: int) -> Point:
        """Figures of a flight with a `status` of `balance.trim`, or SLOW_OR_FAST."""
        engine_speed = self.machine.reduction * flight.rotor_speed
        tip_speed = flight.rotor_speed * self.tip_radius
        return Point(
            airspeed=flight.airspeed,
            path_angle=flight.path_angle,
            fuel_flow=fuel_flow(self.engine, engine_speed, flight.throttle, condition.air),
            throttle=flight.throttle,
            engine_speed=engine_speed,
            blade_angle=flight.blade_angle,
            tip_mach=hypot(tip_speed, flight.airspeed) / condition.air.speed_of_sound,
            bar=condition.bar,
            pitch_state=pitch_state(self.hub, flight.blade_angle, False),
            status=status,
        )


@dataclass
class FreePitchPerformance(MachinePerformance):
    """The ideal: blades that at once stand at the best angle there is, least fuel level, best climb up.

    Attributes
    ----------
    lowest_angle, highest_angle : float
        Where to look [rad].
    level_angles : dict
        Best angle by height and speed, once it is known [rad]; later searches stay around it.
    climb_angles : dict
        Best angle of the climb by throttle [rad]; found once a trip.
    """

    lowest_angle: float = 0.0
    highest_angle: float = 0.0
    level_angles: dict[Ask, float] = field(default_factory=dict)
    climb_angles: dict[float, float] = field(default_factory=dict)

    def direct(self, ask: Ask, mass: float, blade_angle: float) -> Point:
        """Level flight at a mass [kg] and the angle of least fuel; the `blade_angle` [rad] does not count."""
        condition, found = self.condition(ask, mass)

        def flown(angle: float) -> Point:
            flight = level_from(self.machine.held, self.machine, condition, angle, self.opening, self.near)
            if flight.status == REACHED:
                self.opening, self.near = flight.throttle, flight.rotor_speed
            return self.point(condition, flight, flight.status if found else SLOW_OR_FAST)

        def cost(angle: float) -> float:
            point = flown(angle)
            # Fuel in kg/s is far below one: the rpm limit weighs more than any fuel.
            return point.fuel_flow + self.beyond(point) if point.status == REACHED else 1.0

        if ask in self.level_angles:
            return flown(self.around(cost, self.level_angles[ask]))
        self.level_angles[ask] = self.best(cost)
        return flown(self.level_angles[ask])

    def one_climb(self, ask: Ask, mass: float, throttle: float, blade_angle: float) -> Point:
        """Climb at the blade angle of the steepest, the engine not above its limit; idle where it stands.

        At a mass [kg] and a throttle [1]; the `blade_angle` [rad] counts at idle alone.
        """
        condition, found = self.condition(ask, mass)
        status = REACHED if found else SLOW_OR_FAST

        def flown(angle: float) -> Point:
            return self.point(condition, held_flight(self.machine, condition, angle, 0.0, throttle), status)

        def cost(angle: float) -> float:
            point = flown(angle)
            return self.beyond(point) - point.path_angle

        if throttle == 0.0:
            return flown(blade_angle)
        if throttle not in self.climb_angles:
            self.climb_angles[throttle] = self.best(cost)
        return flown(self.climb_angles[throttle])

    def beyond(self, point: Point) -> float:
        """Engine speed above its limit [rad/s]."""
        return max(point.engine_speed - self.machine.speed_limit, 0.0)

    def best(self, cost: Callable[[float], float]) -> float:
        """Angle of least cost [rad]."""
        limits = (self.lowest_angle, self.highest_angle)
        found = minimize_scalar(cost, bounds=limits, method="bounded", options={"xatol": ANGLE_FOUND})
        return float(found.x)

    def around(self, cost: Callable[[float], float], angle: float) -> float:
        """Angle of least cost by a parabola around a known one [rad]; the cost is flat there."""
        low, middle, high = (cost(angle + step) for step in (-ANGLE_STEP, 0.0, ANGLE_STEP))
        bend = low - 2.0 * middle + high
        step = 0.5 * ANGLE_STEP * (low - high) / bend if bend > 0.0 else 0.0
        moved = angle + min(max(step, -2.0 * ANGLE_STEP), 2.0 * ANGLE_STEP)
        return min(max(moved, self.lowest_angle), self.highest_angle)


def alike(nodes: tuple[Point, ...]) -> bool:
    """Whether points may be interpolated: blades in one state, and the same to say on all."""
    first = nodes[0]
    return all(point.status == first.status and point.pitch_state == first.pitch_state for point in nodes)


def between(nodes: tuple[Point, ...], share: float) -> Point:
    """Parabola through three points at shares 0, 1/2 and 1 of the way, at a `share` of it [1]."""
    low = 2.0 * (share - 0.5) * (share - 1.0)
    middle = 4.0 * share * (1.0 - share)
    high = 2.0 * share * (share - 0.5)
    return blended(nodes, (low, middle, high))


def blended(nodes: tuple[Point, ...], weights: tuple[float, ...]) -> Point:
    """Numbers of points by their `weights` [1]; state and status are those of the first."""
    numbers = {
        name: sum(weight * getattr(node, name) for weight, node in zip(weights, nodes, strict=True))
        for name in NUMBERS
    }
    return Point(**numbers, pitch_state=nodes[0].pitch_state, status=nodes[0].status)


def bar_for(aircraft: Aircraft, condition: Condition, airspeed: float, most: float) -> tuple[float, bool]:
    """Bar, 0 to `most`, that gives an airspeed in level flight [m/s], and whether there is one."""

    def excess(bar: float) -> float:
        return flight_speed(aircraft, condition.air, condition.mass, bar, 0.0, 0.0) - airspeed

    slowest, fastest = excess(0.0), excess(most)
    if slowest >= 0.0 or fastest <= 0.0:
        fits = abs(slowest if slowest >= 0.0 else fastest) < 1e-9 * airspeed
        return (0.0 if slowest >= 0.0 else most), fits
    return float(brentq(excess, 0.0, most, xtol=BAR_TOLERANCE)), True


def quick(performance: MachinePerformance) -> MachinePerformance:
    """The same machine for searches and maps, with blades on stops only; it keeps nothing found before."""
    return replace(performance, stops_only=True, kept={}, kept_kilograms={}, kept_climbs={})


def performance_of(aircraft: Aircraft, lightest: float = 0.0, heaviest: float = 0.0) -> MachinePerformance:
    """Performance of an aircraft as it is; masses from `lightest` to `heaviest` [kg]."""
    return MachinePerformance(machine_of(aircraft), lightest, heaviest)
