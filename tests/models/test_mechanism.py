"""Every moment of the hub on one blade, against energy, force balances and point masses.

Positive toward coarse. Values marked as own arithmetic guard against changes; they validate nothing.
"""

from math import cos, pi, radians, sin

import numpy as np
import pytest
from machines import torsion_spring, two_stop_hub, untwisted_inertia
from scipy.integrate import quad
from spring_formulas import disc_washer_load

from simengine.models.inertia import blade_pull, centrifugal_moment, counterweight_inertia
from simengine.models.mechanism import (
    NO_SPRING,
    PICK_UP_ANGLE,
    Spring,
    counterweight_moment,
    friction_moment,
    net_moment,
    pitch_moments,
    spring_compression,
    spring_force,
    spring_moment,
    stop_reaction,
)
from simengine.models.springs import DiscWasher, disc_stack_coefficients, helical_rate

RPM = 2.0 * pi / 60.0
COARSE, FINE = radians(14.0), radians(9.0)
RATE, PRELOAD, ARM = 16e3, 0.012, 0.022  # N/m, m, m
WASHER = DiscWasher(0.028, 0.0142, 0.0008, 0.0008)
PARALLEL, SERIES, PRESSED = 2, 12, 0.0035
STACK = disc_stack_coefficients(**WASHER._asdict(), parallel=PARALLEL, series=SERIES)


def hub_of(spring, **changes):
    return two_stop_hub(14.0, 9.0, spring=spring, **changes)


def lever_tip(lever_angle, travel):
    """Along the spring's line; the lever stands square to it at angle zero and swings back with travel."""
    return ARM * sin(lever_angle - travel)


def helical_energy(compression):
    return 0.5 * RATE * compression**2


def stack_energy(compression):
    """Work of pressing the stack, from the load of one washer."""
    return quad(lambda x: PARALLEL * disc_washer_load(WASHER, x / SERIES), 0.0, compression, epsabs=1e-13)[0]


def slope(function, x, step=1e-3):
    """Central difference of fourth order."""
    return (
        8.0 * (function(x + step) - function(x - step)) - (function(x + 2 * step) - function(x - 2 * step))
    ) / (12.0 * step)


# --- spring ----------------------------------------------------------------------------------------
@pytest.mark.parametrize("share", [1.0, 0.5, 1.0 / 3.0])
@pytest.mark.parametrize("lever_angle", [-0.4, 0.0, 0.035, 0.6])
@pytest.mark.parametrize(
    ("coefficients", "preload", "energy"),
    [((RATE, 0.0, 0.0), PRELOAD, helical_energy), (STACK, PRESSED, stack_energy)],
    ids=["helical", "disc washers"],
)
def test_moment_through_a_lever_is_the_slope_of_the_stored_energy(
    coefficients, preload, energy, lever_angle, share
):
    hub = hub_of(Spring(*coefficients, preload, ARM, lever_angle, share, 0.0))

    def stored(blade_angle):
        travel = COARSE - blade_angle
        return energy(preload + lever_tip(lever_angle, 0.0) - lever_tip(lever_angle, travel))

    for blade_angle in np.linspace(FINE, COARSE, 5):
        assert spring_moment(hub, blade_angle) == pytest.approx(-share * slope(stored, blade_angle), rel=1e-8)


@pytest.mark.parametrize("share", [1.0, 0.5])
def test_moment_of_a_torsion_spring_is_the_slope_of_the_stored_energy(share):
    rate, windup = 9.0, radians(40.0)
    hub = hub_of(Spring(rate, 0.0, 0.0, windup, 0.0, 0.0, share, 0.0))
    for blade_angle in (FINE, 0.2, COARSE):
        expected = -share * slope(lambda b: 0.5 * rate * (windup + COARSE - b) ** 2, blade_angle)
        assert spring_moment(hub, blade_angle) == pytest.approx(expected, rel=1e-10)
        assert spring_moment(hub, blade_angle) > 0.0


def test_moment_is_the_force_times_its_distance_from_the_pitch_axis():
    hub = hub_of(Spring(RATE, 0.0, 0.0, PRELOAD, ARM, 0.3, 1.0, 0.0))
    for travel in (0.0, 0.05):
        tip = np.array([ARM * cos(0.3 - travel), lever_tip(0.3, travel)])
        push = np.array([0.0, RATE * (PRELOAD + lever_tip(0.3, 0.0) - lever_tip(0.3, travel))])
        crossed = tip[0] * push[1] - tip[1] * push[0]
        assert spring_moment(hub, COARSE - travel) == pytest.approx(crossed, rel=1e-12)


