"""Units a scenario may use: for each dimension the accepted list, and the way to SI.

The lists are ours, because errors and the JSON Schema must name them and because some unit names need a
decision. Pint knows the factors; it is imported only when a unit is converted for the first time.

Decisions: `hp` is the mechanical horsepower (550 ft lbf/s), `PS` the metric one (75 kgf m/s). `rpm`
becomes rad/s. `degC` is a point on a scale; a difference is written in `K`. `gal` is not accepted,
because there are several gallons.
"""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

if TYPE_CHECKING:
    import pint

CACHE_VARIABLE = "SIMENGINE_CACHE_DIR"
NOUGHT = 1e-20  # of the largest: far below what anybody measures, far above where a product underflows


@dataclass(frozen=True, eq=False)
class Dimension:
    """One kind of quantity: its accepted units, each with Pint's name for it.

    `largest` is the size in SI that no quantity of this trade passes; a share `NOUGHT` of it counts as 0.
    `shown` are the units used to print a value, largest first. `example` stands in error messages.
    `bare` tells that a number without a unit is accepted, and means SI.
    """

    name: str
    si: str
    largest: float
    example: str
    shown: tuple[str, ...]
    units: Mapping[str, str]
    bare: bool = False

    @property
    def accepted(self) -> str:
        """Accepted units as a list for a message."""
        return ", ".join(unit or "no unit" for unit in self.units)

    @property
    def article(self) -> str:
        """The dimension with its article: 'a length', 'an angle'."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


@dataclass(frozen=True)
class Conversion:
    """SI value = factor * value + offset; the offset is not zero for temperature scales only."""

    factor: float
    offset: float


def units(names: str) -> dict[str, str]:
    """Accepted units from a list, each with Pint's name after `=` where that differs."""
    pairs = (item.partition("=") for item in names.split())
    return {unit: pint_name or unit for unit, _, pint_name in pairs}


