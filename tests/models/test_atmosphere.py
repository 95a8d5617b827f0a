import math

import pytest
from standard_atmosphere import geometric_height, standard_air

from simengine.constants import SEA_LEVEL_PRESSURE
from simengine.models import atmosphere
from simengine.models.atmosphere import (
    Atmosphere,
    air_at,
    air_of,
    density_altitude,
    geopotential_height,
    offset_from_measured,
    pressure_altitude,
    pressure_at,
)

STANDARD = Atmosphere(0.0, SEA_LEVEL_PRESSURE, 0.0)
HEIGHTS = (-500.0, 0.0, 1.0, 2345.6, 8999.0, 10999.0, 11000.0, 11001.0, 15000.0, 20000.0)


@pytest.mark.parametrize("height", HEIGHTS)
def test_geopotential_and_geometric_heights_are_inverse(height):
    assert geopotential_height(geometric_height(height)) == pytest.approx(height, rel=1e-14, abs=1e-12)


@pytest.mark.parametrize("height", HEIGHTS[:-1])
def test_altitudes_are_exact_inverses_of_the_standard_air(height):
    air = standard_air(height)
    assert pressure_altitude(air.pressure) == pytest.approx(height, rel=1e-13, abs=1e-8)
    assert density_altitude(air.density) == pytest.approx(height, rel=1e-13, abs=1e-8)


def test_altitudes_beyond_the_isothermal_layer_are_not_a_number():
    air = standard_air(20001.0)
    assert math.isnan(pressure_altitude(air.pressure))
    assert math.isnan(density_altitude(air.density))


def test_air_takes_geometric_height():
    assert air_at(STANDARD, geometric_height(3000.0)) == pytest.approx(standard_air(3000.0), rel=1e-14)
    assert air_at(STANDARD, 3000.0).pressure > standard_air(3000.0).pressure


@pytest.mark.parametrize("of", ["pressure", "density", "temperature"])
def test_no_jump_at_eleven_kilometres(of):
    below, above = (getattr(standard_air(height), of) for height in (11000.0 - 1e-6, 11000.0 + 1e-6))
    assert above == pytest.approx(below, rel=1e-9)


def test_pressure_gradient_is_hydrostatic_above_and_below_the_tropopause():
    for height in (500.0, 5000.0, 12000.0):
        step = 1.0
        gradient = (standard_air(height + step).pressure - standard_air(height - step).pressure) / (2 * step)
        assert gradient == pytest.approx(-9.80665 * standard_air(height).density, rel=1e-7)


def test_temperature_offset_leaves_pressure_and_thins_the_air():
    cool, warm = air_at(STANDARD, 1500.0), air_at(STANDARD._replace(temperature_offset=20.0), 1500.0)
    assert warm.pressure == cool.pressure
    assert warm.temperature == cool.temperature + 20.0
    assert warm.density == pytest.approx(cool.density * cool.temperature / warm.temperature, rel=1e-14)


def test_qnh_is_the_pressure_at_sea_level_and_fades_with_height():
    for qnh in (95000.0, 100000.0, 104000.0):
        assert pressure_at(qnh, 0.0) == pytest.approx(qnh, rel=1e-14)
    raised = [
        pressure_at(102325.0, height) - pressure_at(SEA_LEVEL_PRESSURE, height)
        for height in (0.0, 3000.0, 9000.0)
    ]
    assert raised == sorted(raised, reverse=True)
    assert min(raised) > 0.0


def test_humid_air_is_lighter_and_carries_sound_faster():
    dry, humid = air_of(101325.0, 303.15, 0.0), air_of(101325.0, 303.15, 0.8)
    assert humid.density < dry.density
    assert humid.speed_of_sound > dry.speed_of_sound
    assert humid.pressure == dry.pressure


def test_vapour_never_exceeds_the_pressure():
    assert air_of(100.0, 300.0, 1.0).density > 0.0


def test_offset_from_a_measured_temperature_gives_that_temperature_back():
    offset = offset_from_measured(650.0, 297.65)
    assert air_at(STANDARD._replace(temperature_offset=offset), 650.0).temperature == pytest.approx(
        297.65, rel=1e-14
    )


@pytest.mark.parametrize("height", [-200.0, 0.0, 2500.0, 12500.0])
def test_compiled_equals_plain_python(height):
    day = Atmosphere(11.0, 100900.0, 0.6)
    assert air_at(day, height) == pytest.approx(air_at.py_func(day, height), rel=1e-15)
    for name in ("pressure_altitude", "density_altitude", "saturation_vapour_pressure"):
        function = getattr(atmosphere, name)
        for value in (0.3, 250.0, 300.0, 50000.0)[:: 1 if name == "pressure_altitude" else 2]:
            if name == "saturation_vapour_pressure" and value > 1000.0:
                continue
            assert function(value) == pytest.approx(function.py_func(value), rel=1e-14, nan_ok=True)
