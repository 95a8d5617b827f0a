"""The machine a study asks about, and the conditions it is asked at."""

from dataclasses import dataclass

from simengine.balance.aircraft import Aircraft, with_parts
from simengine.balance.assembly import plain_hub
from simengine.balance.trim import SteadyFlight, steady_flight
from simengine.models.atmosphere import Air, Atmosphere, air_at
from simengine.models.mechanism import FIXED, TWO_STOP, coarse_edge


@dataclass(frozen=True)
class Machine:
    """An aircraft with what studies read of it often.

    Attributes
    ----------
    aircraft : Aircraft
        As the kernels take it.
    held : Aircraft
        The same with the blades held at whatever angle is asked for.
    coarse_stop, fine_stop : float
        [rad].
    coarse_edge : float
        Angle at which a blade counts as leaving coarse: the stop, or the end of the lost motion [rad].
    breakaway : float
        Friction at rest over friction in motion [1].
    reduction, inflow_factor : float
        [1].
    idle_speed, speed_limit : float
        Of the engine [rad/s].
    shifts : bool
        Whether blade loads move the blades.
    """

    aircraft: Aircraft
    held: Aircraft
    coarse_stop: float
    fine_stop: float
    coarse_edge: float
    breakaway: float
    reduction: float
    inflow_factor: float
    idle_speed: float
    speed_limit: float
    shifts: bool


def machine_of(aircraft: Aircraft) -> Machine:
    """Read an aircraft once."""
    hub, engine = aircraft.hub, aircraft.engine
    inertia = aircraft.inertia
    return Machine(
        aircraft=aircraft,
        held=with_parts(aircraft, hub=plain_hub(FIXED, hub.coarse_stop, hub.fine_stop, inertia)),
        coarse_stop=hub.coarse_stop,
        fine_stop=hub.fine_stop,
        coarse_edge=coarse_edge(hub),
        breakaway=hub.breakaway,
        reduction=aircraft.drive.reduction,
        inflow_factor=aircraft.inflow_factor,
        idle_speed=engine.idle_speed,
        speed_limit=engine.speed_limit,
        shifts=hub.kind == TWO_STOP,
    )


@dataclass(frozen=True)
class Condition:
    """What is flown in: the air, the all-up `mass` [kg] and the `bar`, 0 to 1 [1]."""

    air: Air
    mass: float
    bar: float


def day(atmosphere: Atmosphere, temperature_offset: float) -> Atmosphere:
    """The scenario's day at another temperature offset [K]."""
    return atmosphere._replace(temperature_offset=temperature_offset)


def condition_at(atmosphere: Atmosphere, height: float, mass: float, bar: float) -> Condition:
    """Condition at a geometric height above mean sea level [m], an all-up mass [kg] and a bar, 0 to 1 [1]."""
    return Condition(air_at(atmosphere, height), mass, bar)


def held_flight(
    machine: Machine, condition: Condition, blade_angle: float, near: float = 0.0, throttle: float = 1.0
) -> SteadyFlight:
    """Steady flight with the blades held at a blade angle [rad], at a throttle, 0 to 1 [1].

    `near` is a rotor speed to look around, zero for none [rad/s].
    """
    return steady_flight(
        machine.held, condition.air, condition.mass, condition.bar, throttle, blade_angle, near
    )
