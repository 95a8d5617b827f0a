"""One element and the whole propeller: roots, limits, identities, odd operating points."""

from math import cos, pi, radians, sin, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from standard_atmosphere import standard_air

from simengine.models import element as element_kernels
from simengine.models import momentum as kernels
from simengine.models.blade import Blade, build_blade, element_grid, nothing_known
from simengine.models.distribution import rotor_distribution
from simengine.models.element import (
    SWIRL_FLOOR,
    axial_load,
    element_at,
    element_solution,
    inflow_angle,
    residual,
)
from simengine.models.momentum import air_pitch_damping, rotor_loads
from simengine.models.section_families import linear_sections

AIR = standard_air(0.0)


def paramotor_blade(**changes: Any) -> Blade:
    """An invented two-blade propeller of 1.3 m."""
    values: dict[str, Any] = {
        "blades": 2,
        "diameter": 1.3,
        "hub_radius": 0.08,
        "radius": [0.10, 0.20, 0.35, 0.50, 0.60, 0.65],
        "chord": [0.065, 0.095, 0.098, 0.085, 0.065, 0.040],
        "blade_angle": np.radians([38.0, 26.0, 17.0, 12.5, 10.8, 10.2]),
        "thickness": [0.30, 0.20, 0.15, 0.125, 0.115, 0.11],
        "axis": [0.45, 0.40, 0.36, 0.34, 0.33, 0.33],
        "section": "flat_bottom",
        "camber": None,
        "reference_station": 0.75,
        "datum": 0.0,
        "elements": 24,
    }
    return build_blade(**(values | changes))


def linear_blade(pitch: float, elements: int = 30, losses: float = 1.0, **sections: float) -> Blade:
    """Constant-chord blade of constant pitch [m] with sections that never stall; blade angle 0 is its own."""
    radius, width = element_grid(0.10, 0.625, elements, clustered=False)
    return Blade(
        blades=2.0,
        tip_radius=0.625,
        hub_radius=0.10,
        hub_loss=0.0,
        tip_loss=losses,
        datum=0.0,
        radius=radius,
        width=width,
        chord=np.full(elements, 0.085),
        twist=np.arctan(pitch / (2.0 * pi * radius)),
        axis_lead=np.zeros(elements),
        sections=linear_sections(elements, **sections),
    )


BLADE = paramotor_blade()


# --- identities ------------------------------------------------------------------------------------
@pytest.mark.parametrize("airspeed", [0.0, 5.0, 11.0, 20.0])
def test_power_is_thrust_times_air_speed_through_the_disc_plus_swirl(airspeed: float) -> None:
    # Without drag all power goes into the air: sum dT (V + w) + sum (dQ/r) v.
    blade = linear_blade(0.6, losses=0.0, drag_min=0.0, drag_rise=0.0)
    turning = 2400.0 * pi / 30.0
    loads = rotor_loads(blade, 0.0, turning, airspeed, AIR)
    into_air = 0.0
    for i in range(30):
        flow = element_solution(blade, i, 0.0, turning, airspeed, AIR)
        force = 0.5 * AIR.density * flow.speed**2 * 2.0 * blade.chord[i] * blade.width[i]
        into_air += force * (flow.normal * flow.through + flow.tangential * flow.swirl)
    assert loads.torque * turning == pytest.approx(into_air, rel=1e-10)


@pytest.mark.parametrize("airspeed", [0.0, 11.0, 24.0])
@pytest.mark.parametrize("i", [0, 10, 20, 29])
def test_element_forces_equal_the_momentum_given_to_the_air(airspeed: float, i: int) -> None:
    blade, turning = linear_blade(0.6), 2400.0 * pi / 30.0
    flow = element_solution(blade, i, 0.0, turning, airspeed, AIR)
    force = 0.5 * AIR.density * flow.speed**2 * 2.0 * blade.chord[i]
    ring = 4.0 * pi * blade.radius[i] * AIR.density * flow.loss * flow.through
    assert force * flow.normal == pytest.approx(ring * (flow.through - airspeed), rel=1e-9)
    # The floor under the air that carries swirl shows here, and only here.
    floor = sqrt(1.0 + (SWIRL_FLOOR / sin(flow.inflow_angle)) ** 2)
    assert force * flow.tangential == pytest.approx(ring * floor * flow.swirl, rel=1e-9)
    assert floor < 1.0 + 1e-3


