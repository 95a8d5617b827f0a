"""The step of the integrator on problems with known or independently computed solutions."""

import numpy as np
import pytest
from ode_runs import fixed_steps
from scipy.integrate import solve_ivp

from simengine.flight.rosenbrock import factorise, hermite, next_step, solve_factorised


def forced_pair(parameters, time, state, slope):
    """Stiff (rate 50 1/s), coupled, non-linear and driven by time."""
    slope[0] = -parameters * (state[0] - np.cos(time)) + 0.1 * state[1]
    slope[1] = state[0] * state[1] * np.sin(time) - state[1]


def reference(stiffness):
    def slope(time, state):
        out = np.empty(2)
        forced_pair(stiffness, time, state, out)
        return out

    return solve_ivp(slope, (0.0, 2.0), [1.0, 1.0], method="DOP853", rtol=1e-13, atol=1e-14).y[:, -1]


def test_order_of_convergence_is_four():
    exact = reference(5.0)
    errors = [
        np.abs(fixed_steps(forced_pair, 5.0, [1.0, 1.0], 2.0, steps) - exact).max() for steps in (20, 40, 80)
    ]
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert orders == pytest.approx([4.0, 4.0], abs=0.35)


def test_stiff_problem_is_stable_with_steps_far_beyond_its_time_constant():
    exact = reference(1e4)
    assert np.abs(fixed_steps(forced_pair, 1e4, [1.0, 1.0], 2.0, 20) - exact).max() < 1e-5


def test_factors_solve_like_the_library():
    generator = np.random.default_rng(7)
    for size in (1, 2, 5, 9):
        matrix = generator.normal(size=(size, size))
        matrix[0, 0] = 0.0 if size > 1 else 1.0  # needs a row exchange
        right = generator.normal(size=size)
        expected = np.linalg.solve(matrix, right)
        factors, solution = matrix.copy(), right.copy()
        solve_factorised(factors, factorise(factors), solution)
        assert solution == pytest.approx(expected, rel=1e-9)


def test_cubic_between_ends_reproduces_a_cubic():
    def value(t):
        return np.array([1.0 + t - 2.0 * t**2 + 0.5 * t**3])

    def slope(t):
        return np.array([1.0 - 4.0 * t + 1.5 * t**2])

    inside = hermite(0.3, 2.0, value(1.0), slope(1.0), value(3.0), slope(3.0))
    assert inside == pytest.approx(value(1.6), abs=1e-13)


@pytest.mark.parametrize(("norm", "factor"), [(0.0, 5.0), (1e-20, 5.0), (1e6, 0.2), (1.0, 0.9)])
def test_step_changes_stay_within_bounds(norm, factor):
    assert next_step(0.1, norm) == pytest.approx(0.1 * factor)
