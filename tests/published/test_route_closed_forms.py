"""Routes with closed-form answers, flown by the integrator of real ones with a formula for the machine."""

from dataclasses import replace
from math import degrees, exp, log, pi, radians, sqrt

import numpy as np
import pytest
from synthetic_route import Formula, leg, settings, steady

from simengine.constants import STANDARD_GRAVITY
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.geometry import (
    geodesic_course,
    steady_wind,
    wind_column,
    wind_triangle,
)
from simengine.studies.route.legs import BEST_ENDURANCE, BEST_RANGE
from simengine.studies.route.policy import SpeedSearch

PROMISE = 1e-3  # closed forms are to be met to 0.1 %

# J. D. Anderson, Introduction to Flight, example of the CP-1 airplane (worked example 6.12 in the edition
# seen), SI figures; its answers are printed as 1,940,549 m and 51,826 s.
CP1_WEIGHT, CP1_FUEL, CP1_AREA = 13127.5, 1632.5, 16.165  # [N], [N], [m2]
CP1_EFFICIENCY = 0.8
CP1_CONSUMPTION = 2.0025 / (3600.0 * 746.0)  # weight of fuel per power and time [N/(W s)]
CP1_RANGE, CP1_ENDURANCE = 1_940_549.0, 51_826.0
CP1_GLIDE, CP1_ENDURANCE_RATIO = 13.62, 12.81  # L/D, CL^1.5/CD
SEA_LEVEL_DENSITY = 1.225


def cp1(lift_coefficient, glide):
    """The airplane at a constant lift coefficient."""

    def airspeed(bar, mass):
        return sqrt(2.0 * mass * STANDARD_GRAVITY / (SEA_LEVEL_DENSITY * CP1_AREA * lift_coefficient))

    def flow(speed, mass, height):
        power = mass * STANDARD_GRAVITY * speed / (glide * CP1_EFFICIENCY)
        return CP1_CONSUMPTION * power / STANDARD_GRAVITY

    return Formula(airspeed, flow)


def cp1_settings():
    full = CP1_WEIGHT / STANDARD_GRAVITY
    fuel = CP1_FUEL / STANDARD_GRAVITY
    return settings(dry_mass=full - fuel, start_fuel=fuel)


def test_breguet_range_of_the_textbook_airplane():
    trip = fly_trip([leg(distance=CP1_RANGE)], cp1(0.6, CP1_GLIDE), cp1_settings(), 0.24)
    assert trip.fuel * STANDARD_GRAVITY == pytest.approx(CP1_FUEL, rel=PROMISE)


def test_breguet_endurance_of_the_textbook_airplane():
    glide = 11.8  # any: the lift coefficient follows from CL^1.5/CD
    lift_coefficient = (CP1_ENDURANCE_RATIO / glide) ** 2
    way = CP1_EFFICIENCY / CP1_CONSUMPTION * glide * log(CP1_WEIGHT / (CP1_WEIGHT - CP1_FUEL))
    trip = fly_trip([leg(distance=way)], cp1(lift_coefficient, glide), cp1_settings(), 0.24)
    assert trip.fuel * STANDARD_GRAVITY == pytest.approx(CP1_FUEL, rel=PROMISE)
    assert trip.time == pytest.approx(CP1_ENDURANCE, rel=PROMISE)


def powered(glide, efficiency, speed):
    """A paramotor of .45 kg/kWh at a constant speed."""
    consumption = 0.45 / 3.6e6

    def flow(airspeed, mass, height):
        return consumption * mass * STANDARD_GRAVITY * airspeed / (glide * efficiency)

    return Formula(lambda bar, mass: speed, flow)


def test_constant_speed_burns_along_an_exponential():
    # Closed form m0 exp(-c g V t / (eta L/D)); 4.2989 kg after 2 h is our own arithmetic, no outside number.
    machine = powered(glide=6.0, efficiency=0.5, speed=11.0)
    trip = fly_trip([leg(distance=11.0 * 7200.0)], machine, settings(dry_mass=125.0, start_fuel=10.0), 0.24)
    assert trip.fuel == pytest.approx(4.2989, rel=PROMISE)
    rate = 0.45 / 3.6e6 * STANDARD_GRAVITY * 11.0 / (0.5 * 6.0)
    step = rate * 20e3 / 11.0  # a midpoint step is off by a sixth of its share of the mass squared
    assert trip.fuel == pytest.approx(135.0 * (1.0 - exp(-rate * 7200.0)), rel=step**2 / 4.0)


def test_paramotor_range_after_breguet():
    # 130 kg with 9 kg of fuel, L/D 6, efficiency .55, .45 kg/kWh: 193.1 km, own arithmetic.
    machine = powered(glide=6.0, efficiency=0.55, speed=11.0)
    trip = fly_trip([leg(distance=193.1e3)], machine, settings(dry_mass=121.0, start_fuel=9.0), 0.24)
    assert trip.fuel == pytest.approx(9.0, rel=PROMISE)


@pytest.mark.parametrize(
    ("wind_from", "correction", "heading", "ground_speed"),
    [(45.0, -13.633, 76.367, 33.126), (270.0, 0.0, 90.0, 60.0)],
)
def test_wind_triangle(wind_from, correction, heading, ground_speed):
    # Airspeed 45, track 090, wind of 15: own arithmetic from the law of sines.
    found = wind_triangle(45.0, radians(90.0), 15.0, radians(wind_from))
    assert degrees(found.correction) == pytest.approx(correction, abs=5e-4)
    assert degrees(found.heading) == pytest.approx(heading, abs=5e-4)
    assert found.ground_speed == pytest.approx(ground_speed, abs=5e-4)