LENGTH = Dimension(
    "length", "m", 1e7, "46 mm", ("m", "mm"), units("m cm mm km in=inch ft=foot nmi=nautical_mile")
)
MASS = Dimension("mass", "kg", 1e4, "80 kg", ("kg", "g"), units("kg g lb=pound oz=ounce"))
TIME = Dimension("time", "s", 1e7, "30 min", ("s", "ms"), units("s=second ms min=minute h=hour"))
SPEED = Dimension(
    "speed",
    "m/s",
    1e3,
    "11 m/s",
    ("m/s",),
    units("m/s km/h=km/hour kt=nautical_mile/hour mph=mile/hour ft/min=foot/minute ft/s=foot/second"),
)
ANGLE = Dimension("angle", "rad", 1e2, "14.5 deg", ("deg",), units("deg=degree rad=radian"))
ANGULAR_RATE = Dimension(
    "angular rate", "rad/s", 1e4, "3 deg/s", ("deg/s",), units("deg/s=degree/second rad/s=radian/second")
)
ROTATION_SPEED = Dimension(
    "rotation speed",
    "rad/s",
    1e4,
    "2500 rpm",
    ("rpm",),
    units("rpm=revolution/minute rev/s=revolution/second rad/s=radian/second"),
)
TORQUE = Dimension(
    "torque",
    "N*m",
    1e5,
    "20 N*m",
    ("N*m", "N*mm"),
    units(
        "N*m N*cm N*mm kgf*m=kilogram_force*m kgf*cm=kilogram_force*cm "
        "lbf*ft=pound_force*foot lbf*in=pound_force*inch"
    ),
)
FORCE = Dimension("force", "N", 1e6, "600 N", ("N",), units("N kN kgf=kilogram_force lbf=pound_force"))
STIFFNESS = Dimension(
    "stiffness",
    "N/m",
    1e12,
    "14 N/mm",
    ("N/mm", "N/m"),
    units("N/mm N/m kgf/mm=kilogram_force/mm lbf/in=pound_force/inch"),
)
ANGULAR_STIFFNESS = Dimension(
    "angular stiffness",
    "N*m/rad",
    1e12,
    "0.4 N*m/deg",
    ("N*m/deg", "N*m/rad"),
    units("N*m/rad=N*m/radian N*m/deg=N*m/degree N*mm/deg=N*mm/degree"),
)
ANGULAR_DAMPING = Dimension(
    "angular damping",
    "N*m*s/rad",
    1e5,
    "0.02 N*m*s/rad",
    ("N*m*s/rad",),
    units("N*m*s/rad=N*m*s/radian N*m*s/deg=N*m*s/degree"),
)
TEMPERATURE = Dimension(
    "temperature",
    "K",
    1e4,
    "24.5 degC",
    ("degC",),
    units("degC=degree_Celsius K=kelvin degF=degree_Fahrenheit"),
)
TEMPERATURE_DIFFERENCE = Dimension(
    "temperature difference",
    "K",
    1e3,
    "10 K",
    ("K",),
    units("K=kelvin delta_degC=delta_degree_Celsius delta_degF=delta_degree_Fahrenheit"),
)
PRESSURE = Dimension(
    "pressure",
    "Pa",
    1e7,
    "1013.25 hPa",
    ("hPa",),
    units("hPa Pa kPa bar mbar inHg=inch_Hg mmHg=millimeter_Hg"),
)
STRESS = Dimension(
    "stress", "Pa", 1e13, "206 GPa", ("GPa", "MPa"), units("Pa MPa GPa N/mm2=N/mm**2 psi=pound_force/inch**2")
)
DENSITY = Dimension(
    "density",
    "kg/m3",
    1e5,
    "745 kg/m3",
    ("kg/m3",),
    units("kg/m3=kg/m**3 g/cm3=g/cm**3 kg/L=kg/liter g/L=g/liter"),
)
AREA = Dimension(
    "area", "m2", 1e4, "25 m2", ("m2", "mm2"), units("m2=m**2 cm2=cm**2 mm2=mm**2 ft2=foot**2 in2=inch**2")
)
SECTION_MODULUS = Dimension(
    "section modulus", "m3", 1e2, "1800 mm3", ("mm3",), units("mm3=mm**3 cm3=cm**3 m3=m**3")
)
VOLUME = Dimension("volume", "m3", 1e2, "10 L", ("L", "ml"), units("L=liter ml=milliliter cm3=cm**3 m3=m**3"))
VOLUME_FLOW = Dimension(
    "volume flow",
    "m3/s",
    1e2,
    "3.2 L/h",
    ("L/h",),
    units("L/h=liter/hour L/min=liter/minute ml/min=milliliter/minute m3/s=m**3/s"),
)
POWER = Dimension("power", "W", 1e7, "18 kW", ("kW", "W"), units("W kW hp=horsepower PS=metric_horsepower"))
MOMENT_OF_INERTIA = Dimension(
    "moment of inertia",
    "kg*m2",
    1e4,
    "0.003 kg*m2",
    ("kg*m2", "g*m2", "g*cm2"),
    units("kg*m2=kg*m**2 kg*cm2=kg*cm**2 kg*mm2=kg*mm**2 g*m2=g*m**2 g*cm2=g*cm**2"),
)
LINEAR_DENSITY = Dimension(
    "mass per length", "kg/m", 1e4, "0.4 kg/m", ("kg/m", "g/m"), units("kg/m g/m g/cm g/mm")
)
SPECIFIC_CONSUMPTION = Dimension(
    "specific consumption",
    "kg/J",
    1e2,
    "450 g/kWh",
    ("g/kWh",),
    units(
        "g/kWh=g/(kW*hour) kg/kWh=kg/(kW*hour) g/MJ=g/megajoule kg/J=kg/joule "
        "lb/(hp*h)=pound/(horsepower*hour)"
    ),
)
FREQUENCY = Dimension("frequency", "Hz", 1e6, "32 Hz", ("Hz",), units("Hz=hertz"))
FRACTION = Dimension(
    "fraction", "", 1e4, "60 %", ("%",), {**units("%=percent"), "": "dimensionless"}, bare=True
)
NUMBER = Dimension("number", "", 1e10, "2.68", ("",), {"": "dimensionless"}, bare=True)

