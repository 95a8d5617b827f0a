"""What is left over for the shift at full throttle, and what the air does to it as it thins."""

from math import isnan, radians

import numpy as np
import pytest
from machines import (
    STANDARD_DAY,
    demo_aircraft,
    demo_blade,
    density_engine,
    torsion_spring,
    two_stop_hub,
    untwisted_inertia,
)

from simengine.balance.aircraft import rotor_state
from simengine.balance.margin import shift_margin
from simengine.balance.pitch import balance_at, pitch_balance, shift_speed
from simengine.models.atmosphere import air_at
from simengine.models.friction import TO_FINE

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)
HEIGHTS = (0.0, 1500.0, 3000.0, 4500.0)
AXIAL_SPEED = 9.0


def machine(lead=0.0, preload=3.0, friction=0.1, engine=None):
    """Two-stop hub on blades whose quarter chord lies `lead` [m] ahead of the pitch axis all along.

    The sections know neither Reynolds nor Mach number, so that at a given speed air loads go with density.
    """
    blade = demo_blade(air_moment=False)
    blade = blade._replace(axis_lead=np.full(blade.radius.size, lead))
    hub = two_stop_hub(
        13.0, 9.5, spring=torsion_spring(preload, 30.0), friction_constant=friction, friction_arm=2e-5
    )
    return demo_aircraft(blade=blade, hub=hub, inertia=untwisted_inertia(), engine=engine or density_engine())


def margin_at(aircraft, height=0.0, axial_speed=AXIAL_SPEED):
    air = air_at(aircraft.atmosphere, height)
    return shift_margin(aircraft, air, axial_speed, aircraft.hub.coarse_stop)


def air_moment(aircraft, height, rotor_speed, axial_speed):
    air = air_at(aircraft.atmosphere, height)
    return rotor_state(aircraft, air, aircraft.hub.fine_stop, rotor_speed, axial_speed, 1.0).moments.air


PURE, HELPED, OPPOSED = machine(), machine(-0.012, 5.0), machine(0.006, 2.0)
HELD_BACK = machine(preload=10.0)


# --- the figures themselves ------------------------------------------------------------------------
@pytest.mark.parametrize(
    "aircraft", [PURE, HELPED, OPPOSED, HELD_BACK], ids=["pure", "helped", "opposed", "held back"]
)
@pytest.mark.parametrize("axial_speed", [0.0, 9.0])
def test_the_margin_is_that_of_the_balances_it_stands_for(aircraft, axial_speed):
    hub, margin = aircraft.hub, margin_at(aircraft, 0.0, axial_speed)
    fine = balance_at(aircraft, SEA_LEVEL, hub.fine_stop, axial_speed, 1.0, 0.0)
    finish = shift_speed(aircraft, SEA_LEVEL, hub.fine_stop, axial_speed, TO_FINE, False)
    reached = pitch_balance(aircraft, SEA_LEVEL, hub.coarse_stop, axial_speed, 1.0, 0.0)
    assert margin.finish_speed == pytest.approx(finish, rel=1e-12)
    assert margin.speed == pytest.approx(fine.rotor_speed - finish, rel=1e-9)
    assert margin.moment == pytest.approx(-fine.net - fine.friction, rel=1e-9)
    assert (margin.full_throttle_speed, margin.blade_angle) == pytest.approx(reached[1::-1], rel=1e-9)


@pytest.mark.parametrize("aircraft", [PURE, HELPED, OPPOSED], ids=["pure", "helped", "opposed"])
def test_at_the_finishing_speed_nothing_is_left(aircraft):
    margin = margin_at(aircraft)
    state = rotor_state(aircraft, SEA_LEVEL, aircraft.hub.fine_stop, margin.finish_speed, AXIAL_SPEED, 1.0)
    left = -sum(state.moments[:4]) - state.moments.friction
    assert left == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("preload", [2.0, 5.0, 6.5, 8.0, 10.0])
def test_rotor_speed_and_moment_agree_on_whether_the_shift_finishes(preload):
    margin = margin_at(machine(preload=preload))
    assert (margin.speed > 0.0) == (margin.moment > 0.0)
    assert (margin.blade_angle == radians(9.5)) == (margin.moment > 0.0)


def test_both_answers_come_up_in_that_test():
    assert margin_at(machine(preload=2.0)).moment > 0.0 > margin_at(HELD_BACK).moment


