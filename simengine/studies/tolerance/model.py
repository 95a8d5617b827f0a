"""From draws to hubs to figures to a verdict: inside the limits, or not, or with other washers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simengine.balance.shift_tables import FIGURES as COMPUTED
from simengine.constants import RPM
from simengine.errors import Problem, ScenarioError
from simengine.scenario import Scenario, records
from simengine.scenario.tolerance_records import DATUM, Limit
from simengine.studies.shift_evaluator import Place, ShiftEvaluator, equal_blades, shift_evaluator
from simengine.studies.tolerance.hub_rows import two_stop, varied_rows
from simengine.studies.tolerance.inputs import FARTHEST_ANGLE, Input

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Names in scenario and result, and those of the kernel.
COLUMNS = {
    "shift_begin_rpm": "shift_begin",
    "shift_finish_rpm": "shift_finish",
    "return_begin_rpm": "return_begin",
    "return_finish_rpm": "return_finish",
    "full_throttle_rpm": "full_throttle",
    "shift_margin_rpm": "margin_speed",
    "shift_margin_moment": "margin_moment",
    "shift_drive": "drive",
    "full_throttle_blade_angle": "blade_angle",
    "begin_spread_rpm": "begin_spread",
    "finish_spread_rpm": "finish_spread",
}
BLADE_COLUMN = {"blade_angle": 0, "spring_force": 1, "blade_mass": 2, "friction": 3}
BLADE_ANGLES = ("hub.coarse_stop", "hub.fine_stop", DATUM, "blade_angle")
WASHERS = "hub.spring.washers"
NONE_FITS = -1  # no number of washers brings the hub in


@dataclass(frozen=True)
class Criterion:
    """A band of one figure in some of the places; SI, engine speeds."""

    figure: str
    places: tuple[int, ...]
    at_least: float
    at_most: float
    words: str

    def holds(self, figures: Array) -> Flags:
        """Whether hubs are inside, shape (places, n); places it does not speak of count as inside.

        `figures` of shape (places, n, figures), SI.
        """
        inside = np.ones(figures.shape[:2], dtype=bool)
        column = figures[..., COMPUTED.index(COLUMNS[self.figure])]
        for place in self.places:
            inside[place] = (column[place] >= self.at_least) & (column[place] <= self.at_most)
        return inside


@dataclass(frozen=True)
class ToleranceModel:
    """Everything that turns shares of the distributions into figures and verdicts.

    Attributes
    ----------
    record : ScenarioRecord
    inputs : tuple of Input
    evaluator : ShiftEvaluator
    places : tuple of Place
    criteria : tuple of Criterion
    measured_washers : int
        The most under any measured spring.
    """

    record: records.ScenarioRecord
    inputs: tuple[Input, ...]
    evaluator: ShiftEvaluator
    places: tuple[Place, ...]
    criteria: tuple[Criterion, ...]
    measured_washers: int = 0

    def values(self, shares: Array, inputs: Sequence[Input] | None = None) -> Array:
        """Values of the inputs [SI] at `shares` of their distributions [1], shape (n, inputs) each."""
        chosen = self.inputs if inputs is None else inputs
        columns = [item.values(shares[:, place]) for place, item in enumerate(chosen)]
        return np.column_stack(columns) if columns else np.empty((shares.shape[0], 0))

    def figures(self, values: Array, washers: int | None = None) -> Array:
        """Figures of hubs, shape (places, n, figures); `washers` instead of the drawing's own.

        `values` of the inputs, shape (n, inputs) [SI].
        """
        common = {item.name: values[:, place] for place, item in enumerate(self.inputs) if item.blade is None}
        if washers is not None:
            common[WASHERS] = np.full(values.shape[0], float(washers))
        rows, errors = varied_rows(self.record, common or {DATUM: self.own_datum(values.shape[0])})
        blades = self.blades(values, errors)
        rows[(blades[..., 1:] < 0.0).any(axis=(1, 2))] = np.nan  # no spring, blade or bearing is like that
        return self.evaluator.figures(rows, blades)

    def own_datum(self, count: int) -> Array:
        """The scenario's datum for every one of a `count` of hubs, shape (count,) [rad]."""
        return np.full(count, self.record.propeller.blade_angle_datum)

    def blades(self, values: Array, errors: Array) -> Array:
        """Differences of the blades, shape (n, blades, 4).

        `values` of the inputs, shape (n, inputs) [SI]; blade angle `errors` of whole hubs, shape (n,) [rad].
        """
        own = [(place, item) for place, item in enumerate(self.inputs) if item.blade is not None]
        blades = equal_blades(values.shape[0], self.record.propeller.blades if own else 1)
        blades[..., 0] = errors[:, None]
        for place, item in own:
            column = BLADE_COLUMN[item.name]
            if column == 0:
                blades[:, item.blade, 0] += values[:, place]
            else:
                blades[:, item.blade, column] *= values[:, place]
        return blades

    def inside(self, figures: Array) -> Flags:
        """Whether hubs meet every criterion of a place, shape (places, n); `figures` (places, n, figures)."""
        inside = np.ones(figures.shape[:2], dtype=bool)
        for criterion in self.criteria:
            inside &= criterion.holds(figures)
        return inside

    @property
    def own_washers(self) -> int | None:
        """Washers of the drawing; None for a spring without."""
        spring = two_stop(self.record).spring
        return None if isinstance(spring, records.TorsionSpring) else spring.washers

    @property
    def most_washers(self) -> int:
        """Largest number of washers tried, which takes in the drawing's and any measured."""
        return max(self.record.tolerance.most_washers, self.own_washers or 0, self.measured_washers)

    def counted_washers(self, values: Array, own: int) -> NDArray[np.int16]:
        """Washers under each spring: as measured, among the `values`, or the drawing's `own`, shape (n,)."""
        names = [item.name for item in self.inputs]
        if WASHERS in names:
            return np.asarray(values[:, names.index(WASHERS)], dtype=np.int16)
        return np.full(values.shape[0], own, dtype=np.int16)

    def washers_to_fit(self, values: Array, inside: Flags) -> NDArray[np.int16]:
        """Washers nearest to the drawing's that bring each hub in, NONE_FITS where none do, shape (n,)."""
        own = self.own_washers
        good = inside.all(axis=0)
        fitted = np.full(good.size, NONE_FITS, dtype=np.int16)
        if own is None:
            fitted[good] = 0
            return fitted
        fitted[good] = self.counted_washers(values, own)[good]
        counts = sorted(range(self.most_washers + 1), key=lambda n: (abs(n - own), n))
        for count in counts:
            left = np.flatnonzero(fitted == NONE_FITS)
            if left.size == 0:
                break
            figures = self.figures(values[left], count)
            fitted[left[self.inside(figures).all(axis=0)]] = count
        return fitted


