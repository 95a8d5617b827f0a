"""All parts of one machine as the compiled kernels take them, and the forces they share."""

from typing import Any, NamedTuple

from numba import types
from numba.experimental import structref

from simengine.compiled import kernel, kernel_part, linked_part
from simengine.models.atmosphere import Air, Atmosphere
from simengine.models.blade import Blade, Inflow, nothing_known
from simengine.models.drive import Drive, DriveState, drive_line
from simengine.models.engine import Engine
from simengine.models.inertia import BladeInertia
from simengine.models.mechanism import Hub, PitchMoments, pitch_moments
from simengine.models.momentum import RotorLoads, air_pitch_damping, rotor_loads_near
from simengine.models.wing import Wing

FIELDS = (
    "atmosphere",
    "blade",
    "inertia",
    "hub",
    "engine",
    "drive",
    "wing",
    "dry_mass",
    "fuel_start",
    "fuel_reserve",
    "drag_area",
    "thrust_tilt",
    "inflow_factor",
    "thrust_loss",
    "rotor_inertia",
    "tailwind",
    "air_moment_factor",
)


@structref.register
class AircraftType(types.StructRef):  # type: ignore[misc]
    """How numba sees an `Aircraft`: one pointer.

    A plain tuple would travel through every kernel as some three hundred arguments; compiling them took
    ten times as long.
    """

    def preprocess_fields(self, fields: Any) -> Any:
        """Types of `fields` without literal values, so that one compiled kernel serves every machine."""
        return tuple((name, types.unliteral(kind)) for name, kind in fields)


class Aircraft(structref.StructRefProxy):  # type: ignore[misc]
    """One machine with its pilot, and the air of the day; read-only by agreement. Make with `new_aircraft`.

    Attributes
    ----------
    atmosphere : Atmosphere
    blade : Blade
    inertia : BladeInertia
    hub : Hub
    engine : Engine
    drive : Drive
    wing : Wing
    dry_mass : float
        Everything but the fuel [kg].
    fuel_start, fuel_reserve : float
        Fuel on board at the start and to be kept [kg].
    drag_area : float
        Drag area of machine and cage, on top of the wing's measured glide [m2].
    thrust_tilt : float
        Angle of the thrust above the flight path [rad].
    inflow_factor : float
        Air speed at the disc over flight speed [1].
    thrust_loss : float
        Part of the propeller's thrust spent on cage and frame in its stream [1].
    rotor_inertia : float
        Propeller and engine about the propeller's axis [kg m2].
    tailwind : float
        Wind along the track, positive from behind [m/s].
    air_moment_factor : float
        On the air's moment about the pitch axis and its damping of the pitch motion, which no measurement at
        hand confirms: to be calibrated [1].
    """

    atmosphere: Atmosphere
    blade: Blade
    inertia: BladeInertia
    hub: Hub
    engine: Engine
    drive: Drive
    wing: Wing
    dry_mass: float
    fuel_start: float
    fuel_reserve: float
    drag_area: float
    thrust_tilt: float
    inflow_factor: float
    thrust_loss: float
    rotor_inertia: float
    tailwind: float
    air_moment_factor: float

    def __getattr__(self, name: str) -> Any:
        if name in FIELDS:
            # Read-only by agreement, so the parts once taken out are kept: that costs more than a rotor.
            known = self.__dict__.setdefault("known", None) or parts(self)
            self.__dict__["known"] = known
            return known[FIELDS.index(name)]
        raise AttributeError(name)


structref.define_proxy(Aircraft, AircraftType, FIELDS)


@kernel
def new_aircraft(
    atmosphere: Atmosphere,
    blade: Blade,
    inertia: BladeInertia,
    hub: Hub,
    engine: Engine,
    drive: Drive,
    wing: Wing,
    dry_mass: float,
    fuel_start: float,
    fuel_reserve: float,
    drag_area: float,
    thrust_tilt: float,
    inflow_factor: float,
    thrust_loss: float,
    rotor_inertia: float,
    tailwind: float,
    air_moment_factor: float,
) -> Aircraft:
    """Put the parts of a machine together; arguments as the attributes of `Aircraft`, in its units."""
    return Aircraft(
        atmosphere,
        blade,
        inertia,
        hub,
        engine,
        drive,
        wing,
        dry_mass,
        fuel_start,
        fuel_reserve,
        drag_area,
        thrust_tilt,
        inflow_factor,
        thrust_loss,
        rotor_inertia,
        tailwind,
        air_moment_factor,
    )


