"""The equations of flight: energy, independent integrators, convergence, stick."""

from math import isclose, radians

import numpy as np
import pytest
from flights import (
    EventKind,
    climb,
    cruise,
    demo_machine,
    demo_scenario,
    descend,
    events,
    ground_run,
    simulate,
    with_hub,
    with_phases,
)
from machines import STANDARD_DAY, demo_aircraft, demo_blade, torsion_spring, two_stop_hub, untwisted_inertia
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from simengine.balance.aircraft import rotor_state
from simengine.balance.pitch import shift_speed
from simengine.balance.trim import steady_flight
from simengine.constants import RPM, STANDARD_GRAVITY
from simengine.flight.dynamics import derivatives
from simengine.flight.events import TURNS
from simengine.flight.integrate import REACHED_END, integrate_leg
from simengine.flight.record_rows import EVENT_ROW_SIZE, ROW_SIZE
from simengine.flight.state import (
    AIRSPEED,
    BLADE_ANGLE,
    FUEL_USED,
    HEIGHT,
    PATH_ANGLE,
    ROTOR_SPEED,
    STATE_SIZE,
    Command,
    Leg,
)
from simengine.models.atmosphere import air_at
from simengine.models.friction import REST, TO_FINE
from simengine.models.mechanism import net_moment

NEVER = float("inf")


@pytest.fixture(scope="module")
def flown():
    """Ground run, climb, cruise and descent, recorded densely."""
    phases = (
        ground_run((0.0, 0.0), (3.0, 0.0), (13.0, 1.0), (15.0, 1.0), (20.0, 0.2)),
        climb(800.0),
        cruise(240.0),
        descend(300.0),
    )
    return simulate(with_phases(demo_scenario(), *phases, record_interval=0.05))


def integral(dataset, values):
    return float(np.trapezoid(values, dataset.time.values))


def test_energy_of_the_flight_path_closes_to_a_thousandth(flown):
    # (T cos e - D) V = m V V' + m g V sin gamma; the fuel takes its own energy with it.
    part = flown.isel(time=flown.phase_index.values > 0)
    mass = demo_machine().dry_mass + demo_machine().fuel_start - part.fuel_used.values
    speed, height = part.airspeed.values, part.height.values
    held = 0.5 * speed**2 + STANDARD_GRAVITY * height
    work = integral(part, part.thrust.values * speed)
    lost = integral(part, part.drag.values * speed)
    carried_off = integral(part, part.fuel_flow.values / 3600.0 * held)
    gained = mass[-1] * held[-1] - mass[0] * held[0] + carried_off
    assert work - lost == pytest.approx(gained, abs=1e-3 * work)


def test_energy_of_the_rotor_closes_to_a_thousandth(flown):
    machine = demo_machine()
    rotor_speed = flown.propeller_rpm.values * RPM
    engine_torque = flown.engine_torque.values
    efficiency = np.where(engine_torque > 0.0, machine.drive.efficiency, 1.0 / machine.drive.efficiency)
    given = integral(flown, machine.drive.reduction * efficiency * engine_torque * rotor_speed)
    taken = integral(flown, flown.shaft_power.values)
    stored = 0.5 * machine.rotor_inertia * (rotor_speed[-1] ** 2 - rotor_speed[0] ** 2)
    assert given - taken == pytest.approx(stored, abs=1e-3 * given)


def test_fuel_used_is_the_flow_summed(flown):
    assert integral(flown, flown.fuel_flow.values / 3600.0) == pytest.approx(
        float(flown.fuel_used[-1]), rel=1e-3
    )


