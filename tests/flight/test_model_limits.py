"""Limits of the model reach the result in words, with figure, phase and time."""

import re
from math import pi, radians

import numpy as np
import pytest
from flights import climb as climb_phase
from flights import demo_scenario, simulate, with_phases
from flights import descend as descend_phase
from flights import ground_run as ground_phase
from machines import STANDARD_DAY, demo_aircraft, demo_blade, two_stop_hub

from simengine.balance import limits
from simengine.balance.aircraft import with_parts
from simengine.balance.assembly import plain_hub
from simengine.balance.limits import DiscPoint
from simengine.flight.model_limits import Flown, model_limits
from simengine.models.atmosphere import air_at
from simengine.models.mechanism import FIXED
from simengine.models.polar_tables import build_polar, polar_sections
from simengine.models.windup import TorsionBlade
from simengine.results.records import PhaseBounds
from simengine.scenario import load_scenario

AIR = air_at(STANDARD_DAY, 0.0)


def flown(aircraft=None, **traces):
    """Ten seconds at full throttle that nothing is wrong with, but for the traces given."""
    count = 11
    plain = {
        "time": np.linspace(0.0, 10.0, count),
        "phase_index": np.repeat([0.0, 1.0], [5, 6]),
        "throttle": np.full(count, 0.9),
        "height": np.zeros(count),
        "airspeed": np.full(count, 11.0),
        "air_density": np.full(count, AIR.density),
        "propeller_rpm": np.full(count, 250.0),
        "engine_rpm": np.full(count, 600.0),
        "blade_angle": np.full(count, radians(12.0)),
        "stalled_fraction": np.zeros(count),
        "tip_mach": np.full(count, 0.5),
        "thrust": np.full(count, 300.0),
        "propeller_torque": np.full(count, 40.0),
    }
    bounds = [
        PhaseBounds("run-up", "ground_run", 0.0, 4.5, ""),
        PhaseBounds("first climb", "climb", 4.5, 10.0, ""),
    ]
    fixed = with_parts(demo_aircraft(), hub=plain_hub(FIXED, 0.2, 0.2, demo_aircraft().inertia))
    return Flown(aircraft or fixed, plain | traces, bounds)


def spike(value, row=7, count=11, rest=0.0):
    """A trace of one value."""
    trace = np.full(count, rest)
    trace[row] = value
    return trace


def test_nothing_to_say():
    assert model_limits(flown(), None) == []


def test_stall_with_share_place_phase_and_time():
    share = spike(0.42)
    share[6] = 0.2
    (words,) = model_limits(flown(stalled_fraction=share, blade_angle=np.full(11, radians(24.0))), None)
    assert "up to 42 % of the disc was beyond its stall" in words
    assert re.search(r"between \d+ and \d+ % of the radius", words)
    assert "in phase 'first climb' at 7 s (more than 15 % for 1 s in all)" in words
    assert model_limits(flown(stalled_fraction=spike(0.14)), None) == []


def test_tip_mach_number():
    (words,) = model_limits(flown(tip_mach=spike(0.742, rest=0.5)), None)
    assert "Mach 0.74 in phase 'first climb' at 7 s, above the 0.70" in words


def test_windmilling():
    torque, thrust = np.full(11, 40.0), np.full(11, 300.0)
    torque[2:5], thrust[2:5] = -1.0, -23.4
    (words,) = model_limits(flown(propeller_torque=torque, thrust=thrust), None)
    assert "windmilled or braked for 2 s in all, first in phase 'run-up' at 2 s" in words
    assert "thrust down to -23 N" in words


def test_reynolds_numbers_of_the_family():
    slow = np.full(11, 250.0)
    slow[3] = 8.0
    (words,) = model_limits(flown(propeller_rpm=slow, airspeed=np.zeros(11)), None)
    lowest = float((AIR.density * demo_blade().chord / AIR.viscosity * 8.0 * demo_blade().radius).min())
    assert f"down to {lowest:.0f}, below the {limits.reynolds_range(demo_blade().sections)[0]:.0f}" in words
    assert model_limits(flown(propeller_rpm=slow, airspeed=np.zeros(11), throttle=np.zeros(11)), None) == []


