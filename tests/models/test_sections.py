"""Section coefficients: smoothness and sanity over the whole turn, Reynolds and Mach effect, bad input."""

from math import log10, pi, radians, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray

from simengine.models import sections as kernels
from simengine.models.section_families import (
    FAMILIES,
    build_sections,
    linear_sections,
    with_stall_delay,
    with_wide_chord,
)
from simengine.models.sections import (
    HIGHEST_REYNOLDS,
    KNEE,
    LOWEST_REYNOLDS,
    Sections,
    coefficients,
    section_at,
    section_coefficients,
)

CASES = [(family, thickness) for family in sorted(FAMILIES) for thickness in (0.09, 0.12, 0.30)]


def curves(sections: Sections, angles: NDArray[np.float64], mach: float = 0.3) -> NDArray[np.float64]:
    """Lift, drag and moment, shape (n, 3)."""
    section = section_at(sections, 0, 4.0e5, mach)
    return np.array([coefficients(section, angle) for angle in angles])


@pytest.mark.parametrize(("family", "thickness"), CASES)
@pytest.mark.parametrize("chord_over_radius", [0.0, 0.5])
def test_slope_is_continuous_over_the_whole_turn(
    family: str, thickness: float, chord_over_radius: float
) -> None:
    # With a continuous slope the second difference falls like the square of the step, with a kink only like
    # the step itself: a quarter and a half.
    sections = with_stall_delay(build_sections(family, [thickness]), np.array([chord_over_radius]))
    coarse = np.linspace(-1.1 * pi, 1.1 * pi, 20001)
    fine = np.linspace(-1.1 * pi, 1.1 * pi, 40001)
    ratio = np.abs(np.diff(curves(sections, fine), 2, axis=0)).max(axis=0) / np.abs(
        np.diff(curves(sections, coarse), 2, axis=0)
    ).max(axis=0)
    assert (ratio < 0.3).all()


@pytest.mark.parametrize(("family", "thickness"), CASES)
def test_values_are_sane_over_the_whole_turn(family: str, thickness: float) -> None:
    angles = np.linspace(-pi, pi, 3601)
    cl, cd, cm = curves(build_sections(family, [thickness]), angles).T
    assert np.isfinite([cl, cd, cm]).all()
    assert (cd > 0.0).all()
    assert cd.max() < 2.1  # flat plate broadside on: 1.98, S. F. Hoerner, Fluid-Dynamic Drag (from memory)
    across = cl * np.cos(angles) + cd * np.sin(angles)
    steep = (np.abs(angles) > radians(30.0)) & (np.abs(angles) < radians(150.0))
    assert (np.sign(across[steep]) == np.sign(np.sin(angles[steep]))).all()
    # Nose down where the force has moved behind the quarter chord.
    assert (np.sign(cm[steep]) == -np.sign(np.sin(angles[steep]))).all()


@pytest.mark.parametrize("thickness", [0.06, 0.12, 0.21])
def test_symmetric_section_is_symmetric(thickness: float) -> None:
    angles = np.linspace(0.0, pi, 721)
    sections = build_sections("naca_4digit", [thickness], camber=0.0)
    above, below = curves(sections, angles), curves(sections, -angles)
    assert above[:, 0] == pytest.approx(-below[:, 0], abs=1e-14)
    assert above[:, 1] == pytest.approx(below[:, 1], abs=1e-14)
    assert above[:, 2] == pytest.approx(-below[:, 2], abs=1e-14)


@pytest.mark.parametrize(("family", "thickness"), CASES)
def test_greatest_lift_is_the_parameter(family: str, thickness: float) -> None:
    sections = build_sections(family, [thickness])
    section = section_at(sections, 0, 4.0e5, 0.0)
    assert coefficients(section, section.stall_above).cl == pytest.approx(section.lift_max, rel=1e-12)
    assert coefficients(section, section.stall_below).cl == pytest.approx(section.lift_min, rel=1e-12)
    angles = np.linspace(section.stall_below, section.stall_above, 501)
    assert curves(sections, angles, mach=0.0)[:, 0].max() == pytest.approx(section.lift_max, rel=1e-12)


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_reynolds_number_thins_drag_and_raises_greatest_lift(family: str) -> None:
    sections = build_sections(family, [0.12])
    numbers = np.geomspace(LOWEST_REYNOLDS, HIGHEST_REYNOLDS, 30)
    states = [section_at(sections, 0, number, 0.0) for number in numbers]
    assert (np.diff([state.drag_min for state in states]) < 0.0).all()
    lift = np.diff([state.lift_max for state in states])
    below = numbers[1:] < 10.0**-KNEE * sections.reynolds_reference[0]
    assert (lift[~below] > 0.0).all()
    assert lift[below] == pytest.approx(0.0, abs=1e-14)
    assert (np.diff([state.zero_lift_angle for state in states]) <= 0.0).all()
    assert section_at(sections, 0, 1.0e2, 0.0) == states[0]
    assert section_at(sections, 0, 9.0e6, 0.0) == states[-1]


@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_reynolds_number_bends_no_curve_sharply(family: str) -> None:
    # As over the angle: second differences fall like the square of the step where the slope is continuous.
    sections = build_sections(family, [0.12])
    reference = sections.reynolds_reference[0]
    greatest = [
        np.abs(
            np.diff(
                [
                    section_at(sections, 0, number, 0.2)[:10]
                    for number in reference * np.geomspace(0.5, 2.0, n)
                ],
                2,
                axis=0,
            )
        ).max(axis=0)
        for n in (801, 1601)
    ]
    assert (greatest[1] <= 0.3 * greatest[0] + 1e-12).all()