def tolerance_places(record: records.ScenarioRecord, own_offset: float, mass: float) -> tuple[Place, ...]:
    """Heights in flight on the scenario's own day and mass, and the ground.

    `own_offset` is the day's temperature offset [K], `mass` the all-up mass [kg].
    """
    block = record.tolerance
    flights = [Place(height, own_offset, mass) for height in block.heights]
    ground = [Place(record.site.height, own_offset, mass, ground=True)] if block.ground else []
    return (*flights, *ground)


def tolerance_model(
    scenario: Scenario,
    inputs: tuple[Input, ...],
    places: tuple[Place, ...],
    values: Array | None = None,
) -> ToleranceModel:
    """Tables and criteria of a scenario; `values` of measured hubs widen the tables where they must.

    Raises
    ------
    ScenarioError
        If blade angles scatter so far that each draw is another hub.
    """
    record = scenario.record
    hub = two_stop(record)
    refuse_wide_angles(scenario, inputs)
    reach = angle_reach(inputs, values)
    evaluator = shift_evaluator(record, places, hub.fine_stop - reach, hub.coarse_stop + reach)
    criteria = criteria_of(record, places)
    washers = most_measured_washers(inputs, values)
    return ToleranceModel(record, inputs, evaluator, places, criteria, washers)


def most_measured_washers(inputs: Sequence[Input], values: Array | None) -> int:
    """The most washers under any measured spring; 0 where none are measured."""
    names = [item.name for item in inputs]
    if values is None or WASHERS not in names:
        return 0
    return int(values[:, names.index(WASHERS)].max())