# --- limits ----------------------------------------------------------------------------------------
propellers = st.fixed_dictionaries(
    {
        "blades": st.integers(1, 6),
        "diameter": st.just(1.3),
        "chord": st.lists(st.floats(0.02, 0.14), min_size=6, max_size=6),
        "blade_angle": st.lists(st.floats(0.0, 0.7), min_size=6, max_size=6),
        "section": st.sampled_from(["flat_bottom", "naca_4digit", "thin_low_reynolds"]),
        "hub_loss": st.booleans(),
    }
)


@settings(max_examples=150, deadline=None)
@given(propellers, st.floats(radians(2.0), radians(35.0)), st.floats(50.0, 300.0), st.floats(0.0, 40.0))
def test_no_propeller_beats_the_actuator_disc(
    shape: dict[str, Any], angle: float, rotor_speed: float, airspeed: float
) -> None:
    blade = paramotor_blade(**shape)
    # Sections far below zero or near feathered at hardly any rpm may have no root; the status says so
    # (tests/balance/test_hazards.py). The limit holds for every propeller that has them all.
    local = angle + blade.twist + blade.datum
    assume(radians(-5.0) < local.min() and local.max() < radians(70.0))
    disc = 2.0 * AIR.density * pi * 0.65**2
    for speed in (0.0, airspeed):
        loads = rotor_loads(blade, angle, rotor_speed, speed, AIR)
        assert np.isfinite(loads).all()
        assert loads.status == 0.0
        if loads.thrust > 0.0:
            induced = -0.5 * speed + sqrt(0.25 * speed**2 + loads.thrust / disc)
            assert loads.torque * rotor_speed > loads.thrust * (speed + induced)


def test_blade_without_lift_pays_its_drag_only() -> None:
    # At rest and without thrust no air passes the disc to carry the swirl off; momentum theory then turns the
    # air with the blade and the torque vanishes. The floor under the swirl's air keeps most of it.
    blade = linear_blade(0.0, losses=0.0, zero_lift_angle=0.0, drag_rise=0.0, drag_min=0.02)
    still_air = 0.5 * AIR.density * 200.0**2 * 2.0 * 0.085 * 0.02 * (blade.radius**3 * blade.width).sum()
    for degrees, least in ((0.0, 0.55), (0.3, 0.85), (1.0, 0.95)):
        for sign in (-1.0, 1.0):
            loads = rotor_loads(blade, sign * radians(degrees), 200.0, 0.0, AIR)
            assert np.sign(loads.thrust) == np.sign(sign * degrees)
            assert least * still_air < loads.torque < still_air


# --- roots -----------------------------------------------------------------------------------------
def test_roots_against_a_dense_scan() -> None:
    # Design range of the kernel with a wide margin: -5 to 35 deg at the reference station, rest to windmill.
    generator = np.random.default_rng(7)
    step = pi / 3000
    grid = -0.5 * pi + step * (np.arange(3000) + 0.5)
    several = 0
    for _ in range(60):
        turning = generator.uniform(20.0, 300.0)
        angle = radians(generator.uniform(-5.0, 35.0))
        airspeed = max(generator.uniform(-0.5, 2.5), 0.0) * turning * 1.3 / (2.0 * pi)
        for i in range(0, 24, 3):
            element = element_at(BLADE, i, angle, turning, airspeed, AIR)
            values = np.array([residual(element, phi) for phi in grid])
            roots = grid[:-1][np.sign(values[1:]) != np.sign(values[:-1])]
            phi, found = inflow_angle(element)
            assert found
            assert np.abs(roots + 0.5 * step - phi).min() < step
            several += len(roots) > 1
            attack = element.angle - phi
            if not element.section.stall_below < attack < element.section.stall_above:
                # Stalled only where no attached root exists.
                others = element.angle - roots
                attached = (others > element.section.stall_below + step) & (
                    others < element.section.stall_above - step
                )
                assert not attached.any()
    assert several < 10


@pytest.mark.parametrize("degrees", [-5.0, 0.0, 12.0, 30.0, 60.0, 88.0])
def test_every_point_is_finite(degrees: float) -> None:
    for rotor_speed in (0.0, 1e-9, 0.1, 30.0, 300.0):
        for airspeed in (-5.0, -1e-9, 0.0, 1e-9, 1.0, 60.0):
            loads = rotor_loads(BLADE, radians(degrees), rotor_speed, airspeed, AIR)
            assert np.isfinite(loads).all()


def test_elements_without_root_are_counted() -> None:
    # The root of this twisted blade stands beyond 90 deg when the reference station is feathered in a dive.
    assert rotor_loads(BLADE, radians(85.0), 20.0, 30.0, AIR).status == 3.0
    assert rotor_loads(BLADE, radians(30.0), 200.0, 12.0, AIR).status == 0.0


