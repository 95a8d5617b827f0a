"""The air against ISO 2533:1975, two general libraries, and the CIPM-2007 equation of moist air."""

from math import exp

import pytest
from ambiance import Atmosphere as AmbianceAtmosphere
from fluids import ATMOSPHERE_1976
from standard_atmosphere import geometric_height, standard_air

from simengine.constants import SEA_LEVEL_DENSITY, SEA_LEVEL_PRESSURE
from simengine.models.atmosphere import (
    Atmosphere,
    air_at,
    air_of,
    density_altitude,
    humid_density,
    pressure_altitude,
    pressure_at,
    saturation_vapour_pressure,
)

# ISO 2533:1975 standard atmosphere at GEOPOTENTIAL heights. Constants from memory; every row was
# reproduced by three public libraries. (Speed of sound at 500 m is 338.36948; with the universal gas constant
# of a later year it is 338.36960 and prints as 338.370.)
# height m, T K, p Pa, density kg/m3, speed of sound m/s, viscosity 1e-6 Pa s, sigma, delta
ISO_2533 = """
0     288.15  101325.00  1.225000  340.294  17.8938  1.00000  1.00000
500   284.90   95460.84  1.167269  338.369  17.7366  0.95287  0.94213
1000  281.65   89874.56  1.111643  336.434  17.5785  0.90746  0.88699
1500  278.40   84555.99  1.058067  334.487  17.4195  0.86373  0.83450
2000  275.15   79495.20  1.006490  332.529  17.2596  0.82162  0.78456
3000  268.65   70108.53  0.909122  328.578  16.9372  0.74214  0.69192
4000  262.15   61640.21  0.819129  324.579  16.6111  0.66868  0.60834
5000  255.65   54019.89  0.736116  320.529  16.2812  0.60091  0.53313
"""
ROWS = [line.split() for line in ISO_2533.strip().splitlines()]


def half_digit(printed):
    """Half a unit of the last digit printed."""
    _, _, decimals = printed.partition(".")
    return 0.5 * 10.0 ** -len(decimals) * (1.0 + 1e-9)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_iso_2533_table_to_its_printed_digits(row):
    air = standard_air(float(row[0]))
    ours = (
        air.temperature,
        air.pressure,
        air.density,
        air.speed_of_sound,
        1e6 * air.viscosity,
        air.density / SEA_LEVEL_DENSITY,
        air.pressure / SEA_LEVEL_PRESSURE,
    )
    for value, printed in zip(ours, row[1:], strict=True):
        assert value == pytest.approx(float(printed), abs=half_digit(printed))


@pytest.mark.parametrize("geopotential", [0.0, 137.0, 1000.0, 2999.0, 5000.0, 8000.0, 10999.0])
def test_ambiance_to_rounding_up_to_eleven_kilometres(geopotential):
    # it takes geometric height, uses the ISO constants, and starts from rounded pressures above 11 km
    library = AmbianceAtmosphere(geometric_height(geopotential))
    air = standard_air(geopotential)
    assert air.temperature == pytest.approx(library.temperature[0], rel=1e-12)
    assert air.pressure == pytest.approx(library.pressure[0], rel=1e-12)
    assert air.density == pytest.approx(library.density[0], rel=1e-12)
    assert air.speed_of_sound == pytest.approx(library.speed_of_sound[0], rel=1e-12)
    assert air.viscosity == pytest.approx(library.dynamic_viscosity[0], rel=1e-12)


@pytest.mark.parametrize("geopotential", [12000.0, 15000.0, 19000.0])
def test_ambiance_above_eleven_kilometres_within_its_rounded_base_pressure(geopotential):
    library = AmbianceAtmosphere(geometric_height(geopotential))
    assert standard_air(geopotential).pressure == pytest.approx(library.pressure[0], rel=3e-6)


