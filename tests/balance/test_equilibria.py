"""Every balance of rotor and blade, against brute force and the closed snap criterion."""

from math import radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from machines import STANDARD_DAY, demo_aircraft, torsion_spring, two_stop_hub

from simengine.balance.equilibria import Place, all_equilibria, residuals, rest_intervals
from simengine.balance.pitch import balance_at, pitch_balance
from simengine.models.atmosphere import air_at

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)


def hub_with(preload, rate, coarse=13.0, fine=9.5):
    return demo_aircraft(hub=two_stop_hub(coarse, fine, spring=torsion_spring(preload, rate)))


def scanned(aircraft, throttle, axial_speed=0.0, count=1501):
    """Blade angles of balances between the stops by a dense walk with the rotor in balance."""
    hub = aircraft.hub
    angles = np.linspace(hub.fine_stop, hub.coarse_stop, count)
    speed, nets = 0.0, []
    for angle in angles:
        here = balance_at(aircraft, SEA_LEVEL, angle, axial_speed, throttle, speed)
        speed = here.rotor_speed
        nets.append(here.net)
    nets = np.array(nets)
    return [0.5 * (angles[i] + angles[i + 1]) for i in np.flatnonzero(nets[:-1] * nets[1:] < 0.0)]


@given(
    preload=st.floats(1.0, 8.0),
    rate=st.floats(0.0, 80.0),
    throttle=st.floats(0.15, 1.0),
    axial_speed=st.floats(0.0, 12.0),
    travel=st.floats(2.0, 6.0),
)
@settings(max_examples=25, deadline=None)
def test_no_balance_of_a_dense_walk_is_missed(preload, rate, throttle, axial_speed, travel):
    aircraft = hub_with(preload, rate, 9.5 + travel, 9.5)
    found = [e.blade_angle for e in all_equilibria(aircraft, SEA_LEVEL, axial_speed, throttle)]
    step = radians(travel) / 1500
    for angle in scanned(aircraft, throttle, axial_speed):
        assert min(abs(angle - other) for other in found) < step


@pytest.mark.parametrize("throttle", [0.2, 0.3, 0.6, 1.0])
def test_every_balance_balances(throttle):
    aircraft = hub_with(5.4, 40.0)
    found = all_equilibria(aircraft, SEA_LEVEL, 0.0, throttle)
    assert found
    for e in found:
        torque, net = residuals(aircraft, SEA_LEVEL, e.blade_angle, e.rotor_speed, 0.0, throttle)
        assert abs(torque) < 1e-5
        if e.place is Place.BETWEEN:
            assert abs(net) < 1e-7
        elif e.place is Place.COARSE_STOP:
            assert net >= 0.0
        else:
            assert net <= 0.0


def test_a_snapping_hub_has_two_stable_balances_with_an_unstable_one_between():
    aircraft = hub_with(5.4, 0.0)
    counts = {}
    for throttle in np.linspace(0.2, 0.5, 31):
        found = all_equilibria(aircraft, SEA_LEVEL, 0.0, float(throttle))
        counts[throttle] = [(e.place, e.stable) for e in found]
    both = [c for c in counts.values() if len(c) == 3]
    assert both
    for states in both:
        assert states == [(Place.COARSE_STOP, True), (Place.BETWEEN, False), (Place.FINE_STOP, True)]


def test_a_stiff_spring_has_one_balance_at_every_throttle():
    aircraft = hub_with(5.4, 90.0)
    for throttle in np.linspace(0.1, 1.0, 19):
        found = all_equilibria(aircraft, SEA_LEVEL, 0.0, float(throttle))
        assert len(found) == 1
        assert found[0].stable


