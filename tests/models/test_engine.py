import numpy as np
import pytest
from standard_atmosphere import standard_air

from simengine.constants import RPM
from simengine.models.atmosphere import Air, air_of
from simengine.models.engine import (
    ALTITUDE_LAWS,
    altitude_factor,
    build_engine,
    engine_torque,
    fuel_flow,
    full_throttle_torque,
    mixture_excess,
    outside_table,
)

KILOGRAM_PER_KILOWATT_HOUR = 1.0 / 3.6e6
SPEEDS = np.array([4000.0, 5000.0, 6000.0, 7000.0, 8000.0, 9000.0]) * RPM
TORQUE = np.array([10.0, 13.0, 15.0, 17.0, 17.5, 15.0])
CONSUMPTION = np.array([0.55, 0.50, 0.46, 0.44, 0.45, 0.50]) * KILOGRAM_PER_KILOWATT_HOUR
SEA_LEVEL = standard_air(0.0)
IDLE = 2200.0 * RPM


def invented_engine(**changes):
    """A two-stroke of the class, invented for the tests."""
    values = {
        "engine_speed": SPEEDS,
        "torque": TORQUE,
        "consumption": CONSUMPTION,
        "friction_torque": 2.0,
        "idle_speed": IDLE,
        "speed_limit": 9200.0 * RPM,
        "inertia": 2e-3,
    }
    return build_engine(**values | changes)


def part_load(loads=(0.3, 0.7), speeds=(5000.0, 8000.0), factor=1.1):
    grid = [(speed * RPM, load) for load in loads for speed in speeds]
    return (
        [speed for speed, _ in grid],
        [load for _, load in grid],
        [factor * 0.5 * KILOGRAM_PER_KILOWATT_HOUR for _ in grid],
    )


# --- torque ----------------------------------------------------------------------------------------
def test_full_throttle_is_the_bench_curve_in_the_reference_air():
    engine = invented_engine()
    torque = [engine_torque(engine, speed, 1.0, SEA_LEVEL) for speed in SPEEDS]
    assert torque == pytest.approx(TORQUE, rel=1e-13)


@pytest.mark.parametrize("height", [0.0, 2000.0, 4500.0])
def test_closed_throttle_holds_idle_at_any_height_and_is_stable_there(height):
    engine, air = invented_engine(), standard_air(height)
    assert engine_torque(engine, IDLE, 0.0, air) == pytest.approx(0.0, abs=1e-14)
    assert engine_torque(engine, 0.9 * IDLE, 0.0, air) > 0.0 > engine_torque(engine, 1.1 * IDLE, 0.0, air)


def test_a_driven_engine_brakes_by_less_than_its_friction():
    engine = invented_engine()
    assert -2.0 < engine_torque(engine, 8000.0 * RPM, 0.0, SEA_LEVEL) < 0.0


@pytest.mark.parametrize("height", [0.0, 4000.0])
@pytest.mark.parametrize("speed", [2200.0, 4000.0, 6500.0, 9500.0])
def test_torque_and_fuel_rise_with_the_throttle(speed, height):
    engine, air = invented_engine(), standard_air(height)
    openings = np.linspace(0.0, 1.0, 41)
    torque = [engine_torque(engine, speed * RPM, opening, air) for opening in openings]
    fuel = [fuel_flow(engine, speed * RPM, opening, air) for opening in openings]
    assert (np.diff(torque) > 0.0).all()
    assert (np.diff(fuel) > 0.0).all()


def test_far_below_idle_the_throttle_cannot_take_torque_away():
    engine = invented_engine()
    torque = [engine_torque(engine, 500.0 * RPM, opening, SEA_LEVEL) for opening in (0.0, 0.5, 1.0)]
    assert torque == pytest.approx([full_throttle_torque(engine, 500.0 * RPM)] * 3, rel=1e-14)


def test_throttle_beyond_its_ends_is_held():
    engine = invented_engine()
    assert engine_torque(engine, SPEEDS[2], 1.3, SEA_LEVEL) == engine_torque(
        engine, SPEEDS[2], 1.0, SEA_LEVEL
    )
    assert engine_torque(engine, SPEEDS[2], -0.3, SEA_LEVEL) == engine_torque(
        engine, SPEEDS[2], 0.0, SEA_LEVEL
    )


@pytest.mark.parametrize("opening", [0.0, 0.4, 1.0])
def test_torque_has_no_kink_inside_the_table(opening):
    engine, step = invented_engine(), 1e-4
    for speed in SPEEDS[1:-1]:
        torque = [engine_torque(engine, speed + k * step, opening, SEA_LEVEL) for k in (-1, 0, 1)]
        left, right = (torque[1] - torque[0]) / step, (torque[2] - torque[1]) / step
        assert right == pytest.approx(left, abs=1e-5)