DIMENSIONS = tuple(value for value in list(globals().values()) if isinstance(value, Dimension))

LONGEST_UNIT = 60  # letters
# Other ways to type the same unit, applied to each factor of a compound unit.
ALIASES = {
    "Nm": "N*m",
    "Nmm": "N*mm",
    "Ncm": "N*cm",
    "l": "L",
    "mL": "ml",
    "cc": "cm3",
    "°": "deg",
    "°C": "degC",
    "°F": "degF",
    "kmh": "km/h",
    "kts": "kt",
    "lbs": "lb",
}
# The same for whole units.
WHOLE_ALIASES = {
    "g/(kW*h)": "g/kWh",
    "kg/(kW*h)": "kg/kWh",
    "ft*lbf": "lbf*ft",
    "in*lbf": "lbf*in",
    "rev/min": "rpm",
    "N*m*s": "N*m*s/rad",
    "kg/dm3": "kg/L",
}


class UnitError(ValueError):
    """A unit that does not fit; the text says which units do."""


def normalise(unit: str) -> str:
    """One spelling for one unit: `N m`, `N·m`, `Nm` become `N*m`, and `m^2`, `m²` become `m2`."""
    unit = unit.strip()
    if len(unit) > LONGEST_UNIT:
        return unit  # no unit, and the patterns below would take their time over it
    text = unit.replace("**", "^").replace("·", "*").replace("²", "2").replace("³", "3")
    text = re.sub(r"\s*([*/()])\s*", r"\1", text.replace("^", ""))
    text = re.sub(r"\s+", "*", text)
    text = "".join(ALIASES.get(part, part) for part in re.split(r"([*/()])", text))
    return WHOLE_ALIASES.get(text, text)


def accepted_unit(unit: str, dimension: Dimension) -> str:
    """The unit in our spelling.

    Parameters
    ----------
    unit : str
        As typed.
    dimension : Dimension
        What kind of quantity it is.

    Returns
    -------
    str
        A key of `dimension.units`.

    Raises
    ------
    UnitError
        If the dimension does not accept it; the message lists what it accepts.
    """
    name = normalise(unit)
    if name in dimension.units:
        return name
    raise UnitError(unit_message(unit.strip(), name, dimension))


def unit_message(unit: str, name: str, dimension: Dimension) -> str:
    """Why a unit is refused, what fits and what was perhaps meant."""
    if not name:
        return f"a unit is required, for example '{dimension.example}'; accepted: {dimension.accepted}"
    if dimension is NUMBER:
        return f"{dimension.article} takes no unit, but has '{unit}'"
    if dimension is TEMPERATURE_DIFFERENCE and name in TEMPERATURE.units:
        return f"'{unit}' is a point on a scale; a difference is written in K, for example '10 K'"
    others = [other.article for other in DIMENSIONS if name in other.units and name]
    reason = f"'{unit}' is the unit of {others[0]}, not of {dimension.article}" if others else ""
    message = reason or f"unit '{unit}' is not known for {dimension.article}"
    near = nearest(name, dimension.units) if not others else None
    return f"{message}; accepted: {dimension.accepted}" + (f"; nearest: '{near}'" if near else "")


def nearest(name: str, known: Mapping[str, object] | tuple[str, ...] | list[str]) -> str | None:
    """The known name most like the one typed, if any is like it; the case does not count."""
    names = {known_name.lower(): known_name for known_name in known if known_name}
    matches = get_close_matches(name.lower(), list(names), n=1, cutoff=0.6)
    return names[matches[0]] if matches else None


@cache
def registry() -> "pint.UnitRegistry[Decimal]":
    """Pint's unit registry, from its definition cache where that can be used.

    In decimals, so that a foot is 0.3048 m to the last digit of the float that it becomes.
    """
    import pint

    base = os.environ.get(CACHE_VARIABLE) or platformdirs.user_cache_dir("simengine", appauthor=False)
    try:
        return pint.UnitRegistry(non_int_type=Decimal, cache_folder=Path(base) / "units")
    except Exception:  # the cache only saves time: folder not writable, a file cut short, another version
        return pint.UnitRegistry(non_int_type=Decimal)