def test_rest_and_stillness() -> None:
    assert tuple(rotor_loads(BLADE, 0.2, 0.0, 0.0, AIR)) == (0.0,) * 9
    parked = rotor_loads(BLADE, 0.2, 0.0, 11.0, AIR)
    assert parked.thrust < 0.0
    assert parked.torque < 0.0  # the wind starts it
    assert parked.windmilling == 1.0
    # Loads of a slowly turning propeller at rest fall with the square of its speed.
    slow, slower = rotor_loads(BLADE, 0.2, 1e-3, 0.0, AIR), rotor_loads(BLADE, 0.2, 1e-4, 0.0, AIR)
    assert slow.thrust == pytest.approx(100.0 * slower.thrust, rel=1e-9)


@pytest.mark.parametrize(
    ("start", "stop", "argument"),
    [(-3.0, 40.0, "airspeed"), (radians(-5.0), radians(35.0), "angle"), (5.0, 300.0, "speed")],
)
def test_loads_do_not_jump(start: float, stop: float, argument: str) -> None:
    # From brake through windmill to propeller and into stall: where nothing jumps the greatest step halves
    # with the distance of the points; across a jump it stays.
    for fixed in (0.0, 2.0, 11.0):
        greatest = [
            np.abs(np.diff(loads_along(argument, np.linspace(start, stop, points), fixed), axis=0)).max(
                axis=0
            )
            for points in (2001, 4001)
        ]
        assert (greatest[1] < 0.55 * greatest[0]).all()


def loads_along(argument: str, points: NDArray[np.float64], airspeed: float) -> NDArray[np.float64]:
    """Thrust, torque and moment while one argument runs, shape (n, 3)."""
    values = {"angle": radians(12.0), "speed": 200.0, "airspeed": airspeed}
    if argument == "airspeed":
        values["angle"] = radians(2.0 + 2.0 * airspeed)
    return np.array(
        [
            rotor_loads(BLADE, v["angle"], v["speed"], v["airspeed"], AIR)[:3]
            for v in (values | {argument: point} for point in points)
        ]
    )


@pytest.mark.parametrize("airspeed", [0.0, 11.0, 25.0])
def test_noise_is_far_below_what_finite_differences_need(airspeed: float) -> None:
    # On steps of 1e-9 of the variable the loads are straight lines: the rest is solver noise.
    for loads in (
        np.array([rotor_loads(BLADE, 0.2 * (1 + 1e-9 * k), 220.0, airspeed, AIR)[:3] for k in range(200)]),
        np.array([rotor_loads(BLADE, 0.2, 220.0 * (1 + 1e-9 * k), airspeed, AIR)[:3] for k in range(200)]),
    ):
        steps = np.arange(200.0)
        for column in loads.T:
            rest = column - np.polyval(np.polyfit(steps, column, 1), steps)
            assert np.abs(rest).max() < 2e-11 * max(abs(column[0]), 1.0)


# --- momentum relation -----------------------------------------------------------------------------
@pytest.mark.parametrize("loss", [0.05, 0.3, 0.7, 1.0])
def test_axial_law_is_continuous_and_falls_with_through_flow(loss: float) -> None:
    through = np.linspace(-3.0, 3.0, 60001)
    for advance in (-1.0, 0.0, 1.0):
        loads = np.array([axial_load(u, advance, loss) for u in through])
        assert np.abs(np.diff(loads)).max() < 5e-3
    for switch in (0.6, 0.0):
        below, above = axial_load(switch - 1e-12, 1.0, loss), axial_load(switch + 1e-12, 1.0, loss)
        assert below == pytest.approx(above, abs=1e-10)
    # A stream from behind is the mirror image of one from ahead.
    assert axial_load(0.3, -1.0, loss) == -axial_load(-0.3, 1.0, loss)


def test_windmilling_propeller_drives_and_brakes() -> None:
    loads = rotor_loads(BLADE, radians(10.0), 100.0, 30.0, AIR)
    assert loads.thrust < 0.0
    assert loads.torque < 0.0
    assert loads.windmilling == 1.0
    brake = 0.5 * AIR.density * 30.0**2 * pi * 0.65**2
    assert -loads.thrust < brake  # a disc's drag coefficient is at most about one at this solidity


