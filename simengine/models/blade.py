"""A blade cut into elements, from root to tip."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.compiled import kernel
from simengine.models.interpolation import pchip, pchip_value
from simengine.models.lane_table import KNOWN, TABLE_SIZE, WORK_SIZE, lane_table
from simengine.models.polar_tables import polar_sections
from simengine.models.polars import Polar
from simengine.models.section_families import build_sections, with_stall_delay, with_wide_chord
from simengine.models.sections import QUARTER_CHORD, Sections

Inflow = NDArray[np.float64]  # workspace of all turns of the vector loops

SHORTEST_REACH = 0.9  # share of the tip radius that the last station must reach
RADIUS_TOLERANCE = 1.0e-6  # m


class Blade(NamedTuple):
    """Blades of a propeller as the aerodynamics see them.

    Attributes
    ----------
    blades : float
        Number of blades [1].
    tip_radius, hub_radius : float
        [m].
    hub_loss, tip_loss : float
        1 with the loss of lift at that end of the blade, 0 without [1].
    datum : float
        Chord line against the face that the blade angle is read from [rad].
    radius, width : NDArray
        Place and radial width of the elements as `element_grid` gives them, shape (n,) [m].
    chord : NDArray
        Shape (n,) [m].
    twist : NDArray
        Blade angle minus that at the reference station, shape (n,) [rad].
    axis_lead : NDArray
        How far the quarter chord lies ahead of the pitch axis, shape (n,) [m].
    sections : Sections
        Section of each element.
    lanes : NDArray
        The same laid out for the vector loops, see `with_lanes`; shape (turns, TABLE_SIZE), empty for none.
    """

    blades: float
    tip_radius: float
    hub_radius: float
    hub_loss: float
    tip_loss: float
    datum: float
    radius: NDArray[np.float64]
    width: NDArray[np.float64]
    chord: NDArray[np.float64]
    twist: NDArray[np.float64]
    axis_lead: NDArray[np.float64]
    sections: Sections
    lanes: NDArray[np.float64] = np.empty((0, TABLE_SIZE))


@kernel
def nothing_known(blade: Blade) -> Inflow:
    """Room for the inflow that one point hands on to the next, of shape (turns, WORK_SIZE), still empty.

    One turn where the blade has no table for the vector loops.
    """
    inflow = np.empty((max(len(blade.lanes), 1), WORK_SIZE))
    for turn in range(len(inflow)):
        inflow[turn, KNOWN] = 0.0
    return inflow


def with_lanes(blade: Blade) -> Blade:
    """The blade with its table for the vector loops made anew, after any other field was replaced.

    A blade whose table is of another shape, or of sections of another zero-lift angle, lift slope, greatest
    lift, least drag or moment at any element, is still computed rightly, only slowly: `fresh` finds out. This
    must be called after another field of the sections was replaced.
    """
    if len(blade.sections.polar.lines):
        return blade._replace(lanes=np.empty((0, TABLE_SIZE)))
    columns = {name: getattr(blade, name) for name in ("radius", "chord", "twist")}
    shape = (blade.blades, blade.tip_radius, blade.hub_radius, blade.tip_loss, blade.hub_loss)
    return blade._replace(lanes=lane_table(shape, columns | blade.sections._asdict()))


def build_blade(
    *,
    blades: int,
    diameter: float,
    hub_radius: float,
    radius: ArrayLike,
    chord: ArrayLike,
    blade_angle: ArrayLike,
    thickness: ArrayLike,
    axis: ArrayLike,
    section: str,
    camber: float | None,
    polar: Polar | None = None,
    reference_station: float,
    datum: float,
    elements: int,
    hub_loss: bool = True,
    clustered: bool = True,
) -> Blade:
    """Blade elements from stations.

    Parameters
    ----------
    blades : number of blades
    diameter, hub_radius : [m]
    radius : stations from root to tip, rising, shape (n,) [m]
    chord : shape (n,) [m]
    blade_angle : at any setting, only its change along the blade counts, shape (n,) [rad]
    thickness : share of the chord, shape (n,) [1]
    axis : where the pitch axis crosses the chord, from the leading edge, share of the chord, shape (n,) [1]
    section, camber : section family, see `build_sections`
    polar : the user's own section in place of the family, see `build_polar`
    reference_station : where the blade angle is measured, share of the tip radius [1]
    datum : chord line against the measured face [rad]; 2 deg for the flat face of a `flat_bottom` section of
        12 % thickness
    elements : number of elements
    hub_loss : whether lift falls off toward the hub as it does toward the tip
    clustered : see `element_grid`

    Raises
    ------
    ValueError
        If the stations do not rise, do not reach the tip or go beyond it, or a value is out of range.
    """
    tip = 0.5 * diameter
    check_stations(radius, hub_radius, tip)
    points, width = element_grid(max(hub_radius, float(np.min(radius))), tip, elements, clustered)
    chords = along_blade(radius, chord, points)
    if not (chords > 0.0).all():
        raise ValueError("the chord must be above zero at every station")
    reference = along_blade(radius, blade_angle, np.array([reference_station * tip]))
    shares = along_blade(radius, thickness, points)
    sections = build_sections(section, shares, camber) if polar is None else polar_sections(polar, shares)
    blade = Blade(
        blades=float(blades),
        tip_radius=tip,
        hub_radius=hub_radius,
        hub_loss=float(hub_loss),
        tip_loss=1.0,
        datum=datum,
        radius=points,
        width=width,
        chord=chords,
        twist=along_blade(radius, blade_angle, points) - reference,
        axis_lead=(along_blade(radius, axis, points) - QUARTER_CHORD) * chords,
        sections=with_stall_delay(with_wide_chord(sections, chords / tip), chords / points),
    )
    return with_lanes(blade)


def check_stations(radius: ArrayLike, hub_radius: float, tip_radius: float) -> None:
    """Refuse stations that do not cover the blade.

    `radius` of the stations, shape (n,) [m]; `hub_radius` and `tip_radius` [m].

    Raises
    ------
    ValueError
        Unless the hub radius lies between 0 and the tip radius, and the last station between 0.9 of the tip
        radius and the tip.
    """
    stations = np.asarray(radius, dtype=np.float64)
    if not 0.0 < hub_radius < tip_radius:
        raise ValueError(f"the hub radius must lie between 0 and the tip radius, {tip_radius:g} m")
    if stations.max() > tip_radius + RADIUS_TOLERANCE:
        raise ValueError(
            f"the last station, {stations.max():g} m, lies beyond the tip, {tip_radius:g} m: "
            "correct the diameter or the station"
        )
    if stations.max() < SHORTEST_REACH * tip_radius:
        raise ValueError(
            f"the last station, {stations.max():g} m, is too far from the tip, {tip_radius:g} m: "
            "add a station at the tip"
        )


def element_grid(
    inner: float, outer: float, elements: int, clustered: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places and widths of the elements between radii `inner` and `outer` [m], shape (elements,) each [m].

    Equal elements, each with its middle; or, `clustered`, points and weights of Gauss and Legendre in the
    square root of the distance from the tip: there the loading falls like that square root, and equal
    elements converge slowly.

    Raises
    ------
    ValueError
        If there are less than 2 `elements`.
    """
    if elements < 2:
        raise ValueError("a blade needs at least 2 elements")
    span = outer - inner
    if not clustered:
        width = np.full(elements, span / elements)
        return inner + (np.arange(elements) + 0.5) * width, width
    points, weights = np.polynomial.legendre.leggauss(elements)
    depth = 0.5 * (1.0 - points)  # square root of the share of the span left to the tip
    return outer - span * depth**2, span * depth * weights


def along_blade(radius: ArrayLike, values: ArrayLike, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Values at `points`, shape (m,), of the curve through `values` at stations `radius`, shape (n,) each.

    Radius and points [m]; `pchip`, held beyond the first and the last station. ValueError as `pchip`.
    """
    table = pchip(radius, values)
    inside = np.clip(points, table[0, 0], table[-1, 0])
    return np.array([pchip_value(table, point) for point in inside])
