"""Steady and level flight: force balances from the parts, scaling, and machines without level flight."""

from math import cos, radians, sin, sqrt

import pytest
from machines import STANDARD_DAY, demo_aircraft, demo_blade, demo_engine, torsion_spring, two_stop_hub
from standard_atmosphere import geometric_height

from simengine.balance.aircraft import rotor_state
from simengine.balance.level import level_flight
from simengine.balance.pitch import balance_at
from simengine.balance.rotor import torque_excess
from simengine.balance.trim import JUMPS, REACHED, TOO_LITTLE_POWER, TOO_MUCH_POWER, steady_flight
from simengine.constants import RPM, STANDARD_GRAVITY
from simengine.models.atmosphere import air_at
from simengine.models.blade import nothing_known
from simengine.models.mechanism import FIXED, GOVERNED, NO_SPRING
from simengine.models.wing import build_wing, wing_coefficients

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)
MASS = 128.0


def level(aircraft, mass=MASS, bar=0.0, air=SEA_LEVEL, near=0.0, opening=0.0, path_angle=0.0):
    return level_flight(aircraft, air, mass, bar, aircraft.hub.coarse_stop, near, opening, path_angle)


def flown(aircraft, throttle, mass=MASS, bar=0.0, air=SEA_LEVEL):
    return steady_flight(aircraft, air, mass, bar, throttle, aircraft.hub.coarse_stop, 0.0)


def fixed_hub(blade_angle=11.0):
    return two_stop_hub(blade_angle, blade_angle, kind=FIXED, spring=NO_SPRING)


def fixed_aircraft(blade_angle=11.0, **changes):
    return demo_aircraft(hub=fixed_hub(blade_angle), **changes)


def textbook_wing(speed, ratio, mass=130.0, area=26.0):
    """Wing that flies level at a speed and glide ratio: along the glide it is slower by sqrt(cos)."""
    steepness = 1.0 / sqrt(1.0 + ratio**2)
    glide_speed = speed * (1.0 - steepness**2) ** 0.25
    return build_wing(
        area=area, bar=(0.0,), speed=(glide_speed,), sink=(glide_speed * steepness,), mass=mass, density=1.225
    )


# --- force balances --------------------------------------------------------------------------------
@pytest.mark.parametrize("tilt", [0.0, radians(6.0), radians(-4.0)])
@pytest.mark.parametrize("bar", [0.0, 1.0])
@pytest.mark.parametrize("throttle", [0.0, 0.3, 1.0])
def test_the_forces_along_and_across_the_path_are_in_balance(throttle, bar, tilt):
    aircraft = demo_aircraft(thrust_tilt=tilt)
    flight = flown(aircraft, throttle, bar=bar)
    lift_coefficient, drag_coefficient = wing_coefficients(aircraft.wing, bar)
    pressure_force = 0.5 * SEA_LEVEL.density * flight.airspeed**2 * aircraft.wing.area
    lift = pressure_force * lift_coefficient
    drag = pressure_force * (drag_coefficient + aircraft.drag_area / aircraft.wing.area)
    weight = MASS * STANDARD_GRAVITY
    along = flight.thrust * cos(tilt) - drag - weight * sin(flight.path_angle)
    across = lift + flight.thrust * sin(tilt) - weight * cos(flight.path_angle)
    assert along == pytest.approx(0.0, abs=1e-6 * weight)
    assert across == pytest.approx(0.0, abs=1e-6 * weight)
    assert flight.drag == pytest.approx(drag, rel=1e-6)


@pytest.mark.parametrize("throttle", [0.2, 1.0])
def test_its_rotor_is_in_torque_balance_and_its_thrust_is_the_propeller_s_less_the_cage_s(throttle):
    aircraft = demo_aircraft()
    flight = flown(aircraft, throttle)
    axial_speed = aircraft.inflow_factor * flight.airspeed
    state = rotor_state(aircraft, SEA_LEVEL, flight.blade_angle, flight.rotor_speed, axial_speed, throttle)
    inflow = nothing_known(aircraft.blade)
    excess = torque_excess(
        aircraft, SEA_LEVEL, flight.blade_angle, flight.rotor_speed, axial_speed, throttle, inflow
    )
    assert excess == pytest.approx(0.0, abs=1e-6 * state.loads.torque)
    assert flight.thrust == pytest.approx((1.0 - aircraft.thrust_loss) * state.loads.thrust, rel=1e-6)


def test_more_throttle_climbs_better():
    paths = [flown(fixed_aircraft(), throttle).path_angle for throttle in (0.0, 0.2, 0.4, 0.7, 1.0)]
    assert paths == sorted(paths)
    assert paths[0] < 0.0 < paths[-1]


