"""What the model says of readings: closed forms, and the layer that flies."""

from math import radians

import numpy as np
import pytest
from flights import demo_scenario
from machines import demo_aircraft, torsion_spring, two_stop_hub, untwisted_inertia
from synthetic_readings import reading

from simengine.constants import RPM
from simengine.scenario.reading_kinds import KINDS
from simengine.scenario.variation import with_values
from simengine.studies.calibrate.forward import PREDICTORS, predicted
from simengine.studies.calibrate.subject import Subject, mass_centre, subject_of, varied
from simengine.studies.full_throttle import ground
from simengine.studies.machine import machine_of

BENCH = Subject(
    None,
    machine_of(
        demo_aircraft(
            inertia=untwisted_inertia(),
            hub=two_stop_hub(18.0, 13.0, spring=torsion_spring(6.0, 20.0), friction_constant=0.3),
        )
    ),
    0.0,
)


@pytest.fixture(scope="module")
def demo():
    return subject_of(demo_scenario().record)


def test_every_kind_of_reading_has_a_prediction():
    assert set(PREDICTORS) == set(KINDS)


def test_a_blade_on_two_wires_swings_as_the_handbook_says():
    # T = 2 pi sqrt(I L / (m g b2)); I 5.5446e-4, m .809, L 1, b .03: 1.7509 s (own arithmetic).
    swing = reading("swing_time_bifilar", 1.75, "bench", wire_length=1.0, half_spacing=0.03, blade_mass=0.809)
    assert predicted(BENCH, [swing])[0] == pytest.approx(1.7509, abs=5e-5)


def test_half_the_sum_of_both_torques_is_the_spring_and_half_the_difference_its_friction():
    angle = radians(15.0)
    up, down = predicted(
        BENCH, [reading("spring_torque", 7.0, "bench", direction=way, angle=angle) for way in ("up", "down")]
    )
    assert 0.5 * (up + down) == pytest.approx(6.0 + 20.0 * radians(3.0), rel=1e-5)
    assert 0.5 * (up - down) == pytest.approx(0.3)


def test_the_mass_centre_of_a_blade_with_a_given_centre(demo):
    # With the centre of mass on the axis along the whole blade only the height above the chord is left.
    record = demo.record.propeller
    stations = record.stations
    level = stations.model_copy(update={"mass_centre": stations.axis})
    flat = record.model_copy(update={"stations": level, "section": "naca_4digit", "camber": 0.0})
    assert mass_centre(flat) == pytest.approx(0.0, abs=1e-9)
    assert mass_centre(record) > 1e-4


def test_a_contact_is_a_one_sided_reading(demo):
    begin, finish = predicted(
        demo, [reading(name, 1.0, "ground") for name in ("shift_begin_rpm", "shift_finish_rpm")]
    )

    def off(kind, value):
        return predicted(demo, [reading(kind, value, "ground", direction="up")])[0] - value

    assert off("on_coarse_stop", begin - 10.0) == 0.0
    assert off("on_coarse_stop", begin + 10.0) == pytest.approx(-10.0)
    assert off("on_fine_stop", finish + 10.0) == 0.0
    assert off("on_fine_stop", finish - 10.0) == pytest.approx(10.0)
    assert off("off_stops", 0.5 * (begin + finish)) == 0.0
    assert off("off_stops", finish + 5.0) == pytest.approx(-5.0)


def test_conditions_of_a_reading_replace_those_of_the_scenario(demo):
    here, hot, low_pressure, high = predicted(
        demo,
        [
            reading("static_thrust", 1.0, "ground"),
            reading("static_thrust", 1.0, "ground", temperature=313.15),
            reading("static_thrust", 1.0, "ground", qnh=98000.0),
            reading("static_thrust", 1.0, "ground", height=1500.0),
        ],
    )
    assert here > hot > high and here > low_pressure
    slow, fast = predicted(demo, [reading("shift_finish_rpm", 1.0, "climb", airspeed=v) for v in (9.0, 15.0)])
    assert slow != fast


def test_what_is_put_together_anew_is_what_is_assembled_whole(demo):
    values = {"hub.friction.constant": 0.2, "hub.spring.rate": 9e4, "engine.torque_factor": 1.05}
    readings = [
        reading(name, 1.0, "ground") for name in ("shift_begin_rpm", "full_throttle_rpm", "static_thrust")
    ]
    short = predicted(varied(demo, values), readings)
    whole = predicted(subject_of(with_values(demo.record, values)), readings)
    assert short == pytest.approx(whole, rel=1e-12)


@pytest.mark.parametrize(
    "values",
    [
        {"propeller.blade_angle_datum": 0.05},
        {"propeller.air_moment_factor": 1.2},
        {"masses.pilot": 110.0},
        {"mass_per_length": 1.07},
        {"diameter": 1},
    ],
)
def test_a_blade_turned_or_heavier_is_what_is_assembled_whole(demo, values):
    stations = demo.record.propeller.stations
    if "mass_per_length" in values:
        values = {
            "propeller.stations.mass_per_length": tuple(1.07 * mass for mass in stations.mass_per_length)
        }
    if "diameter" in values:
        values = {"propeller.cone_angle": 0.01}  # not one of the short ways
    short, whole = varied(demo, values), subject_of(with_values(demo.record, values))
    for name in ("sin2", "cos2", "sin1", "cos1", "mass", "first_moment", "polar_inertia"):
        mine, other = (getattr(item.machine.aircraft.inertia, name) for item in (short, whole))
        assert mine == pytest.approx(other, rel=1e-9, abs=1e-15)
    for name in ("dry_mass", "rotor_inertia", "drag_area"):
        mine, other = (getattr(item.machine.aircraft, name) for item in (short, whole))
        assert mine == pytest.approx(other, rel=1e-12)
    assert short.machine.aircraft.hub.pitch_inertia == pytest.approx(whole.machine.aircraft.hub.pitch_inertia)
    readings = [reading(name, 1.0, "ground") for name in ("shift_begin_rpm", "static_thrust")]
    assert predicted(short, readings) == pytest.approx(predicted(whole, readings), rel=1e-7)


def test_full_throttle_on_the_ground_is_that_of_the_envelope(demo):
    found = predicted(
        demo, [reading("full_throttle_rpm", 1.0, "ground"), reading("static_thrust", 1.0, "ground")]
    )
    from simengine.models.atmosphere import air_at

    full = ground(demo.machine, air_at(demo.machine.aircraft.atmosphere, demo.record.site.height))
    assert found == pytest.approx([full.engine_speed, full.thrust])


def test_fuel_by_weight_is_fuel_by_volume_times_density(demo):
    by_volume, by_weight = predicted(
        demo,
        [
            reading("fuel_used", 1e-3, "level", duration=600.0),
            reading("fuel_used", 1.0, "level", duration=600.0, by_mass=1.0),
        ],
    )
    assert by_weight == pytest.approx(by_volume * demo.record.fuel.density)


def test_in_rpm_the_demo_is_where_a_paramotor_is(demo):
    (begin,) = predicted(demo, [reading("shift_begin_rpm", 1.0, "ground")])
    assert 2000.0 < begin / RPM < 9000.0 and np.isfinite(begin)
