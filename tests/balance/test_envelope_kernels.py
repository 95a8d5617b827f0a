"""The throttle map's short way against the balance taken step by step, and how long it takes."""

import numpy as np
import pytest
from flights import demo_machine
from machines import demo_aircraft, torsion_spring, two_stop_hub

from simengine.balance.envelope_kernels import throttle_branch
from simengine.balance.pitch import pitch_balance
from simengine.models.atmosphere import air_at
from simengine.studies.envelope.throttle_map import throttle_map
from simengine.studies.machine import machine_of


def step_by_step(aircraft, air, axial_speed, throttles, angle):
    near, angles, speeds = 0.0, [], []
    for throttle in throttles:
        balance = pitch_balance(aircraft, air, angle, axial_speed, throttle, near)
        angle, near = balance.blade_angle, balance.rotor_speed
        angles.append(angle)
        speeds.append(near)
    return np.array(angles), np.array(speeds)


def hub_with(preload, rate, **changes):
    return demo_aircraft(hub=two_stop_hub(13.0, 9.5, spring=torsion_spring(preload, rate), **changes))


MACHINES = {
    "second engine": lambda: demo_machine("second_engine"),
    "disc washers": lambda: demo_machine("disc_washer_hub"),
    "torsion": lambda: demo_machine("torsion_hub"),
    "fixed": lambda: demo_machine("climb_and_cruise_fixed"),
    "snapping": lambda: hub_with(5.4, 0.0),
    "sliding": lambda: hub_with(5.4, 90.0, friction_constant=0.3),
    "breaking away": lambda: hub_with(5.4, 90.0, friction_constant=0.3, breakaway=1.5),
    "locked": lambda: hub_with(5.4, 20.0, friction_arm=0.0016),
    "lost motion": lambda: hub_with(5.4, 60.0, friction_constant=0.1, lost_motion=0.01),
}


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("height", [0.0, 3500.0])
@pytest.mark.parametrize("count", [12, 60])
def test_both_branches_are_those_of_the_balance_taken_step_by_step(name, height, count):
    aircraft = MACHINES[name]()
    air = air_at(aircraft.atmosphere, height)
    throttles, start = np.linspace(0.0, 1.0, count), aircraft.hub.coarse_stop
    for order in (throttles, throttles[::-1].copy()):
        angles, speeds = np.empty(count), np.empty(count)
        throttle_branch(aircraft, air, 9.0, order, start, angles, speeds)
        expected_angles, expected_speeds = step_by_step(aircraft, air, 9.0, order, start)
        assert np.degrees(angles) == pytest.approx(np.degrees(expected_angles), abs=1e-6)
        assert speeds == pytest.approx(expected_speeds, rel=1e-7)
        start = expected_angles[-1]


def test_a_map_of_sixty_heights_and_forty_throttles_holds_both_branches():
    machine = machine_of(demo_machine("second_engine"))
    heights, throttles = np.linspace(0.0, 5000.0, 60), np.linspace(0.0, 1.0, 40)
    atmosphere = machine.aircraft.atmosphere
    found = throttle_map(machine, atmosphere, 130.0, heights, throttles)
    for branch in ("opening", "closing"):
        assert found[f"map_blade_angle_{branch}"].shape == (60, 40)
        assert np.all(np.isfinite(found[f"map_rpm_{branch}"]))
    # Closing, the blade is at the same opening never coarser than it was going up.
    lag = found["map_blade_angle_opening"] - found["map_blade_angle_closing"]
    assert lag.min() > -1e-7