def test_a_square_lever_gives_rate_times_arm_squared_as_pitch_stiffness():
    hub = hub_of(Spring(RATE, 0.0, 0.0, PRELOAD, ARM, 0.0, 1.0, 0.0))
    assert -slope(lambda b: spring_moment(hub, b), COARSE) == pytest.approx(RATE * ARM**2, rel=1e-7)


def test_a_longer_travel_presses_the_spring_more_and_a_lever_past_square_gives_less_arm():
    spring = Spring(RATE, 0.0, 0.0, PRELOAD, ARM, 0.0, 1.0, 0.0)
    compressions = [spring_compression(spring, travel) for travel in np.linspace(0.0, 0.5, 11)]
    assert np.all(np.diff(compressions) > 0.0)
    assert np.all(np.diff(np.diff(compressions)) < 0.0)
    toward_square = spring._replace(lever_angle=0.5)
    assert np.all(np.diff(np.diff([spring_compression(toward_square, t) for t in (0.0, 0.2, 0.4)])) > 0.0)


@pytest.mark.parametrize("washers", [0, 1, 6])
def test_each_washer_presses_the_coil_by_its_thickness(washers):
    # Wire 3 mm, coil 24 mm, 6 coils, G 79.3 GPa: 9.6802 N/mm by G d4/(8 D3 N) (Shigley's Mechanical
    # Engineering Design, spring chapter; the value is own arithmetic).
    rate = helical_rate(0.003, 0.024, 6.0, 79.3e9)
    assert rate == pytest.approx(9680.2, abs=0.05)
    preload = 0.052 - 0.040 + washers * 0.0005
    hub = hub_of(Spring(rate, 0.0, 0.0, preload, ARM, 0.0, 1.0, 0.0))
    assert spring_moment(hub, COARSE) == pytest.approx(9680.2 * (0.012 + 0.0005 * washers) * 0.022, rel=6e-6)


@pytest.mark.parametrize("arm", [0.0, ARM])
def test_a_spring_never_pulls(arm):
    slack = Spring(RATE, 0.0, 0.0, -0.0005, arm, 0.0, 1.0, 0.0)
    hub = hub_of(slack)
    assert spring_moment(hub, COARSE) == 0.0
    assert spring_moment(hub, FINE) > 0.0
    assert spring_force(slack, -0.001) == 0.0


def test_washers_beyond_a_snap_through_do_not_pull_either():
    # h/t above 2 sqrt 2 makes the load of a washer negative over part of its travel (DIN 2092's formula).
    steep = DiscWasher(0.028, 0.0142, 0.0004, 0.0012)
    assert disc_washer_load(steep, 0.0018) < 0.0
    stack = disc_stack_coefficients(**steep._asdict(), parallel=1, series=1)
    spring = NO_SPRING._replace(**stack._asdict())
    assert spring_force(spring, 0.0018) == 0.0
    assert spring_force(spring, 0.0003) == pytest.approx(disc_washer_load(steep, 0.0003), rel=1e-12)


def test_no_spring_gives_nothing():
    assert spring_moment(hub_of(NO_SPRING), FINE) == 0.0


# --- lost motion -----------------------------------------------------------------------------------
LOST = radians(0.8)


def with_play(lost_motion=LOST):
    return hub_of(Spring(RATE, 0.0, 0.0, PRELOAD, ARM, 0.05, 1.0, 0.0), lost_motion=lost_motion)


def test_in_the_free_play_the_spring_gives_nothing():
    for travel in np.linspace(0.0, LOST - PICK_UP_ANGLE, 9):
        assert spring_moment(with_play(), COARSE - travel) == pytest.approx(0.0, abs=1e-9)


def test_behind_the_free_play_the_spring_acts_as_one_without_it():
    for travel in np.linspace(0.0, radians(3.0), 7):
        behind = spring_moment(with_play(), COARSE - LOST - travel)
        assert behind == pytest.approx(spring_moment(with_play(0.0), COARSE - travel), rel=1e-12)


