"""The integrator on flights whose answers are known in closed form."""

from math import exp, log, sqrt

import numpy as np
import pytest
from ode_runs import adaptive

GRAVITY = 9.80665


def spin_down(parameters, time, state, slope):
    slope[0] = -parameters * state[0] ** 2


def test_rotor_spins_down_against_a_torque_of_the_speed_squared():
    # dOmega/dt = -k Omega^2/I has Omega = O0/(1 + O0 k t/I); I .12, k 2e-4, O0 250 rad/s, t 5 s: 81.0811.
    end = adaptive(spin_down, 2e-4 / 0.12, [250.0], 5.0)
    assert end[0] == pytest.approx(81.0811, abs=0.00005)


def climb_to_ceiling(parameters, time, state, slope):
    slope[0] = 2.5 * (1.0 - state[0] / 5500.0)


def test_climb_with_a_rate_that_falls_linearly_to_a_ceiling():
    # t = (H/RC0) ln(H/(H - h)): 2.5 m/s, ceiling 5500 m, to 3000 m takes 1734.606 s.
    duration = 5500.0 / 2.5 * log(5500.0 / 2500.0)
    assert duration == pytest.approx(1734.606, abs=0.0005)
    assert adaptive(climb_to_ceiling, 0.0, [0.0], duration)[0] == pytest.approx(3000.0, abs=1e-4)


def constant_speed_burn(parameters, time, state, slope):
    # P = m g V / (L/D eta); fuel flow = bsfc * P
    slope[0] = -0.45 / 3.6e6 * state[0] * 9.80665 * 11.0 / (6.0 * 0.5)


def test_fuel_at_constant_speed_and_glide():
    # m0 exp(-c g V t/(eta L/D)): V 11 m/s, L/D 6, eta .5, .45 kg/kWh, 135 kg, 2 h burn 4.2989 kg.
    end = adaptive(constant_speed_burn, 0.0, [135.0], 7200.0)
    assert 135.0 - end[0] == pytest.approx(4.2989, abs=0.00005)
    closed = 135.0 * (1.0 - exp(-0.45 / 3.6e6 * GRAVITY * 11.0 * 7200.0 / 3.0))
    assert 135.0 - end[0] == pytest.approx(closed, rel=1e-7)


def breguet(parameters, time, state, slope):
    """Distance and weight at constant lift coefficient: speed and power follow from the weight."""
    efficiency, consumption, glide, lift_coefficient, density, area = parameters
    speed = np.sqrt(2.0 * state[1] / (density * area * lift_coefficient))
    slope[0] = speed
    slope[1] = -consumption * state[1] / glide * speed / efficiency


def test_range_and_endurance_of_breguet():
    # J. D. Anderson, Introduction to Flight, light aircraft of the worked examples on range and endurance
    # (example number as in a companion text; imperial data from memory): W0 13127.5 N, fuel 1632.5 N,
    # S 16.165 m2, eta .8, c 2.0025/(3600*746) N/(W s), (L/D)max 13.62 -> range 1,940,549 m.
    efficiency, consumption, area, density = 0.8, 2.0025 / (3600.0 * 746.0), 16.165, 1.225
    start, end_weight, glide = 13127.5, 13127.5 - 1632.5, 13.62
    closed_range = efficiency / consumption * glide * log(start / end_weight)
    assert closed_range == pytest.approx(1_940_549.0, abs=50.0)
    lift_coefficient = 0.634
    per_root = sqrt(2.0 / (density * area * lift_coefficient))
    # dW/dt = -k W^1.5 in closed form gives the time at which the fuel is gone.
    rate = consumption / (glide * efficiency) * per_root
    duration = 2.0 / rate * (end_weight**-0.5 - start**-0.5)
    parameters = (efficiency, consumption, glide, lift_coefficient, density, area)
    flown = adaptive(breguet, parameters, [0.0, start], duration)
    assert flown[1] == pytest.approx(end_weight, rel=1e-7)
    assert flown[0] == pytest.approx(closed_range, rel=1e-7)
    # E = (eta/c) (CL^1.5/CD) sqrt(2 rho S) (W1^-.5 - W0^-.5), the same thing written as in the book.
    factor = lift_coefficient**1.5 / (lift_coefficient / glide)
    endurance = efficiency / consumption * factor * sqrt(2.0 * density * area)
    assert duration == pytest.approx(endurance * (end_weight**-0.5 - start**-0.5), rel=1e-12)
