"""One step of a linearly implicit Runge-Kutta method of order 4 for stiff problems, with error estimate.

RODAS: six stages, order 4 with an embedded order 3, stiffly accurate and L-stable, so that a pitch mode
of hundreds of radians a second costs nothing once it has died out. E. Hairer and G. Wanner, Solving
Ordinary Differential Equations II, 2nd ed., Springer 1996, section IV.7; coefficients from memory, held
by the order-of-convergence tests.
"""

import numpy as np
from numpy.typing import NDArray

from simengine.compiled import kernel_part
from simengine.flight.dynamics import derivatives
from simengine.flight.state import Leg, Vector

STAGES = 6
GAMMA = 0.25
# a[i][j]: stage arguments; c[i][j]: stage couplings divided by the step; both in the transformed form.
A = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [1.544, 0.0, 0.0, 0.0, 0.0],
        [0.9466785280815826, 0.2557011698983284, 0.0, 0.0, 0.0],
        [3.314825187068521, 2.896124015972201, 0.9986419139977817, 0.0, 0.0],
        [1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 0.0],
    ]
)
C = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0],
        [-5.6688, 0.0, 0.0, 0.0, 0.0],
        [-2.430093356833875, -0.2063599157091915, 0.0, 0.0, 0.0],
        [-0.1073529058151375, -9.594562251023355, -20.47028614809616, 0.0, 0.0],
        [7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160, 0.0],
        [8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054],
    ]
)
NODES = np.array([0.0, 0.386, 0.21, 0.63, 1.0, 1.0])
TIME_WEIGHTS = np.array([0.25, -0.1043, 0.1035, -0.0362, 0.0, 0.0])


@kernel_part
def factorise(matrix: Vector) -> NDArray[np.int64]:
    """Replace a small `matrix`, shape (n, n), by its LU factors; returns the row exchanges, shape (n,).

    Our own, since numba reaches the library routine through SciPy, whose import costs more than all the
    factorisations of a flight. Partial pivoting; a matrix without an inverse gives infinities, no error.
    """
    size = matrix.shape[0]
    pivots = np.empty(size, dtype=np.int64)
    for k in range(size):
        pivot = k
        for i in range(k + 1, size):
            if abs(matrix[i, k]) > abs(matrix[pivot, k]):
                pivot = i
        pivots[k] = pivot
        for j in range(size):
            matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
        for i in range(k + 1, size):
            factor = matrix[i, k] / matrix[k, k]
            matrix[i, k] = factor
            for j in range(k + 1, size):
                matrix[i, j] -= factor * matrix[k, j]
    return pivots


@kernel_part
def solve_factorised(factors: Vector, pivots: NDArray[np.int64], right: Vector) -> None:
    """Solve with `factors`, shape (n, n), and `pivots`, shape (n,), as `factorise` leaves them.

    The `right` side, shape (n,), becomes the solution.
    """
    size = right.size
    for k in range(size):
        pivot = pivots[k]
        right[k], right[pivot] = right[pivot], right[k]
    for i in range(size):
        for j in range(i):
            right[i] -= factors[i, j] * right[j]
    for i in range(size - 1, -1, -1):
        for j in range(i + 1, size):
            right[i] -= factors[i, j] * right[j]
        right[i] /= factors[i, i]


@kernel_part
def fill_system(matrix: Vector, step: float, system: Vector) -> None:
    """Write the matrix that every stage is solved with, `1 / (gamma step) - Jacobian`, to `system`.

    It and the Jacobian `matrix` are of shape (n, n), `step` in [s].
    """
    for i in range(matrix.shape[0]):
        for j in range(matrix.shape[0]):
            system[i, j] = -matrix[i, j]
        system[i, i] += 1.0 / (GAMMA * step)


@kernel_part
def fill_argument(stage: int, state: Vector, stages: Vector, end: Vector) -> None:
    """Write the state at which a `stage` takes the slope to `end`, shape (n,).

    From `state`, shape (n,), and the `stages` before, shape (6, n).
    """
    for i in range(state.size):
        # The last argument builds on the fifth stage: stiffly accurate.
        end[i] = end[i] + stages[4, i] if stage == 5 else state[i]
    if stage < 5:
        for j in range(stage):
            for i in range(state.size):
                end[i] += A[stage, j] * stages[j, i]


@kernel_part
def rosenbrock_step(
    leg: Leg,
    time: float,
    state: Vector,
    slope: Vector,
    matrix: Vector,
    slope_of_time: Vector,
    step: float,
    end: Vector,
    error: Vector,
) -> None:
    """Take one step; writes the new state to `end` and the embedded error estimate to `error`.

    Parameters
    ----------
    leg : Leg
        What `derivatives` is called with; the equations are those of `flight.dynamics`.
    time, step : float
        Start and length of the step [s].
    state, slope : ndarray, shape (n,)
        State and its slope at `time`.
    matrix : ndarray, shape (n, n)
        Jacobian at `time`.
    slope_of_time : ndarray, shape (n,)
        Partial derivative of the slope with time.
    end, error : ndarray, shape (n,)
        Output.
    """
    size = state.size
    system, stages = np.empty((size, size)), np.empty((STAGES, size))
    fill_system(matrix, step, system)
    pivots = factorise(system)
    here = slope.copy()
    right = np.empty(size)
    for stage in range(STAGES):
        if stage > 0:
            fill_argument(stage, state, stages, end)
            derivatives(leg, time + NODES[stage] * step, end, here)
        for i in range(size):
            right[i] = here[i] + step * TIME_WEIGHTS[stage] * slope_of_time[i]
            for j in range(stage):
                right[i] += C[stage, j] / step * stages[j, i]
        solve_factorised(system, pivots, right)
        for i in range(size):
            stages[stage, i] = right[i]
    for i in range(size):
        error[i] = stages[5, i]
        end[i] += error[i]


@kernel_part
def error_norm(error: Vector, start: Vector, end: Vector, absolute: Vector, relative: float) -> float:
    """Root mean square of the error in units of the tolerance [1]; a step is good at 1 or less.

    `error`, and states at `start` and `end`, shape (n,); `absolute` tolerance, shape (n,), and `relative`
    [1].
    """
    total = 0.0
    for i in range(error.size):
        scale = absolute[i] + relative * max(abs(start[i]), abs(end[i]))
        total += (error[i] / scale) ** 2
    return float((total / error.size) ** 0.5)


@kernel_part
def next_step(step: float, norm: float) -> float:
    """Length of the next step [s] from this `step` [s] and its error `norm` [1], 0.2 to 5 times as long.

    The usual control of a method whose estimate is of order 3: power -1/4, safety 0.9 (common practice).
    """
    if norm < 1e-12:
        return 5.0 * step
    return float(step * min(5.0, max(0.2, 0.9 * norm**-0.25)))


@kernel_part
def hermite(
    share: float, step: float, start: Vector, start_slope: Vector, end: Vector, end_slope: Vector
) -> Vector:
    """State inside a step at a `share` of it [1], by the cubic through both ends and slopes, shape (n,).

    `step` [s]; `start`, `start_slope`, `end` and `end_slope` of shape (n,). Written so that a state that does
    not change stays the same to the last digit.
    """
    s = share
    inside = np.empty(start.size)
    for i in range(start.size):
        inside[i] = (
            start[i]
            + s * s * (3.0 - 2.0 * s) * (end[i] - start[i])
            + s * (1.0 - s) ** 2 * step * start_slope[i]
            + s * s * (s - 1.0) * step * end_slope[i]
        )
    return inside