@pytest.mark.parametrize("lost_motion", [LOST, radians(0.02)])
def test_taking_up_the_preload_is_smooth_and_ends_with_the_whole(lost_motion):
    hub = with_play(lost_motion)
    preload = RATE * PRELOAD * ARM * cos(0.05)
    width = min(PICK_UP_ANGLE, lost_motion)
    travel = lost_motion - width + np.linspace(0.0, width, 201)
    moments = np.array([spring_moment(hub, COARSE - t) for t in travel])
    assert moments[0] == pytest.approx(0.0, abs=1e-9)
    assert moments[-1] == pytest.approx(preload, rel=1e-9)
    assert np.all(np.diff(moments) >= 0.0)
    assert np.diff(moments).max() < 1.6 * preload / 200  # no jump: the steepest step is 1.5 of the mean
    assert moments[100] == pytest.approx(0.5 * preload, rel=1e-6)


# --- mass moments ----------------------------------------------------------------------------------
def counterweighted(mass, arm, angle):
    weight = counterweight_inertia(mass, arm, angle)
    return hub_of(NO_SPRING, counterweight_sin2=weight.sin2, counterweight_cos2=weight.cos2)


def point_mass_moment(mass, arm, angle, speed):
    """Of the centrifugal force of a mass on an arm that stands at `angle` from the plane of rotation."""
    along_rotation, ahead = arm * cos(angle), arm * sin(angle)
    return -ahead * mass * speed**2 * along_rotation


def test_counterweight_square_to_the_chord_drives_coarse():
    # 50 g on 40 mm at 15 deg and 2400 rpm: +1.2633 N m (own arithmetic).
    hub = counterweighted(0.050, 0.040, radians(90.0))
    assert counterweight_moment(hub, radians(15.0), 2400.0 * RPM) == pytest.approx(1.2633, abs=0.00005)


@pytest.mark.parametrize("angle", [0.0, 0.4, pi / 2, 2.0, -0.7])
@pytest.mark.parametrize("blade_angle", [0.05, 0.25])
def test_counterweight_is_a_point_mass_in_the_centrifugal_field(angle, blade_angle):
    hub = counterweighted(0.031, 0.037, angle)
    expected = point_mass_moment(0.031, 0.037, blade_angle + angle, 230.0)
    assert counterweight_moment(hub, blade_angle, 230.0) == pytest.approx(expected, rel=1e-12)


def test_signs_blade_goes_fine_and_a_counterweight_along_the_chord_with_it():
    # That centrifugal force turns blades to low pitch is in every training text on propellers.
    speed, angle = 2400.0 * RPM, radians(15.0)
    assert centrifugal_moment(untwisted_inertia(), angle, speed) == pytest.approx(-8.49787, abs=2e-5)
    assert counterweight_moment(counterweighted(0.05, 0.04, 0.0), angle, speed) < 0.0
    assert counterweight_moment(counterweighted(0.05, 0.04, pi / 2), angle, speed) > 0.0


# --- friction --------------------------------------------------------------------------------------
# Friction moment = coefficient x load x mean radius, as bearing tables have it; thrust ball .0013, combined
# needle .004, greased plain face .08 to .15 (common practice). Blade of 18020 N at 2400 rpm on 20 mm.
@pytest.mark.parametrize(
    ("coefficient", "moment"), [(0.0013, 0.469), (0.004, 1.442), (0.08, 28.83), (0.15, 54.06)]
)
def test_friction_of_the_bearing_under_the_pull(coefficient, moment):
    inertia = untwisted_inertia()
    assert blade_pull(inertia, 2400.0 * RPM) == pytest.approx(18020.3, abs=0.05)
    hub = hub_of(NO_SPRING, friction_arm=coefficient * 0.020)
    digits = 0.005 if moment > 10.0 else 0.0005
    assert friction_moment(hub, inertia, 0.0, 2400.0 * RPM) == pytest.approx(moment, abs=digits)


def test_friction_is_the_sum_of_constant_pull_and_faces():
    hub = hub_of(
        torsion_spring(6.0, 10.0)._replace(friction_share=0.05), friction_constant=0.3, friction_arm=4e-5
    )
    inertia = untwisted_inertia()
    pull = inertia.first_moment * 200.0**2
    assert friction_moment(hub, inertia, 7.0, 200.0) == pytest.approx(0.3 + 4e-5 * pull + 0.05 * 7.0)
    assert friction_moment(hub, inertia, 7.0, 0.0) == pytest.approx(0.3 + 0.05 * 7.0)