@kernel
def parts(aircraft: Aircraft) -> Any:
    """All parts in the order of `FIELDS`."""
    return (
        aircraft.atmosphere,
        aircraft.blade,
        aircraft.inertia,
        aircraft.hub,
        aircraft.engine,
        aircraft.drive,
        aircraft.wing,
        aircraft.dry_mass,
        aircraft.fuel_start,
        aircraft.fuel_reserve,
        aircraft.drag_area,
        aircraft.thrust_tilt,
        aircraft.inflow_factor,
        aircraft.thrust_loss,
        aircraft.rotor_inertia,
        aircraft.tailwind,
        aircraft.air_moment_factor,
    )


def with_parts(aircraft: Aircraft, **changes: Any) -> Aircraft:
    """The same machine with some parts replaced: `changes` by names of `FIELDS`, units as in `Aircraft`."""
    return new_aircraft(*(dict(zip(FIELDS, parts(aircraft), strict=True)) | changes).values())


class RotorState(NamedTuple):
    """Everything at one rotor speed, blade angle, axial air speed and throttle.

    `thrust` is what is left for the aircraft [N]: the propeller's own, in `loads`, less what cage and frame
    take from its stream; a propeller that brakes loses nothing. The air's moment in `moments` is that of
    `loads` times `air_moment_factor`.
    """

    drive: DriveState
    loads: RotorLoads
    moments: PitchMoments
    thrust: float


@kernel
def no_inflow(aircraft: Aircraft) -> Inflow:
    """`nothing_known` of its blades, shape (turns, WORK_SIZE).

    This and the next stand between the blade and what is above it: a kernel that takes the blade out of the
    aircraft takes all its arrays, and far longer to compile.
    """
    return nothing_known(aircraft.blade)


@kernel
def propeller_loads(
    aircraft: Aircraft,
    blade_angle: float,
    rotor_speed: float,
    axial_speed: float,
    air: Air,
    inflow: Inflow,
) -> RotorLoads:
    """`rotor_loads_near` of its blades; `axial_speed` is the air speed at the disc [m/s].

    At a blade angle [rad] and rotor speed [rad/s]; `inflow` of shape (turns, WORK_SIZE), overwritten.
    """
    return rotor_loads_near(aircraft.blade, blade_angle, rotor_speed, axial_speed, air, inflow)


@kernel
def rotor_state(
    aircraft: Aircraft, air: Air, blade_angle: float, rotor_speed: float, axial_speed: float, throttle: float
) -> RotorState:
    """Engine torque, propeller loads and moment budget; `axial_speed` is the air speed at the disc [m/s].

    At a blade angle [rad], rotor speed [rad/s] and throttle, 0 to 1 [1].
    """
    loads = propeller_loads(aircraft, blade_angle, rotor_speed, axial_speed, air, no_inflow(aircraft))
    return rotor_state_of(aircraft, air, loads, blade_angle, rotor_speed, throttle)


@linked_part
def rotor_state_of(
    aircraft: Aircraft, air: Air, loads: RotorLoads, blade_angle: float, rotor_speed: float, throttle: float
) -> RotorState:
    """The same from propeller loads that are known already; arguments as for `rotor_state`."""
    air_moment = aircraft.air_moment_factor * loads.air_moment
    return RotorState(
        drive_line(aircraft.engine, aircraft.drive, rotor_speed, throttle, air),
        loads,
        pitch_moments(aircraft.hub, aircraft.inertia, blade_angle, rotor_speed, air_moment),
        thrust_left(aircraft, loads),
    )


@kernel_part
def thrust_left(aircraft: Aircraft, loads: RotorLoads) -> float:
    """Thrust without what cage and frame take from its stream [N]."""
    return float(loads.thrust - aircraft.thrust_loss * max(loads.thrust, 0.0))


@kernel
def pitch_damping(aircraft: Aircraft, rotor_speed: float, air: Air) -> float:
    """Damping of the pitch motion of ONE blade, by hub and air [N m s/rad], at a rotor speed [rad/s]."""
    air_damping = air_pitch_damping(aircraft.blade, rotor_speed, air)
    return float(aircraft.hub.damping + aircraft.air_moment_factor * air_damping)


@kernel_part
def wing_drag_coefficient(aircraft: Aircraft, polar_drag_coefficient: float) -> float:
    """Drag coefficient with machine and cage on the wing's area [1], from `polar_drag_coefficient` [1]."""
    return polar_drag_coefficient + aircraft.drag_area / aircraft.wing.area
