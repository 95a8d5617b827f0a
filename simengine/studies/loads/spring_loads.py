"""The spring between its two ends: load, stress, fatigue, and how often the flight works it."""

from dataclasses import dataclass
from math import inf, isnan, nan
from typing import TYPE_CHECKING, Any

import numpy as np

from simengine.models.mechanism import Spring, spring_compression, spring_force
from simengine.models.spring_strength import SpringStrength, disc_strength, helical_strength, torsion_strength
from simengine.models.springs import DiscWasher
from simengine.scenario import records
from simengine.studies.loads.rainflow import rainflow
from simengine.studies.machine import Machine

if TYPE_CHECKING:
    import xarray

HALF_TRAVEL = 0.5  # a stroke counts as a shift from this share of the travel
HOUR = 3600.0
NOTHING = SpringStrength(nan, nan, nan, nan, nan, nan, nan, nan)


@dataclass(frozen=True)
class SpringEnds:
    """Of the whole spring, blades coarse and fine: `compressions` [m, or rad], `loads` [N, or N m]."""

    compressions: tuple[float, float]
    loads: tuple[float, float]


def spring_ends(machine: Machine) -> SpringEnds:
    """Both ends of the stroke; the spring meets the blade only past the lost motion."""
    spring: Spring = machine.aircraft.hub.spring
    travel = machine.coarse_edge - machine.fine_stop
    compressions = (float(spring.preload), float(spring_compression(spring, travel)))
    low, high = (float(spring_force(spring, compression)) for compression in compressions)
    return SpringEnds(compressions, (low, high))


def spring_strength_of(record: records.ScenarioRecord, ends: SpringEnds) -> tuple[SpringStrength, str]:
    """Stress and fatigue of the hub's spring, and what they rest on or why there is none.

    ValueError if the wire or the washer cannot be as described, see `models.spring_strength`.
    """
    hub = record.hub
    if not isinstance(hub, records.TwoStopHub):
        return NOTHING, "the hub has no spring"
    spring = hub.spring
    if isinstance(spring, records.DiscWasherSpring):
        washer = DiscWasher(
            spring.outer_diameter,
            spring.inner_diameter,
            spring.thickness,
            spring.cone_height,
            spring.elastic_modulus,
            spring.poisson_ratio,
        )
        low, high = (compression / spring.series for compression in ends.compressions)
        words = "disc washers, DIN 2092; no endurance data at hand: no life claimed"
        return disc_strength(washer, min(low, high), max(low, high)), words
    wire = wire_of(record, spring)
    if wire is None:
        return NOTHING, "no wire and coil diameter given (loads.spring): no spring stress, no margin claimed"
    more: dict[str, Any] = {
        "wire_diameter": wire[0],
        "mean_diameter": wire[1],
        "tensile_strength": record.loads.spring.tensile_strength,
        "peened": record.loads.spring.peened,
    }
    source = "given tensile strength" if more["tensile_strength"] else "music wire by a printed fit"
    low, high = min(ends.loads), max(ends.loads)
    if isinstance(spring, records.TorsionSpring):
        words = f"bending at the inside of the coil, {source}"
        return torsion_strength(low_moment=low, high_moment=high, **more), words
    words = f"shear with Wahl's factor, {source}, Zimmerli's endurance"
    return helical_strength(low_force=low, high_force=high, **more), words


def wire_of(
    record: records.ScenarioRecord, spring: records.HelicalSpring | records.TorsionSpring
) -> tuple[float, float] | None:
    """Wire and mean coil diameter [m], from the loads block or from the hub."""
    given = record.loads.spring
    if given.wire_diameter is not None and given.mean_diameter is not None:
        return given.wire_diameter, given.mean_diameter
    if isinstance(spring, records.HelicalSpring) and spring.wire is not None:
        return spring.wire.wire_diameter, spring.wire.mean_diameter
    return None


def flown_strokes(flight: "xarray.Dataset") -> tuple[dict[float, float], float]:
    """Counts of the blades' strokes by range [degree, rounded to 0.01] in a flight, and its hours [h]."""
    angles = np.asarray(flight["blade_angle"].values, dtype=np.float64)
    time = np.asarray(flight["time"].values, dtype=np.float64)
    counts: dict[float, float] = {}
    for stroke in rainflow(np.round(angles, 2)):
        if stroke.range > 0.0:
            place = round(stroke.range, 2)
            counts[place] = counts.get(place, 0.0) + stroke.cycles
    return dict(sorted(counts.items(), reverse=True)), float(time[-1] - time[0]) / HOUR


def spring_figures(
    machine: Machine, record: records.ScenarioRecord, flight: "xarray.Dataset"
) -> tuple[dict[str, Any], str]:
    """Variables of the catalogue on the spring, in SI, and what the stress rests on.

    ValueError as `spring_strength_of`.
    """
    strokes, hours = flown_strokes(flight)
    travel = np.degrees(machine.coarse_edge - machine.fine_stop)
    shifts = sum(count for size, count in strokes.items() if size >= HALF_TRAVEL * travel > 0.0)
    ends = spring_ends(machine) if machine.shifts else SpringEnds((nan, nan), (nan, nan))
    strength, words = spring_strength_of(record, ends)
    torsion = machine.shifts and machine.aircraft.hub.spring.lever_arm == 0.0
    none = (nan, nan)
    return {
        "spring_end": ["coarse", "fine"],
        "spring_compression": none if torsion else ends.compressions,
        "spring_windup": ends.compressions if torsion else none,
        "spring_force": none if torsion else ends.loads,
        "spring_moment": ends.loads if torsion else none,
        "spring_stress": (strength.stress_low, strength.stress_high),
        "spring_tensile_strength": strength.tensile_strength,
        "spring_stress_share": strength.share,
        "spring_sines_factor": strength.sines,
        "spring_gerber_factor": strength.gerber,
        "spring_goodman_factor": strength.goodman,
        "spring_strokes_allowed": strength.strokes,
        "stroke": np.arange(len(strokes)),
        "stroke_range": np.radians(list(strokes)),
        "stroke_count": list(strokes.values()),
        "flight_hours": hours * HOUR,
        "shifts_flown": shifts,
        "shifts_per_hour": shifts / (hours * HOUR) if hours > 0.0 else nan,
        "spring_life": life(strength.strokes, shifts, hours) * HOUR,
    }, words


def life(strokes: float, shifts: float, hours: float) -> float:
    """Hours of such flying [h] that use up the class of life; infinite for ever, NaN where none is claimed.

    `strokes` of the class [1]; `shifts` [1] were counted in so many `hours` [h].
    """
    if isnan(strokes) or shifts == 0.0 or hours <= 0.0:
        return inf if shifts == 0.0 and strokes > 0.0 else nan
    return strokes * hours / shifts
