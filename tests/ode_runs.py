"""Run the flight integrator's own step on other equations, through its readable Python form."""

from contextlib import contextmanager

import numpy as np

from simengine.flight import rosenbrock


@contextmanager
def equations(derivatives):
    """Let the step integrate other equations than those of the flight."""
    kept = rosenbrock.derivatives
    rosenbrock.derivatives = derivatives
    try:
        yield
    finally:
        rosenbrock.derivatives = kept


def matrix_and_drift(derivatives, parameters, time, state, slope):
    """Derivatives of the slope with the state and with time, by forward differences."""
    moved, matrix, drift = np.empty(state.size), np.empty((state.size, state.size)), np.empty(state.size)
    increments = np.maximum(1e-7 * np.abs(state), 1e-9)
    for j, shift in enumerate(np.diag(increments)):
        derivatives(parameters, time, state + shift, moved)
        matrix[:, j] = (moved - slope) / increments[j]
    derivatives(parameters, time + 1e-6, state, drift)
    return matrix, (drift - slope) / 1e-6


def one_step(derivatives, parameters, time, state, step):
    """New state and error estimate after one step."""
    slope, end, error = np.empty((3, state.size))
    derivatives(parameters, time, state, slope)
    matrix, drift = matrix_and_drift(derivatives, parameters, time, state, slope)
    with equations(derivatives):
        rosenbrock.rosenbrock_step.py_func(parameters, time, state, slope, matrix, drift, step, end, error)
    return end, error


def fixed_steps(derivatives, parameters, start, duration, steps):
    """State after a number of equal steps."""
    state, step = np.array(start, dtype=float), duration / steps
    for i in range(steps):
        state, _ = one_step(derivatives, parameters, i * step, state, step)
    return state


def adaptive(derivatives, parameters, start, duration, relative=1e-8):
    """State after an adaptive run with the flight's step control."""
    state, time, step = np.array(start, dtype=float), 0.0, 1e-3 * duration
    while time < duration:
        step = min(step, duration - time)
        end, error = one_step(derivatives, parameters, time, state, step)
        norm = rosenbrock.error_norm(error, state, end, np.full_like(state, 1e-12), relative)
        if norm <= 1.0:
            time += step
            state = end
        step = rosenbrock.next_step(step, norm)
    return state