def smooth_climb(duration):
    """A climb at full throttle, blades at rest on the fine stop: no events, a smooth problem."""
    machine = demo_machine()
    air = air_at(machine.atmosphere, 500.0)
    mass = machine.dry_mass + machine.fuel_start
    start = steady_flight(machine, air, mass, 0.0, 1.0, machine.hub.fine_stop, 0.0)
    state = np.zeros(STATE_SIZE)
    state[HEIGHT], state[AIRSPEED], state[PATH_ANGLE] = 500.0, start.airspeed + 1.0, start.path_angle
    state[ROTOR_SPEED], state[BLADE_ANGLE] = 0.97 * start.rotor_speed, machine.hub.fine_stop
    command = Command(
        0.0, duration, 1.0, 1.0, 0.0, True, 0.0, False, 0.0, 0.0, 0.0, NEVER, NEVER,
        machine.hub.coarse_stop, 0.0,
    )  # fmt: skip
    return machine, command, state


def run(machine, command, state, relative, mode=REST):
    end = state.copy()
    rows, event_rows = np.empty((20_000, ROW_SIZE)), np.empty((500, EVENT_ROW_SIZE))
    done = integrate_leg(machine, command, 0.0, end, 1e-3, mode, relative, 10.0, rows, event_rows)
    assert done.status == REACHED_END
    return end, done, event_rows[: done.event_count]


@pytest.mark.parametrize("method", ["Radau", "LSODA"])
def test_smooth_climb_agrees_with_a_library_integrator(method):
    machine, command, start = smooth_climb(120.0)
    leg = Leg(machine, command, REST)

    def slope(time, state):
        out = np.empty(STATE_SIZE)
        derivatives(leg, time, state, out)
        return out

    reference = solve_ivp(slope, (0.0, 120.0), start, method=method, rtol=1e-9, atol=1e-9).y[:, -1]
    own, _, _ = run(machine, command, start, 1e-7)
    moving = [HEIGHT, AIRSPEED, ROTOR_SPEED, FUEL_USED]
    assert own[moving] == pytest.approx(reference[moving], rel=2e-6)
    assert own[PATH_ANGLE] == pytest.approx(reference[PATH_ANGLE], abs=2e-6)


def test_error_falls_with_the_tolerance():
    machine, command, start = smooth_climb(120.0)
    exact, _, _ = run(machine, command, start, 1e-9)
    errors, steps = [], []
    for relative in (1e-2, 1e-4, 1e-5, 1e-6):  # at 1e-3 the error passes through zero, by chance
        end, done, _ = run(machine, command, start, relative)
        errors.append(abs(end[HEIGHT] - exact[HEIGHT]))
        steps.append(done.steps)
    assert errors[1] < 0.05  # metres, at the default tolerance
    assert errors[3] < 1e-3 * errors[0]
    # Order 4 with an error control of order 3: ten times the accuracy costs 10^(1/4) to 10^(1/3) the steps.
    assert 1.4 < steps[3] / steps[2] < 2.6


def test_a_resting_blade_does_not_creep(flown):
    cruising = flown.isel(time=flown.phase_index.values == 2)
    late = cruising.blade_angle.values[cruising.time.values > cruising.time.values[0] + 60.0]
    assert np.all(late == late[0])


def test_hung_blade_rests_exactly_between_the_stops():
    # A spring too stiff for the loads, so that the blade stands between its stops, and a throttle eased a
    # little: friction holds the blade where it was, for minutes.
    spring = demo_scenario().record.hub.spring.model_copy(update={"rate": 200e3, "free_length": 0.0425})
    held = ground_run((0.0, 0.0), (20.0, 0.6), (30.0, 0.6), (31.0, 0.59), (300.0, 0.59))
    result = simulate(with_phases(with_hub(demo_scenario(), spring=spring), held, record_interval=1.0))
    late = result.sel(time=slice(60.0, 300.0))
    assert 10.6 < float(late.blade_angle[0]) < 13.9
    assert np.ptp(late.blade_angle.values) == 0.0
    assert np.all(late.pitch_state.values == 2)


def heavy_rotor():
    """Blade between a torsion spring and its centrifugal twist, no air, a rotor that keeps its 260 rad/s."""
    hub = two_stop_hub(30.0, 0.0, spring=torsion_spring(3.85, 20.0), friction_constant=0.02, damping=0.0)
    thin = STANDARD_DAY._replace(qnh=1e-3)
    return demo_aircraft(
        hub=hub,
        inertia=untwisted_inertia(),
        blade=demo_blade(air_moment=False),
        atmosphere=thin,
        rotor_inertia=1e9,
    )