@cache
def conversion(unit: str, dimension: Dimension) -> Conversion:
    """How a unit becomes SI.

    Parameters
    ----------
    unit : str
        In our spelling, as `accepted_unit` gives it.
    dimension : Dimension
        What kind of quantity it is.

    Returns
    -------
    Conversion
        Factor and offset.

    Raises
    ------
    KeyError
        If the dimension does not accept the unit.
    """
    name = dimension.units[unit]
    if dimension is not TEMPERATURE or name == "kelvin":
        return Conversion(base_magnitude("1", name), 0.0)
    return Conversion(base_magnitude("1", f"delta_{name}"), base_magnitude("0", name))


def base_magnitude(value: str, name: str) -> float:
    """Value in SI base units, by Pint."""
    return float(registry().Quantity(Decimal(value), name).to_base_units().magnitude)


def to_si(value: float, unit: str, dimension: Dimension) -> float:
    """Value in SI of a number in a unit.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        In our spelling, as `accepted_unit` gives it.
    dimension : Dimension
        What kind of quantity it is.

    Returns
    -------
    float
        In `dimension.si`.

    Examples
    --------
    >>> from simengine.units import TEMPERATURE, to_si
    >>> to_si(15.0, "degC", TEMPERATURE)
    288.15
    """
    how = conversion(unit, dimension)
    return value * how.factor + how.offset


def within_reason(value: float, dimension: Dimension) -> float:
    """The value, or 0 where it is nearer to 0 than anybody can measure.

    Parameters
    ----------
    value : float
        In `dimension.si`.
    dimension : Dimension
        What kind of quantity it is.

    Returns
    -------
    float
        In `dimension.si`; its size is 0, or between `NOUGHT * dimension.largest` and `dimension.largest`.

    Raises
    ------
    UnitError
        If it is not finite, or larger than any quantity of this trade.

    Examples
    --------
    >>> from simengine.units import LENGTH, within_reason
    >>> within_reason(0.046, LENGTH), within_reason(1e-300, LENGTH)
    (0.046, 0.0)
    """
    if not isfinite(value):
        raise UnitError("must be a finite number")
    if abs(value) > dimension.largest:
        most = readable(dimension.largest, dimension)
        raise UnitError(f"is out of all reason: {dimension.article} is at most {most} here")
    return value if abs(value) >= NOUGHT * dimension.largest else 0.0


def from_si(value: float, unit: str, dimension: Dimension) -> float:
    """Number in a unit of a value in SI.

    Parameters
    ----------
    value : float
        In `dimension.si`.
    unit : str
        In our spelling, as `accepted_unit` gives it.
    dimension : Dimension
        What kind of quantity it is.

    Returns
    -------
    float
        In `unit`.

    Examples
    --------
    >>> from simengine.units import ROTATION_SPEED, from_si
    >>> round(from_si(100.0, "rpm", ROTATION_SPEED), 1)
    954.9
    """
    how = conversion(unit, dimension)
    return (value - how.offset) / how.factor


def readable(value: float, dimension: Dimension, unit: str | None = None) -> str:
    """A value with a unit, for reading.

    Parameters
    ----------
    value : float
        In `dimension.si`.
    dimension : Dimension
        What kind of quantity it is.
    unit : str, optional
        The largest of `dimension.shown` in which the value is 1 or more, if left out.

    Returns
    -------
    str
        Six digits at the most.
    """
    if unit is None:
        sizes = {name: abs(from_si(value, name, dimension)) for name in dimension.shown}
        unit = next((name for name, size in sizes.items() if size >= 1.0), dimension.shown[-1])
        unit = dimension.shown[0] if value == 0.0 else unit
    return f"{from_si(value, unit, dimension):.6g} {unit}".rstrip()
