"""Two-stop balance against closed forms, and pitch on a history."""

from math import pi, radians

import numpy as np
import pytest
from machines import STANDARD_DAY, demo_aircraft, demo_blade, torsion_spring, two_stop_hub, untwisted_inertia

from simengine.balance.pitch import balance_at, pitch_balance, shift_speed
from simengine.models.atmosphere import air_at
from simengine.models.friction import TO_COARSE, TO_FINE

RPM = 2.0 * pi / 60.0
SEA_LEVEL = air_at(STANDARD_DAY, 0.0)


def closed_form_aircraft(rate=0.0, friction=0.0, arm=0.0):
    """Centrifugal twist against a spring, no air moment: K 5.38134e-4 kg m2, 18 to 13 deg, M0 6.26099 N m."""
    hub = two_stop_hub(spring=torsion_spring(6.26099, rate), friction_constant=friction, friction_arm=arm)
    return demo_aircraft(hub=hub, inertia=untwisted_inertia(), blade=demo_blade(air_moment=False))


def propeller_rpm(aircraft, angle, direction):
    return shift_speed(aircraft, SEA_LEVEL, radians(angle), 0.0, direction, False) / RPM


# Own arithmetic from Omega1^2 = M0/(K s_c), Omega2^2 = (M0 + k db)/(K s_f): a guard, not a validation.
@pytest.mark.parametrize(("rate", "finish"), [(0.0, 2200.1), (5.0, 2275.5), (20.0, 2487.9), (60.0, 2981.3)])
def test_shift_without_friction_begins_and_finishes_as_the_closed_form(rate, finish):
    aircraft = closed_form_aircraft(rate)
    assert propeller_rpm(aircraft, 18.0, TO_FINE) == pytest.approx(1900.0, abs=0.05)
    assert propeller_rpm(aircraft, 13.0, TO_FINE) == pytest.approx(finish, abs=0.05)


@pytest.mark.parametrize(
    ("friction", "begin", "finish", "leaves_fine", "back"),
    [(0.3, 1945.0, 2534.1, 2440.9, 1853.9), (1.0, 2046.1, 2638.7, 2327.4, 1741.7)],
)
def test_constant_friction_parts_shift_and_return(friction, begin, finish, leaves_fine, back):
    aircraft = closed_form_aircraft(20.0, friction)
    passages = [
        propeller_rpm(aircraft, angle, direction)
        for angle, direction in ((18.0, TO_FINE), (13.0, TO_FINE), (13.0, TO_COARSE), (18.0, TO_COARSE))
    ]
    assert passages == pytest.approx([begin, finish, leaves_fine, back], abs=0.05)


@pytest.mark.parametrize(("coefficient", "up", "down"), [(0.004, 2054.0, 1776.2), (0.01, 2376.4, 1628.8)])
def test_friction_of_the_pull_acts_as_a_change_of_the_centrifugal_twist(coefficient, up, down):
    aircraft = closed_form_aircraft(0.0, 0.0, coefficient * 0.020)
    assert propeller_rpm(aircraft, 18.0, TO_FINE) == pytest.approx(up, abs=0.05)
    assert propeller_rpm(aircraft, 18.0, TO_COARSE) == pytest.approx(down, abs=0.05)


def test_a_plain_thrust_face_locks_the_blade():
    # mu_crit = K s / (r_m m r_bar) = .0236 at 15 deg; plain bearings have .08 and more (common practice).
    aircraft = closed_form_aircraft(0.0, 0.0, 0.08 * 0.020)
    assert np.isnan(propeller_rpm(aircraft, 15.0, TO_FINE))


def throttle_sweep(aircraft, openings, start):
    angle, angles, speeds = start, [], []
    for opening in openings:
        balance = pitch_balance(aircraft, SEA_LEVEL, angle, 0.0, opening, 0.0)
        angle = balance.blade_angle
        angles.append(angle)
        speeds.append(balance.rotor_speed)
    return np.array(angles), np.array(speeds)