def test_friction_inside_the_spring_goes_with_its_moment_on_this_blade():
    spring = torsion_spring(6.0, 10.0)._replace(friction_share=0.025)
    budget = pitch_moments(hub_of(spring), untwisted_inertia(), FINE, 0.0, 0.0)
    assert budget.friction == pytest.approx(0.025 * budget.spring)


# --- budget and stops ------------------------------------------------------------------------------
def whole_hub():
    weight = counterweight_inertia(0.02, 0.03, 1.2)
    return hub_of(
        torsion_spring(6.0, 20.0),
        counterweight_sin2=weight.sin2,
        counterweight_cos2=weight.cos2,
        friction_constant=0.1,
        friction_arm=4e-5,
    )


def test_mass_moments_and_the_pull_s_friction_go_with_the_speed_squared_and_the_rest_does_not():
    slow, fast = (
        pitch_moments(whole_hub(), untwisted_inertia(), 0.2, speed, -0.7) for speed in (120.0, 240.0)
    )
    assert fast.centrifugal == pytest.approx(4.0 * slow.centrifugal, rel=1e-12)
    assert fast.counterweight == pytest.approx(4.0 * slow.counterweight, rel=1e-12)
    assert fast.friction - 0.1 == pytest.approx(4.0 * (slow.friction - 0.1), rel=1e-12)
    assert fast.spring == slow.spring and fast.air == slow.air == -0.7


def test_at_rest_only_the_spring_pushes():
    budget = pitch_moments(whole_hub(), untwisted_inertia(), COARSE, 0.0, 0.0)
    assert budget.centrifugal == budget.counterweight == budget.air == 0.0
    assert net_moment(budget) == pytest.approx(6.0, rel=1e-9)


def test_friction_is_no_driving_moment():
    budget = pitch_moments(whole_hub(), untwisted_inertia(), 0.2, 250.0, -0.7)
    assert net_moment(budget) == pytest.approx(sum(budget[:4]), rel=1e-12)


@pytest.mark.parametrize("speed", [100.0, 400.0])
@pytest.mark.parametrize("blade_angle", [COARSE, FINE])
def test_a_blade_resting_on_a_stop_is_in_balance_and_the_stop_only_pushes(blade_angle, speed):
    hub = whole_hub()
    net = net_moment(pitch_moments(hub, untwisted_inertia(), blade_angle, speed, 0.0))
    reaction = stop_reaction(hub, blade_angle, net)
    pressed = (net > 0.0) == (blade_angle == COARSE)
    assert reaction + net == pytest.approx(0.0, abs=1e-12) if pressed else reaction == 0.0
    assert reaction <= 0.0 if blade_angle == COARSE else reaction >= 0.0


def test_the_two_speeds_above_press_the_blade_on_each_of_the_stops():
    on_coarse, on_fine = (
        net_moment(pitch_moments(whole_hub(), untwisted_inertia(), blade_angle, speed, 0.0))
        for blade_angle, speed in ((COARSE, 100.0), (FINE, 400.0))
    )
    assert on_coarse > 0.0 > on_fine


@pytest.mark.parametrize("net", [-3.0, 0.0, 3.0])
def test_between_the_stops_nothing_reacts(net):
    assert stop_reaction(whole_hub(), 0.5 * (COARSE + FINE), net) == 0.0


def test_carried_from_stop_to_stop_the_spring_stores_what_its_moment_took():
    hub = hub_of(Spring(*STACK, PRESSED, ARM, 0.1, 1.0, 0.0))
    work = quad(lambda b: spring_moment(hub, b), FINE, COARSE, epsabs=1e-13)[0]
    stored = stack_energy(PRESSED + lever_tip(0.1, 0.0) - lever_tip(0.1, COARSE - FINE))
    assert work == pytest.approx(stored - stack_energy(PRESSED), rel=1e-9)


def test_compiled_and_readable_kernels_agree():
    for blade_angle in (FINE, 0.2, COARSE):
        arguments = (whole_hub(), untwisted_inertia(), blade_angle, 240.0, -0.7)
        assert pitch_moments(*arguments) == pytest.approx(pitch_moments.py_func(*arguments), rel=1e-14)
