"""All balances in words, the closed criterion of a snap, and a spring whose rate is negative."""

from dataclasses import replace
from math import cos, log, sin

import numpy as np
import pytest
from machines import (
    STANDARD_DAY,
    demo_aircraft,
    demo_blade,
    torsion_spring,
    two_stop_hub,
    untwisted_inertia,
)

from simengine.balance.equilibria import Equilibrium, Place, RestInterval, all_equilibria
from simengine.balance.pitch import balance_at
from simengine.constants import DEGREE
from simengine.models.atmosphere import air_at
from simengine.models.mechanism import Spring, spring_moment
from simengine.models.springs import disc_stack_coefficients
from simengine.studies.envelope.balance_words import Balances, balance_words, once_per_revolution, sentences
from simengine.studies.envelope.throttle_map import both_branches
from simengine.studies.machine import machine_of

SEA_LEVEL = air_at(STANDARD_DAY, 0.0)
INERTIA = 5.38134e-4  # K [kg m2]
OPENINGS = np.linspace(0.0, 1.0, 201)


def bare_machine(preload=5.4, rate=0.0, **hub):
    """No air moment, no friction: the machine of the closed criterion."""
    return machine_of(
        demo_aircraft(
            hub=two_stop_hub(13.0, 9.5, spring=torsion_spring(preload, rate), **hub),
            inertia=untwisted_inertia(),
            blade=demo_blade(air_moment=False),
        )
    )


# --- the snap --------------------------------------------------------------------------------------
def rpm_rise(machine, balance, throttle):
    """Fractional rise of the rotor speed per radian finer, torque in balance, at one balance."""
    step = 1e-4
    coarser, finer = (
        balance_at(
            machine.aircraft, SEA_LEVEL, balance.blade_angle + da, 0.0, throttle, balance.rotor_speed
        ).rotor_speed
        for da in (step, -step)
    )
    return (log(finer) - log(coarser)) / (2.0 * step)


def window(machine):
    """Throttles over which the blade is on its way, either direction."""
    (opening, _), (closing, _) = both_branches(machine, SEA_LEVEL, 0.0, OPENINGS)
    both = np.stack([opening, closing])
    moved = (both < machine.coarse_stop).any(axis=0) & (both > machine.fine_stop).any(axis=0)
    throttles = OPENINGS[moved]
    # An abrupt shift may pass between two openings of the sweep.
    low = throttles[0] if throttles.size else OPENINGS[np.argmax(opening < machine.coarse_stop)]
    high = throttles[-1] if throttles.size else low
    return np.linspace(low - 0.005, min(high + 0.002, 1.0), 21)


@pytest.mark.parametrize("rate", [0.0, 10.0, 20.0, 30.0, 40.0, 60.0, 90.0])
def test_a_balance_is_unstable_where_the_closed_criterion_of_the_snap_says_so(rate):
    # |d ln Omega / d b| > [cos 2b + k/(K Omega^2)] / sin 2b, from the pitch equation without air moment.
    machine, compared = bare_machine(rate=rate), 0
    for throttle in window(machine):
        for found in all_equilibria(machine.aircraft, SEA_LEVEL, 0.0, float(throttle)):
            if found.place is not Place.BETWEEN:
                continue
            b, speed = found.blade_angle, found.rotor_speed
            needed = (cos(2.0 * b) + rate / (INERTIA * speed**2)) / sin(2.0 * b)
            assert found.stable == (rpm_rise(machine, found, float(throttle)) < needed)
            compared += 1
    assert compared > 0


def test_both_answers_come_up_in_that_test():
    machines = [bare_machine(rate=rate) for rate in (0.0, 90.0)]
    stable = {
        found.stable
        for machine in machines
        for throttle in window(machine)[::5]
        for found in all_equilibria(machine.aircraft, SEA_LEVEL, 0.0, float(throttle))
        if found.place is Place.BETWEEN
    }
    assert stable == {True, False}


@pytest.mark.parametrize(("preload", "rate", "snaps"), [(5.4, 0.0, True), (3.0, 90.0, False)])
def test_a_hub_snaps_in_the_sweep_where_its_balances_are_unstable(preload, rate, snaps):
    machine = bare_machine(preload, rate)
    (opening, _), (closing, _) = both_branches(machine, SEA_LEVEL, 0.0, OPENINGS)
    assert opening[0] == closing[0] == machine.coarse_stop
    assert opening[-1] == machine.fine_stop
    for branch in (opening, closing):
        assert (np.abs(np.diff(branch)).max() > 1.5 * DEGREE) == snaps
    assert (np.abs(opening - closing).max() > 1.5 * DEGREE) == snaps


