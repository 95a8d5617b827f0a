"""Quantities as typed, and records built in Python."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from simengine import units
from simengine.scenario import records
from simengine.scenario.quantities import QuantityError, parse_quantity
from simengine.units import Dimension


@pytest.mark.parametrize(
    ("text", "dimension", "value", "plus_minus", "mark"),
    [
        ("46 mm", units.LENGTH, 0.046, None, None),
        ("46mm", units.LENGTH, 0.046, None, None),
        ("-.5e1 mm", units.LENGTH, -0.005, None, None),
        ("46 +- 0.5 mm", units.LENGTH, 0.046, 0.0005, None),
        ("46+-0.5mm", units.LENGTH, 0.046, 0.0005, None),
        ("46 ± 0.5 mm", units.LENGTH, 0.046, 0.0005, None),
        ("46 +/- 0.5 mm, measured", units.LENGTH, 0.046, 0.0005, "measured"),
        ("46 mm,fitted", units.LENGTH, 0.046, None, "fitted"),
        ("24.5 +- 2 degC, assumed", units.TEMPERATURE, 297.65, 2.0, "assumed"),
        ("9 +- 0.9 degF", units.TEMPERATURE, 260.3722222222222, 0.5, None),
        ("60 %", units.FRACTION, 0.6, None, None),
        ("60 +- 5 %", units.FRACTION, 0.6, 0.05, None),
        ("0.6", units.FRACTION, 0.6, None, None),
        ("2.68 +- 0.01", units.NUMBER, 2.68, 0.01, None),
        ("9500 ft", units.LENGTH, 2895.6, None, None),
    ],
)
def test_read(
    text: str, dimension: Dimension, value: float, plus_minus: float | None, mark: str | None
) -> None:
    typed = parse_quantity(text, dimension)
    assert typed.value == pytest.approx(value, rel=1e-14)
    assert typed.plus_minus == (None if plus_minus is None else pytest.approx(plus_minus, rel=1e-14))
    assert typed.mark == mark


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "must be a length, for example '46 mm'"),
        ("mm", "must be a length"),
        ("46", "a unit is required, for example '46 mm'; accepted: m, cm, mm"),
        ("46,5 mm", "write decimals with a point"),
        ("46 mm, mesured", "nearest: 'measured'"),
        ("46 mm +- 0.5 mm", "write the unit once, at the end"),
        ("46 +- -1 mm", "not known for a length"),
        ("1e999 mm", "finite"),
        ("nan mm", "must be a length"),
        ("1_000 mm", "not known for a length"),
        ("46 kg", "'kg' is the unit of a mass"),
        ("12:30", "not known"),
    ],
)
def test_refuse(text: str, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, units.LENGTH)
    assert words in str(caught.value)


@given(st.sampled_from(units.DIMENSIONS), st.data(), st.floats(0, 1e5), st.floats(0, 1e3))
def test_what_is_written_is_read(
    dimension: Dimension, data: st.DataObject, number: float, spread: float
) -> None:
    unit = data.draw(st.sampled_from(list(dimension.units)))
    value, width = units.to_si(number, unit, dimension), spread * units.conversion(unit, dimension).factor
    text = f"{number!r} +- {spread!r} {unit}, measured"
    if max(value, width) > dimension.largest:
        with pytest.raises(QuantityError, match="out of all reason"):
            parse_quantity(text, dimension)
        return
    typed = parse_quantity(text, dimension)
    nought = units.NOUGHT * dimension.largest
    assert typed.value == (value if value >= nought else 0.0)
    assert typed.plus_minus == (width if width >= nought else 0.0)


@pytest.mark.parametrize("dimension", units.DIMENSIONS, ids=lambda dimension: dimension.name)
def test_what_no_part_has_is_refused_and_what_nobody_measures_counts_as_0(dimension: Dimension) -> None:
    unit = dimension.si
    assert parse_quantity(f"{dimension.largest!r} {unit}", dimension).value == dimension.largest
    assert parse_quantity(f"1e-300 {unit}", dimension).value == 0.0
    for text in (f"{1.001 * dimension.largest!r} {unit}", f"-1e300 {unit}", f"1 +- 1e300 {unit}"):
        with pytest.raises(QuantityError, match=f"out of all reason: {dimension.article} is at most"):
            parse_quantity(text, dimension)


def test_a_record_built_in_python_takes_si() -> None:
    counterweight = records.Counterweight(mass=0.025, arm=0.04)
    assert (counterweight.mass, counterweight.angle_from_chord) == (0.025, pytest.approx(1.5707963267948966))
    polar = records.SinkPolar(bar=(0.0, 1.0), speed=(10.0, 14.0), sink=(1.2, 1.9))
    assert polar.speed == (10.0, 14.0)


@pytest.mark.parametrize("mass", [-0.1, float("nan"), float("inf"), True, None, [1.0]])
def test_a_record_built_in_python_is_checked(mass: object) -> None:
    with pytest.raises(ValidationError):
        records.Counterweight(mass=mass, arm=0.04)  # type: ignore[arg-type]


def test_a_record_built_in_python_is_checked_together() -> None:
    with pytest.raises(ValidationError, match="fine_stop"):
        records.SelectedHub(kind="two_stop_selected", name="x", coarse_stop=0.2, fine_stop=0.25)


def test_a_table_built_in_python_is_checked() -> None:
    with pytest.raises(ValidationError, match="different lengths"):
        records.SinkPolar(bar=(0.0, 1.0), speed=(10.0, 14.0), sink=(1.2,))
    with pytest.raises(ValidationError, match="2 to 10,000 rows"):
        records.SinkPolar(bar=(0.0,), speed=(10.0,), sink=(1.2,))
    with pytest.raises(ValidationError, match="larger than in the row before"):
        records.SinkPolar(bar=(0.0, 0.0), speed=(10.0, 14.0), sink=(1.2, 1.9))


def test_records_are_frozen() -> None:
    with pytest.raises(ValidationError):
        records.Drive(reduction=2.68).reduction = 3.0  # type: ignore[misc]
