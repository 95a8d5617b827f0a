"""What varies from hub to hub, as distributions, and draws of it that do not depend on how the work is cut.

Draws are points of one scrambled Sobol' sequence, each known by its number: I. M. Sobol', USSR Comput. Math.
Math. Phys. 7 (1967) 86-112; scrambling after A. B. Owen and J. Matousek as in scipy.stats.qmc.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, qmc, triang

from simengine import units
from simengine.scenario import Scenario, records
from simengine.scenario.hub_study_checks import input_of
from simengine.scenario.tolerance_records import (
    BETWEEN_BLADES,
    BLADE_MASS,
    DATUM,
    FRICTION,
    INPUTS,
    Varied,
    half_width,
)
from simengine.scenario.variation import COVERAGE_FACTOR, uncertain_inputs
from simengine.units import Dimension

Array = NDArray[np.float64]

SMALLEST_SHARE = 2.0**-32  # scrambled points lie on a grid of 2^-30: none may stand at the very end
FARTHEST_ANGLE = 0.2  # from the drawing [rad]: what a scenario accepts of a datum; farther is another hub
FARTHEST = 3.0  # half-widths: six standard deviations of a normal distribution
STATED, SCENARIO, USUAL = "stated", "+- of the scenario", "usual, no source"

# Half-widths (two standard deviations) of small-series parts, common practice, no source.
USUAL_INPUTS = {
    "hub.spring.lever_angle": "0.5 deg",
    DATUM: "0.5 deg",
    "hub.spring.rate": "5 %",
    "hub.spring.free_length": "0.2 mm",
    "hub.spring.fitted_compression": "0.05 mm",
    "hub.spring.elastic_modulus": "5 %",
    "hub.spring.preload_angle": "1 deg",
    "hub.spring.wire.shear_modulus": "2 %",
    "hub.spring.wire.wire_diameter": "0.02 mm",
    FRICTION: "30 %",
    BLADE_MASS: "2 %",
}
USUAL_BETWEEN = {"blade_angle": "0.2 deg", BLADE_MASS: "1 %"}


@dataclass(frozen=True)
class Input:
    """One thing that varies.

    Attributes
    ----------
    name : str
        Key path, or the name of a difference between blades.
    value, width : float
        Nominal value and half-width [SI].
    distribution : str
    within : float
        Where a truncated one ends, from the nominal value [SI].
    dimension : Dimension
        For showing it.
    origin : str
        Stated, from a `+-`, or usual.
    blade : int or None
        Number of the blade that it belongs to; None for all of them.
    """

    name: str
    value: float
    width: float
    distribution: str
    within: float
    dimension: Dimension
    origin: str
    blade: int | None = None

    @property
    def farthest(self) -> float:
        """How far from the nominal value a draw may come [SI]."""
        reach = {"normal": FARTHEST * self.width, "truncated": self.within}
        return reach.get(self.distribution, self.width)

    @property
    def deviation(self) -> float:
        """Standard deviation [SI]."""
        if self.distribution == "normal":
            return self.width / COVERAGE_FACTOR
        if self.distribution == "uniform":
            return float(self.width / np.sqrt(3.0))
        if self.distribution == "triangular":
            return float(self.width / np.sqrt(6.0))
        sigma, end = self.width / COVERAGE_FACTOR, COVERAGE_FACTOR * self.within / self.width
        inside = 2.0 * norm.cdf(end) - 1.0
        return float(sigma * np.sqrt(1.0 - 2.0 * end * norm.pdf(end) / inside))

    def values(self, shares: Array) -> Array:
        """Values [SI] at `shares` of the distribution, 0 to 1 [1], both of any shape (...)."""
        if self.distribution == "uniform":
            return self.value + self.width * (2.0 * shares - 1.0)
        if self.distribution == "triangular":
            return np.asarray(triang.ppf(shares, 0.5, self.value - self.width, 2.0 * self.width))
        sigma = self.width / COVERAGE_FACTOR
        if self.distribution == "truncated":
            tail = norm.cdf(-self.within / sigma)
            shares = tail + shares * (1.0 - 2.0 * tail)
        return np.asarray(self.value + sigma * norm.ppf(shares))

    def halved(self) -> "Input":
        """The same held twice as closely."""
        return replace(self, width=0.5 * self.width, within=0.5 * self.within)


def tolerance_inputs(scenario: Scenario) -> tuple[Input, ...]:
    """Everything that varies: as stated, else the scenario's `+-` and usual tolerances for the rest."""
    record = scenario.record
    block = record.tolerance
    common = [input_from(record, varied, STATED) for varied in block.inputs] or usual_inputs(scenario)
    between: list[tuple[Varied | UsualInput, str]] = []
    if block.between_blades:
        between = [(varied, STATED) for varied in block.between_blades]
    elif not block.inputs:
        between = [(UsualInput(name, text), USUAL) for name, text in USUAL_BETWEEN.items()]
    return (*common, *blade_inputs(record, between))