def test_a_spring_that_no_speed_overcomes_leaves_no_finishing_speed():
    margin = margin_at(machine(preload=60.0))
    assert isnan(margin.finish_speed) and isnan(margin.speed)
    assert margin.moment < 0.0
    assert margin.blade_angle == radians(13.0)


def test_more_preload_costs_as_much_moment():
    soft, hard = margin_at(machine(preload=3.0)), margin_at(machine(preload=3.5))
    assert soft.moment - hard.moment == pytest.approx(0.5, rel=1e-6)
    assert hard.finish_speed > soft.finish_speed


# --- altitude --------------------------------------------------------------------------------------
# At one rotor speed the twist of the masses and the spring do not know the air, and the moment of the air
# goes with its density (dimensional analysis: every air load is rho n2 D4 times a function of V/nD).
@pytest.mark.parametrize("aircraft", [PURE, HELPED, OPPOSED], ids=["pure", "helped", "opposed"])
@pytest.mark.parametrize("height", HEIGHTS)
def test_on_an_engine_that_goes_with_density_the_rotor_speed_stays(aircraft, height):
    low, high = margin_at(aircraft), margin_at(aircraft, height)
    assert high.full_throttle_speed == pytest.approx(low.full_throttle_speed, rel=1e-6)


def test_the_three_machines_are_what_they_are_called():
    fine = balance_at(HELPED, SEA_LEVEL, HELPED.hub.fine_stop, AXIAL_SPEED, 1.0, 0.0).rotor_speed
    assert air_moment(PURE, 0.0, fine, AXIAL_SPEED) == pytest.approx(0.0, abs=1e-12)
    assert air_moment(HELPED, 0.0, fine, AXIAL_SPEED) < -1.0
    assert air_moment(OPPOSED, 0.0, fine, AXIAL_SPEED) > 0.5
    for aircraft in (PURE, HELPED, OPPOSED):
        assert margin_at(aircraft).moment > 0.0


@pytest.mark.parametrize("height", HEIGHTS[1:])
def test_a_hub_moved_by_its_masses_alone_keeps_its_margin(height):
    low, high = margin_at(PURE), margin_at(PURE, height)
    assert high.moment == pytest.approx(low.moment, rel=1e-6)
    assert high.speed == pytest.approx(low.speed, rel=1e-6)


@pytest.mark.parametrize("aircraft", [HELPED, OPPOSED], ids=["helped", "opposed"])
@pytest.mark.parametrize("height", HEIGHTS[1:])
def test_the_moment_margin_changes_by_what_the_air_s_moment_loses(aircraft, height):
    low, high = margin_at(aircraft), margin_at(aircraft, height)
    fine = balance_at(aircraft, SEA_LEVEL, aircraft.hub.fine_stop, AXIAL_SPEED, 1.0, 0.0).rotor_speed
    density_ratio = air_at(STANDARD_DAY, height).density / SEA_LEVEL.density
    lost = (density_ratio - 1.0) * air_moment(aircraft, 0.0, fine, AXIAL_SPEED)
    assert high.moment - low.moment == pytest.approx(-lost, rel=1e-6)


def test_the_margin_of_a_hub_helped_by_the_air_falls_with_altitude():
    margins = [margin_at(HELPED, height) for height in HEIGHTS]
    assert np.all(np.diff([margin.moment for margin in margins]) < -0.1)
    assert np.all(np.diff([margin.speed for margin in margins]) < -1.0)


def test_the_margin_of_a_hub_opposed_by_the_air_rises_with_altitude():
    margins = [margin_at(OPPOSED, height) for height in HEIGHTS]
    assert np.all(np.diff([margin.moment for margin in margins]) > 0.05)
    assert np.all(np.diff([margin.speed for margin in margins]) > 0.5)


def test_an_engine_that_loses_more_than_density_costs_even_the_pure_hub_some_margin():
    # Gagg and Farrar, SAE Trans. 29 (1934) 217 (from memory): P/P0 = 1.1325 sigma - 0.1325.
    aircraft = demo_aircraft(hub=PURE.hub, blade=PURE.blade, inertia=PURE.inertia)
    margins = [margin_at(aircraft, height).speed for height in HEIGHTS]
    assert np.all(np.diff(margins) < 0.0)