@pytest.mark.parametrize("tilt", [0.0, radians(6.0)])
def test_level_flight_is_flat_with_thrust_against_drag(tilt):
    flight = level(fixed_aircraft(thrust_tilt=tilt))
    assert flight.status == REACHED
    assert flight.path_angle == pytest.approx(0.0, abs=1e-8)
    assert flight.thrust * cos(tilt) == pytest.approx(flight.drag, rel=1e-6)
    assert 0.0 < flight.throttle < 1.0


@pytest.mark.parametrize("path_angle", [-0.08, 0.05, 0.15])
def test_a_sloping_path_is_held_too(path_angle):
    flight = level(fixed_aircraft(), path_angle=path_angle)
    assert flight.status == REACHED
    assert flight.path_angle == pytest.approx(path_angle, abs=1e-8)


@pytest.mark.parametrize("opening", [0.05, 0.3, 0.9])
def test_where_the_search_begins_does_not_change_what_it_finds(opening):
    aircraft = fixed_aircraft()
    found, expected = level(aircraft, opening=opening, near=250.0), level(aircraft)
    assert found.throttle == pytest.approx(expected.throttle, rel=1e-6)
    assert found.rotor_speed == pytest.approx(expected.rotor_speed, rel=1e-6)


# --- the wing's own numbers ------------------------------------------------------------------------
@pytest.mark.parametrize("bar", [0.0, 0.5, 1.0])
def test_level_thrust_is_weight_over_the_glide_ratio(bar):
    aircraft = fixed_aircraft()
    lift_coefficient, drag_coefficient = wing_coefficients(aircraft.wing, bar)
    ratio = lift_coefficient / (drag_coefficient + aircraft.drag_area / aircraft.wing.area)
    flight = level(aircraft, bar=bar)
    assert flight.status == REACHED
    assert flight.thrust == pytest.approx(MASS * STANDARD_GRAVITY / ratio, rel=1e-6)


# 130 kg, 26 m2, sea level: T = W/(L/D), CL = 2 W/(rho S V2), P = T V. Own arithmetic from these: a guard.
@pytest.mark.parametrize(
    ("speed", "ratio", "lift_coefficient", "thrust"),
    [(10.5, 7.5, 0.7261, 170.0), (11.0, 6.4, 0.6616, 199.2), (14.0, 5.5, 0.4084, 231.8)],
)
def test_level_flight_of_a_wing_known_by_speed_and_glide_ratio(speed, ratio, lift_coefficient, thrust):
    aircraft = fixed_aircraft(wing=textbook_wing(speed, ratio), drag_area=0.0)
    flight = level(aircraft, mass=130.0)
    assert flight.airspeed == pytest.approx(speed, rel=1e-6)
    assert wing_coefficients(aircraft.wing, 0.0).lift == pytest.approx(lift_coefficient, abs=0.00005)
    assert flight.thrust == pytest.approx(thrust, abs=0.05)


def test_power_to_fly_level():
    flight = level(fixed_aircraft(wing=textbook_wing(11.0, 6.4), drag_area=0.0), mass=130.0)
    assert flight.thrust * flight.airspeed == pytest.approx(2191.0, abs=0.5)


def test_climb_of_what_the_thrust_leaves():
    # (T - D) V / W holds exactly for the sine of the path.
    flight = flown(fixed_aircraft(), 1.0)
    climb = flight.airspeed * sin(flight.path_angle)
    excess_power = (flight.thrust - flight.drag) * flight.airspeed
    assert climb == pytest.approx(excess_power / (MASS * STANDARD_GRAVITY), rel=1e-6)


# --- scaling ---------------------------------------------------------------------------------------
def test_thirty_per_cent_more_mass_flies_faster_by_its_root():
    # sqrt(1.3) = 1.1402, V ~ sqrt(W / (S rho)) at the same lift coefficient.
    aircraft = fixed_aircraft()
    light, heavy = level(aircraft), level(aircraft, mass=1.3 * MASS)
    assert light.status == heavy.status == REACHED
    assert heavy.airspeed / light.airspeed == pytest.approx(1.1402, abs=0.00005)
    assert heavy.thrust / light.thrust == pytest.approx(1.3, rel=1e-6)


# Root of the density ratio of ISO 2533, .82162 and .74214, at geopotential heights.
@pytest.mark.parametrize(("geopotential", "factor"), [(2000.0, 1.1032), (3000.0, 1.1608)])
def test_thin_air_flies_faster_by_the_root_of_its_density_at_the_same_thrust(geopotential, factor):
    aircraft = fixed_aircraft()
    low = level(aircraft)
    high = level(aircraft, air=air_at(STANDARD_DAY, geometric_height(geopotential)))
    assert high.status == REACHED
    assert high.airspeed / low.airspeed == pytest.approx(factor, abs=0.00005)
    assert high.thrust == pytest.approx(low.thrust, rel=1e-6)
    assert high.throttle > low.throttle


