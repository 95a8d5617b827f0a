"""The air: ISO 2533:1975 with the day's temperature, QNH and humidity on top.

Heights are geometric, above mean sea level, unless they are called geopotential. Temperature falls to
11 km and stays constant above; ISO 2533 goes on so to 20 km.
"""

from math import exp, log, sqrt
from typing import NamedTuple

from simengine.compiled import kernel, kernel_part
from simengine.constants import (
    EARTH_RADIUS,
    GAS_CONSTANT_DRY_AIR,
    GAS_CONSTANT_WATER_VAPOUR,
    HEAT_CAPACITY_RATIO,
    SEA_LEVEL_DENSITY,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_TEMPERATURE,
    STANDARD_GRAVITY,
    SUTHERLAND_FACTOR,
    SUTHERLAND_TEMPERATURE,
    TEMPERATURE_LAPSE,
    TROPOPAUSE_HEIGHT,
)

PRESSURE_EXPONENT = -STANDARD_GRAVITY / (GAS_CONSTANT_DRY_AIR * TEMPERATURE_LAPSE)  # 5.25588
TROPOPAUSE_TEMPERATURE = SEA_LEVEL_TEMPERATURE + TEMPERATURE_LAPSE * TROPOPAUSE_HEIGHT  # 216.65 K
TROPOPAUSE_RATIO = TROPOPAUSE_TEMPERATURE / SEA_LEVEL_TEMPERATURE
STRATOSPHERE_SCALE = GAS_CONSTANT_DRY_AIR * TROPOPAUSE_TEMPERATURE / STANDARD_GRAVITY  # m for a factor e
ISOTHERMAL_TOP = 20000.0  # m geopotential, ISO 2533:1975
ZERO_CELSIUS = 273.15  # K


class Atmosphere(NamedTuple):
    """The air of the day.

    Attributes
    ----------
    temperature_offset : float
        Added to the ISO 2533 temperature at every height [K].
    qnh : float
        Altimeter setting [Pa]; 101325 Pa gives the standard pressures.
    relative_humidity : float
        Share of saturation over water, the same at every height, 0 to 1 [1].
    """

    temperature_offset: float
    qnh: float
    relative_humidity: float


class Air(NamedTuple):
    """Air at one place.

    Attributes
    ----------
    temperature : float
        [K].
    pressure : float
        Static pressure, vapour included [Pa].
    density : float
        Vapour included [kg/m3].
    speed_of_sound : float
        From pressure and density at the heat-capacity ratio of dry air [m/s].
    viscosity : float
        Dynamic viscosity of dry air at this temperature [Pa s].
    """

    temperature: float
    pressure: float
    density: float
    speed_of_sound: float
    viscosity: float


@kernel_part
def geopotential_height(height: float) -> float:
    """Geopotential from geometric height [m]; ISO 2533:1975."""
    return EARTH_RADIUS * height / (EARTH_RADIUS + height)


@kernel_part
def standard_temperature(geopotential: float) -> float:
    """ISO 2533 temperature [K] at a geopotential height [m], valid to 20 km."""
    return SEA_LEVEL_TEMPERATURE + TEMPERATURE_LAPSE * min(geopotential, TROPOPAUSE_HEIGHT)


@kernel_part
def pressure_at(qnh: float, geopotential: float) -> float:
    """Static pressure [Pa] at a geopotential height [m] for an altimeter setting `qnh` [Pa].

    The altimeter law of ISO 2533:1975, to 20 km: QNH is the pressure that the standard temperature profile
    brings down to sea level. A warm or cold column does not change it, which is what an altimeter assumes
    too.
    """
    sea_level = (qnh / SEA_LEVEL_PRESSURE) ** (1.0 / PRESSURE_EXPONENT)
    fall = TEMPERATURE_LAPSE * min(geopotential, TROPOPAUSE_HEIGHT) / SEA_LEVEL_TEMPERATURE
    pressure: float = SEA_LEVEL_PRESSURE * (sea_level + fall) ** PRESSURE_EXPONENT
    return pressure * exp(-max(geopotential - TROPOPAUSE_HEIGHT, 0.0) / STRATOSPHERE_SCALE)


