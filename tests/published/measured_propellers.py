"""Measured propellers of known geometry, and the model beside every measured row.

R. W. Deters, G. K. Ananda, M. S. Selig, AIAA 2014-2151 (2014), and J. B. Brandt, M. S. Selig, AIAA 2011-1255
(2011): university test propellers of 5 to 19 in, thrust and torque against advance ratio in a wind tunnel and
at rest. Numbers from the authors' database, second-hand; the headers of the data files say how they came
here.

Three families of sections are told apart, each with one set of assumptions for all its propellers, since the
data hold no sections: the research blades DA, the models NR640 of a full-scale Clark Y propeller, and the
sport propeller.
"""

import csv
from functools import cache
from math import pi
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from standard_atmosphere import standard_air

from simengine.constants import RPM
from simengine.models.blade import Blade, build_blade
from simengine.models.momentum import rotor_loads

DATA = Path(__file__).parent / "data"
FASTEST_SHARE = (
    0.75  # of the greatest rpm of a file: slower runs scatter more and lie below the Reynolds range
)
LIGHT_SHARE = 0.20  # of the static thrust coefficient: below it a share of the thrust means nothing
DATUM_SCATTER = np.radians(1.0)  # nominally equal models differ by this, see the headers of the nr640 files
STATIC_SCATTER = 0.03  # of thrust and power at rest, headers of the data files
ELEMENTS = 24
HUB_SHARE = 0.15  # of the tip radius: hub of all these propellers, where their stations begin further out too


class SectionChoice(NamedTuple):
    """What is assumed of the sections of a family of blades; thickness along the blade, share of chord."""

    section: str
    share: tuple[float, ...]
    thickness: tuple[float, ...]


# Thickness: of the full-scale propeller 5868-9 as remembered (a root that turns into a shank, 0.09 at 0.75
# R); of the research blades and of moulded sport propellers an estimate, common practice.
CHOICES = {
    "DA": SectionChoice("thin_low_reynolds", (0.15, 1.0), (0.09, 0.09)),
    "NR640": SectionChoice(
        "flat_bottom", (0.3, 0.4, 0.5, 0.6, 0.75, 1.0), (0.27, 0.17, 0.13, 0.11, 0.09, 0.08)
    ),
    "sport": SectionChoice("flat_bottom", (0.15, 0.3, 0.75, 1.0), (0.2, 0.14, 0.11, 0.1)),
}


class MeasuredPropeller(NamedTuple):
    """One measured propeller: its files, family, diameter [m] and number of blades."""

    name: str
    family: str
    geometry: str
    performance: str
    diameter: float
    blades: int


NINE_INCH, FIVE_INCH, NINETEEN_INCH = 0.2286, 0.1270, 0.4826  # m
OPEN = (
    ("DA4002 9x6.75", "DA", "da4002_9x6.75_geom", "da4002_9x6.75_2blade_perf", NINE_INCH, 2),
    ("DA4002 9x2.85", "DA", "da4002_9x2.85_geom", "da4002_9x2.85_2blade_perf", NINE_INCH, 2),
    ("DA4022 9x6.75", "DA", "da4022_9x6.75_geom", "da4022_9x6.75_2blade_perf", NINE_INCH, 2),
    ("DA4022 9x6.75, 3 blades", "DA", "da4022_9x6.75_geom", "da4022_9x6.75_3blade_perf", NINE_INCH, 3),
    ("DA4052 9x6.75", "DA", "da4052_9x6.75_geom", "da4052_9x6.75_2blade_perf", NINE_INCH, 2),
    ("NR640 9 in 15 deg", "NR640", "nr640_15deg_geom", "nr640_9in_15deg_2blade_perf", NINE_INCH, 2),
    ("NR640 9 in 15 deg, 3 blades", "NR640", "nr640_15deg_geom", "nr640_9in_15deg_3blade_perf", NINE_INCH, 3),
    ("NR640 5 in 15 deg", "NR640", "nr640_15deg_geom", "nr640_5in_15deg_2blade_perf", FIVE_INCH, 2),
    ("sport 19x12", "sport", "vol1_19x12_geom", "vol1_19x12_perf", NINETEEN_INCH, 2),
)


