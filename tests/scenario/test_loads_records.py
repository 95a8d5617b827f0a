from math import pi

import pytest
from pydantic import ValidationError

from simengine.scenario.loads_records import Loads, RootSection, SpringWire, second_moments, section_of


def refused(record, **values):
    with pytest.raises(ValidationError) as caught:
        record(**values)
    return {".".join(map(str, error["loc"])): error["msg"] for error in caught.value.errors()}


def test_a_rectangle():
    root = RootSection(width=0.05, thickness=0.012)
    assert section_of(root) == pytest.approx((0.05 * 0.012, 0.05 * 0.012**2 / 6.0, 0.012 * 0.05**2 / 6.0))
    assert second_moments(root) == pytest.approx((0.05 * 0.012**3 / 12.0, 0.012 * 0.05**3 / 12.0))


def test_a_round():
    assert second_moments(RootSection(diameter=0.03)) == pytest.approx((pi * 0.03**4 / 64.0,) * 2)


def test_given_moduli():
    root = RootSection(area=1e-3, flat_modulus=1e-6, edge_modulus=2e-6)
    assert section_of(root) == (1e-3, 1e-6, 2e-6)


@pytest.mark.parametrize(
    ("values", "place", "words"),
    [
        ({}, "", "needs a shape"),
        ({"width": 0.05}, "thickness", "is required with width"),
        ({"area": 1e-3, "flat_modulus": 1e-6}, "edge_modulus", "is required with area and flat_modulus"),
        ({"width": 0.05, "thickness": 0.01, "diameter": 0.03}, "diameter", "one shape only"),
        (
            {"area": 1e-3, "flat_modulus": 1e-6, "edge_modulus": 1e-6, "elastic_modulus": 1e10},
            "elastic_modulus",
            "leave it out",
        ),
    ],
)
def test_half_a_section_is_refused(values, place, words):
    found = refused(RootSection, **values)
    assert words in found[place]


def test_a_coil_has_both_diameters():
    assert "is required" in refused(SpringWire, wire_diameter=0.004)["mean_diameter"]
    assert "below" in refused(SpringWire, wire_diameter=0.02, mean_diameter=0.01)["wire_diameter"]


@pytest.mark.parametrize("values", [{"overspeed_factor": 0.9}, {"strokes": 3}, {"flap_frequency": 0.0}])
def test_ranges(values):
    assert refused(Loads, **values)