@kernel_part
def saturation_vapour_pressure(temperature: float) -> float:
    """Vapour pressure of water at saturation over water [Pa] at a temperature [K].

    A. L. Buck, form of 1996 (coefficients as public package documentation prints them); within 0.05 % of the
    CIPM-2007 vapour pressure from -20 to 45 degC.
    """
    celsius = temperature - ZERO_CELSIUS
    return 611.21 * exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


@kernel_part
def humid_density(pressure: float, temperature: float, vapour_pressure: float) -> float:
    """Density [kg/m3] of dry air and water vapour as two ideal gases in one volume.

    `pressure`, the vapour's included [Pa], `temperature` [K], `vapour_pressure` [Pa].
    """
    return (
        (pressure - vapour_pressure) / GAS_CONSTANT_DRY_AIR + vapour_pressure / GAS_CONSTANT_WATER_VAPOUR
    ) / temperature


@kernel
def air_of(pressure: float, temperature: float, relative_humidity: float) -> Air:
    """Air of a measured pressure [Pa], temperature [K] and relative humidity, 0 to 1 [1].

    Speed of sound and viscosity (Sutherland's law) with the constants of ISO 2533:1975.
    """
    vapour = min(relative_humidity * saturation_vapour_pressure(temperature), pressure)
    density = humid_density(pressure, temperature, vapour)
    return Air(
        temperature,
        pressure,
        density,
        sqrt(HEAT_CAPACITY_RATIO * pressure / density),
        SUTHERLAND_FACTOR * temperature**1.5 / (temperature + SUTHERLAND_TEMPERATURE),
    )


@kernel
def air_at(atmosphere: Atmosphere, height: float) -> Air:
    """Air of the day at a geometric height above mean sea level [m], valid -2 to 20 km."""
    geopotential = geopotential_height(height)
    return air_of(
        pressure_at(atmosphere.qnh, geopotential),
        standard_temperature(geopotential) + atmosphere.temperature_offset,
        atmosphere.relative_humidity,
    )


@kernel
def pressure_altitude(pressure: float) -> float:
    """Geopotential height [m] at which ISO 2533 has this pressure [Pa]; not a number above 20 km."""
    ratio: float = (pressure / SEA_LEVEL_PRESSURE) ** (1.0 / PRESSURE_EXPONENT)
    if ratio >= TROPOPAUSE_RATIO:
        return SEA_LEVEL_TEMPERATURE * (ratio - 1.0) / TEMPERATURE_LAPSE
    depth = PRESSURE_EXPONENT * log(TROPOPAUSE_RATIO / ratio)
    return isothermal_height(depth)


@kernel_part
def density_altitude(density: float) -> float:
    """Geopotential height [m] at which ISO 2533 has this density [kg/m3]; not a number above 20 km."""
    ratio: float = (density / SEA_LEVEL_DENSITY) ** (1.0 / (PRESSURE_EXPONENT - 1.0))
    if ratio >= TROPOPAUSE_RATIO:
        return SEA_LEVEL_TEMPERATURE * (ratio - 1.0) / TEMPERATURE_LAPSE
    depth = (PRESSURE_EXPONENT - 1.0) * log(TROPOPAUSE_RATIO / ratio)
    return isothermal_height(depth)


@kernel_part
def isothermal_height(depth: float) -> float:
    """Geopotential height [m] where pressure, or density, is `exp(-depth)`, `depth` [1], of that at 11 km.

    ISO 2533:1975; not a number above 20 km.
    """
    height = TROPOPAUSE_HEIGHT + STRATOSPHERE_SCALE * depth
    return height if height <= ISOTHERMAL_TOP else float("nan")


def offset_from_measured(height: float, temperature: float) -> float:
    """Temperature offset [K] of a day on which `temperature` [K] was read at a geometric height [m]."""
    return temperature - standard_temperature(geopotential_height(height))