def refuse_wide_angles(scenario: Scenario, inputs: Sequence[Input]) -> None:
    """Refuse blade angles that would scatter so far that each draw is another hub.

    Raises
    ------
    ScenarioError
    """
    problems = []
    for item in inputs:
        if item.name in BLADE_ANGLES and item.farthest > FARTHEST_ANGLE:
            far, most = np.degrees(item.farthest), np.degrees(FARTHEST_ANGLE)
            message = f"scatters by up to {far:.3g} deg; accepted: up to {most:.3g} deg from the drawing"
            problems.append(Problem(str(scenario.path), None, item.name, message))
    if problems:
        raise ScenarioError(problems)


def angle_reach(inputs: Sequence[Input], values: Array | None = None) -> float:
    """How far blade angles may lie outside the nominal stops [rad].

    By the inputs' distributions, and by measured `values`, shape (n, inputs) [SI].
    """
    reach, between = 0.002, 0.0
    for place, item in enumerate(inputs):
        if item.name not in BLADE_ANGLES:
            continue
        farthest = item.farthest if values is None else float(np.abs(values[:, place] - item.value).max())
        if item.blade is None:
            reach += farthest
        else:
            between = max(between, farthest)
    return reach + between


def criteria_of(record: records.ScenarioRecord, places: Sequence[Place]) -> tuple[Criterion, ...]:
    """The limits as stated, or those that go without saying."""
    stated = record.tolerance.limits
    if stated:
        return tuple(criterion(limit, places) for limit in stated)
    flights = tuple(place for place, each in enumerate(places) if not each.ground)
    everywhere = tuple(range(len(places)))
    idle, limit = record.engine.idle_speed, record.engine.speed_limit
    return (
        Criterion("shift_drive", flights, 0.0, np.inf, "the shift finishes"),
        Criterion(
            "full_throttle_rpm", everywhere, -np.inf, limit, f"full throttle up to {limit / RPM:.0f} rpm"
        ),
        Criterion(
            "return_finish_rpm", flights, idle, np.inf, f"back on coarse above idle, {idle / RPM:.0f} rpm"
        ),
    )


def criterion(limit: Limit, places: Sequence[Place]) -> Criterion:
    """One stated limit."""
    ground = limit.where == "ground"
    where = tuple(
        place
        for place, each in enumerate(places)
        if each.ground == ground and (ground or not limit.heights or each.height in limit.heights)
    )
    at_least = -np.inf if limit.at_least is None else limit.at_least
    at_most = np.inf if limit.at_most is None else limit.at_most
    return Criterion(limit.figure, where, at_least, at_most, limit_words(limit))


def limit_words(limit: Limit) -> str:
    """A limit for tables."""
    from simengine import units
    from simengine.scenario.tolerance_records import FIGURES

    dimension = FIGURES[limit.figure]
    ends = [
        f"{words} {units.readable(end, dimension)}"
        for words, end in (("at least", limit.at_least), ("at most", limit.at_most))
        if end is not None
    ]
    if limit.where == "ground":
        where = " on the ground"
    else:
        where = f" at {', '.join(f'{height:.0f} m' for height in limit.heights)}" if limit.heights else ""
    return f"{limit.figure} {' and '.join(ends)}{where}"
