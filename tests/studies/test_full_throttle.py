"""Points of the envelope: closed forms, the slow way round, and what altitude does."""

from math import isnan, radians, sqrt

import numpy as np
import pytest
from flights import demo_machine
from machines import (
    STANDARD_DAY,
    demo_aircraft,
    demo_blade,
    density_engine,
    torsion_spring,
    two_stop_hub,
    untwisted_inertia,
)

from simengine.balance.level import level_flight
from simengine.balance.pitch import COARSE, FINE, HUNG
from simengine.balance.trim import JUMPS, REACHED, TOO_LITTLE_POWER, steady_flight
from simengine.constants import RPM
from simengine.models.atmosphere import air_at
from simengine.studies.full_throttle import full_throttle, ground, least_drive, shift_speeds
from simengine.studies.level_flight import level
from simengine.studies.machine import condition_at, machine_of

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)
INERTIA = 5.38134e-4  # K [kg m2]
PRELOAD = 6.26099  # M0 [N m]


def closed_form_machine(rate=0.0, friction=0.0, arm=0.0, coarse=18.0, fine=13.0):
    """Centrifugal twist against a torsion spring, no air moment."""
    hub = two_stop_hub(
        coarse, fine, spring=torsion_spring(PRELOAD, rate), friction_constant=friction, friction_arm=arm
    )
    return machine_of(demo_aircraft(hub=hub, inertia=untwisted_inertia(), blade=demo_blade(air_moment=False)))


def propeller_rpm(machine, axial_speed=0.0, height=0.0):
    air = air_at(STANDARD_DAY, height)
    return [speed / machine.reduction / RPM for speed in shift_speeds(machine, air, axial_speed)]


# --- closed forms ----------------------------------------------------------------------------------
# Own arithmetic from Omega1^2 = M0/(K s_c), Omega2^2 = (M0 + k db)/(K s_f): a guard, not a validation.
@pytest.mark.parametrize(("rate", "finish"), [(0.0, 2200.1), (5.0, 2275.5), (20.0, 2487.9), (60.0, 2981.3)])
@pytest.mark.parametrize("height", [0.0, 3000.0])
def test_closed_form_shift_comes_out_within_one_rpm(rate, finish, height):
    begin, found, leaves, back = propeller_rpm(closed_form_machine(rate), height=height)
    assert [begin, found] == pytest.approx([1900.0, finish], abs=1.0)
    assert [back, leaves] == pytest.approx([begin, found], abs=1.0)


def test_even_a_spring_without_rate_needs_the_rpm_to_rise_between_begin_and_finish():
    begin, finish, _, _ = propeller_rpm(closed_form_machine())
    assert finish / begin == pytest.approx(sqrt(np.sin(radians(36.0)) / np.sin(radians(26.0))), abs=1e-4)


@pytest.mark.parametrize(
    ("friction", "begin", "finish", "leaves_fine", "back"),
    [(0.3, 1945.0, 2534.1, 2440.9, 1853.9), (1.0, 2046.1, 2638.7, 2327.4, 1741.7)],
)
def test_closed_form_shift_and_return_with_constant_friction(friction, begin, finish, leaves_fine, back):
    found = propeller_rpm(closed_form_machine(20.0, friction))
    assert found == pytest.approx([begin, finish, leaves_fine, back], abs=1.0)


@pytest.mark.parametrize(("coefficient", "up", "down"), [(0.004, 2054.0, 1776.2), (0.01, 2376.4, 1628.8)])
def test_closed_form_shift_with_friction_of_the_pull(coefficient, up, down):
    begin, _, _, back = propeller_rpm(closed_form_machine(arm=coefficient * 0.020))
    assert [begin, back] == pytest.approx([up, down], abs=1.0)


def test_the_margin_is_what_the_closed_form_leaves():
    machine = closed_form_machine(20.0, coarse=13.0, fine=9.5)
    full = full_throttle(machine, condition_at(STANDARD_DAY, 0.0, 128.0, 0.0))
    finish = sqrt((PRELOAD + 20.0 * radians(3.5)) / (0.5 * INERTIA * np.sin(radians(19.0))))
    assert full.margin_speed / RPM == pytest.approx(
        (full.speed_fine - machine.reduction * finish) / RPM, abs=1.0
    )


def test_a_hub_whose_blades_the_loads_do_not_move_has_no_shift():
    machine = machine_of(demo_machine("climb_and_cruise_fixed"))
    condition = condition_at(STANDARD_DAY, 500.0, 128.0, 0.0)
    assert all(isnan(speed) for speed in shift_speeds(machine, condition.air, 9.0))
    full = full_throttle(machine, condition)
    assert isnan(full.margin_speed) and isnan(full.margin_moment)
    assert full.engine_speed == full.speed_coarse == full.speed_fine > 0.0
    assert full.climb_rate > 0.0


# --- the short way agrees with the long ------------------------------------------------------------
@pytest.mark.parametrize("name", ["second_engine", "climb_and_cruise", "disc_washer_hub", "torsion_hub"])
@pytest.mark.parametrize("height", [300.0, 1500.0, 4500.0])
def test_full_throttle_is_that_of_the_steady_flight_from_coarse(name, height):
    aircraft = demo_machine(name)
    machine = machine_of(aircraft)
    condition = condition_at(aircraft.atmosphere, height, 130.0, 0.5)
    full = full_throttle(machine, condition)
    flight = steady_flight(aircraft, condition.air, 130.0, 0.5, 1.0, machine.coarse_stop, 0.0)
    assert full.blade_angle == pytest.approx(flight.blade_angle, abs=1e-6)
    assert full.engine_speed / machine.reduction == pytest.approx(flight.rotor_speed, abs=1e-3)
    assert full.airspeed == pytest.approx(flight.airspeed, rel=1e-6)
    assert (full.drive > 0.0) == (full.pitch_state == FINE)
    assert least_drive(machine, condition) == pytest.approx(full.drive, abs=0.05)