# --- no level flight -------------------------------------------------------------------------------
def test_too_heavy_for_the_engine():
    flight = level(fixed_aircraft(), mass=500.0)
    assert flight.status == TOO_LITTLE_POWER
    assert flight.throttle == 1.0
    assert flight.path_angle < 0.0


def test_an_engine_that_idles_far_too_fast_climbs_with_the_throttle_closed():
    # As a throttle that sticks open: idle 7500 rpm, at which 16 N m of friction are overcome.
    engine = demo_engine()._replace(idle_speed=7500.0 * RPM, friction_torque=16.0)
    flight = level(fixed_aircraft(engine=engine), mass=90.0)
    assert flight.status == TOO_MUCH_POWER
    assert flight.throttle == 0.0
    assert flight.path_angle > 0.0


def snapping_aircraft():
    """Far stops and a spring of no rate: at 18 deg the machine sinks until the twist beats the spring.

    Then nothing stops the blade before 9 deg, since the rotor gains speed as the blade unloads; there
    the same throttle gives so much more thrust that the machine climbs. No throttle lies between.
    """
    hub = two_stop_hub(18.0, 9.0, spring=torsion_spring(2.5, 0.0))
    return demo_aircraft(hub=hub, blade=demo_blade(air_moment=False))


def test_a_snapping_hub_jumps_over_level_flight():
    aircraft = snapping_aircraft()
    found = level(aircraft)
    assert found.status == JUMPS
    before, behind = (flown(aircraft, found.throttle + step) for step in (-1e-6, 1e-6))
    assert before.blade_angle == aircraft.hub.coarse_stop
    assert behind.blade_angle == aircraft.hub.fine_stop
    assert before.path_angle < -0.01 and behind.path_angle > 0.01
    assert behind.rotor_speed > 1.2 * before.rotor_speed


def test_bolted_on_either_side_of_the_jump_the_same_machine_flies_level():
    for blade_angle in (18.0, 9.0):
        bolted = demo_aircraft(hub=fixed_hub(blade_angle), blade=demo_blade(air_moment=False))
        assert level(bolted).status == REACHED


# --- governed --------------------------------------------------------------------------------------
def governed(engine_rpm):
    hub = two_stop_hub(
        22.0, 8.0, kind=GOVERNED, spring=NO_SPRING, governed_speed=engine_rpm * RPM / 2.68, pitch_rate=0.05
    )
    return demo_aircraft(hub=hub)


@pytest.mark.parametrize("throttle", [0.6, 1.0])
def test_a_governed_hub_holds_its_speed_between_the_stops(throttle):
    aircraft = governed(6800.0)
    flight = flown(aircraft, throttle)
    assert aircraft.hub.fine_stop < flight.blade_angle < aircraft.hub.coarse_stop
    assert flight.rotor_speed == pytest.approx(aircraft.hub.governed_speed, rel=1e-6)


def test_more_throttle_at_a_governed_speed_means_a_coarser_blade():
    aircraft = governed(6800.0)
    assert flown(aircraft, 1.0).blade_angle > flown(aircraft, 0.6).blade_angle + radians(1.0)


def test_a_governed_hub_runs_onto_its_stops_outside_what_it_can_hold():
    starved, driven = governed(6800.0), governed(4000.0)
    fine = flown(starved, 0.05)
    assert fine.blade_angle == starved.hub.fine_stop
    assert fine.rotor_speed < starved.hub.governed_speed
    coarse = flown(driven, 1.0)
    assert coarse.blade_angle == driven.hub.coarse_stop
    assert coarse.rotor_speed > driven.hub.governed_speed


def test_a_governed_hub_on_its_stop_is_the_bolted_propeller():
    aircraft = governed(4000.0)
    flight = flown(aircraft, 1.0)
    bolted = balance_at(
        aircraft, SEA_LEVEL, aircraft.hub.coarse_stop, aircraft.inflow_factor * flight.airspeed, 1.0, 0.0
    )
    assert flight.rotor_speed == pytest.approx(bolted.rotor_speed, rel=1e-6)


def test_level_flight_of_a_governed_hub_is_level_at_its_speed():
    aircraft = governed(5200.0)
    flight = level(aircraft)
    assert flight.status == REACHED
    assert flight.rotor_speed == pytest.approx(aircraft.hub.governed_speed, rel=1e-6)
    assert flight.thrust == pytest.approx(flight.drag, rel=1e-6)
