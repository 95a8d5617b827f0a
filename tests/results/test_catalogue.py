import pint
import pytest

from simengine.results.catalogue import SETUP, TRACES, EventKind, PitchState, all_variables

# Our unit text, the same for Pint, and the SI unit in which the flight hands the value over.
# Pint is the independent side: its definitions, not ours, give the expected factor.
PINT_UNITS = {
    "1": ("dimensionless", "dimensionless"),
    "rpm": ("rpm", "rad/s"),
    "degree": ("degree", "rad"),
    "degree s-1": ("degree/s", "rad/s"),
    "s": ("s", "s"),
    "m": ("m", "m"),
    "m s-1": ("m/s", "m/s"),
    "N": ("N", "N"),
    "N m": ("N*m", "N*m"),
    "W": ("W", "W"),
    "kg": ("kg", "kg"),
    "kg h-1": ("kg/hour", "kg/s"),
    "L": ("L", "m**3"),
    "L h-1": ("L/hour", "m**3/s"),
    "K": ("K", "K"),
    "Pa": ("Pa", "Pa"),
    "kg m-3": ("kg/m**3", "kg/m**3"),
}

# CF standard name table, version 93 (2026-03-17): canonical units of the names used.
CANONICAL = {
    "height_above_mean_sea_level": "m",
    "platform_speed_wrt_air": "m s-1",
    "air_temperature": "K",
    "air_pressure": "Pa",
    "air_density": "kg m-3",
}


@pytest.fixture(scope="module")
def pint_units():
    return pint.UnitRegistry()


@pytest.mark.parametrize("variable", all_variables(), ids=lambda variable: variable.name)
def test_factor_is_that_of_an_independent_unit_library(variable, pint_units):
    if variable.stored != "number":
        assert variable.factor == 1.0
        return
    typed, si = PINT_UNITS[variable.units]
    expected = pint_units.Quantity(1.0, si).to(typed).magnitude
    assert variable.factor == pytest.approx(expected, rel=1e-12)


def test_names_are_unique_and_every_variable_is_described():
    names = [variable.name for variable in all_variables()]
    assert len(set(names)) == len(names)
    for variable in all_variables():
        attributes = variable.attributes()
        assert attributes["long_name"]
        assert ("units" in attributes) == (variable.stored in ("number", "count"))


def test_standard_names_have_the_canonical_units_of_the_cf_table():
    used = {v.standard_name: v.units for v in all_variables() if v.standard_name}
    assert used == CANONICAL


def test_moments_of_the_budget_say_their_sign():
    budget = ("spring_moment", "centrifugal_moment", "counterweight_moment", "air_moment", "stop_reaction")
    comments = {variable.name: variable.comment for variable in TRACES}
    assert all("positive toward coarse" in comments[name] for name in budget)


def test_flag_order_is_kept_for_old_files():
    # Regression guard: files hold these numbers, so members may be added at the end only.
    assert [str(state) for state in PitchState] == ["coarse", "shifting", "hung", "fine"]
    assert [str(kind) for kind in EventKind][:15] == [
        "phase_begins",
        "phase_ends",
        "shift_begins",
        "shift_finishes",
        "return_begins",
        "return_finishes",
        "shift_hangs",
        "rpm_limit_passed",
        "rpm_limit_regained",
        "height_reached",
        "ceiling",
        "fuel_reserve",
        "fuel_empty",
        "engine_table_left",
        "out_of_time",
    ]
    assert {variable.name for variable in SETUP} >= {"coarse_stop", "fine_stop", "engine_rpm_limit"}