def usual_inputs(scenario: Scenario) -> list[Input]:
    """The scenario's `+-` where it belongs to a hub, usual tolerances for what has none."""
    record = scenario.record
    typed = [item for item in uncertain_inputs(scenario) if item.path in INPUTS]
    found = [
        Input(item.path, item.value, item.plus_minus, "normal", 0.0, item.dimension, SCENARIO)
        for item in typed
    ]
    known = {item.name for item in found}
    friction_known = any(name.startswith("hub.friction.") for name in known)
    for name, text in USUAL_INPUTS.items():
        if name in known or input_of(record, name) is None or (name == FRICTION and friction_known):
            continue
        found.append(input_from(record, UsualInput(name, text), USUAL))
    return found


@dataclass(frozen=True)
class UsualInput:
    """A usual tolerance in the form of a typed one."""

    input: str
    plus_minus: str
    distribution: str = "normal"
    within: None = None


def input_from(record: records.ScenarioRecord, varied: Varied | UsualInput, origin: str) -> Input:
    """A typed input in SI, of an `origin`; ValueError if this hub has none of the kind."""
    found = input_of(record, varied.input)
    if found is None:
        raise ValueError(f"this hub has no {varied.input}")
    value, dimensions = found
    width, within = widths(varied, value, dimensions)
    return Input(varied.input, value, width, varied.distribution, within, dimensions[0], origin)


def widths(
    varied: Varied | UsualInput, value: float, dimensions: tuple[Dimension, ...]
) -> tuple[float, float]:
    """Half-width and end of a distribution about a `value` [SI]."""
    found = []
    for text in (varied.plus_minus, varied.within):
        width = half_width(text, dimensions) if text else None
        found.append(0.0 if width is None else width.value * (abs(value) if width.relative else 1.0))
    return found[0], found[1]


def blade_inputs(
    record: records.ScenarioRecord, between: Sequence[tuple[Varied | UsualInput, str]]
) -> list[Input]:
    """Differences between blades, one for every blade."""
    made = []
    for varied, origin in between:
        dimensions = BETWEEN_BLADES[varied.input]
        nominal = 0.0 if dimensions[0] is units.ANGLE else 1.0
        width, within = widths(varied, 1.0, dimensions)
        made += [
            Input(varied.input, nominal, width, varied.distribution, within, dimensions[0], origin, blade)
            for blade in range(record.propeller.blades)
        ]
    return made


def label(item: Input) -> str:
    """Name for tables and pictures: all blades of a difference go by one."""
    return f"{item.name} between blades" if item.blade is not None else item.name


def groups(inputs: Sequence[Input]) -> dict[str, list[int]]:
    """Places of the inputs that go by one name, in their order."""
    found: dict[str, list[int]] = {}
    for place, item in enumerate(inputs):
        found.setdefault(label(item), []).append(place)
    return found


def shares_from(dimensions: int, start: int, count: int, seed: int) -> Array:
    """Points `start` to `start + count` of the scrambled sequence, shape (count, dimensions).

    A point depends on its number and the seed alone. `start` a multiple of `count`, `count` a power of two.
    """
    sequence = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed))
    if start:
        sequence.fast_forward(start)
    points = np.asarray(sequence.random(count), dtype=np.float64)
    return np.clip(points, SMALLEST_SHARE, 1.0 - SMALLEST_SHARE)
