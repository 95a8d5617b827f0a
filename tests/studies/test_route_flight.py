"""Legs one after the other: sums, history, and what cannot be flown, with a made-up machine."""

from math import nan, pi

import numpy as np
import pytest
from synthetic_route import leg, settings, steady, terrain

from simengine.balance.pitch import HUNG
from simengine.balance.trim import JUMPS, TOO_LITTLE_POWER
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.geometry import steady_wind, wind_column
from simengine.studies.route.performance import SLOW_OR_FAST, Speed
from simengine.studies.route.policy import SpeedSearch, least, settled_legs

ANGLE = 0.24


def flown(legs, machine=None, **changes):
    return fly_trip(legs, machine or steady(), settings(**changes), ANGLE)


def test_legs_add_up_to_the_trip():
    legs = [leg(distance=30e3), leg(start=30e3, distance=50e3, height=900.0), leg(start=80e3, distance=20e3)]
    trip = flown(legs, landing=True)
    assert trip.fuel == pytest.approx(sum(one.fuel for one in trip.legs), rel=1e-14)
    assert trip.time == pytest.approx(sum(one.time for one in trip.legs), rel=1e-14)
    assert trip.legs[-1].fuel_left == pytest.approx(50.0 - trip.fuel)
    assert trip.legs[-1].path[-1].time == pytest.approx(trip.time)
    assert trip.possible


def test_a_cut_leg_is_the_same_flight():
    whole = flown([leg(distance=100e3)])
    cut = flown([leg(distance=40e3), leg(start=40e3, distance=60e3)])
    assert cut.fuel == pytest.approx(whole.fuel, rel=1e-12)


@pytest.mark.parametrize("wind_from", [0.5 * pi, 0.0])
def test_too_strong_a_wind_stops_its_own_leg_only(wind_from):
    legs = [
        leg(distance=10e3),
        leg(start=10e3, distance=10e3, wind=steady_wind(15.0, wind_from)),
        leg(start=20e3, distance=10e3),
    ]
    trip = flown(legs)
    assert [bool(one.problems) for one in trip.legs] == [False, True, False]
    assert "stronger than the airspeed" in trip.legs[1].problems[0]
    assert "54 km/h" in trip.legs[1].problems[0]
    assert trip.legs[2].fuel == pytest.approx(trip.legs[0].fuel)


def test_short_fuel_is_told_with_litres_and_flown_on():
    trip = flown([leg(distance=60e3), leg(start=60e3, distance=60e3)], start_fuel=6.0, reserve=0.745)
    assert not trip.legs[0].problems
    assert "fuel short" in trip.legs[1].problems[0]
    assert "reserve of 1.00 L" in trip.legs[1].problems[0]
    assert trip.fuel == pytest.approx(8.0)


def test_reserve_by_time_counts_where_it_is_more():
    long = flown([leg(distance=12e3)], start_fuel=2.0, reserve=0.1, reserve_time=3600.0)
    assert "fuel short" in long.legs[0].problems[0]


def test_ground_too_high_is_told_with_place():
    ground = terrain((0, 0), (40e3, 480), (100e3, 0))
    trip = flown([leg()], ground=ground, clearance=150.0)
    assert trip.legs[0].problems == [
        "the ground stands at 480 m at km 40.0: with 150 m clearance the leg needs 630 m, it has 500 m"
    ]
    assert trip.legs[0].fuel > 0.0


def test_ceiling_is_told_and_the_leg_flown_below_it():
    machine = steady()
    machine.ceiling = 1000.0
    trip = flown([leg(height=2000.0)], machine)
    assert "above the ceiling: full throttle climbs no higher than 1000 m" in trip.legs[0].problems[0]
    assert trip.legs[0].height == pytest.approx(1000.0)
    assert trip.legs[0].cruise_distance > 90e3


@pytest.mark.parametrize(
    ("status", "words"),
    [
        (JUMPS, "no throttle holds this height steadily"),
        (TOO_LITTLE_POWER, "full throttle does not hold this height"),
        (SLOW_OR_FAST, "no bar position gives the airspeed"),
    ],
)
def test_level_flight_that_is_not_there_is_told(status, words):
    machine = steady()
    machine.status = status
    assert words in flown([leg()], machine).legs[0].problems[0]


def test_hung_blades_are_told_and_their_fuel_kept():
    machine = steady()
    machine.state = HUNG
    one = flown([leg()], machine).legs[0]
    assert "hang between the stops at 13.8 deg" in one.problems[0]
    assert one.fuel > 0.0


def test_a_stop_fills_the_tank_and_lands():
    legs = [leg(refuel=20.0, stop_height=100.0), leg(start=100e3)]
    trip = flown(legs, start_fuel=10.0)
    assert trip.legs[0].refuelled == pytest.approx(20.0 - trip.legs[0].fuel_left)
    assert trip.legs[1].climb_time > 0.0
    assert trip.legs[0].path[-1].height == pytest.approx(100.0)


def test_a_leg_too_short_for_its_climb_says_so():
    one = flown([leg(distance=1e3, height=3000.0)]).legs[0]
    assert "the leg ends on the way up to 3000 m" in one.notes
    assert one.path[-1].distance == pytest.approx(1e3)


def test_best_height_follows_the_wind():
    """Flow grows with height: low without wind, high where the tail wind more than pays."""
    machine = steady()
    machine.flow = lambda speed, mass, height: 0.0008 * (1.0 + height / 20e3)
    asked = leg(height=nan, search=(600.0, 2000.0), distance=200e3)
    still = settled_legs([asked], SpeedSearch(machine, settings(), ANGLE))[0]
    assert still.height == pytest.approx(600.0, abs=30.0)
    rising = wind_column(np.array([0.0, 3000.0]), np.array([0.0, 12.0]), np.array([1.5 * pi, 1.5 * pi]))
    helped = settled_legs(
        [leg(height=nan, search=(600.0, 2000.0), distance=200e3, wind=rising)],
        SpeedSearch(machine, settings(), ANGLE),
    )[0]
    assert helped.height == pytest.approx(2000.0, abs=30.0)


def test_best_height_clears_the_ground():
    ground = terrain((0, 0), (40e3, 900), (100e3, 0))
    search = SpeedSearch(steady(), settings(ground=ground, clearance=150.0), ANGLE)
    found = settled_legs([leg(height=nan, search=(600.0, 2000.0))], search)[0]
    assert found.height >= 1050.0


def test_best_range_keeps_inside_the_throttle():
    machine = steady()
    machine.airspeed = lambda bar, mass: 8.0 + 14.0 * bar
    machine.flow = lambda speed, mass, height: 2e-4 * (5.0 - 0.45 * speed + 0.025 * speed**2)
    search = SpeedSearch(machine, settings(most_bar=0.3), ANGLE)
    assert search.settled(leg(policy="best_range"), 10.0).speed == Speed(0.3)


def test_least_looks_past_jumps():
    found = least(
        lambda x: (x - 3.0) ** 2 if x < 4.0 else -100.0 + x if x > 7.0 else float("inf"), 0.0, 9.0, 19, 1e-4
    )
    assert found == pytest.approx(7.0, abs=0.51)


def test_a_climb_into_rising_ground_is_told():
    ground = terrain((0, 500), (2e3, 1200), (100e3, 0))
    one = flown([leg(height=2000.0)], ground=ground).legs[0]
    assert "above the way up or down" in one.problems[0]


def test_a_landing_place_above_the_way_is_told():
    trip = flown([leg(distance=10e3, height=600.0)], landing=True, landing_height=900.0)
    assert "landing place at 900 m is higher than the 600 m flown" in trip.legs[0].problems[0]
