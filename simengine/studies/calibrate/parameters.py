"""What a fit may change: inputs typed with `+-`, and a usual set with usual uncertainties.

The usual half-widths (95 %) are common practice, no source: what a maker's drawing, scale and protractor, an
engine's brochure and a model of blade sections are good for.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simengine import units
from simengine.constants import DEGREE
from simengine.scenario import Scenario, records
from simengine.scenario.quantities import dimension_of
from simengine.scenario.variation import COVERAGE_FACTOR, uncertain_inputs, value_at
from simengine.studies.calibrate.fit import Prior
from simengine.units import Dimension

Array = NDArray[np.float64]
SECTION_MASS = "propeller.stations.mass_per_length"
MACHINE = ("masses", "fuel", "engine", "drive", "propeller", "installation", "hub", "wing")
WORDS = {
    "hub.spring.preload_angle": "spring preload",
    "hub.spring.fitted_length": "spring preload (fitted length)",
    "hub.spring.free_length": "spring free length",
    "hub.spring.fitted_compression": "spring preload (fitted compression)",
    "hub.spring.rate": "spring rate",
    "hub.spring.wire.shear_modulus": "spring rate (shear modulus)",
    "hub.spring.elastic_modulus": "spring rate (elastic modulus)",
    "hub.friction.constant": "constant friction",
    "hub.friction.bearing_coefficient": "bearing friction",
    "hub.coarse_stop": "coarse stop",
    "hub.fine_stop": "fine stop",
    "propeller.density": "blade mass and inertia",
    SECTION_MASS: "blade mass and inertia",
    "propeller.air_moment_factor": "air twist",
    "propeller.blade_angle_datum": "blade angle datum",
    "engine.torque_factor": "engine torque",
    "engine.consumption_factor": "fuel consumption",
    "installation.drag_area": "drag area",
    "installation.thrust_loss": "thrust loss",
    "installation.inflow_factor": "inflow factor",
    "masses.pilot": "pilot mass",
}


@dataclass(frozen=True)
class Parameter:
    """One value that a fit may change.

    Attributes
    ----------
    path : str
        Key path; for the stations' `mass_per_length` the value is a factor on the whole column.
    value, deviation : float
        Before the fit, and its standard deviation [SI].
    lowest, highest : float
        Limits of the key [SI].
    dimension : Dimension
    usual : bool
        Whether the deviation is the usual one, because none was typed.
    """

    path: str
    value: float
    deviation: float
    lowest: float
    highest: float
    dimension: Dimension
    usual: bool

    @property
    def words(self) -> str:
        """Short name."""
        return WORDS.get(self.path, self.path)


def parameters_of(scenario: Scenario) -> tuple[Parameter, ...]:
    """The usual set, with what was typed in its place, then everything else typed with `+-`."""
    typed = {item.path: item for item in uncertain_inputs(scenario) if of_the_machine(item.path)}
    usual = dict(usual_half_widths(scenario.record))
    found = []
    for path in dict.fromkeys([*usual, *typed]):
        item = typed.get(path)
        if path == SECTION_MASS:
            known = scenario.record.calibration
            band = known.mass_per_length_band if known else None
            deviation = (band or usual[path]) / COVERAGE_FACTOR
            found.append(Parameter(path, 1.0, deviation, 0.1, 10.0, units.NUMBER, band is None))
            continue
        value, dimension, lowest, highest = key_facts(scenario.record, path)
        deviation = item.deviation if item else usual[path] / COVERAGE_FACTOR
        found.append(Parameter(path, value, deviation, lowest, highest, dimension, item is None))
    return tuple(found)


def of_the_machine(path: str) -> bool:
    """Whether a key is one value of the machine, by its `path`: not the day, the flight, or in a list."""
    steps = path.split(".")
    return steps[0] in MACHINE and not any(step.isdigit() for step in steps)


def key_facts(record: records.ScenarioRecord, path: str) -> tuple[float, Dimension, float, float]:
    """Value, dimension and limits, lowest and highest, of a key by its `path`, SI.

    ValueError if it holds no quantity.
    """
    owner_path, _, name = path.rpartition(".")
    owner = value_at(record, owner_path) if owner_path else record
    field = type(owner).model_fields[name]
    dimension = dimension_of(field)
    if dimension is None:
        raise ValueError(f"'{path}' holds no quantity")
    marks = [mark for item in field.metadata for mark in (item, *getattr(item, "metadata", ()))]
    low = [float(getattr(mark, side)) for mark in marks for side in ("ge", "gt") if limit(mark, side)]
    high = [float(getattr(mark, side)) for mark in marks for side in ("le", "lt") if limit(mark, side)]
    value = float(getattr(owner, name))
    tiny = 1e-9 * max(abs(value), 1e-3)
    return value, dimension, max(low, default=-np.inf) + tiny, min(high, default=np.inf) - tiny


def limit(mark: Any, side: str) -> bool:
    """Whether a mark of a field limits it on a side."""
    return getattr(mark, side, None) is not None


def usual_half_widths(record: records.ScenarioRecord) -> Iterator[tuple[str, float]]:
    """Key paths of the usual set with their usual half-widths [SI], for keys that this scenario has."""
    if isinstance(record.hub, records.TwoStopHub):
        hub = record.hub
        yield from spring_half_widths(hub.spring)
        yield "hub.friction.constant", max(hub.friction.constant, 0.1)
        yield "hub.friction.bearing_coefficient", max(hub.friction.bearing_coefficient, 0.002)
        yield "hub.coarse_stop", 0.2 * DEGREE
        yield "hub.fine_stop", 0.2 * DEGREE
    propeller = record.propeller
    if propeller.density is not None:
        yield "propeller.density", 0.1 * propeller.density
    else:
        yield SECTION_MASS, 0.1
    yield "propeller.air_moment_factor", 0.5
    yield "propeller.blade_angle_datum", 1.0 * DEGREE
    yield "engine.torque_factor", 0.1 * record.engine.torque_factor
    yield "engine.consumption_factor", 0.15 * record.engine.consumption_factor
    yield "installation.drag_area", max(0.5 * record.installation.drag_area, 0.1)
    yield "installation.thrust_loss", 0.08
    yield "installation.inflow_factor", 0.1


def spring_half_widths(spring: records.Spring) -> Iterator[tuple[str, float]]:
    """Preload known to 15 % of its moment, rate to 10 %: keys with their half-widths [SI]."""
    if isinstance(spring, records.TorsionSpring):
        yield "hub.spring.preload_angle", 0.15 * max(spring.preload_angle, DEGREE)
        yield "hub.spring.rate", 0.1 * spring.rate
    elif isinstance(spring, records.HelicalSpring):
        yield "hub.spring.fitted_length", 0.15 * (spring.free_length - spring.fitted_length + spring.shims)
        if spring.rate is not None:
            yield "hub.spring.rate", 0.1 * spring.rate
        elif spring.wire is not None:
            yield "hub.spring.wire.shear_modulus", 0.1 * spring.wire.shear_modulus
    else:
        yield "hub.spring.fitted_compression", 0.15 * (spring.fitted_compression + spring.shims)
        yield "hub.spring.elastic_modulus", 0.1 * spring.elastic_modulus


def changes(
    record: records.ScenarioRecord, parameters: tuple[Parameter, ...], values: Array
) -> dict[str, object]:
    """What `with_values` takes to put parameters at their `values`, shape (p,) [SI]."""
    found: dict[str, object] = {}
    for parameter, value in zip(parameters, values, strict=True):
        if parameter.path == SECTION_MASS:
            masses = record.propeller.stations.mass_per_length or ()
            found[parameter.path] = tuple(float(value) * mass for mass in masses)
        else:
            found[parameter.path] = float(value)
    return found


def prior_of(record: records.ScenarioRecord, parameters: tuple[Parameter, ...]) -> Prior:
    """Prior with the correlation of an earlier fit, where the scenario carries one."""
    deviations = np.array([parameter.deviation for parameter in parameters])
    correlation = np.eye(len(parameters))
    known = record.calibration
    if known is not None:
        paths = [parameter.path for parameter in parameters]
        places = [(i, paths.index(path)) for i, path in enumerate(known.parameters) if path in paths]
        for i, place in places:
            for j, other in places:
                correlation[place, other] = known.correlation[i][j]
    return Prior(
        values=np.array([parameter.value for parameter in parameters]),
        factor=deviations[:, None] * square_root(correlation),
        lowest=np.array([parameter.lowest for parameter in parameters]),
        highest=np.array([parameter.highest for parameter in parameters]),
    )


def square_root(correlation: Array) -> Array:
    """A factor S of a `correlation` matrix C, shape (p, p) each, `S S' = C`, by its eigenvectors.

    The matrix may be slightly indefinite, as rounding leaves it.
    """
    if np.array_equal(correlation, np.eye(len(correlation))):
        return correlation
    values, vectors = np.linalg.eigh(correlation)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 1e-12)), dtype=np.float64)
