"""Cutting a blade into elements."""

from math import radians
from typing import Any

import numpy as np
import pytest
from standard_atmosphere import standard_air

from simengine.models.blade import Blade, build_blade, element_grid
from simengine.models.momentum import rotor_loads

STATIONS: dict[str, Any] = {
    "radius": [0.10, 0.20, 0.35, 0.50, 0.60, 0.65],
    "chord": [0.065, 0.095, 0.098, 0.085, 0.065, 0.040],
    "blade_angle": np.radians([38.0, 26.0, 17.0, 12.5, 10.8, 10.2]),
    "thickness": [0.30, 0.20, 0.15, 0.125, 0.115, 0.11],
    "axis": [0.45, 0.40, 0.36, 0.34, 0.33, 0.33],
}


def blade(**changes: Any) -> Blade:
    """An invented two-blade propeller of 1.3 m."""
    values: dict[str, Any] = {
        "blades": 2,
        "diameter": 1.3,
        "hub_radius": 0.08,
        "section": "flat_bottom",
        "camber": None,
        "reference_station": 0.75,
        "datum": 0.0,
        "elements": 24,
        **STATIONS,
    }
    return build_blade(**(values | changes))


@pytest.mark.parametrize("clustered", [True, False])
@pytest.mark.parametrize("elements", [2, 7, 30])
def test_elements_fill_the_span(elements: int, clustered: bool) -> None:
    middle, width = element_grid(0.1, 0.65, elements, clustered)
    assert width.sum() == pytest.approx(0.55, rel=1e-13)
    assert (middle * width).sum() == pytest.approx(0.5 * (0.65**2 - 0.1**2), rel=1e-12)
    assert (np.diff(middle) > 0.0).all()
    assert middle[0] > 0.1
    assert middle[-1] < 0.65


def test_clustered_elements_sum_a_square_root_at_the_tip_exactly() -> None:
    middle, width = element_grid(0.1, 0.65, 8, clustered=True)
    assert (np.sqrt(0.65 - middle) * width).sum() == pytest.approx(2.0 / 3.0 * 0.55**1.5, rel=1e-13)
    middle, width = element_grid(0.1, 0.65, 8, clustered=False)
    assert (np.sqrt(0.65 - middle) * width).sum() != pytest.approx(2.0 / 3.0 * 0.55**1.5, rel=1e-3)


def test_elements_start_at_the_hub_or_the_first_station() -> None:
    first = blade(elements=400, clustered=False)
    assert first.radius[0] - 0.5 * first.width[0] == pytest.approx(0.10)
    hub = blade(hub_radius=0.12, elements=400, clustered=False)
    assert hub.radius[0] - 0.5 * hub.width[0] == pytest.approx(0.12)


def test_twist_counts_from_the_reference_station() -> None:
    cut = blade(elements=400, clustered=False)
    at_reference = np.interp(0.75 * 0.65, cut.radius, cut.twist)
    assert at_reference == pytest.approx(0.0, abs=1e-5)
    turned = blade(blade_angle=np.array(STATIONS["blade_angle"]) + 0.1)
    assert turned.twist == pytest.approx(blade().twist, abs=1e-14)


def test_quarter_chord_leads_an_axis_behind_it() -> None:
    cut = blade(axis=[0.35] * 6)
    assert cut.axis_lead == pytest.approx(0.10 * cut.chord, rel=1e-12)
    assert blade(axis=[0.25] * 6).axis_lead == pytest.approx(0.0, abs=1e-15)


def test_datum_adds_to_the_blade_angle() -> None:
    air = standard_air(0.0)
    measured = rotor_loads(blade(datum=radians(2.0)), radians(11.0), 250.0, 10.0, air)
    chord_line = rotor_loads(blade(), radians(13.0), 250.0, 10.0, air)
    assert measured.thrust == pytest.approx(chord_line.thrust, rel=1e-12)


@pytest.mark.parametrize(("airspeed", "degrees"), [(0.0, 11.0), (0.0, 18.0), (11.0, 13.0), (20.0, 18.0)])
def test_twenty_four_elements_are_within_a_thousandth(airspeed: float, degrees: float) -> None:
    air = standard_air(0.0)
    coarse = rotor_loads(blade(), radians(degrees), 250.0, airspeed, air)
    fine = rotor_loads(blade(elements=600), radians(degrees), 250.0, airspeed, air)
    assert coarse.thrust == pytest.approx(fine.thrust, rel=1e-3)
    assert coarse.torque == pytest.approx(fine.torque, rel=1e-3)
    assert coarse.air_moment == pytest.approx(fine.air_moment, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"hub_radius": 0.7}, "hub radius must lie"),
        ({"diameter": 1.2}, "beyond the tip"),
        ({"diameter": 1.6}, "add a station at the tip"),
        ({"chord": [0.065, 0.095, 0.0, 0.0, 0.065, 0.04]}, "chord must be above zero"),
        ({"elements": 1}, "at least 2 elements"),
        ({"radius": [0.1, 0.3, 0.2, 0.5, 0.6, 0.65]}, "must rise"),
        ({"section": "plank"}, "is not one of"),
    ],
)
def test_bad_input_says_what_to_change(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        blade(**changes)