def test_free_swing_against_dry_friction_loses_the_textbook_amplitude():
    # Amplitude falls by 4 F/k a cycle whatever the inertia (any text on vibration); the stiffness is the
    # spring's and that of the centrifugal twist. Whole cycles: the twist is a little stiffer on one side.
    machine = heavy_rotor()
    air = air_at(machine.atmosphere, 0.0)

    def net(angle):
        return net_moment(rotor_state(machine, air, angle, 260.0, 0.0, 0.0).moments)

    centre = brentq(net, radians(5.0), radians(25.0))
    stiffness = -(net(centre + 1e-4) - net(centre - 1e-4)) / 2e-4
    state = np.zeros(STATE_SIZE)
    state[ROTOR_SPEED], state[BLADE_ANGLE] = 260.0, centre + radians(1.0)
    command = Command(0.0, 0.4, 0.0, 0.0, 0.0, False, 0.0, False, 0.0, 0.0, 0.0, NEVER, NEVER, 0.3, 0.0)
    _, _, found = run(machine, command, state, 1e-7, TO_FINE)
    turning = found[found[:, 1] == TURNS][:, 2 + BLADE_ANGLE] - centre
    drops = -np.diff(np.abs(turning))
    assert stiffness == pytest.approx(20.0 + 260.0**2 * 5.38134e-4 * np.cos(2.0 * centre), rel=1e-5)
    assert drops.size >= 6
    cycles = drops[:6].reshape(3, 2).sum(axis=1)
    assert cycles == pytest.approx(np.full(3, 4.0 * 0.02 / stiffness), rel=0.01)
    period = 2.0 * np.diff(found[found[:, 1] == TURNS][:, 0])[:6]
    assert period == pytest.approx(2.0 * np.pi * np.sqrt(5.6e-4 / stiffness), rel=0.01)


def test_events_stand_where_the_moments_balance():
    machine = demo_machine()
    run_up = ground_run((0.0, 0.0), (3.0, 0.0), (63.0, 1.0), (70.0, 1.0))
    result = simulate(with_phases(demo_scenario(), run_up))
    air = air_at(machine.atmosphere, 120.0)
    for kind, angle in (
        (EventKind.SHIFT_BEGINS, machine.hub.coarse_stop),
        (EventKind.SHIFT_FINISHES, machine.hub.fine_stop),
    ):
        balance = shift_speed(machine, air, angle, 0.0, TO_FINE, False) * machine.drive.reduction / RPM
        ((_, found, _),) = events(result, kind)
        assert found == pytest.approx(balance, abs=6.0)


def test_three_times_the_friction_widens_the_gap_between_shift_and_return():
    out_and_back = ground_run((0.0, 0.0), (3.0, 0.0), (33.0, 1.0), (38.0, 1.0), (68.0, 0.0))
    gaps = []
    for factor in (1.0, 3.0):
        friction = demo_scenario().record.hub.friction
        friction = friction.model_copy(
            update={"constant": factor * friction.constant, "bearing_coefficient": factor * 0.003}
        )
        result = simulate(with_phases(with_hub(demo_scenario(), friction=friction), out_and_back))
        gaps.append(float(result.shift_finish_rpm[0] - result.return_begin_rpm[0]))
    assert gaps[0] > 50.0
    assert 2.2 < gaps[1] / gaps[0] < 3.5


def test_cruise_holds_its_height_and_climb_ends_on_its_own(flown):
    cruising = flown.isel(time=flown.phase_index.values == 2)
    assert abs(float(cruising.height[-1]) - 800.0) < 1.0
    ((time, _, _), _) = events(flown, EventKind.HEIGHT_REACHED)
    assert isclose(float(flown.height.sel(time=time, method="nearest")), 800.0, abs_tol=1e-3)
