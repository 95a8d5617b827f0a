import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from simengine.models.interpolation import held_inside, outside, pchip, pchip_value, row_below

CURVES = {
    "rising": ([0.0, 1.0, 2.5, 3.0, 7.0], [0.0, 0.2, 2.0, 2.1, 9.0]),
    "hump": ([400.0, 500.0, 650.0, 720.0, 900.0, 960.0], [10.0, 14.0, 17.5, 17.0, 11.0, 2.0]),
    "flat": ([0.0, 1.0, 2.0, 3.0], [1.0, 1.0, 2.0, 2.0]),
    "zigzag": ([0.0, 0.4, 1.0, 1.1, 3.0, 3.2], [1.0, -2.0, 3.0, 2.0, 5.0, -5.0]),
    "overshooting end": ([0.0, 1.0, 1.1, 2.0], [0.0, 0.1, 5.0, -3.0]),
    "two points": ([1.0, 3.0], [2.0, -4.0]),
}


@pytest.mark.parametrize("name", CURVES)
def test_equal_to_the_library(name):
    x, y = (np.array(column) for column in CURVES[name])
    library, table = PchipInterpolator(x, y), pchip(x, y)
    points = np.linspace(x[0], x[-1], 311)
    ours = np.array([pchip_value(table, point) for point in points])
    assert ours == pytest.approx(library(points), rel=1e-14, abs=1e-14 * np.ptp(y))
    assert table[:, 2] == pytest.approx(library(x, 1), rel=1e-13, abs=1e-13)


def test_equal_to_the_library_on_random_curves():
    generator = np.random.default_rng(7)
    for _ in range(200):
        x = np.cumsum(generator.uniform(0.05, 3.0, 7))
        y = generator.normal(size=7)
        points = np.linspace(x[0], x[-1], 40)
        ours = np.array([pchip_value(pchip(x, y), point) for point in points])
        assert ours == pytest.approx(PchipInterpolator(x, y)(points), abs=1e-13)


def test_straight_with_the_end_slope_outside():
    table = pchip(*CURVES["hump"])
    for end, slope, sign in ((400.0, table[0, 2], -1.0), (960.0, table[-1, 2], 1.0)):
        edge = pchip_value(table, end)
        assert pchip_value(table, end + sign * 50.0) == pytest.approx(edge + sign * 50.0 * slope, rel=1e-13)


def test_one_point_is_a_constant():
    table = pchip([0.0], [3.5])
    assert [pchip_value(table, x) for x in (-1.0, 0.0, 9.0)] == [3.5, 3.5, 3.5]


def test_range_of_a_table():
    table = pchip(*CURVES["hump"])
    assert [bool(outside(table, x)) for x in (399.9, 400.0, 960.0, 960.1)] == [True, False, False, True]
    assert [held_inside(table, x) for x in (0.0, 500.5, 2000.0)] == [400.0, 500.5, 960.0]


def test_row_below_agrees_with_searchsorted():
    points = np.array([0.0, 1.0, 2.5, 3.0])
    for x in (-1.0, 0.0, 0.5, 1.0, 2.9, 3.0, 8.0):
        assert row_below(points, x) == max(np.searchsorted(points, x, side="right") - 1, 0)


@pytest.mark.parametrize(
    ("x", "y", "message"),
    [
        ([1.0, 1.0], [0.0, 1.0], "rise"),
        ([1.0, 0.5], [0.0, 1.0], "rise"),
        ([1.0, 2.0], [0.0], "as many x as y"),
        ([], [], "as many x as y"),
        ([1.0, 2.0], [0.0, float("nan")], "finite"),
    ],
)
def test_refuses_what_is_no_curve(x, y, message):
    with pytest.raises(ValueError, match=message):
        pchip(x, y)


def test_compiled_equals_plain_python():
    table = pchip(*CURVES["zigzag"])
    for x in np.linspace(-1.0, 4.0, 23):
        assert pchip_value(table, x) == pytest.approx(pchip_value.py_func(table, x), rel=1e-15)


def test_the_tiniest_secants_do_not_overflow() -> None:
    # Found by chance cases: a step of 2e-313 between two points made a reciprocal overflow.
    table = pchip([0.1, 0.2, 0.35, 0.5, 0.6, 0.65], [0.0, 0.0, 0.0, 0.0, 2.2250738585e-313, 0.5])
    assert np.isfinite(table).all()
