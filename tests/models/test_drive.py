import numpy as np
import pytest
from standard_atmosphere import standard_air

from simengine.constants import RPM
from simengine.models.drive import build_drive, drive_line, rotor_inertia
from simengine.models.engine import build_engine, engine_torque

AIR = standard_air(0.0)
DRIVE = build_drive(reduction=2.8, efficiency=0.96)


def invented_engine(clutch_speed=0.0):
    """A two-stroke of the class, invented for the tests."""
    return build_engine(
        engine_speed=np.array([4000.0, 6000.0, 8000.0, 9000.0]) * RPM,
        torque=[10.0, 15.0, 17.5, 15.0],
        consumption=[1.4e-7] * 4,
        friction_torque=2.0,
        idle_speed=2200.0 * RPM,
        speed_limit=9200.0 * RPM,
        inertia=2e-3,
        clutch_speed=clutch_speed,
    )


PLAIN = invented_engine()
CLUTCH = invented_engine(clutch_speed=3500.0 * RPM)


@pytest.mark.parametrize("throttle", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("engine_speed", [500.0, 3000.0, 7000.0])
def test_without_clutch_the_engine_turns_with_the_propeller(engine_speed, throttle):
    state = drive_line(PLAIN, DRIVE, engine_speed * RPM / 2.8, throttle, AIR)
    assert state.engine_speed == pytest.approx(engine_speed * RPM, rel=1e-14)
    assert state.engine_torque == engine_torque(PLAIN, state.engine_speed, throttle, AIR)
    assert state.clutch_slipping == 0.0


@pytest.mark.parametrize("throttle", [0.0, 0.02, 0.5, 1.0])
def test_the_drive_never_makes_power(throttle):
    rotor_speed = 7000.0 * RPM / 2.8
    state = drive_line(PLAIN, DRIVE, rotor_speed, throttle, AIR)
    into_drive, out = state.engine_torque * state.engine_speed, state.rotor_torque * rotor_speed
    assert out == pytest.approx(0.96 * into_drive if into_drive > 0.0 else into_drive / 0.96, rel=1e-13)
    assert out <= into_drive


def test_slipping_clutch_passes_the_torque_of_engagement_down_to_standstill():
    for rotor_speed in (0.0, 50.0, 3499.0 * RPM / 2.8):
        state = drive_line(CLUTCH, DRIVE, rotor_speed, 1.0, AIR)
        assert state.engine_speed == 3500.0 * RPM
        assert state.engine_torque == engine_torque(CLUTCH, 3500.0 * RPM, 1.0, AIR) > 0.0
        assert state.rotor_torque == pytest.approx(2.8 * 0.96 * state.engine_torque, rel=1e-14)
        assert state.clutch_slipping == 1.0


def test_free_propeller_and_idling_engine_at_closed_throttle():
    assert drive_line(CLUTCH, DRIVE, 100.0, 0.0, AIR) == (2200.0 * RPM, 0.0, 0.0, 1.0)


def test_torque_is_continuous_when_the_clutch_takes_hold():
    edge = 3500.0 * RPM / 2.8
    slipping, closed = (drive_line(CLUTCH, DRIVE, edge * (1.0 + k), 1.0, AIR) for k in (-1e-9, 1e-9))
    assert (slipping.clutch_slipping, closed.clutch_slipping) == (1.0, 0.0)
    assert closed.rotor_torque == pytest.approx(slipping.rotor_torque, rel=1e-7)


def test_closed_clutch_is_no_clutch():
    assert drive_line(CLUTCH, DRIVE, 250.0, 0.6, AIR) == drive_line(PLAIN, DRIVE, 250.0, 0.6, AIR)


def test_a_propeller_turning_backwards_does_not_upset_a_plain_drive():
    assert drive_line(PLAIN, DRIVE, -1.0, 1.0, AIR).clutch_slipping == 0.0


def test_engine_inertia_counts_with_the_square_of_the_reduction():
    energy_at_propeller = 0.5 * rotor_inertia(0.11, DRIVE, 2e-3) * 200.0**2
    energy_of_parts = 0.5 * 0.11 * 200.0**2 + 0.5 * 2e-3 * (2.8 * 200.0) ** 2
    assert energy_at_propeller == pytest.approx(energy_of_parts, rel=1e-14)


@pytest.mark.parametrize("values", [{"reduction": 0.0}, {"efficiency": 0.0}, {"efficiency": 1.01}])
def test_builder_says_what_to_change(values):
    with pytest.raises(ValueError, match=next(iter(values))):
        build_drive(**{"reduction": 2.8, "efficiency": 0.96} | values)


@pytest.mark.parametrize("engine", [PLAIN, CLUTCH])
@pytest.mark.parametrize("rotor_speed", [-3.0, 0.0, 120.0, 290.0])
def test_compiled_equals_plain_python(engine, rotor_speed):
    for throttle in (0.0, 0.8):
        compiled = drive_line(engine, DRIVE, rotor_speed, throttle, AIR)
        assert compiled == pytest.approx(
            drive_line.py_func(engine, DRIVE, rotor_speed, throttle, AIR), rel=1e-13, abs=1e-15
        )