@pytest.mark.parametrize("height", [-500.0, 0.0, 650.0, 3000.0, 9000.0, 14000.0])
def test_fluids_in_geometric_height(height):
    # US Standard Atmosphere 1976, whose gas constant differs by 7e-7: hence 1e-5
    library, air = ATMOSPHERE_1976(height), air_at(Atmosphere(0.0, SEA_LEVEL_PRESSURE, 0.0), height)
    assert air.temperature == pytest.approx(library.T, rel=1e-12)
    assert air.pressure == pytest.approx(library.P, rel=1e-5)
    assert air.density == pytest.approx(library.rho, rel=1e-5)
    assert air.speed_of_sound == pytest.approx(library.v_sonic, rel=1e-5)
    assert air.viscosity == pytest.approx(library.mu, rel=1e-5)


# --- altitudes of a day that is not standard: own arithmetic from the formulas, a regression guard ----
@pytest.mark.parametrize(
    ("altitude", "offset", "density", "answer"),
    [
        (1000.0, 20.0, "1.037938", "1692.9"),
        (2000.0, 15.0, "0.954457", "2524.7"),
        (3000.0, 10.0, "0.876496", "3353.4"),
        (0.0, 15.0, "1.164386", "525.5"),
    ],
)
def test_density_altitude_of_warm_days(altitude, offset, density, answer):
    day = Atmosphere(offset, SEA_LEVEL_PRESSURE, 0.0)
    air = air_at(day, geometric_height(altitude))
    assert pressure_altitude(air.pressure) == pytest.approx(altitude, abs=1e-6)
    assert air.density == pytest.approx(float(density), abs=half_digit(density))
    assert density_altitude(air.density) == pytest.approx(float(answer), abs=half_digit(answer))


def test_density_altitude_is_near_the_pilots_rule():
    # rule of thumb, value from memory: 118.8 ft for each kelvin above standard; it reads 31 m high here
    rule = 1000.0 + 20.0 * 118.8 * 0.3048
    air = air_at(Atmosphere(20.0, SEA_LEVEL_PRESSURE, 0.0), geometric_height(1000.0))
    assert density_altitude(air.density) == pytest.approx(rule, abs=35.0)


def test_station_pressure_from_qnh():
    # own arithmetic from the altimeter law, a regression guard: QNH 1000 hPa at 300 m geopotential
    pressure = pressure_at(100000.0, 300.0)
    assert pressure == pytest.approx(96485.4, abs=0.05)
    assert pressure_altitude(pressure) == pytest.approx(410.9, abs=0.05)


def test_thirty_feet_a_hectopascal():
    # common practice, no source: near sea level one hectopascal is about 27 to 30 ft
    metres = pressure_altitude(101225.0) - pressure_altitude(101325.0)
    assert 27.0 < metres / 0.3048 < 30.0


# --- moist air -------------------------------------------------------------------------------------
# CIPM-2007: A. Picard, R. S. Davis, M. Glaser, K. Fujii, Metrologia 45 (2008) 149-155,
# doi 10.1088/0026-1394/45/2/004. Constants as seen in public code that cites it.
DRY_MOLAR_MASS, WATER_MOLAR_MASS, MOLAR_GAS_CONSTANT = 28.96546e-3, 18.01528e-3, 8.314472


def cipm_saturation(temperature):
    return exp(
        1.2378847e-5 * temperature**2 - 1.9121316e-2 * temperature + 33.93711047 - 6.3431645e3 / temperature
    )


def cipm_vapour_share(pressure, celsius, humidity):
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius**2
    return humidity * enhancement * cipm_saturation(celsius + 273.15) / pressure


def cipm_compressibility(pressure, celsius, share):
    ratio = pressure / (celsius + 273.15)
    first = 1.58123e-6 - 2.9331e-8 * celsius + 1.1043e-10 * celsius**2
    first += (5.707e-6 - 2.051e-8 * celsius) * share + (1.9898e-4 - 2.376e-6 * celsius) * share**2
    return 1.0 - ratio * first + ratio**2 * (1.83e-11 - 0.765e-8 * share**2)