# --- what is reported ------------------------------------------------------------------------------
def test_distribution_sums_to_the_loads() -> None:
    loads = rotor_loads(BLADE, 0.25, 230.0, 9.0, AIR)
    along = rotor_distribution(BLADE, 0.25, 230.0, 9.0, AIR)
    assert 2.0 * (along.thrust * BLADE.width).sum() == pytest.approx(loads.thrust, rel=1e-12)
    assert 2.0 * (along.torque * BLADE.width).sum() == pytest.approx(loads.torque, rel=1e-12)
    assert (along.air_moment * BLADE.width).sum() == pytest.approx(loads.air_moment, rel=1e-9, abs=1e-12)
    assert along.reynolds.min() == pytest.approx(loads.lowest_reynolds, rel=1e-12)
    assert along.reynolds.max() == pytest.approx(loads.highest_reynolds, rel=1e-12)
    area = BLADE.radius * BLADE.width
    assert (along.stalled * area).sum() / area.sum() == pytest.approx(loads.stalled_fraction, rel=1e-12)


def test_stall_spreads_with_blade_angle() -> None:
    shares = [
        rotor_loads(BLADE, radians(degrees), 230.0, 0.0, AIR).stalled_fraction for degrees in range(4, 40, 4)
    ]
    assert shares[0] < 0.05  # the thick root only
    assert shares[-1] > 0.9
    assert (np.diff(shares) >= 0.0).all()


def test_tip_mach_number() -> None:
    loads = rotor_loads(BLADE, 0.2, 250.0, 12.0, AIR)
    assert loads.tip_mach == pytest.approx(
        sqrt((250.0 * 0.65) ** 2 + 12.0**2) / AIR.speed_of_sound, rel=1e-12
    )


def test_air_moment_is_lift_before_the_axis_and_section_moment() -> None:
    # Rigid shift of the axis by e changes the moment by e times the force across the chord.
    back = rotor_loads(BLADE, 0.2, 230.0, 11.0, AIR)
    shifted = rotor_loads(BLADE._replace(axis_lead=BLADE.axis_lead + 0.004), 0.2, 230.0, 11.0, AIR)
    along = rotor_distribution(BLADE, 0.2, 230.0, 11.0, AIR)
    across = along.thrust * np.cos(0.2 + BLADE.twist) + along.torque / along.radius * np.sin(
        0.2 + BLADE.twist
    )
    assert shifted.air_moment - back.air_moment == pytest.approx(
        0.004 * (across * BLADE.width).sum(), rel=1e-9
    )


def test_pitch_damping_of_an_axis_at_the_quarter_chord() -> None:
    # T. Theodorsen, NACA Report 496 (1935), with C = 1: pi rho V c^3 / 8 over span at the quarter chord,
    # nothing at mid-chord for a lift slope of 2 pi.
    blade = linear_blade(0.6, lift_slope=2.0 * pi)
    rate = air_pitch_damping(blade, 200.0, AIR)
    expected = pi / 8.0 * AIR.density * 200.0 * 0.085**3 * (blade.radius * blade.width).sum()
    assert rate == pytest.approx(expected, rel=1e-12)
    middle = air_pitch_damping(blade._replace(axis_lead=np.full(30, 0.25 * 0.085)), 200.0, AIR)
    assert middle == pytest.approx(0.0, abs=1e-15)
    assert air_pitch_damping(blade, 0.0, AIR) == 0.0


# --- compiled and plain ----------------------------------------------------------------------------
def test_kernels_equal_their_python_source() -> None:
    element = element_at(BLADE, 12, 0.2, 230.0, 11.0, AIR)
    for phi in np.linspace(-1.5, 1.5, 31):
        assert element_kernels.residual.py_func(element, phi) == pytest.approx(
            residual(element, phi), rel=1e-12, abs=1e-12
        )
    assert element_kernels.inflow_angle.py_func(element)[0] == pytest.approx(
        inflow_angle(element)[0], abs=1e-12
    )
    for airspeed in (0.0, 11.0, 40.0):
        plain = kernels.loads_of.py_func(BLADE, 0.2, 230.0, airspeed, AIR, nothing_known(BLADE))
        assert plain == pytest.approx(tuple(rotor_loads(BLADE, 0.2, 230.0, airspeed, AIR)), rel=1e-11)
    assert kernels.air_pitch_damping.py_func(BLADE, 230.0, AIR) == pytest.approx(
        air_pitch_damping(BLADE, 230.0, AIR), rel=1e-13
    )
    flow = element_solution(BLADE, 12, 0.2, 230.0, 11.0, AIR)
    assert flow.attack_angle == pytest.approx(0.2 + BLADE.twist[12] - flow.inflow_angle, abs=1e-14)
    assert flow.speed * cos(flow.inflow_angle) == pytest.approx(
        230.0 * BLADE.radius[12] - flow.swirl, rel=1e-12
    )
