"""One blade at another angle than the rest."""

from math import radians
from types import SimpleNamespace

import numpy as np
import pytest
from machines import STANDARD_DAY, demo_aircraft

from simengine.balance.pitch import balance_at
from simengine.models.distribution import rotor_distribution
from simengine.studies.level_flight import level
from simengine.studies.loads.blade_sets import (
    BladeSet,
    MetAir,
    SetFlight,
    forces_in,
    imbalance,
    set_flight,
    set_ground,
    set_level,
    settled,
    stays,
)
from simengine.studies.machine import condition_at, held_flight, machine_of

MACHINE = machine_of(demo_aircraft())
CONDITION = condition_at(STANDARD_DAY, 200.0, 128.0, 0.0)
COARSE, FINE = MACHINE.coarse_stop, MACHINE.fine_stop


@pytest.mark.parametrize("angle", [COARSE, FINE])
def test_all_alike_is_the_whole_rotor(angle):
    alike = BladeSet(angle, angle, 2)
    held = held_flight(MACHINE, CONDITION, angle)
    flown = set_flight(MACHINE, CONDITION, alike, 1.0)
    assert flown.rotor_speed == pytest.approx(held.rotor_speed, rel=1e-6)
    assert flown.thrust == pytest.approx(held.thrust, rel=1e-6)
    assert flown.airspeed == pytest.approx(held.airspeed, rel=1e-6)
    static = set_ground(MACHINE, CONDITION, alike)
    balance = balance_at(MACHINE.held, CONDITION.air, angle, 0.0, 1.0, 0.0)
    assert static.rotor_speed == pytest.approx(balance.rotor_speed, rel=1e-6)
    shaken = imbalance(MACHINE, CONDITION, alike, flown)
    assert tuple(shaken) == pytest.approx((0.0, 0.0, 0.0))


def test_level_flight_with_all_alike():
    flown = level(MACHINE, CONDITION, 0.0, 0.0)
    alike = set_level(MACHINE, CONDITION, BladeSet(flown.blade_angle, flown.blade_angle, 2))
    assert alike is not None
    assert MACHINE.reduction * alike.rotor_speed == pytest.approx(flown.engine_speed, rel=1e-4)
    assert alike.climb_rate == pytest.approx(0.0, abs=1e-3)


def test_one_odd_blade_lies_between_and_shakes():
    odd = BladeSet(COARSE, FINE, 2)
    flown = set_flight(MACHINE, CONDITION, odd, 1.0)
    slow, fast = (held_flight(MACHINE, CONDITION, angle).rotor_speed for angle in (COARSE, FINE))
    assert slow < flown.rotor_speed < fast
    shaken = imbalance(MACHINE, CONDITION, odd, flown)
    assert shaken.thrust_difference > 0.0  # the coarser blade pulls more
    radius = MACHINE.aircraft.blade.tip_radius
    assert 0.4 * radius < shaken.out_of_plane / shaken.thrust_difference < radius
    assert shaken.in_plane > 0.0


def test_one_of_many_matters_less():
    speeds = [set_flight(MACHINE, CONDITION, BladeSet(COARSE, FINE, n), 1.0).rotor_speed for n in (2, 3, 6)]
    assert speeds == sorted(speeds)


def test_no_level_flight_without_power():
    heavy = condition_at(STANDARD_DAY, 200.0, 900.0, 0.0)
    assert set_level(MACHINE, heavy, BladeSet(radians(20.0), COARSE, 2)) is None


def flow_at(angle, rotor_speed, axial_speed):
    return rotor_distribution(MACHINE.aircraft.blade, angle, rotor_speed, axial_speed, CONDITION.air)


def test_a_blade_in_its_own_air_bears_what_the_rotor_gives_it():
    blade, flow = MACHINE.aircraft.blade, flow_at(FINE, 320.0, 10.0)
    met = MetAir(
        flow.speed * np.sin(flow.inflow_angle), flow.speed * np.cos(flow.inflow_angle), flow.reynolds
    )
    thrust, drag = forces_in(blade, FINE, met, CONDITION.air)
    np.testing.assert_allclose(thrust, flow.thrust, rtol=1e-6, atol=1e-6 * flow.thrust.max())
    np.testing.assert_allclose(drag, flow.torque / flow.radius, rtol=1e-6, atol=1e-6 * flow.thrust.max())


def test_the_difference_is_told_on_the_safe_side():
    """Blades that share their air differ by more than blades that each have slowed down their own."""
    odd = BladeSet(COARSE, FINE, 2)
    flown = set_flight(MACHINE, CONDITION, odd, 1.0)
    axial_speed, blade = MACHINE.inflow_factor * flown.airspeed, MACHINE.aircraft.blade
    coarse, fine = (flow_at(angle, flown.rotor_speed, axial_speed) for angle in (COARSE, FINE))
    own = float(np.sum((coarse.thrust - fine.thrust) * blade.width))
    assert own < imbalance(MACHINE, CONDITION, odd, flown).thrust_difference < 2.5 * own


def test_others_that_would_not_stay_are_put_on_the_stop_where_they_do():
    fast = SetFlight(MACHINE.speed_limit / MACHINE.reduction, 500.0, 11.0, 0.0, 1.0)
    slow = fast._replace(rotor_speed=MACHINE.idle_speed / MACHINE.reduction)
    coarse, fine = BladeSet(FINE, COARSE, 2), BladeSet(COARSE, FINE, 2)
    assert stays(MACHINE, CONDITION, fine, fast)
    assert not stays(MACHINE, CONDITION, coarse, fast)
    assert stays(MACHINE, CONDITION, coarse, slow)
    assert not stays(MACHINE, CONDITION, fine, slow)
    assert settled(MACHINE, CONDITION, coarse, lambda tried: fast).others == FINE
    assert settled(MACHINE, CONDITION, fine, lambda tried: slow).others == COARSE
    assert settled(MACHINE, CONDITION, fine, lambda tried: None) == fine


def test_blades_held_stay():
    assert stays(SimpleNamespace(shifts=False), CONDITION, BladeSet(0.2, 0.2, 2), None)