def sweep_aircraft(friction=0.3):
    """A spring stiff enough for the blade to slide through its travel and not to snap."""
    hub = two_stop_hub(13.0, 9.5, spring=torsion_spring(5.4, 90.0), friction_constant=friction)
    return demo_aircraft(hub=hub)


def test_opening_and_closing_the_throttle_shows_hysteresis_and_comes_back():
    aircraft = sweep_aircraft()
    openings = np.linspace(0.0, 1.0, 101)
    up, up_speed = throttle_sweep(aircraft, openings, aircraft.hub.coarse_stop)
    down, _ = throttle_sweep(aircraft, openings[::-1], up[-1])
    assert up[0] == aircraft.hub.coarse_stop
    assert up[-1] == aircraft.hub.fine_stop
    assert down[-1] == aircraft.hub.coarse_stop
    assert np.all(np.diff(up) <= 1e-12) and np.all(np.diff(down) >= -1e-12)
    lag = up - down[::-1]  # at one opening the blade is finer on the way back
    assert lag.min() > -1e-9
    assert lag.max() > radians(0.2)
    assert np.all(np.diff(up_speed) > 0)


def test_the_swept_shift_agrees_with_the_moment_balance_on_the_stops():
    aircraft = sweep_aircraft()
    openings = np.linspace(0.0, 1.0, 1001)
    angles, speeds = throttle_sweep(aircraft, openings, aircraft.hub.coarse_stop)
    left = np.argmax(angles < aircraft.hub.coarse_stop - 1e-9)
    home = np.argmax(angles == aircraft.hub.fine_stop)
    expected_left = shift_speed(aircraft, SEA_LEVEL, aircraft.hub.coarse_stop, 0.0, TO_FINE, False)
    expected_home = shift_speed(aircraft, SEA_LEVEL, aircraft.hub.fine_stop, 0.0, TO_FINE, False)
    assert speeds[left - 1] <= expected_left <= speeds[left]
    assert speeds[home - 1] <= expected_home <= speeds[home]


def test_a_blade_at_rest_inside_the_friction_band_stays_exactly_where_it_was():
    aircraft = sweep_aircraft(friction=1.5)
    sliding = pitch_balance(aircraft, SEA_LEVEL, aircraft.hub.coarse_stop, 0.0, 0.3, 0.0)
    assert aircraft.hub.fine_stop < sliding.blade_angle < aircraft.hub.coarse_stop
    for opening in (0.28, 0.29, 0.295):
        resting = pitch_balance(aircraft, SEA_LEVEL, sliding.blade_angle, 0.0, opening, 0.0)
        assert abs(resting.net) < resting.friction + 1e-6
        assert resting.blade_angle == sliding.blade_angle


@pytest.mark.parametrize("opening", [0.23, 0.24, 0.26])
def test_a_blade_that_slid_to_rest_stands_on_the_edge_of_the_friction_band(opening):
    aircraft = sweep_aircraft()
    balance = pitch_balance(aircraft, SEA_LEVEL, aircraft.hub.coarse_stop, 0.0, opening, 0.0)
    assert aircraft.hub.fine_stop < balance.blade_angle < aircraft.hub.coarse_stop
    assert balance.net == pytest.approx(-balance.friction, abs=1e-6)


def test_rotor_in_balance_takes_what_the_engine_gives():
    from simengine.balance.rotor import torque_excess
    from simengine.models.blade import nothing_known

    aircraft = sweep_aircraft()
    for opening in (0.1, 0.5, 1.0):
        balance = balance_at(aircraft, SEA_LEVEL, radians(11.0), 8.0, opening, 0.0)
        inflow = nothing_known(aircraft.blade)
        excess = torque_excess(aircraft, SEA_LEVEL, radians(11.0), balance.rotor_speed, 8.0, opening, inflow)
        assert abs(excess) < 1e-6
