"""What a reading may be: its kinds, their units, ranges and usual uncertainties.

Usual uncertainties, ranges and costs are common practice, no source: they stand in where a maker typed none.
"""

from dataclasses import dataclass
from typing import Literal

from simengine import units
from simengine.constants import DEGREE, RPM
from simengine.units import Dimension

PHASES = ("bench", "ground", "climb", "level", "descent")
DIRECTIONS = ("up", "down")
Cost = Literal["bench", "ground run", "flight"]

BENCH = ("bench",)
RUN = ("ground", "climb", "level", "descent")


@dataclass(frozen=True)
class Kind:
    """One kind of reading.

    Attributes
    ----------
    name : str
        As typed under `what`; where a result has a variable of that meaning, its name.
    words : str
        For reports.
    dimensions : tuple of Dimension
        Of the value; the first is the one it is shown in.
    unit : str
        In which it is shown.
    phases : tuple of str
        In which it may be read; the first is taken if none is typed.
    lowest, highest : float
        Beyond these a value is impossible [SI].
    usual : float
        Half-width of the usual 95 % band [SI]; where `relative`, as a share of the value.
    relative : bool
        How `usual` is meant.
    needs : tuple of str
        Columns without which it means nothing.
    """

    name: str
    words: str
    dimensions: tuple[Dimension, ...]
    unit: str
    phases: tuple[str, ...]
    lowest: float
    highest: float
    usual: float
    relative: bool = False
    needs: tuple[str, ...] = ()

    def usual_band(self, value: float) -> float:
        """Half-width of the usual band about a value [SI]."""
        return self.usual * abs(value) if self.relative else self.usual


def engine_speed(name: str, words: str, phases: tuple[str, ...], usual: float, *needs: str) -> Kind:
    """A reading of the tachometer: ENGINE speed."""
    return Kind(
        name, words, (units.ROTATION_SPEED,), "rpm", phases, 300 * RPM, 20000 * RPM, usual * RPM, needs=needs
    )


SHIFT_KINDS = (
    engine_speed("shift_begin_rpm", "shift begins", RUN, 60.0),
    engine_speed("shift_finish_rpm", "shift finishes", RUN, 60.0),
    engine_speed("return_begin_rpm", "return begins", RUN, 60.0),
    engine_speed("return_finish_rpm", "return finishes", RUN, 60.0),
)
CONTACT_KINDS = (
    engine_speed("on_coarse_stop", "coarse light on", RUN, 60.0, "direction"),
    engine_speed("off_stops", "no light on", RUN, 60.0, "direction"),
    engine_speed("on_fine_stop", "fine light on", RUN, 60.0, "direction"),
)
OTHER_KINDS = (
    engine_speed("full_throttle_rpm", "full-throttle rpm", ("ground", "climb"), 50.0),
    engine_speed("level_rpm", "level-flight rpm", ("level",), 60.0),
    Kind(
        "static_thrust", "static thrust", (units.FORCE,), "N", ("ground",), 20.0, 5000.0, 0.03, relative=True
    ),
    Kind(
        "fuel_used",
        "fuel used",
        (units.VOLUME, units.MASS),
        "L",
        ("level", "ground", "climb"),
        1e-6,
        0.1,
        0.1e-3,
        needs=("duration",),
    ),
    Kind("climb_rate", "climb rate", (units.SPEED,), "m/s", ("climb",), -10.0, 15.0, 0.2),
    Kind(
        "blade_angle_coarse",
        "blade angle, coarse stop",
        (units.ANGLE,),
        "deg",
        BENCH,
        -0.1,
        1.4,
        0.2 * DEGREE,
    ),
    Kind("blade_angle_fine", "blade angle, fine stop", (units.ANGLE,), "deg", BENCH, -0.1, 1.4, 0.2 * DEGREE),
    Kind(
        "spring_torque",
        "spring torque",
        (units.TORQUE,),
        "N*m",
        BENCH,
        0.0,
        500.0,
        0.03,
        relative=True,
        needs=("angle", "direction"),
    ),
    Kind("blade_mass", "blade mass", (units.MASS,), "g", BENCH, 0.02, 10.0, 0.002),
    Kind(
        "swing_time_bifilar",
        "swing on two wires",
        (units.TIME,),
        "s",
        BENCH,
        0.05,
        30.0,
        0.005,
        relative=True,
        needs=("wire_length", "half_spacing", "blade_mass"),
    ),
    Kind(
        "swing_time_axis",
        "swing about the pitch axis",
        (units.TIME,),
        "s",
        BENCH,
        0.05,
        30.0,
        0.005,
        relative=True,
        needs=("blade_mass",),
    ),
)
KINDS: dict[str, Kind] = {kind.name: kind for kind in (*SHIFT_KINDS, *CONTACT_KINDS, *OTHER_KINDS)}
