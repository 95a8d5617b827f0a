"""ISO 2533 air by geopotential height, as its tables give it; the engine asks by geometric height."""

from simengine.models.atmosphere import (
    EARTH_RADIUS,
    SEA_LEVEL_PRESSURE,
    Air,
    air_of,
    pressure_at,
    standard_temperature,
)


def geometric_height(geopotential: float) -> float:
    """Geometric from `geopotential` height [m]; exact inverse of `geopotential_height`."""
    return EARTH_RADIUS * geopotential / (EARTH_RADIUS - geopotential)


def standard_air(geopotential: float) -> Air:
    """ISO 2533:1975 air at a GEOPOTENTIAL height [m], valid -2 to 20 km."""
    return air_of(pressure_at(SEA_LEVEL_PRESSURE, geopotential), standard_temperature(geopotential), 0.0)