def test_pitch_frequency_of_a_floating_blade_is_that_of_its_stiffness():
    # sqrt((k + Omega2 K cos 2b)/I) for a blade without air moment: own arithmetic from the pitch equation.
    from machines import demo_blade, untwisted_inertia

    aircraft = demo_aircraft(
        hub=two_stop_hub(18.0, 9.0, spring=torsion_spring(5.0, 60.0), damping=0.0),
        inertia=untwisted_inertia(),
        blade=demo_blade(air_moment=False),
        rotor_inertia=1e6,
        atmosphere=STANDARD_DAY,
    )
    floating = [
        e
        for throttle in (0.3, 0.4, 0.5)
        for e in all_equilibria(aircraft, SEA_LEVEL, 0.0, throttle)
        if e.place is Place.BETWEEN
    ]
    assert floating
    for e in floating:
        stiffness = 60.0 + e.rotor_speed**2 * 5.38134e-4 * np.cos(2.0 * e.blade_angle)
        assert e.pitch_frequency == pytest.approx(np.sqrt(stiffness / 5.6e-4), rel=0.01)
        assert e.per_revolution == pytest.approx(e.pitch_frequency / e.rotor_speed)


def test_both_sliding_ends_lie_on_the_edges_of_the_interval_of_rest():
    hub = two_stop_hub(13.0, 9.5, spring=torsion_spring(5.4, 90.0), friction_constant=0.15)
    aircraft = demo_aircraft(hub=hub)
    (rest,) = rest_intervals(aircraft, SEA_LEVEL, 0.0, 0.26)
    from_coarse = pitch_balance(aircraft, SEA_LEVEL, hub.coarse_stop, 0.0, 0.26, 0.0)
    from_fine = pitch_balance(aircraft, SEA_LEVEL, hub.fine_stop, 0.0, 0.26, 0.0)
    assert hub.fine_stop < rest.fine < rest.coarse < hub.coarse_stop
    assert from_coarse.blade_angle == pytest.approx(rest.coarse, abs=1e-7)
    assert from_fine.blade_angle == pytest.approx(rest.fine, abs=1e-7)
    between = [e for e in all_equilibria(aircraft, SEA_LEVEL, 0.0, 0.26) if e.place is Place.BETWEEN]
    assert all(rest.fine < e.blade_angle < rest.coarse for e in between) and between


def test_friction_that_locks_shows_as_rest_from_stop_to_stop():
    hub = two_stop_hub(13.0, 9.5, spring=torsion_spring(5.4, 20.0), friction_constant=60.0)
    (rest,) = rest_intervals(demo_aircraft(hub=hub), SEA_LEVEL, 0.0, 1.0)
    assert (rest.coarse, rest.fine) == (hub.coarse_stop, hub.fine_stop)


def test_a_snapping_hub_without_friction_rests_on_both_stops_only():
    aircraft = hub_with(5.4, 0.0)
    states = {len(rest_intervals(aircraft, SEA_LEVEL, 0.0, t)) for t in np.linspace(0.2, 0.5, 31)}
    assert {1, 2} <= states


@pytest.mark.parametrize("throttle", [0.05, 0.15, 0.25, 0.4, 0.7, 1.0])
def test_a_blade_in_its_lost_motion_has_its_balance_where_the_lever_takes_the_spring_up(throttle):
    hub = two_stop_hub(13.0, 9.5, spring=torsion_spring(5.4, 40.0), lost_motion=radians(1.5))
    aircraft = demo_aircraft(hub=hub)
    found = all_equilibria(aircraft, SEA_LEVEL, 0.0, throttle)
    reached = pitch_balance(aircraft, SEA_LEVEL, hub.coarse_stop, 0.0, throttle, 0.0)
    assert min(abs(e.blade_angle - reached.blade_angle) for e in found) < radians(0.001)


@pytest.mark.parametrize("throttle", [0.05, 0.15, 0.25, 0.4, 0.7, 1.0])
def test_friction_holds_a_blade_in_its_lost_motion_inside_an_interval_of_rest(throttle):
    hub = two_stop_hub(
        13.0, 9.5, spring=torsion_spring(5.4, 40.0), lost_motion=radians(1.5), friction_constant=0.1
    )
    aircraft = demo_aircraft(hub=hub)
    reached = pitch_balance(aircraft, SEA_LEVEL, hub.coarse_stop, 0.0, throttle, 0.0).blade_angle
    slack = radians(0.001)
    intervals = rest_intervals(aircraft, SEA_LEVEL, 0.0, throttle)
    assert any(rest.fine - slack <= reached <= rest.coarse + slack for rest in intervals)
