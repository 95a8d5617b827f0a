"""The vector loops against the readable reference, element by element and in their sums."""

import platform
import re
from math import nan, radians

import numba
import numpy as np
import pytest
from machines import demo_blade
from standard_atmosphere import standard_air

from simengine.models.blade import build_blade, nothing_known, with_lanes
from simengine.models.element import element_solution
from simengine.models.lane_table import NORMAL, PHI, SPEED, STATE, WORK_SIZE
from simengine.models.lanes import (
    SOLVED,
    first_guess,
    first_look,
    guess_again,
    secant_step,
    set_out,
    solve_lanes,
    tail,
)
from simengine.models.momentum import rotor_loads, rotor_loads_near
from simengine.models.section_families import linear_sections

AIR = standard_air(1500.0)
CASES = [
    (angle, rotor_speed, airspeed)
    for angle in (-4.0, 6.0, 12.0, 20.0, 45.0)
    for rotor_speed in (0.0, 60.0, 180.0, 290.0)
    for airspeed in (-6.0, 0.0, 5.0, 12.0, 30.0)
    # in reverse flow at a steep angle the speed at an element hangs on the last digits of its inflow angle
    if (rotor_speed or airspeed) and (angle < 45.0 or airspeed >= 0.0)
]


def slow(blade):
    """The same blade, computed by the reference alone."""
    return blade._replace(lanes=blade.lanes[:0])


def other_blade(section, elements):
    share = np.linspace(0.16, 1.0, 12)
    return build_blade(
        blades=3,
        diameter=1.25,
        hub_radius=0.1,
        radius=0.625 * share,
        chord=0.09 * (1.1 - 0.5 * share),
        blade_angle=np.arctan(0.11 / share),
        thickness=0.22 - 0.12 * share,
        axis=np.full(12, 0.3),
        section=section,
        camber=None,
        reference_station=0.75,
        datum=radians(1.0),
        elements=elements,
        hub_loss=False,
    )


@pytest.mark.parametrize(
    "blade",
    [
        demo_blade(),
        other_blade("naca_4digit", 30),
        other_blade("thin_low_reynolds", 7),
        other_blade("flat_bottom", 60),
    ],
    ids=["demo", "30 elements", "7 elements", "60 elements"],
)
def test_sums_are_those_of_the_reference(blade):
    for angle, rotor_speed, airspeed in CASES:
        fast, reference = (
            np.array(rotor_loads(each, radians(angle), rotor_speed, airspeed, AIR))
            for each in (blade, slow(blade))
        )
        scale = np.maximum(np.abs(reference), [1e-3, 1e-3, 1e-4, 1e-9, 1.0, 1.0, 1e-9, 1e-9, 1e-9])
        assert np.abs(fast - reference) / scale == pytest.approx(0.0, abs=2e-8), (
            angle,
            rotor_speed,
            airspeed,
        )


def test_only_elements_beyond_attached_flow_are_left_to_the_reference():
    blade, work = demo_blade(), np.zeros(WORK_SIZE)
    for angle, rotor_speed, airspeed in [(12.0, 220.0, 11.0), (10.0, 250.0, 0.0), (14.0, 200.0, 0.0)]:
        solve_lanes(blade.lanes[0], work, radians(angle) + blade.datum, rotor_speed, airspeed, AIR)
        solved = work[STATE : STATE + 24] == SOLVED
        share = rotor_loads(slow(blade), radians(angle), rotor_speed, airspeed, AIR).stalled_fraction
        assert (share > 0.0) == (not solved.all())
        assert solved.sum() > 15


def test_each_element_is_that_of_the_reference():
    blade, work = demo_blade(), np.zeros(WORK_SIZE)
    for angle, rotor_speed, airspeed in CASES:
        solve_lanes(blade.lanes[0], work, radians(angle) + blade.datum, rotor_speed, airspeed, AIR)
        for j in np.flatnonzero(work[STATE : STATE + 24] == SOLVED):
            flow = element_solution(blade, int(j), radians(angle), rotor_speed, airspeed, AIR)
            assert flow.solved == 1.0
            assert work[PHI + j] == pytest.approx(flow.inflow_angle, abs=1e-10)
            assert work[NORMAL + j] == pytest.approx(flow.normal, abs=1e-9)
            assert work[SPEED + j] == pytest.approx(flow.speed, rel=1e-8)


def test_a_table_of_another_blade_is_noticed():
    blade = demo_blade()
    for change in (
        {"sections": linear_sections(blade.radius.size)},
        {"blades": blade.blades + 1.0},
        {"tip_loss": 0.0},
        {"chord": 1.1 * blade.chord},
        {"twist": blade.twist + 0.01},
        {"chord": np.where(np.arange(blade.chord.size) == 10, 1.3, 1.0) * blade.chord},
        {"sections": blade.sections._replace(moment=2.0 * blade.sections.moment)},
    ):
        changed = blade._replace(**change)
        stale, known = (
            np.array(rotor_loads(each, 0.2, 220.0, 11.0, AIR)) for each in (changed, slow(changed))
        )
        assert (stale == known).all()
        again = np.array(rotor_loads(with_lanes(changed), 0.2, 220.0, 11.0, AIR))
        assert again == pytest.approx(known, rel=1e-9)
        assert np.array(rotor_loads(blade, 0.2, 220.0, 11.0, AIR)) != pytest.approx(known, rel=1e-6)