def open_propellers() -> list[MeasuredPropeller]:
    """Every measured propeller at hand."""
    return [
        MeasuredPropeller(name, family, f"uiuc_{geometry}.csv", f"uiuc_{performance}.csv", diameter, blades)
        for name, family, geometry, performance, diameter, blades in OPEN
    ]


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a data file, its header comments left out."""
    with (DATA / name).open() as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def column(table: list[dict[str, str]], name: str) -> NDArray[np.float64]:
    """One column of a table, shape (n,)."""
    return np.array([float(row[name]) for row in table])


@cache
def measured_rows(propeller: MeasuredPropeller) -> NDArray[np.float64]:
    """J, rpm, CT and CP of the faster runs, shape (n, 4)."""
    table = rows(propeller.performance)
    values = np.column_stack([column(table, name) for name in ("j", "rpm", "ct", "cp")])
    return values[values[:, 1] > FASTEST_SHARE * values[:, 1].max()]


def measured_blade(propeller: MeasuredPropeller, angle_added: float = 0.0) -> tuple[Blade, float]:
    """The blade, and its blade angle at 0.75 R [rad], the whole blade turned by an angle [rad]."""
    choice, stations = CHOICES[propeller.family], rows(propeller.geometry)
    share, chord, angle = (column(stations, name) for name in ("r_over_r_tip", "c_over_r_tip", "beta_deg"))
    tip = 0.5 * propeller.diameter
    blade = build_blade(
        blades=propeller.blades,
        diameter=propeller.diameter,
        hub_radius=HUB_SHARE * tip,
        radius=tip * share,
        chord=tip * chord,
        blade_angle=np.radians(angle),
        thickness=np.interp(share, choice.share, choice.thickness),
        axis=np.full(len(share), 0.25),
        section=choice.section,
        camber=None,
        reference_station=0.75,
        datum=0.0,
        elements=ELEMENTS,
    )
    return blade, float(np.radians(np.interp(0.75, share, angle))) + angle_added


def coefficients(
    blade: Blade, angle: float, turns: NDArray[np.float64], advance: NDArray[np.float64]
) -> NDArray[np.float64]:
    """CT and CP of the model, shape (n, 2); speed [1/s] and advance ratio [1] of shape (n,)."""
    air, diameter = standard_air(0.0), 2.0 * blade.tip_radius
    table = []
    for n, j in zip(turns, advance, strict=True):
        loads = rotor_loads(blade, angle, 60.0 * n * RPM, j * n * diameter, air)
        if loads.status != 0.0:
            raise ValueError(f"an element has no root at J {j:g}")
        force = air.density * n**2 * diameter**4
        table.append((loads.thrust / force, loads.torque * 2.0 * pi / (force * diameter)))
    return np.array(table).reshape(-1, 2)


@cache
def comparison(propeller: MeasuredPropeller, datum: float = 0.0) -> dict[str, NDArray[np.float64]]:
    """Measured and computed coefficients of the faster runs, `datum` [rad] added to the blade angle.

    Keys `j`, `rpm`, `ct`, `ct_model`, `cp`, `cp_model`, each of shape (n,), static rows (`j` 0) included.
    """
    j, rpm, ct, cp = measured_rows(propeller).T
    blade, angle = measured_blade(propeller, datum)
    model = coefficients(blade, angle, rpm / 60.0, j)
    return {"j": j, "rpm": rpm, "ct": ct, "ct_model": model[:, 0], "cp": cp, "cp_model": model[:, 1]}


def datum_from_static_rows(blade: Blade, angle: float, table: NDArray[np.float64]) -> float:
    """Datum [rad] for the static rows among J, rpm, CT, CP of shape (n, 4), see `static_datum`."""
    static = table[table[:, 0] == 0.0]

    def deviation(datum: NDArray[np.float64]) -> NDArray[np.float64]:
        model = coefficients(blade, angle + float(datum[0]), static[:, 1] / 60.0, static[:, 0])
        relative = (model / static[:, 2:] - 1.0).mean(axis=0) / STATIC_SCATTER
        return np.append(relative, datum / DATUM_SCATTER)

    return float(least_squares(deviation, [0.0], bounds=(-0.1, 0.1), diff_step=1e-5).x[0])


@cache
def static_datum(propeller: MeasuredPropeller) -> float:
    """What must be added to the blade angle to meet the static rows best [rad].

    Least squares over mean thrust and power errors at rest, each in shares of the measurements' scatter,
    and the datum itself in shares of what nominally equal models differ by.
    """
    blade, angle = measured_blade(propeller)
    return datum_from_static_rows(blade, angle, measured_rows(propeller))