def test_wind_triangle_closes():
    """Air velocity plus wind velocity is ground velocity, as vectors."""
    track, wind_from = radians(213.0), radians(331.0)
    found = wind_triangle(13.0, track, 6.0, wind_from)
    east = 13.0 * np.sin(found.heading) - 6.0 * np.sin(wind_from)
    north = 13.0 * np.cos(found.heading) - 6.0 * np.cos(wind_from)
    assert east == pytest.approx(found.ground_speed * np.sin(track))
    assert north == pytest.approx(found.ground_speed * np.cos(track))


def test_wind_column_gives_back_what_was_put_in():
    column = wind_column(np.array([0.0, 1000.0]), np.array([3.0, 9.0]), np.radians([10.0, 10.0]))
    speed, direction = column.at(500.0)
    assert (speed, degrees(direction)) == pytest.approx((6.0, 10.0))


LITRE_PER_HOUR = 0.745 / 3600.0  # [kg/s] at 745 kg/m3


def best_range_speed(constant, linear, quadratic, headwind):
    """Airspeed of least fuel over the ground for a flow a + b V + c V^2."""
    return headwind + sqrt(headwind**2 + (constant + linear * headwind) / quadratic)


def quadratic_machine():
    """Fuel flow 5 - .45 V + .025 V^2 L/h, airspeed 8 to 22 m/s over the bar."""

    def flow(speed, mass, height):
        return LITRE_PER_HOUR * (5.0 - 0.45 * speed + 0.025 * speed**2)

    return Formula(lambda bar, mass: 8.0 + 14.0 * bar, flow)


@pytest.mark.parametrize(
    ("headwind", "speed", "flow", "km_per_litre"), [(0.0, 14.142, 3.636, 14.00), (5.0, 16.619, 4.426, 9.450)]
)
def test_best_range_with_quadratic_fuel_flow(headwind, speed, flow, km_per_litre):
    # Closed form V = w + sqrt(w^2 + (a + b w)/c); figures are own arithmetic from it.
    assert best_range_speed(5.0, -0.45, 0.025, headwind) == pytest.approx(speed, abs=5e-4)
    machine, asked = quadratic_machine(), leg(policy=BEST_RANGE, wind=steady_wind(headwind, 0.5 * pi))
    found = SpeedSearch(machine, settings(), 0.24).settled(asked, 10.0)
    trip = fly_trip([found], machine, settings(), 0.24)
    cruise = trip.legs[0].cruise
    assert cruise.airspeed == pytest.approx(speed, rel=PROMISE)
    assert cruise.fuel_flow / LITRE_PER_HOUR == pytest.approx(flow, rel=PROMISE)
    assert 100.0 / (trip.fuel / 0.745) == pytest.approx(km_per_litre, rel=PROMISE)


def test_best_endurance_with_quadratic_fuel_flow():
    """Least flow where its derivative is zero: V = -b / 2c = 9 m/s."""
    machine = quadratic_machine()
    found = SpeedSearch(machine, settings(), 0.24).settled(leg(policy=BEST_ENDURANCE), 10.0)
    assert machine.airspeed(found.speed.bar, 0.0) == pytest.approx(9.0, rel=PROMISE)


def test_still_air_out_and_back_is_twice_one_way():
    machine = steady()
    out = leg(distance=60e3)
    back = replace(out, start=60e3, track=1.5 * pi)
    one, both = (fly_trip(legs, machine, settings(), 0.24) for legs in ([out], [out, back]))
    assert (both.fuel, both.time) == pytest.approx((2.0 * one.fuel, 2.0 * one.time), rel=1e-12)


def test_wind_along_the_track_costs_more_out_than_it_gives_back():
    """Time out and back is 2 d V / (V^2 - w^2)."""
    wind = steady_wind(4.0, 0.5 * pi)
    out = leg(distance=60e3, wind=wind)
    trip = fly_trip([out, replace(out, start=60e3, track=1.5 * pi)], steady(speed=12.0), settings(), 0.24)
    assert trip.time == pytest.approx(2.0 * 60e3 * 12.0 / (12.0**2 - 4.0**2), rel=1e-9)


def test_climb_takes_the_height_over_the_rate():
    from math import sin

    machine = steady()
    trip = fly_trip([leg(height=1730.0)], machine, settings(), 0.24)
    flown = trip.legs[0]
    assert flown.climb_time == pytest.approx(1230.0 / (12.0 * sin(0.2)), rel=1e-9)
    assert flown.climb_fuel == pytest.approx(0.002 * flown.climb_time, rel=1e-9)


def test_geodesic_against_the_ellipsoid():
    # On WGS 84 the quarter meridian is 10,001,965.729 m (value from memory), and a degree of the equator
    # a pi/180 with a = 6,378,137 m (definition of WGS 84).
    assert geodesic_course(0.0, 0.0, 90.0, 0.0).distance == pytest.approx(10_001_965.729, abs=5e-4)
    along = geodesic_course(0.0, 0.0, 0.0, 1.0)
    assert along.distance == pytest.approx(6_378_137.0 * pi / 180.0, rel=1e-12)
    assert degrees(along.track) == pytest.approx(90.0)
