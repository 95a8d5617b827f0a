"""Accepted units against factors written out by hand.

Source of the factors: NIST Special Publication 811 (2008), appendix B.8 (values from memory). Exact
definitions are written as products of exact numbers; conventional ones (inHg, mmHg) as printed there.
"""

import subprocess
import sys
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine import units
from simengine.units import Dimension, UnitError

FOOT, INCH, POUND, GRAVITY, HOUR = 0.3048, 0.0254, 0.45359237, 9.80665, 3600.0
POUND_FORCE = POUND * GRAVITY
HORSEPOWER = 550 * FOOT * POUND_FORCE

BY_HAND: dict[str, dict[str, float]] = {
    "length": {"m": 1, "cm": 0.01, "mm": 0.001, "km": 1000, "in": INCH, "ft": FOOT, "nmi": 1852},
    "mass": {"kg": 1, "g": 0.001, "lb": POUND, "oz": POUND / 16},
    "time": {"s": 1, "ms": 0.001, "min": 60, "h": HOUR},
    "speed": {
        "m/s": 1,
        "km/h": 1 / 3.6,
        "kt": 1852 / HOUR,
        "mph": 1609.344 / HOUR,
        "ft/min": FOOT / 60,
        "ft/s": FOOT,
    },
    "angle": {"deg": pi / 180, "rad": 1},
    "angular rate": {"deg/s": pi / 180, "rad/s": 1},
    "rotation speed": {"rpm": 2 * pi / 60, "rev/s": 2 * pi, "rad/s": 1},
    "torque": {
        "N*m": 1,
        "N*cm": 0.01,
        "N*mm": 0.001,
        "kgf*m": GRAVITY,
        "kgf*cm": GRAVITY / 100,
        "lbf*ft": POUND_FORCE * FOOT,
        "lbf*in": POUND_FORCE * INCH,
    },
    "force": {"N": 1, "kN": 1000, "kgf": GRAVITY, "lbf": POUND_FORCE},
    "stiffness": {"N/mm": 1000, "N/m": 1, "kgf/mm": 1000 * GRAVITY, "lbf/in": POUND_FORCE / INCH},
    "angular stiffness": {"N*m/rad": 1, "N*m/deg": 180 / pi, "N*mm/deg": 0.18 / pi},
    "angular damping": {"N*m*s/rad": 1, "N*m*s/deg": 180 / pi},
    "temperature": {"degC": 1, "K": 1, "degF": 5 / 9},
    "temperature difference": {"K": 1, "delta_degC": 1, "delta_degF": 5 / 9},
    "pressure": {
        "hPa": 100,
        "Pa": 1,
        "kPa": 1000,
        "bar": 1e5,
        "mbar": 100,
        "inHg": 3386.389,
        "mmHg": 133.3224,
    },
    "stress": {"Pa": 1, "MPa": 1e6, "GPa": 1e9, "N/mm2": 1e6, "psi": POUND_FORCE / INCH**2},
    "density": {"kg/m3": 1, "g/cm3": 1000, "kg/L": 1000, "g/L": 1},
    "area": {"m2": 1, "cm2": 1e-4, "mm2": 1e-6, "ft2": FOOT**2, "in2": INCH**2},
    "section modulus": {"mm3": 1e-9, "cm3": 1e-6, "m3": 1},
    "frequency": {"Hz": 1},
    "volume": {"L": 1e-3, "ml": 1e-6, "cm3": 1e-6, "m3": 1},
    "volume flow": {"L/h": 1e-3 / HOUR, "L/min": 1e-3 / 60, "ml/min": 1e-6 / 60, "m3/s": 1},
    "power": {"W": 1, "kW": 1000, "hp": HORSEPOWER, "PS": 75 * GRAVITY},
    "moment of inertia": {"kg*m2": 1, "kg*cm2": 1e-4, "kg*mm2": 1e-6, "g*m2": 1e-3, "g*cm2": 1e-7},
    "mass per length": {"kg/m": 1, "g/m": 1e-3, "g/cm": 0.1, "g/mm": 1},
    "specific consumption": {
        "g/kWh": 1e-3 / (1000 * HOUR),
        "kg/kWh": 1 / (1000 * HOUR),
        "g/MJ": 1e-9,
        "kg/J": 1,
        "lb/(hp*h)": POUND / (HORSEPOWER * HOUR),
    },
    "fraction": {"%": 0.01, "": 1},
    "number": {"": 1},
}
CONVENTIONAL = {"inHg": 0.0005, "mmHg": 0.00005}  # half a unit of the last printed digit
EVERY_UNIT = [(dimension, unit) for dimension in units.DIMENSIONS for unit in dimension.units]


def test_every_unit_has_a_factor_by_hand() -> None:
    assert {d.name: set(d.units) for d in units.DIMENSIONS} == {d: set(f) for d, f in BY_HAND.items()}


@pytest.mark.parametrize(("dimension", "unit"), EVERY_UNIT, ids=lambda x: getattr(x, "name", x) or "bare")
def test_factor(dimension: Dimension, unit: str) -> None:
    expected = BY_HAND[dimension.name][unit]
    tolerance = CONVENTIONAL.get(unit, 4e-16 * expected)
    assert abs(units.conversion(unit, dimension).factor - expected) <= tolerance


