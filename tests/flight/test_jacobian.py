"""Derivatives for the implicit step against plain forward differences of the equations of motion."""

from math import radians

import numpy as np
import pytest
from machines import demo_aircraft, two_stop_hub

from simengine.flight.dynamics import derivatives, observe
from simengine.flight.jacobian import fill_jacobian, fill_time_slope
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    FUEL_USED,
    HEIGHT,
    INCREMENTS,
    PATH_ANGLE,
    PITCH_RATE,
    ROTOR_SPEED,
    STATE_SIZE,
    THROTTLE_TRIM,
    Command,
    Leg,
)
from simengine.models.blade import nothing_known
from simengine.models.friction import REST, TO_FINE
from simengine.models.mechanism import FIXED, GOVERNED, SELECTED, TWO_STOP

NEVER = float("inf")
COMMAND = Command(
    0.0, 10.0, 0.6, 0.9, 0.2, True, 0.0, False, 1000.0, 11.0, 0.0, NEVER, NEVER, radians(13.5), 0.0
)
CASES = {
    "two stops, at rest": (TWO_STOP, REST, COMMAND),
    "two stops, sliding": (TWO_STOP, TO_FINE, COMMAND),
    "fixed, height held": (FIXED, REST, COMMAND._replace(hold_height=True)),
    "selected": (SELECTED, REST, COMMAND),
    "governed": (GOVERNED, REST, COMMAND),
    "tied down, sliding": (TWO_STOP, TO_FINE, COMMAND._replace(airborne=False, headwind=3.0)),
}


def flying_state():
    state = np.zeros(STATE_SIZE)
    state[[HEIGHT, AIRSPEED, PATH_ANGLE, ROTOR_SPEED]] = 995.0, 10.5, 0.08, 235.0
    state[[BLADE_ANGLE, PITCH_RATE, FUEL_USED, THROTTLE_TRIM]] = radians(14.0), -0.05, 1.5, 0.55
    return state


def slope_at(leg, time, state):
    out = np.empty(STATE_SIZE)
    derivatives(leg, time, state, out)
    return out


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_columns_are_those_of_plain_differences_for_all_that_moves(case):
    kind, mode, command = case
    machine = demo_aircraft(hub=two_stop_hub(kind=kind, pitch_rate=1.0, governed_speed=234.0))
    leg, state = Leg(machine, command, mode, nothing_known(machine.blade)), flying_state()
    seen, slope = observe(machine, command, 2.0, state), slope_at(leg, 2.0, state)
    matrix, drift = np.empty((STATE_SIZE, STATE_SIZE)), np.empty(STATE_SIZE)
    fill_jacobian(leg, 2.0, state, seen, slope, matrix)
    fill_time_slope(leg, 2.0, state, seen, slope, drift)
    alone = Leg(machine, command, mode)  # hands no inflow on: the same digits from the same state
    slope = slope_at(alone, 2.0, state)
    still = slope == 0.0  # a column of what stands still takes part in no step
    for j in np.flatnonzero(~still):
        ahead = slope_at(alone, 2.0, state + INCREMENTS * (np.arange(STATE_SIZE) == j))
        plain = (ahead - slope) / INCREMENTS[j]
        assert matrix[:, j] == pytest.approx(plain, rel=1e-5, abs=1e-6 * (1.0 + np.abs(plain).max())), j
    later, earlier = slope_at(alone, 2.001, state), slope_at(alone, 1.999, state)
    assert drift == pytest.approx((later - earlier) / 0.002, rel=1e-4, abs=1e-6)
    assert np.all(matrix[still] == 0.0)
