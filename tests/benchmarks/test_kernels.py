"""What compiling brings: own kernels against general libraries on the same equations, in one run.

Ratios are printed (`pytest tests/benchmarks -s`) and stored with the benchmark; no time is asserted, since it
is that of the machine. What is asserted is that both ways give the same answer.
"""

from math import pi, radians
from time import perf_counter

import numpy as np
import pytest
from machines import STANDARD_DAY, demo_aircraft, demo_blade, two_stop_hub
from numba import njit
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from simengine.balance.trim import level_flight
from simengine.flight.dynamics import derivatives
from simengine.flight.integrate import EVENT_ROW_SIZE, REACHED_END, ROW_SIZE, integrate_leg
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    DISTANCE,
    FUEL_USED,
    HEIGHT,
    ROTOR_SPEED,
    STATE_SIZE,
    THROTTLE_TRIM,
    Command,
    Leg,
)
from simengine.models import element, sections
from simengine.models.atmosphere import air_at
from simengine.models.friction import REST
from simengine.models.mechanism import FIXED
from simengine.models.momentum import rotor_loads

pytestmark = pytest.mark.slow

HOUR = 3600.0  # s
NEVER = float("inf")


def seconds(function, repeats):
    """Shortest of a few runs."""
    times = []
    for _ in range(repeats):
        start = perf_counter()
        function()
        times.append(perf_counter() - start)
    return min(times)


@njit
def many_loads(count, blade, blade_angle, rotor_speed, airspeed, air):
    """Thrust [N] of a propeller computed many times over."""
    thrust = 0.0
    for i in range(count):
        thrust = rotor_loads(blade, blade_angle + 1e-9 * i, rotor_speed, airspeed, air).thrust
    return thrust


def tell(benchmark, words, own, reference):
    """Print and keep the ratio of two times [s]."""
    ratio = reference / own
    benchmark.extra_info["ratio"] = ratio
    print(f"\n{words}: {1e6 * own:.1f} us against {1e6 * reference:.0f} us, ratio {ratio:.0f}")


@pytest.fixture
def readable(monkeypatch):
    """The blade element as plain Python."""
    for module in (sections, element):
        for name, function in list(vars(module).items()):
            if hasattr(function, "py_func"):
                monkeypatch.setattr(module, name, function.py_func)


def thrust_by_library(blade, blade_angle, rotor_speed, airspeed, air):
    """Thrust [N] with a library root finder at every station."""
    thrust = 0.0
    for i, (width, chord) in enumerate(zip(blade.width, blade.chord, strict=True)):
        here = element.element_at(blade, i, blade_angle, rotor_speed, airspeed, air)
        phi = brentq(lambda angle, here=here: element.residual(here, angle), -0.5 * pi, 0.5 * pi, xtol=1e-12)
        s, c = np.sin(phi), np.cos(phi)
        force = sections.coefficients(here.section, here.angle - phi)
        loss = element.prandtl_loss(here, abs(s))
        swirl = np.hypot(s, element.SWIRL_FLOOR)
        carried = 4.0 * loss * swirl * c + here.solidity * (force.cl * s + force.cd * c)
        speed = 4.0 * loss * swirl * here.turning / carried
        thrust += 0.5 * air.density * speed**2 * width * chord * (force.cl * c - force.cd * s)
    return blade.blades * thrust


def test_whole_propeller_against_a_library_root_finder_in_python(benchmark, readable):
    place = (demo_blade(), radians(11.0), 230.0, 10.0, air_at(STANDARD_DAY, 500.0))
    loads = benchmark(rotor_loads, *place)
    assert loads.thrust == pytest.approx(thrust_by_library(*place), rel=1e-8)
    repeats = 1000
    own = seconds(lambda: many_loads(repeats, *place), 20) / repeats  # as a kernel calls it
    tell(benchmark, "whole propeller", own, seconds(lambda: thrust_by_library(*place), 3))


def test_elements_in_step_against_one_by_one(benchmark):
    place = (radians(11.0), 230.0, 10.0, air_at(STANDARD_DAY, 500.0))
    blade = demo_blade()
    repeats = 1000
    benchmark(many_loads, repeats, blade, *place)
    one_by_one = blade._replace(lanes=blade.lanes[:0])
    assert many_loads(1, blade, *place) == pytest.approx(many_loads(1, one_by_one, *place), rel=1e-9)
    own, reference = (
        seconds(lambda each=each: many_loads(repeats, each, *place), 20) / repeats
        for each in (blade, one_by_one)
    )
    tell(benchmark, "elements in step", own, reference)


def cruise_with_a_fixed_propeller():
    """A machine, the command to hold 500 m for an hour, and the state at the start."""
    machine = demo_aircraft(hub=two_stop_hub(11.0, 11.0)._replace(kind=FIXED))
    mass = machine.dry_mass + machine.fuel_start
    level = level_flight(machine, air_at(machine.atmosphere, 500.0), mass, 0.0, radians(11.0), 0.0, 0.0, 0.0)
    state = np.zeros(STATE_SIZE)
    state[HEIGHT], state[AIRSPEED], state[BLADE_ANGLE] = 499.0, level.airspeed, level.blade_angle
    state[ROTOR_SPEED], state[THROTTLE_TRIM] = level.rotor_speed, level.throttle
    command = Command(
        start=0.0,
        end=HOUR,
        throttle_start=level.throttle,
        throttle_end=level.throttle,
        bar=0.0,
        airborne=True,
        headwind=0.0,
        hold_height=True,
        target_height=500.0,
        target_speed=level.airspeed,
        vertical_sense=0.0,
        distance_end=NEVER,
        ceiling_from=NEVER,
        pitch_target=level.blade_angle,
        ground_height=0.0,
    )
    return machine, command, state


def test_one_flight_hour_against_a_library_integrator(benchmark):
    machine, command, start = cruise_with_a_fixed_propeller()
    leg = Leg(machine, command, REST)
    rows, event_rows = np.empty((1000, ROW_SIZE)), np.empty((100, EVENT_ROW_SIZE))

    def own():
        end = start.copy()
        done = integrate_leg(machine, command, 0.0, end, 1e-3, REST, 1e-4, 10.0, rows, event_rows)
        assert done.status == REACHED_END
        return end

    def slope(time, state):
        out = np.empty(STATE_SIZE)
        derivatives(leg, time, state, out)
        return out

    def library():
        return solve_ivp(slope, (0.0, HOUR), start, method="Radau", rtol=1e-4, atol=1e-6).y[:, -1]

    end = benchmark(own)
    kept = [HEIGHT, DISTANCE, FUEL_USED]
    assert end[kept] == pytest.approx(library()[kept], rel=2e-4)
    tell(benchmark, "one flight hour", seconds(own, 20), seconds(library, 3))