@pytest.mark.parametrize(
    ("value", "unit", "kelvin"),
    [
        (0, "degC", 273.15),
        (24.5, "degC", 297.65),
        (32, "degF", 273.15),
        (212, "degF", 373.15),
        (288.15, "K", 288.15),
    ],
)
def test_temperature_scale(value: float, unit: str, kelvin: float) -> None:
    assert units.to_si(value, unit, units.TEMPERATURE) == pytest.approx(kelvin, abs=1e-12)


@given(st.sampled_from(EVERY_UNIT), st.floats(min_value=-1e6, max_value=1e6))
def test_round_trip(pair: tuple[Dimension, str], value: float) -> None:
    dimension, unit = pair
    back = units.from_si(units.to_si(value, unit, dimension), unit, dimension)
    scale = 300 if dimension is units.TEMPERATURE else 0
    assert back == pytest.approx(value, rel=1e-12, abs=1e-13 * max(scale, 1e-3))


@pytest.mark.parametrize(
    ("typed", "dimension", "unit"),
    [
        ("Nm", units.TORQUE, "N*m"),
        ("N m", units.TORQUE, "N*m"),
        ("N·m", units.TORQUE, "N*m"),
        (" N * m ", units.TORQUE, "N*m"),
        ("ft lbf", units.TORQUE, "lbf*ft"),
        ("Nm/deg", units.ANGULAR_STIFFNESS, "N*m/deg"),
        ("Nm/°", units.ANGULAR_STIFFNESS, "N*m/deg"),
        ("°", units.ANGLE, "deg"),
        ("°C", units.TEMPERATURE, "degC"),
        ("°/s", units.ANGULAR_RATE, "deg/s"),
        ("kg m^2", units.MOMENT_OF_INERTIA, "kg*m2"),
        ("kg·m²", units.MOMENT_OF_INERTIA, "kg*m2"),
        ("kg*m**2", units.MOMENT_OF_INERTIA, "kg*m2"),
        ("kg/m³", units.DENSITY, "kg/m3"),
        ("l", units.VOLUME, "L"),
        ("cc", units.VOLUME, "cm3"),
        ("g/(kW*h)", units.SPECIFIC_CONSUMPTION, "g/kWh"),
        ("g / kWh", units.SPECIFIC_CONSUMPTION, "g/kWh"),
        ("Nms/rad", units.ANGULAR_DAMPING, None),
        ("mm²", units.AREA, "mm2"),
    ],
)
def test_other_spellings(typed: str, dimension: Dimension, unit: str | None) -> None:
    if unit is None:
        with pytest.raises(UnitError):
            units.accepted_unit(typed, dimension)
    else:
        assert units.accepted_unit(typed, dimension) == unit


@pytest.mark.parametrize(
    ("typed", "dimension", "words"),
    [
        ("", units.LENGTH, ["a unit is required", "'46 mm'", "m, cm, mm, km, in, ft, nmi"]),
        ("kg", units.LENGTH, ["'kg' is the unit of a mass, not of a length", "accepted: m, cm"]),
        ("MM", units.LENGTH, ["'MM' is not known", "nearest: 'mm'"]),
        ("Nm", units.LENGTH, ["'Nm' is the unit of a torque, not of a length"]),
        ("degC", units.TEMPERATURE_DIFFERENCE, ["a difference is written in K", "'10 K'"]),
        ("gal", units.VOLUME, ["'gal' is not known for a volume", "L, ml, cm3, m3"]),
        ("lbf/inch", units.STIFFNESS, ["nearest: 'lbf/in'"]),
        ("rpm", units.NUMBER, ["takes no unit"]),
        ("furlong", units.ANGLE, ["for an angle"]),
    ],
)
def test_refusal_says_what_fits(typed: str, dimension: Dimension, words: list[str]) -> None:
    with pytest.raises(UnitError) as caught:
        units.accepted_unit(typed, dimension)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("value", "dimension", "unit", "text"),
    [
        (0.0005, units.LENGTH, None, "0.5 mm"),
        (1.3, units.LENGTH, None, "1.3 m"),
        (0.0, units.LENGTH, "mm", "0 mm"),
        (pi / 2, units.ANGLE, None, "90 deg"),
        (288.15, units.TEMPERATURE, None, "15 degC"),
        (0.97, units.FRACTION, None, "97 %"),
        (2.68, units.NUMBER, None, "2.68"),
        (206e9, units.STRESS, None, "206 GPa"),
        (0.001, units.VOLUME, None, "1 L"),
    ],
)
def test_readable(value: float, dimension: Dimension, unit: str | None, text: str) -> None:
    assert units.readable(value, dimension, unit) == text


@pytest.mark.parametrize("state", ["not a folder", "broken files"])
def test_works_without_a_usable_cache(tmp_path, state: str) -> None:
    """Pint's definition cache may be impossible to write, or hold rubbish."""
    place = tmp_path / "cache"
    if state == "not a folder":
        place.write_text("a file where the folder should be")
    code = "from simengine import units; print(units.to_si(1, 'ft', units.LENGTH))"
    environment = {"SIMENGINE_CACHE_DIR": str(place)}

    def run() -> str:
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
        )
        return done.stdout.strip()

    assert run() == "0.3048"
    if state == "broken files":
        for file in place.rglob("*"):
            if file.is_file():
                file.write_bytes(b"rubbish")
        assert run() == "0.3048"