def test_several_roots_beyond_momentum_theory_are_left_to_the_reference():
    # Of random blades and points those with the air from behind or a windmilling disc used to end on another
    # root: torque up to a third off.
    random = np.random.default_rng(20)
    heavy = 0
    for _ in range(25):
        share = np.linspace(random.uniform(0.15, 0.3), 1.0, 12)
        blade = build_blade(
            blades=int(random.integers(1, 8)),
            diameter=1.0,
            hub_radius=0.5 * share[0],
            radius=0.5 * share,
            chord=random.uniform(0.02, 0.12) * (1.1 - random.uniform(0.0, 0.9) * share),
            blade_angle=np.arctan(random.uniform(0.03, 0.4) / share),
            thickness=np.full(12, random.uniform(0.06, 0.2)),
            axis=np.full(12, 0.3),
            section="naca_4digit",
            camber=None,
            reference_station=0.75,
            datum=0.0,
            elements=int(random.integers(6, 60)),
            hub_loss=bool(random.random() < 0.5),
        )
        for _ in range(40):
            point = (random.uniform(-0.17, 0.1), random.uniform(50.0, 600.0), random.uniform(-20.0, 60.0))
            fast, reference = (np.array(rotor_loads(each, *point, AIR)) for each in (blade, slow(blade)))
            heavy += reference[0] < 0.0
            pressure = AIR.density * (0.5 * point[1]) ** 2
            scale = np.maximum(np.abs(reference), pressure * np.array([*[1e-4] * 3, *[1.0] * 6]))
            assert np.abs(fast - reference) / scale == pytest.approx(0.0, abs=1e-6), point
    assert heavy > 100


def test_arrays_with_gaps_give_the_same_loads():
    blade = demo_blade()
    gapped = blade._replace(chord=np.repeat(blade.chord, 2)[::2], twist=np.stack([blade.twist] * 2).T[:, 0])
    assert rotor_loads(gapped, 0.2, 220.0, 11.0, AIR) == rotor_loads(blade, 0.2, 220.0, 11.0, AIR)


def test_not_a_number_comes_back_as_such():
    for point in ((nan, 220.0, 11.0), (0.2, nan, 11.0), (0.2, 220.0, nan)):
        loads = rotor_loads(demo_blade(), *point, AIR)
        assert np.isnan(loads.thrust)
        assert loads.status > 0.0


ARRAY, FLOAT = numba.types.float64[::1], numba.types.float64


@pytest.mark.skipif(platform.machine() not in ("x86_64", "AMD64"), reason="reads x86 machine code")
@pytest.mark.parametrize(
    ("loop", "arguments"),
    [
        (set_out, (ARRAY, ARRAY, *[FLOAT] * 5)),
        (first_guess, (ARRAY, FLOAT)),
        (guess_again, (ARRAY,)),
        (first_look, (ARRAY, FLOAT, FLOAT)),
        (secant_step, (ARRAY, FLOAT, FLOAT)),
        (tail, (ARRAY, FLOAT, FLOAT)),
    ],
    ids=lambda value: value.py_func.__name__ if hasattr(value, "py_func") else "",
)
def test_loops_run_on_the_vector_units(loop, arguments):
    # compiled anew: what comes out of the cache shows no machine code
    made = numba.njit(error_model="numpy", nogil=True, fastmath={"contract"})(loop.py_func)
    made.compile(arguments)
    code = next(iter(made.inspect_asm().values()))
    packed, single = (
        len(re.findall(rf"\bv?(?:mul|div|fn?m(?:add|sub)\d*){kind}\b", code)) for kind in ("pd", "sd")
    )
    assert packed > (2 if loop is guess_again else 20)
    assert packed > 4 * single, (packed, single)


@pytest.mark.parametrize("elements", [24, 30])
def test_a_point_near_by_to_begin_from_changes_nothing_but_the_steps(elements):
    # From a point close by, from one far off, and from one that leaves elements to the reference.
    blade = other_blade("flat_bottom", elements)
    near = nothing_known(blade)
    points = [(0.2, 230.0, 10.0), (0.2, 230.01, 10.0), (0.2, 230.01, 10.0), (0.1, 120.0, 0.0)]
    points += [(1.4, 150.0, 12.0), (0.25, 260.0, 11.0), (0.25, 260.0, -3.0), (0.21, 235.0, 9.0)]
    for angle, rotor_speed, airspeed in points:
        from_near = np.array(rotor_loads_near(blade, angle, rotor_speed, airspeed, AIR, near))
        alone = np.array(rotor_loads(blade, angle, rotor_speed, airspeed, AIR))
        assert from_near == pytest.approx(alone, rel=1e-9, abs=1e-9)


def test_an_empty_inflow_hands_nothing_on():
    blade, empty = demo_blade(), np.empty((0, WORK_SIZE))
    first = rotor_loads_near(blade, 0.2, 220.0, 11.0, AIR, empty)
    assert first == rotor_loads(blade, 0.2, 220.0, 11.0, AIR)