def own_blade():
    """The demo's blade with a polar from -6 to 8 deg, Reynolds number 2e5 to 3e5."""
    alpha = np.radians(np.tile(np.arange(-6.0, 8.1, 2.0), 2))
    polar = build_polar(
        reynolds=np.repeat([2e5, 3e5], 8),
        alpha=alpha,
        cl=5.8 * (alpha + 0.06),
        cd=0.012 + 0.0 * alpha,
        cm=0.0 * alpha,
    )
    blade = demo_blade()
    return blade._replace(sections=polar_sections(polar, np.full(blade.radius.size, 0.12)))


def test_outside_the_user_s_polar():
    aircraft = with_parts(flown().aircraft, blade=own_blade())
    angles = np.full(11, radians(9.0))
    angles[6:] = radians(22.0)
    words = model_limits(flown(aircraft, blade_angle=angles), None)
    assert len(words) == 3
    assert "below the 200000 that your polar is meant for" in words[0]
    assert "above the 300000 that your polar is meant for" in words[1]
    assert re.search(
        r"up to \d+ % of the disc met angles of attack outside your polar, -6 to 8 deg", words[2]
    )
    assert "in phase 'first climb'" in words[2]
    assert "extrapolated toward those of a flat plate" in words[2]


def test_air_moment_of_a_hub_that_shifts_by_it():
    aircraft = with_parts(demo_aircraft(), hub=two_stop_hub(13.0, 9.5))
    (words,) = model_limits(flown(aircraft), None)
    assert "no measured source, it is taken as computed: fit air_moment_factor" in words
    (words,) = model_limits(flown(with_parts(aircraft, air_moment_factor=1.35)), None)
    assert "no measured source, it is scaled by 1.35" in words


def torsion(stiffness):
    """The demo's blade as a torsion bar of one stiffness [N m2], a made-up mass in it."""
    blade = demo_blade()
    mass = 0.8 * blade.width
    zero = np.zeros_like(mass)
    from simengine.models.inertia import ElementMasses

    masses = ElementMasses(blade.radius, blade.twist, mass, zero, zero, mass * 6e-4, mass * 9e-6, zero)
    return TorsionBlade(blade.width, np.full(mass.size, stiffness), masses)


def test_wind_up_is_told_where_it_matters():
    full = np.full(11, 1.0)
    assert model_limits(flown(throttle=full), torsion(1e5)) == []
    (words,) = model_limits(flown(throttle=full), torsion(100.0))
    assert re.search(
        r"at full throttle, 2387 propeller rpm, .* winds up by about \d\.\d deg toward fine", words
    )
    assert model_limits(flown(), torsion(100.0)) == [], "no full throttle in it"


def test_share_outside_counts_the_disc():
    blade = own_blade()
    at = DiscPoint(radians(12.0), 250.0, 11.0, AIR)
    assert limits.share_outside(blade, -pi, pi, *at) == 0.0
    assert limits.share_outside(blade, 3.0, 3.1, *at) == pytest.approx(1.0)


@pytest.mark.slow
def test_flights_carry_the_sentences():
    scenario = with_phases(
        demo_scenario(),
        ground_phase((0.0, 0.0), (10.0, 1.0), (20.0, 1.0)),
        climb_phase(400.0),
        descend_phase(250.0),
        fidelity="steady",
    )
    words = simulate(scenario).attrs["model_limits"]
    assert "the air's twisting moment has no measured source" in words
    assert "% of the radius, in phase 'ground run' at" in words


@pytest.mark.slow
def test_demo_with_a_polar_of_its_own_flies():
    from flights import SCENARIOS

    scenario = load_scenario(SCENARIOS / "own_polar.yaml")
    dataset = simulate(scenario, fidelity="steady")
    assert "cambered_12.csv" not in dataset.attrs["simengine_scenario"], "the table itself is in the result"
    assert "columns: [reynolds, alpha deg, cl, cd, cm]" in dataset.attrs["simengine_scenario"]
    assert "your polar is meant for" in dataset.attrs["model_limits"]
    family = simulate(demo_scenario("ground_run"), fidelity="steady")
    assert float(dataset["thrust"].max()) == pytest.approx(float(family["thrust"].max()), rel=0.2)