def test_torque_is_sane_outside_the_table():
    engine = invented_engine()
    below = [full_throttle_torque(engine, speed) for speed in np.linspace(0.0, SPEEDS[0], 30)]
    assert below[0] == 0.0
    # assumed form, a regression guard: three quarters of the first row's torque at half its speed
    assert full_throttle_torque(engine, 0.5 * SPEEDS[0]) == pytest.approx(0.75 * TORQUE[0], rel=1e-14)
    assert (np.diff(below) > 0.0).all()
    assert below[-1] == pytest.approx(TORQUE[0], rel=1e-14)
    beyond = [full_throttle_torque(engine, speed) for speed in np.linspace(SPEEDS[-1], 2.0 * SPEEDS[-1], 30)]
    assert beyond[0] == pytest.approx(TORQUE[-1], rel=1e-14)
    assert (np.diff(beyond) <= 0.0).all()
    assert beyond[-1] == 0.0
    assert engine_torque(engine, -5.0, 1.0, SEA_LEVEL) == 0.0


def test_outside_the_table_is_told():
    engine = invented_engine()
    told = [bool(outside_table(engine, speed * RPM)) for speed in (3999.0, 4001.0, 8999.0, 9001.0)]
    assert told == [True, False, False, True]


# --- altitude --------------------------------------------------------------------------------------
@pytest.mark.parametrize("law", ALTITUDE_LAWS)
def test_every_law_is_one_in_the_reference_air_and_falls_with_height(law):
    engine = invented_engine(altitude_law=law, reference_pressure=97000.0, reference_temperature=296.0)
    assert altitude_factor(engine, air_of(97000.0, 296.0, 0.0)) == pytest.approx(1.0, rel=1e-14)
    factors = [altitude_factor(engine, standard_air(height)) for height in np.arange(0.0, 20000.0, 500.0)]
    assert (np.diff(factors) < 0.0).all() or min(factors) == 0.0
    assert min(factors) >= 0.0


@pytest.mark.parametrize("law", ALTITUDE_LAWS)
def test_no_air_no_torque(law):
    engine = invented_engine(altitude_law=law)
    nothing = Air(216.65, 1e-6, 1e-6 / (287.05287 * 216.65), 295.0, 1.4e-5)
    assert altitude_factor(engine, nothing) == pytest.approx(0.0, abs=1e-9)
    assert engine_torque(engine, SPEEDS[3], 1.0, nothing) == pytest.approx(0.0, abs=1e-6)
    assert np.isfinite(fuel_flow(engine, SPEEDS[3], 1.0, nothing))


def test_loss_factor_scales_the_loss():
    air = standard_air(3000.0)
    loss = [1.0 - altitude_factor(invented_engine(loss_factor=factor), air) for factor in (0.0, 1.0, 1.5)]
    assert loss[0] == 0.0
    assert loss[2] == pytest.approx(1.5 * loss[1], rel=1e-13)


def test_humid_air_costs_torque():
    for law in ALTITUDE_LAWS:
        engine = invented_engine(altitude_law=law)
        dry, humid = (altitude_factor(engine, air_of(101325.0, 303.15, share)) for share in (0.0, 0.8))
        assert humid < dry


# --- fuel ------------------------------------------------------------------------------------------
def test_full_throttle_fuel_is_the_bench_consumption():
    engine = invented_engine()
    fuel = np.array([fuel_flow(engine, speed, 1.0, SEA_LEVEL) for speed in SPEEDS])
    assert fuel == pytest.approx(CONSUMPTION * TORQUE * SPEEDS, rel=1e-13)


def test_without_part_load_fuel_goes_with_indicated_power():
    engine = invented_engine()
    speed = SPEEDS[3]
    ratio = [
        fuel_flow(engine, speed, opening, SEA_LEVEL)
        / (engine_torque(engine, speed, opening, SEA_LEVEL) + 2.0)
        for opening in (0.0, 0.2, 0.6, 1.0)
    ]
    assert ratio == pytest.approx([ratio[0]] * 4, rel=1e-13)


def test_idle_burns_fuel_and_standstill_does_not():
    engine = invented_engine()
    assert 0.05 < 3600.0 * fuel_flow(engine, IDLE, 0.0, SEA_LEVEL) < 0.5
    assert fuel_flow(engine, 0.0, 1.0, SEA_LEVEL) == 0.0
    assert fuel_flow(engine, -10.0, 1.0, SEA_LEVEL) == 0.0


def test_fuel_is_never_negative_and_efficiency_stays_below_forty_percent():
    # lower heating value of gasoline 44.0 MJ/kg: Heywood, Internal Combustion Engine Fundamentals,
    # table D.4 (value from memory); no small spark-ignition engine turns 40 % of it into work
    for engine in (invented_engine(), invented_engine(part_load=part_load())):
        for height in (-300.0, 0.0, 3000.0, 6000.0):
            air = standard_air(height)
            for speed in np.linspace(0.0, 10000.0 * RPM, 31):
                for opening in np.linspace(0.0, 1.0, 9):
                    fuel = fuel_flow(engine, speed, opening, air)
                    work = engine_torque(engine, speed, opening, air) * speed
                    assert fuel >= 0.0
                    assert work <= 0.40 * 44.0e6 * fuel + 1e-9