def cipm_density(pressure, celsius, humidity):
    share = cipm_vapour_share(pressure, celsius, humidity)
    compressibility = cipm_compressibility(pressure, celsius, share)
    ideal = pressure * DRY_MOLAR_MASS / (MOLAR_GAS_CONSTANT * (celsius + 273.15))
    return ideal / compressibility * (1.0 - share * (1.0 - WATER_MOLAR_MASS / DRY_MOLAR_MASS))


# pressure Pa, degC, relative humidity, CIPM-2007, two ideal gases (own arithmetic), and an independent
# humid-air property library
MOIST_AIR = [
    (101325.0, 15.0, 0.0, "1.225521", "1.22500", "1.22557"),
    (101325.0, 20.0, 0.5, "1.199314", "1.19885", "1.19936"),
    (101325.0, 30.0, 0.8, "1.150012", "1.14963", "1.15006"),
    (90000.0, 10.0, 0.5, "1.104920", "1.10444", "1.10496"),
    (70108.5, 25.0, 0.6, "0.810978", "0.81077", "0.81100"),
]


@pytest.mark.parametrize("row", MOIST_AIR, ids=lambda row: f"{row[1]:g}C-{row[2]:g}")
def test_cipm_oracle_gives_its_table_and_an_independent_library(row):
    pressure, celsius, humidity, cipm, _, independent = row
    density = cipm_density(pressure, celsius, humidity)
    assert density == pytest.approx(float(cipm), abs=half_digit(cipm))
    assert density == pytest.approx(float(independent), rel=5e-5)


@pytest.mark.parametrize("row", MOIST_AIR, ids=lambda row: f"{row[1]:g}C-{row[2]:g}")
def test_moist_air_to_printed_digits(row):
    pressure, celsius, humidity, _, simple, _ = row
    air = air_of(pressure, celsius + 273.15, humidity)
    assert air.density == pytest.approx(float(simple), abs=half_digit(simple))


@pytest.mark.parametrize("row", MOIST_AIR, ids=lambda row: f"{row[1]:g}C-{row[2]:g}")
def test_moist_air_against_cipm_2007(row):
    """Lighter than CIPM-2007 by its real-gas terms and nothing else.

    ISO 2533 dry air is an ideal gas, 4.3e-4 lighter than CIPM-2007 at sea level: 4.1e-4 compressibility,
    2e-5 its molar mass. With both taken out, what remains is the enhancement factor of the vapour and the
    two vapour-pressure fits: at most 0.5 % of a vapour share of 3.5 % times 0.378, thus 7e-5.
    """
    pressure, celsius, humidity, *_ = row
    ours = air_of(pressure, celsius + 273.15, humidity).density
    cipm = cipm_density(pressure, celsius, humidity)
    assert 0.0 < 1.0 - ours / cipm < 4.4e-4
    real_gas = cipm_compressibility(pressure, celsius, cipm_vapour_share(pressure, celsius, humidity))
    gas_constant = (MOLAR_GAS_CONSTANT / DRY_MOLAR_MASS) / 287.05287
    assert ours == pytest.approx(cipm * real_gas * gas_constant, rel=7e-5)


def test_a_hot_damp_day_costs_one_and_a_quarter_percent():
    # own arithmetic, a regression guard: 30 degC and 80 % against dry air of the same temperature
    loss = 1.0 - air_of(101325.0, 303.15, 0.8).density / air_of(101325.0, 303.15, 0.0).density
    assert 100.0 * loss == pytest.approx(1.27, abs=0.005)


@pytest.mark.parametrize("celsius", [-20, -10, 0, 10, 20, 30, 40, 45])
def test_vapour_pressure_against_cipm_2007(celsius):
    # CIPM-2007 is recommended for 15 to 27 degC only (range from memory); the two fits agree further out
    ours = saturation_vapour_pressure(celsius + 273.15)
    assert ours == pytest.approx(cipm_saturation(celsius + 273.15), rel=5e-4)


def test_dry_air_has_no_vapour_part():
    assert humid_density(90000.0, 280.0, 0.0) == pytest.approx(90000.0 / (287.05287 * 280.0), rel=1e-15)