# --- negative rate ---------------------------------------------------------------------------------
def soft_disc_spring(cone_over_thickness):
    """Disc washers pressed to 0.75 of their cone height on the coarse stop, set to 5.4 N m there."""
    thickness, series = 1.0e-3, 6
    linear, quadratic, cubic = disc_stack_coefficients(
        outer_diameter=28e-3,
        inner_diameter=14.2e-3,
        thickness=thickness,
        cone_height=cone_over_thickness * thickness,
        elastic_modulus=206e9,
        poisson_ratio=0.3,
        parallel=1,
        series=series,
    )
    preload = 0.75 * cone_over_thickness * thickness * series
    spring = Spring(linear, quadratic, cubic, preload, 0.018, 0.0, 1.0, 0.0)
    moment = spring_moment(two_stop_hub(13.0, 9.5, spring=spring), 13.0 * DEGREE)
    return spring._replace(share=5.4 / moment)


def test_disc_washers_with_a_high_cone_have_a_negative_rate_and_snap_with_both_branches_reported():
    # h0/t above sqrt(2): the load falls past its peak (J. O. Almen and A. Laszlo, Trans. ASME 58 (1936) 305).
    hub = two_stop_hub(13.0, 9.5, spring=soft_disc_spring(1.6))
    moments = [spring_moment(hub, angle * DEGREE) for angle in (13.0, 11.25, 9.5)]
    assert moments[0] > moments[1] > moments[2]
    machine = machine_of(
        demo_aircraft(hub=hub, inertia=untwisted_inertia(), blade=demo_blade(air_moment=False))
    )
    (opening, fast), (closing, _) = both_branches(machine, SEA_LEVEL, 0.0, OPENINGS)
    two = (opening == machine.coarse_stop) & (closing == machine.fine_stop)
    assert np.sum(two) >= 3
    assert set(np.round(np.degrees([*opening, *closing]), 6)) == {13.0, 9.5}
    assert np.all(np.diff(fast) > 0.0)
    lost = OPENINGS[two]
    words = balance_words(machine, SEA_LEVEL, 0.0, float(lost[0]), float(lost[-1]))
    assert any("two balances" in sentence and "snaps" in sentence for sentence in words)


def test_disc_washers_with_a_low_cone_have_not():
    hub = two_stop_hub(13.0, 9.5, spring=soft_disc_spring(0.4))
    assert spring_moment(hub, 13.0 * DEGREE) < spring_moment(hub, 9.5 * DEGREE)


# --- words -----------------------------------------------------------------------------------------
STEADY = Equilibrium(Place.COARSE_STOP, 13.0 * DEGREE, 200.0, 1.0, True, -1.0, 0.0, 0.0)
GROWING = Equilibrium(Place.BETWEEN, 11.0 * DEGREE, 220.0, 0.0, False, 0.8, 50.0, 0.23)
FLOATING = Equilibrium(Place.BETWEEN, 11.0 * DEGREE, 220.0, 0.0, True, -0.8, 209.0, 0.95)
WHOLE = RestInterval(13.0 * DEGREE, 9.5 * DEGREE)
PART = RestInterval(13.0 * DEGREE, 12.0 * DEGREE)


def test_one_balance_everywhere_is_said():
    looked_at = [Balances(throttle, (STEADY,), (PART,)) for throttle in (0.2, 0.6)]
    assert sentences(bare_machine(), looked_at) == ["one balance at every throttle"]


def test_no_balance_is_said_with_its_throttle():
    looked_at = [Balances(0.2, (), ()), Balances(0.6, (STEADY,), ())]
    assert sentences(bare_machine(), looked_at)[0].startswith("no balance at 20 % throttle")


def test_a_growing_single_balance_hunts():
    (sentence,) = sentences(bare_machine(), [Balances(0.4, (GROWING,), ())])
    assert "hunts at 40 % throttle" in sentence
    assert "0.8 1/s" in sentence and "8 Hz" in sentence


def test_an_unstable_balance_between_two_stable_ones_is_a_snap_and_does_not_hunt():
    fine = replace(STEADY, place=Place.FINE_STOP)
    found = sentences(bare_machine(), [Balances(t, (STEADY, GROWING, fine), ()) for t in (0.3, 0.35)])
    assert len(found) == 1
    assert found[0].startswith("two balances between 30 and 35 % throttle: snaps")


def test_friction_from_stop_to_stop_locks():
    some = [Balances(0.2, (STEADY,), (WHOLE,)), Balances(0.6, (STEADY,), (PART,))]
    assert "locked by friction at 20 % throttle" in sentences(bare_machine(), some)[0]
    every = [Balances(0.2, (STEADY,), (WHOLE,))]
    assert "locked by friction at every throttle" in sentences(bare_machine(), every)[0]


def test_a_plain_thrust_face_locks_the_blade():
    # Friction coefficient 0.08 and more on a plain face (common practice, no source) holds any twist.
    machine = bare_machine(friction_arm=0.08 * 0.020)
    words = balance_words(machine, SEA_LEVEL, 0.0, 0.3, 0.7)
    assert any("locked by friction" in sentence for sentence in words)


def test_a_floating_blade_near_once_per_revolution_is_a_caution():
    assert "0.95" in once_per_revolution([Balances(0.4, (STEADY, FLOATING), ())])
    assert once_per_revolution([Balances(0.4, (STEADY, GROWING), ())]) == ""