def test_fixed_jet_enriches_thin_air_only():
    engine, lean = invented_engine(), invented_engine(fixed_jet=False)
    thin, thick = standard_air(2000.0), air_of(104000.0, 270.0, 0.0)
    assert mixture_excess(engine, thin) > 1.0 == mixture_excess(engine, thick) == mixture_excess(lean, thin)
    assert fuel_flow(engine, SPEEDS[2], 0.7, thin) == pytest.approx(
        mixture_excess(engine, thin) * fuel_flow(lean, SPEEDS[2], 0.7, thin), rel=1e-14
    )


def opening_for(engine, speed, load):
    """Throttle at which the brake torque is a share of that at full throttle, by halving."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        full = engine_torque(engine, speed, 1.0, SEA_LEVEL)
        if engine_torque(engine, speed, middle, SEA_LEVEL) < load * full:
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize("load", [0.3, 0.7])
@pytest.mark.parametrize("speed", [5000.0, 8000.0])
def test_part_load_grid_is_met_at_its_points(speed, load):
    engine = invented_engine(part_load=part_load())
    opening = opening_for(engine, speed * RPM, load)
    power = engine_torque(engine, speed * RPM, opening, SEA_LEVEL) * speed * RPM
    consumption = fuel_flow(engine, speed * RPM, opening, SEA_LEVEL) / power
    assert consumption / KILOGRAM_PER_KILOWATT_HOUR == pytest.approx(0.55, rel=1e-10)


def test_part_load_keeps_the_full_throttle_curve_unless_it_gives_full_load_itself():
    kept = invented_engine(part_load=part_load())
    fuel = np.array([fuel_flow(kept, speed, 1.0, SEA_LEVEL) for speed in SPEEDS])
    assert fuel == pytest.approx(CONSUMPTION * TORQUE * SPEEDS, rel=1e-12)
    replaced = invented_engine(part_load=part_load(loads=(0.5, 1.0)))
    fuel = fuel_flow(replaced, SPEEDS[1], 1.0, SEA_LEVEL)
    assert fuel / (TORQUE[1] * SPEEDS[1]) / KILOGRAM_PER_KILOWATT_HOUR == pytest.approx(0.55, rel=1e-12)


# --- builder ---------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"engine_speed": SPEEDS[::-1]}, "must rise"),
        ({"engine_speed": SPEEDS[:1], "torque": [10.0], "consumption": [1e-7]}, "at least two rows"),
        ({"torque": TORQUE[:-1]}, "full-throttle torque against engine speed: needs as many"),
        ({"consumption": CONSUMPTION[:-1]}, "consumption against engine speed: needs as many"),
        ({"torque": -TORQUE}, "full-throttle torque must be above zero"),
        ({"consumption": 0.0 * CONSUMPTION}, "consumption must be above zero"),
        ({"idle_speed": 9500.0 * RPM}, "idle speed 9500 rpm"),
        ({"speed_limit": 2000.0 * RPM}, "speed limit 2000 rpm"),
        ({"clutch_speed": 2000.0 * RPM}, "clutch takes hold at 2000 rpm"),
        ({"friction_torque": -0.1}, "must not be negative"),
        ({"inertia": 0.0}, "inertia above zero"),
        ({"reference_pressure": 0.0}, "reference air must be above zero"),
        ({"throttle": [0.0, 1.0]}, "both its throttle and its torque share"),
        ({"part_load": ([500.0], [0.5, 0.6], [1e-7])}, "as many engine speeds"),
        ({"altitude_law": "none"}, "not one of gagg_ferrar"),
        ({"throttle": [0.0, 1.0], "torque_share": [0.1, 1.0]}, "throttle map"),
        ({"throttle": [0.0, 0.5, 1.0], "torque_share": [0.0, 0.9, 0.8]}, "throttle map"),
        ({"part_load": ([500.0, 600.0], [0.0, 0.5], [1e-7, 1e-7])}, "above 0"),
        ({"part_load": ([500.0, 600.0], [0.4, 0.5], [1e-7, 1e-7])}, "every pairing"),
        ({"part_load": ([500.0, 500.0], [0.5, 0.5], [1e-7, 1e-7])}, "every pairing"),
        ({"part_load": part_load(speeds=(3000.0, 8000.0))}, "inside the full-throttle curve"),
    ],
)
def test_builder_says_what_to_change(changes, message):
    with pytest.raises(ValueError, match=message):
        invented_engine(**changes)


@pytest.mark.parametrize("law", ALTITUDE_LAWS)
@pytest.mark.parametrize("grid", [None, part_load()])
def test_compiled_equals_plain_python(law, grid):
    engine, air = invented_engine(altitude_law=law, part_load=grid), air_of(85000.0, 290.0, 0.5)
    for speed in (0.0, 1000.0, 4000.0, 6543.0, 9999.0):
        for opening in (0.0, 0.37, 1.0):
            for function in (engine_torque, fuel_flow):
                assert function(engine, speed * RPM, opening, air) == pytest.approx(
                    function.py_func(engine, speed * RPM, opening, air), rel=1e-13, abs=1e-15
                )
