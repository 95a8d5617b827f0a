"""The envelope's dataset: complete, in its units, through a file and back, and true to its points."""

from dataclasses import replace

import numpy as np
import pytest
import xarray
from flights import demo_scenario

from simengine.balance.assembly import assemble
from simengine.constants import DEGREE, RPM
from simengine.models.momentum import RotorLoads
from simengine.results import envelope_catalogue
from simengine.results.envelope_catalogue import COORDINATES, TABLES, all_envelope_variables
from simengine.results.netcdf import read_netcdf, write_netcdf
from simengine.results.study_dataset import study_dataset
from simengine.scenario import records
from simengine.studies.envelope.model_limits import root_limits
from simengine.studies.envelope.study import envelope
from simengine.studies.full_throttle import full_throttle
from simengine.studies.machine import condition_at, machine_of

pytestmark = pytest.mark.slow

SMALL = {
    "heights_to": 4100.0,
    "heights_count": 3,
    "temperature_offsets": (0.0, 15.0),
    "bars": (0.0, 1.0),
    "map_heights": 3,
    "map_throttles": 5,
}


def small(name):
    """A demo scenario with a coarse envelope."""
    scenario = demo_scenario(name)
    record = scenario.record.model_copy(update={"envelope": records.Envelope(**SMALL)})
    return replace(scenario, record=record)


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def second(told):
    return envelope(small("second_engine"), progress=lambda share, what: told.append((share, what)))


@pytest.fixture(scope="module")
def fixed():
    return envelope(small("climb_and_cruise_fixed"))


def test_every_variable_is_there_with_its_dimensions_units_and_name(second):
    assert set(second.variables) == {variable.name for variable in all_envelope_variables()}
    for dimensions, table in TABLES:
        for variable in table:
            stored = second[variable.name]
            assert stored.dims == dimensions
            assert stored.attrs["long_name"]
            if variable.stored == "number":
                assert stored.attrs["units"] == variable.units
    assert set(second.coords) == {variable.name for variable in COORDINATES}


def test_names_are_each_given_once():
    names = [variable.name for variable in all_envelope_variables()]
    assert len(names) == len(set(names))


def test_masses_default_to_the_own_one_and_fifteen_kilograms_to_either_side(second):
    aircraft = assemble(demo_scenario("second_engine").record)
    own = aircraft.dry_mass + aircraft.fuel_start
    assert second.mass.values == pytest.approx([own - 15.0, own, own + 15.0])


def test_it_survives_a_file_and_plain_xarray(second, tmp_path):
    path = write_netcdf(second, tmp_path / "envelope.nc")
    back = read_netcdf(path)
    xarray.testing.assert_equal(back.drop_vars("budget_case"), second.drop_vars("budget_case"))
    assert back.attrs["study"] == "envelope"
    assert back.attrs["balances"] == second.attrs["balances"]


def test_points_are_those_of_the_machine(second):
    aircraft = assemble(demo_scenario("second_engine").record)
    machine = machine_of(aircraft)
    day = aircraft.atmosphere._replace(temperature_offset=15.0)
    full = full_throttle(machine, condition_at(day, 2100.0, float(second.mass[2]), 1.0))
    point = second.isel(temperature_offset=1, mass=2, bar=1, height=1)
    assert float(point.height) == 2100.0
    assert float(point.full_throttle_rpm) == pytest.approx(full.engine_speed / RPM)
    assert float(point.full_throttle_blade_angle) == pytest.approx(full.blade_angle / DEGREE)
    assert float(point.shift_margin_moment) == pytest.approx(full.margin_moment)
    assert float(point.climb_rate) == pytest.approx(full.climb_rate)


def test_margin_state_and_rpm_of_every_point_tell_one_story(second):
    finishes = second.full_throttle_pitch_state == 3
    assert np.array_equal(finishes, second.shift_margin_moment > 0.0)
    assert np.array_equal(finishes, second.shift_margin_rpm > 0.0)
    assert np.allclose(
        second.shift_margin_rpm, second.full_throttle_rpm_fine - second.shift_finish_rpm, atol=15.0
    )
    assert (second.full_throttle_rpm >= second.full_throttle_rpm_coarse - 1e-6).all()
    assert (second.full_throttle_rpm <= second.full_throttle_rpm_fine + 1e-6).all()


def test_warm_air_is_thin_air(second):
    warmer = second.density_altitude.sel(temperature_offset=15.0) - second.density_altitude.sel(
        temperature_offset=0.0
    )
    assert (warmer > 400.0).all()
    same = second.pressure_altitude.sel(temperature_offset=15.0) - second.pressure_altitude.sel(
        temperature_offset=0.0
    )
    assert np.abs(same).max() < 1e-6
    assert (
        second.climb_rate.sel(temperature_offset=15.0) < second.climb_rate.sel(temperature_offset=0.0)
    ).all()


def test_ceilings_lie_where_the_margin_changes_sign(second):
    below = second.height < second.shift_ceiling  # nowhere, where there is none
    assert np.array_equal(below.transpose(*second.shift_margin_moment.dims), second.shift_margin_moment > 0.0)
    none = second.shift_ceiling.isnull().values
    assert not none.all()
    never = np.array(["never finishes" in str(words) for words in second.shift_ceiling_words.values.flat])
    assert np.array_equal(none.ravel(), never)
    warm = second.sel(temperature_offset=15.0)
    higher = (warm.shift_ceiling_density_altitude > warm.shift_ceiling).values
    assert higher[~none[1]].all()


def test_the_budget_sums_to_nothing_where_the_shift_finishes(second):
    case = second.isel(budget_case=0).sel(budget_stop="fine")
    net = -(case.budget_spring + case.budget_centrifugal + case.budget_counterweight + case.budget_air)
    left = net - case.budget_friction
    crossing = float(np.interp(0.0, left.values, second.budget_rpm.values))
    finish = float(second.ground_shift_finish_rpm.sel(temperature_offset=0.0).isel(height=0))
    assert crossing == pytest.approx(finish, abs=5.0)
    assert (second.budget_air_share < 1.0).all() and (second.budget_air_share > 0.0).all()


def test_progress_rises_to_the_end(second, told):
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] < 0.2 and shares[-1] == 1.0


def test_a_fixed_hub_has_all_but_the_shift(fixed):
    assert fixed.shift_finish_rpm.isnull().all() and fixed.shift_ceiling.isnull().all()
    assert fixed.budget_air_share.isnull().all()
    assert fixed.full_throttle_rpm.notnull().all() and fixed.climb_rate.notnull().all()
    assert (fixed.level_status <= 3).all()
    assert "not moved by their loads" in str(fixed.shift_ceiling_words.values.flat[0])


def test_blade_elements_without_a_root_reach_the_reader_as_a_sentence():
    good = RotorLoads(1.0, 1.0, 0.0, 0.0, 1e5, 1e6, 0.5, 0.0, 0.0)
    assert root_limits([good]) == []
    (sentence,) = root_limits([good, good._replace(status=2.0)])
    assert sentence.startswith("at 1 of 2 points") and "wrong" in sentence


def test_values_that_do_not_fit_the_catalogue_are_refused():
    with pytest.raises(ValueError, match="shift_ceiling"):
        study_dataset(
            "envelope", envelope_catalogue.COORDINATES, envelope_catalogue.TABLES, {}, {}, None, None
        )
