"""Bracket and root hazards: blade angles from -5 to 90 degrees, from standstill to overspeed."""

import numpy as np
import pytest
from flights import demo_machine
from machines import STANDARD_DAY

from simengine.balance.aircraft import with_parts
from simengine.balance.equilibria import all_equilibria
from simengine.balance.pitch import pitch_balance
from simengine.balance.rotor import steady_rotor_speed, torque_excess
from simengine.constants import DEGREE
from simengine.models.atmosphere import air_at
from simengine.models.blade import nothing_known
from simengine.models.momentum import rotor_loads
from simengine.studies.machine import condition_at, held_flight, machine_of

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)
ANGLES = np.arange(-5.0, 90.1, 2.5) * DEGREE


@pytest.fixture(scope="module")
def aircraft():
    return demo_machine("climb_and_cruise")


AXIAL_SPEEDS = (0.0, 1.0, 9.0, 14.0, 30.0)


@pytest.mark.parametrize("axial_speed", AXIAL_SPEEDS)
@pytest.mark.parametrize("rotor_speed", [100.0, 150.0, 300.0, 480.0])
def test_every_element_of_a_rotor_that_runs_finds_its_root(aircraft, axial_speed, rotor_speed):
    for angle in ANGLES:
        loads = rotor_loads(aircraft.blade, angle, rotor_speed, axial_speed, SEA_LEVEL)
        assert loads.status == 0.0
        assert np.all(np.isfinite(loads[:4]))


@pytest.mark.parametrize("axial_speed", AXIAL_SPEEDS)
@pytest.mark.parametrize("rotor_speed", [0.0, 5.0, 20.0, 60.0])
def test_elements_of_a_rotor_that_hardly_turns_have_roots_or_are_counted(aircraft, axial_speed, rotor_speed):
    elements = aircraft.blade.radius.size
    for angle in ANGLES:
        loads = rotor_loads(aircraft.blade, angle, rotor_speed, axial_speed, SEA_LEVEL)
        assert 0.0 <= loads.status <= elements
        assert np.all(np.isfinite(loads[:4]))


@pytest.mark.parametrize("throttle", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("axial_speed", [0.0, 9.0])
def test_the_rotor_speed_is_a_root_or_nothing_at_every_blade_angle(aircraft, throttle, axial_speed):
    turning, inflow = 0, nothing_known(aircraft.blade)
    for angle in ANGLES:
        speed = steady_rotor_speed(aircraft, SEA_LEVEL, angle, axial_speed, throttle, 0.0, inflow)
        assert np.isfinite(speed) and speed >= 0.0
        if speed > 0.0:
            excess = torque_excess(aircraft, SEA_LEVEL, angle, speed, axial_speed, throttle, inflow)
            assert abs(excess) < 1e-4
            turning += 1
    assert turning > 5


def test_a_travel_from_minus_five_to_ninety_degrees_is_searched_whole(aircraft):
    wide = with_parts(aircraft, hub=aircraft.hub._replace(coarse_stop=90.0 * DEGREE, fine_stop=-5.0 * DEGREE))
    for throttle in (0.1, 0.4, 1.0):
        found = all_equilibria(wide, SEA_LEVEL, 9.0, throttle)
        assert found
        assert all(np.isfinite([e.blade_angle, e.rotor_speed, e.net, e.growth_rate]).all() for e in found)
        reached = pitch_balance(wide, SEA_LEVEL, 14.0 * DEGREE, 9.0, throttle, 0.0)
        assert np.isfinite(reached).all()
        assert -5.0 * DEGREE <= reached.blade_angle <= 90.0 * DEGREE


def test_a_flight_with_the_blades_held_anywhere_is_finite(aircraft):
    machine = machine_of(aircraft)
    condition = condition_at(STANDARD_DAY, 1000.0, 130.0, 0.0)
    for angle in ANGLES[::3]:
        flight = held_flight(machine, condition, angle)
        assert np.isfinite(flight).all()
        assert 5.0 < flight.airspeed < 30.0