def test_mach_number_steepens_lift_by_prandtl_glauert() -> None:
    sections = build_sections("flat_bottom", [0.12])
    still = section_at(sections, 0, 5.0e5, 0.0)
    for mach in (0.3, 0.55):
        fast = section_at(sections, 0, 5.0e5, mach)
        assert fast.lift_slope / still.lift_slope == pytest.approx(1.0 / sqrt(1.0 - mach**2), rel=1e-12)
    assert section_at(sections, 0, 5.0e5, 0.9).lift_slope == section_at(sections, 0, 5.0e5, 0.7).lift_slope
    drag = [section_coefficients(sections, 0, 0.02, 5.0e5, mach).cd for mach in (0.5, 0.75, 0.85)]
    assert drag[0] == pytest.approx(section_coefficients(sections, 0, 0.02, 5.0e5, 0.0).cd, rel=0.05)
    assert drag[1] > 1.2 * drag[0]
    assert drag[2] > 2.0 * drag[1]


def test_rotation_gives_lift_back_only_where_stall_took_it() -> None:
    plain = build_sections("flat_bottom", [0.15])
    turning = with_stall_delay(plain, np.array([0.4]))
    angles = np.radians([-30.0, 0.0, 5.0, 20.0, 60.1, 120.0])
    gain = curves(turning, angles)[:, 0] - curves(plain, angles)[:, 0]
    assert gain[3] > 0.3
    assert gain[[0, 1, 2, 4, 5]] == pytest.approx(0.0, abs=1e-14)


def test_little_reynolds_number_takes_lift_away() -> None:
    sections = build_sections("flat_bottom", [0.12])
    zero = [section_at(sections, 0, number, 0.0).zero_lift_angle for number in (2.0e4, 1.0e5, 1.0e6)]
    assert zero[0] - zero[1] == pytest.approx(log10(5.0) * sections.zero_lift_loss[0], rel=1e-12)
    assert zero[2] == sections.zero_lift_angle[0]


@pytest.mark.parametrize("aspect", [0.5, 2.0, 6.0, 20.0, 1e9])
def test_wide_chord_with_the_lifting_line_is_helmbold(aspect: float) -> None:
    # A wing whose lifting line takes CL/(pi A) from the incidence and whose sections have the slope of
    # `with_wide_chord` has the slope of H. B. Helmbold, Der unverwundene Ellipsenfluegel als tragende
    # Flaeche, Jahrbuch der Deutschen Luftfahrtforschung (1942, from memory): two-dimensional for long wings,
    # pi A/2 for short ones (R. T. Jones, NACA Report 835, 1946, from memory).
    plain = linear_sections(1, lift_slope=2.0 * pi)
    slope = section_at(with_wide_chord(plain, np.array([1.0 / aspect])), 0, 1.0e6, 0.0).lift_slope
    whole = slope / (1.0 + slope / (pi * aspect))
    assert whole == pytest.approx(2.0 * pi / (sqrt(1.0 + 4.0 / aspect**2) + 2.0 / aspect), rel=1e-12)
    if aspect > 1e6:
        assert whole == pytest.approx(2.0 * pi, rel=1e-8)
    if aspect == 0.5:
        assert whole == pytest.approx(0.5 * pi * aspect, rel=0.05)


def test_linear_sections_are_linear() -> None:
    sections = linear_sections(1)
    for degrees in (-60.0, -4.0, 0.0, 5.0, 80.0):
        air = section_coefficients(sections, 0, radians(degrees), 1.0e5, 0.6)
        assert air.cl == pytest.approx(5.7 * radians(degrees + 4.0), abs=1e-12)
        assert air.cd == pytest.approx(0.012 + 0.010 * (air.cl - 0.5) ** 2, rel=1e-12)
        assert air.cm == 0.0


def test_thicker_and_more_cambered_sections_go_the_right_way() -> None:
    thick = build_sections("naca_4digit", [0.09, 0.12, 0.24], camber=0.02)
    assert (np.diff(thick.drag_min) > 0.0).all()
    assert thick.lift_max[1] > thick.lift_max[0]
    assert thick.lift_max[1] > thick.lift_max[2]
    bent = [build_sections("naca_4digit", [0.12], camber=camber) for camber in (0.0, 0.02, 0.04)]
    assert bent[0].zero_lift_angle[0] == 0.0
    assert bent[2].zero_lift_angle[0] < bent[1].zero_lift_angle[0] < 0.0
    assert bent[2].moment[0] < bent[1].moment[0] < 0.0
    assert bent[2].lift_min[0] > bent[1].lift_min[0] > bent[0].lift_min[0]


def test_kernel_equals_its_python_source() -> None:
    sections = with_stall_delay(build_sections("flat_bottom", [0.14]), np.array([0.3]))
    section = section_at(sections, 0, 3.0e5, 0.4)
    plain = kernels.section_at.py_func(sections, 0, 3.0e5, 0.4)
    assert plain[:-1] == pytest.approx(section[:-1], rel=1e-14)
    assert plain.polar_pieces.size == section.polar_pieces.size == 0
    for angle in np.linspace(-4.0, 4.0, 97):
        assert kernels.coefficients.py_func(section, angle) == pytest.approx(
            coefficients(section, angle), rel=1e-12, abs=1e-14
        )


@pytest.mark.parametrize(
    ("family", "thickness", "camber", "message"),
    [
        ("round", [0.12], None, "is not one of flat_bottom"),
        ("naca_4digit", [0.0], None, "thickness"),
        ("naca_4digit", [0.7], None, "thickness"),
        ("naca_4digit", [0.12], 0.2, "camber must lie"),
        ("flat_bottom", [0.12], 0.03, "leave camber out"),
    ],
)
def test_bad_input_says_what_to_change(
    family: str, thickness: list[float], camber: float | None, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        build_sections(family, thickness, camber)