def test_fine_hung_and_coarse_come_up():
    machine = machine_of(demo_machine("second_engine"))

    def state(height):
        return full_throttle(machine, condition_at(STANDARD_DAY, height, 130.0, 0.0)).pitch_state

    stiff = closed_form_machine(20.0, coarse=13.0, fine=9.5)
    strong = machine_of(demo_aircraft(hub=two_stop_hub(13.0, 9.5, spring=torsion_spring(60.0, 20.0))))
    assert state(500.0) == FINE
    assert state(3000.0) == HUNG
    assert full_throttle(strong, condition_at(STANDARD_DAY, 0.0, 128.0, 0.0)).pitch_state == COARSE
    assert full_throttle(stiff, condition_at(STANDARD_DAY, 0.0, 128.0, 0.0)).pitch_state in (HUNG, FINE)


@pytest.mark.parametrize("name", ["second_engine", "torsion_hub"])
@pytest.mark.parametrize(("height", "bar"), [(300.0, 0.0), (2000.0, 0.0), (2000.0, 1.0), (4000.0, 0.5)])
def test_level_flight_is_that_of_the_long_way(name, height, bar):
    aircraft = demo_machine(name)
    machine = machine_of(aircraft)
    condition = condition_at(aircraft.atmosphere, height, 130.0, bar)
    short = level(machine, condition, 0.0, 0.0)
    long = level_flight(aircraft, condition.air, 130.0, bar, machine.coarse_stop, 0.0, 0.0, 0.0)
    assert short.status == long.status
    if short.status == REACHED:
        assert short.throttle == pytest.approx(long.throttle, abs=1e-5)
        assert short.engine_speed / machine.reduction == pytest.approx(long.rotor_speed, rel=1e-5)
        assert short.blade_angle == pytest.approx(long.blade_angle, abs=1e-4)
    elif short.status == JUMPS:
        assert short.throttle == pytest.approx(long.throttle, abs=3e-4)


def test_where_full_throttle_sinks_there_is_too_little_power_for_level_flight():
    aircraft = demo_machine("second_engine")
    machine = machine_of(aircraft)
    condition = condition_at(aircraft.atmosphere, 4500.0, 150.0, 1.0)
    full = full_throttle(machine, condition)
    assert full.climb_rate < 0.0
    short = level(machine, condition, 0.0, 0.0, full)
    long = level_flight(aircraft, condition.air, 150.0, 1.0, machine.coarse_stop, 0.0, 0.0, 0.0)
    assert short.status == long.status == TOO_LITTLE_POWER
    assert short.throttle == long.throttle == 1.0
    assert short.engine_speed / machine.reduction == pytest.approx(long.rotor_speed, rel=1e-6)
    assert short.blade_angle == pytest.approx(long.blade_angle, abs=1e-6)


def test_on_the_ground_the_shift_needs_no_more_than_in_the_climb_where_the_air_helps():
    machine = machine_of(demo_machine("second_engine"))
    full = ground(machine, SEA_LEVEL)
    in_climb = full_throttle(machine, condition_at(STANDARD_DAY, 0.0, 130.0, 0.0))
    assert full.margin_moment > in_climb.margin_moment
    assert full.thrust > in_climb.thrust


# --- altitude --------------------------------------------------------------------------------------
def altitude_machine(lead, preload):
    """Quarter chord `lead` [m] ahead of the pitch axis all along; sections without Reynolds number."""
    blade = demo_blade(air_moment=False)
    blade = blade._replace(axis_lead=np.full(blade.radius.size, lead))
    hub = two_stop_hub(
        13.0, 9.5, spring=torsion_spring(preload, 30.0), friction_constant=0.1, friction_arm=2e-5
    )
    return machine_of(
        demo_aircraft(blade=blade, hub=hub, inertia=untwisted_inertia(), engine=density_engine())
    )


def test_air_twist_that_helps_opposes_or_is_absent_makes_the_margin_fall_rise_or_stay():
    # At one rotor speed only the air's moment knows the density; an engine in proportion to density keeps
    # the rotor speed. Tied down, so that no air speed changes with height.
    margins = {
        what: np.array(
            [
                ground(altitude_machine(lead, preload), air_at(STANDARD_DAY, height)).margin_moment
                for height in (0.0, 1500.0, 3000.0, 4500.0)
            ]
        )
        for what, lead, preload in (("helps", -0.012, 5.0), ("opposes", 0.006, 2.0), ("absent", 0.0, 3.0))
    }
    assert np.all(np.diff(margins["helps"]) < -0.1)
    assert np.all(np.diff(margins["opposes"]) > 0.05)
    assert margins["absent"] == pytest.approx(np.full(4, margins["absent"][0]), rel=1e-6)


def test_in_the_climb_the_same_holds_but_for_the_faster_flight_in_thin_air():
    # True air speed rises with altitude and unloads the disc; what the pure hub loses is that alone.
    def change(lead, preload):
        machine = altitude_machine(lead, preload)
        low, high = (
            full_throttle(machine, condition_at(STANDARD_DAY, height, 128.0, 0.0)).margin_moment
            for height in (0.0, 3000.0)
        )
        return high - low

    assert change(-0.012, 5.0) < change(0.0, 3.0) < change(0.006, 2.0)
    assert change(-0.012, 5.0) < 0.0 < change(0.006, 2.0)
