"""Machines for tests, built from models directly. Invented values unless a test says otherwise."""

from math import radians

import numpy as np

from simengine.balance.aircraft import new_aircraft, with_parts
from simengine.constants import RPM
from simengine.models.atmosphere import Atmosphere
from simengine.models.blade import build_blade
from simengine.models.drive import Drive
from simengine.models.engine import build_engine
from simengine.models.inertia import BladeInertia
from simengine.models.mechanism import TWO_STOP, Hub, Spring
from simengine.models.section_families import linear_sections
from simengine.models.wing import build_wing

STANDARD_DAY = Atmosphere(0.0, 101325.0, 0.0)


def torsion_spring(preload_moment, rate, share=1.0):
    """Spring about the pitch axis by its moment on the coarse stop [N m] and its rate [N m/rad].

    A rate of zero is stood for by one too small to matter, wound up far.
    """
    rate = max(rate, 1e-6)
    return Spring(rate, 0.0, 0.0, preload_moment / rate, 0.0, 0.0, share, 0.0)


def two_stop_hub(coarse=18.0, fine=13.0, **changes):
    """Frictionless hub with a torsion spring; stops in degrees."""
    hub = Hub(
        kind=TWO_STOP,
        coarse_stop=radians(coarse),
        fine_stop=radians(fine),
        spring=torsion_spring(6.26099, 20.0),
        lost_motion=0.0,
        friction_constant=0.0,
        friction_arm=0.0,
        breakaway=1.0,
        counterweight_sin2=0.0,
        counterweight_cos2=0.0,
        pitch_inertia=5.6e-4,
        damping=0.05,
        stop_radius=0.02,
        pitch_rate=0.0,
        governed_speed=0.0,
    )
    return hub._replace(**changes)


def untwisted_inertia(difference=5.38134e-4):
    """Solid rectangular blade without twist: only the product of inertia K; mass and pull as that blade."""
    return BladeInertia(
        mass=0.809325,
        first_moment=0.809325 * 0.3525,
        second_moment=0.809325 * (0.3525**2 + 0.545**2 / 12.0),
        polar_inertia=5.54455e-4,
        sin2=0.5 * difference,
        cos2=0.0,
        sin1=0.0,
        cos1=0.0,
    )


def demo_blade(air_moment=True):
    """Two-blade propeller of 1.30 m; without its air moment on request."""
    blade = build_blade(
        blades=2,
        diameter=1.30,
        hub_radius=0.06,
        radius=(0.08, 0.14, 0.22, 0.30, 0.39, 0.4875, 0.57, 0.63, 0.65),
        chord=(0.052, 0.068, 0.084, 0.090, 0.088, 0.078, 0.064, 0.046, 0.030),
        blade_angle=tuple(radians(a) for a in (26.0, 25.0, 21.5, 18.6, 15.6, 13.0, 11.2, 10.2, 9.8)),
        thickness=(0.24, 0.18, 0.14, 0.125, 0.12, 0.12, 0.115, 0.11, 0.105),
        axis=(0.30, 0.29, 0.27, 0.24, 0.20, 0.14, 0.08, 0.04, 0.02),
        section="flat_bottom",
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=24,
    )
    if air_moment:
        return blade
    return blade._replace(axis_lead=np.zeros_like(blade.radius), sections=linear_sections(blade.radius.size))


def demo_engine():
    """20 kW class two-stroke."""
    return build_engine(
        engine_speed=np.array([1600, 2500, 3500, 4500, 5500, 6500, 7200, 7800, 8400, 9000]) * RPM,
        torque=(8.0, 12.0, 15.6, 19.0, 22.4, 25.2, 26.2, 25.2, 21.6, 16.0),
        consumption=np.array([620, 560, 510, 475, 450, 440, 440, 450, 480, 530]) / 3.6e9,
        friction_torque=2.8,
        idle_speed=1900 * RPM,
        speed_limit=8300 * RPM,
        inertia=0.0026,
    )


def density_engine():
    """Engine whose full-throttle torque is in proportion to the density of the air, at every speed."""
    return build_engine(
        engine_speed=np.array([1600, 4500, 6500, 7200, 7800, 9000]) * RPM,
        torque=(8.0, 19.0, 25.2, 26.2, 25.2, 16.0),
        consumption=np.full(6, 450 / 3.6e9),
        friction_torque=2.8,
        idle_speed=1900 * RPM,
        speed_limit=8300 * RPM,
        inertia=0.0026,
        altitude_law="density",
    )


def demo_aircraft(**changes):
    """The whole machine with a two-stop hub; any part replaced by name."""
    inertia = untwisted_inertia()
    aircraft = new_aircraft(
        atmosphere=STANDARD_DAY,
        blade=demo_blade(),
        inertia=inertia,
        hub=two_stop_hub(13.0, 9.5),
        engine=demo_engine(),
        drive=Drive(2.68, 0.97),
        wing=build_wing(
            area=26.0,
            bar=(0.0, 0.5, 1.0),
            speed=(37.5 / 3.6, 43.5 / 3.6, 49.5 / 3.6),
            sink=(1.20, 1.60, 2.30),
            mass=100.0,
            density=1.225,
        ),
        dry_mass=121.0,
        fuel_start=7.0,
        fuel_reserve=0.7,
        drag_area=0.35,
        thrust_tilt=0.0,
        inflow_factor=0.85,
        thrust_loss=0.1,
        rotor_inertia=2 * inertia.second_moment + 0.004 + 2.68**2 * 0.0026,
        tailwind=0.0,
        air_moment_factor=1.0,
    )
    return with_parts(aircraft, **changes)
