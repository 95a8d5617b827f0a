"""Check one scenario: agreed figures and the baseline, from one flight."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from math import isnan
from typing import TYPE_CHECKING

from simengine import units
from simengine.errors import ScenarioError
from simengine.flight.simulate import simulate
from simengine.results.figures import Figure, flight_figures
from simengine.scenario import Scenario
from simengine.scenario.expect_records import Expectation, phase_names
from simengine.scenario.loader import scenario_of_text
from simengine.studies.check.baseline import Baseline, Entry, baseline_of
from simengine.studies.check.baseline_comparison import (
    ENVELOPE,
    EVENTS,
    NOTHING,
    TRACES,
    Comparison,
    compare,
    shown,
    unit_words,
)
from simengine.studies.envelope.points import Wanted, envelope_points
from simengine.studies.scenario_changes import scenario_changes

if TYPE_CHECKING:
    import xarray

Found = tuple[float, str]


@dataclass(frozen=True)
class Verdict:
    """One agreed figure against what was found.

    Attributes
    ----------
    figure, where, bound, found, margin, reason : str
        In words, with units. `where` is a phase or a height of the envelope; `margin` is positive where there
        is room left, negative where it is exceeded, empty where there is nothing to measure.
    passed : bool
        Whether it holds.
    """

    figure: str
    where: str
    bound: str
    found: str
    margin: str
    reason: str
    passed: bool

    @property
    def name(self) -> str:
        """What is agreed, in one line."""
        return f"{self.where}: {self.figure} {self.bound}"


@dataclass(frozen=True)
class Check:
    """What checking one scenario gave.

    Attributes
    ----------
    scenario : Scenario
        What was checked.
    dataset : xarray.Dataset
        Its flight.
    verdicts : tuple of Verdict
        One for each agreed figure.
    today : Baseline
        What would be stored.
    baseline : Baseline or None
        What is stored.
    comparisons : tuple of Comparison
        Today against the baseline.
    changes : tuple of str
        What differs in scenario and program since the baseline.
    """

    scenario: Scenario
    dataset: "xarray.Dataset"
    verdicts: tuple[Verdict, ...]
    today: Baseline
    baseline: Baseline | None
    comparisons: tuple[Comparison, ...]
    changes: tuple[str, ...]

    @property
    def failed(self) -> tuple[Verdict, ...]:
        """Agreed figures that do not hold."""
        return tuple(verdict for verdict in self.verdicts if not verdict.passed)

    @property
    def moved(self) -> tuple[Comparison, ...]:
        """What is no longer as in the baseline."""
        return tuple(comparison for comparison in self.comparisons if comparison.moved)

    @property
    def passed(self) -> bool:
        """Whether everything agreed holds and nothing moved."""
        return not self.failed and not self.moved


def check(scenario: Scenario, baseline: Baseline | None = None) -> Check:
    """Fly a scenario and hold it against what is agreed.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it.
    baseline : Baseline, optional
        As `read_baseline` gives it.

    Returns
    -------
    Check
        Verdicts on what is agreed, and what moved from the baseline.

    Raises
    ------
    NoSolutionError
        If the flight cannot even begin, or asks for what the machine cannot fly.
    """
    record = scenario.record
    wanted = [(item.figure, item.height) for item in record.expect if item.of_envelope]
    dataset = simulate(scenario)
    envelope = envelope_points(record, wanted)
    verdicts = tuple(
        verdict_on(item, found_of(item, scenario, dataset, envelope), where_of(item, scenario))
        for item in record.expect
    )
    today = baseline_of(scenario, dataset, envelope)
    return held_against(Check(scenario, dataset, verdicts, today, None, (), ()), baseline)


def held_against(checked: Check, baseline: Baseline | None) -> Check:
    """The same flight against another baseline, or against none."""
    if baseline is None:
        return replace(checked, baseline=None, comparisons=(), changes=())
    return replace(
        checked,
        baseline=baseline,
        comparisons=tuple(compare(baseline, checked.today, checked.dataset)),
        changes=changes_since(baseline, checked.today, checked.scenario),
    )


def expected_names(scenario: Scenario) -> list[str]:
    """What each agreed figure is called, before anything is flown."""
    return [
        f"{where_of(item, scenario)}: {item.figure} {bound_words(item)}" for item in scenario.record.expect
    ]


def group_names(baseline: Baseline) -> list[str]:
    """Groups in which a baseline is compared."""
    phases = [f"phase {phase}" for phase in baseline.figures]
    return [*phases, *([ENVELOPE] if baseline.envelope else []), EVENTS, TRACES]


def where_of(item: Expectation, scenario: Scenario) -> str:
    """Phase or height of an agreed figure."""
    if item.height is not None:
        return f"envelope at {units.readable(item.height, units.LENGTH, 'm')}"
    if item.of_envelope:
        return "envelope"
    return phase_names(item.phase, scenario.record.flight.phases)[0]


def found_of(
    item: Expectation,
    scenario: Scenario,
    dataset: "xarray.Dataset",
    envelope: Mapping[Wanted, Found],
) -> Found | None:
    """Value and state found for an agreed figure; None if its phase was not flown."""
    if item.of_envelope:
        return envelope[item.figure, item.height]
    phase = where_of(item, scenario)
    figures: list[Figure] = flight_figures(dataset)
    own = next((f for f in figures if f.phase == phase and f.name == item.figure), None)
    return None if own is None else (own.value, own.words)


# --- verdicts --------------------------------------------------------------------------------------
def verdict_on(item: Expectation, found: Found | None, where: str) -> Verdict:
    """Hold one agreed figure against what was found."""
    variable = item.variable
    bound = bound_words(item)
    if found is None:
        return Verdict(item.figure, where, bound, "phase not flown", "", item.reason, False)
    value, words = found
    if item.state is not None:
        return Verdict(item.figure, where, bound, words, "", item.reason, words == item.state)
    if isnan(value):
        return Verdict(item.figure, where, bound, NOTHING, "", item.reason, False)
    margin = room(item, value / variable.factor) * variable.factor
    return Verdict(
        item.figure,
        where,
        bound,
        shown(value, variable.units),
        f"{margin:+.4g} {unit_words(variable.units)}".rstrip(),
        item.reason,
        margin >= 0.0,
    )


def room(item: Expectation, value: float) -> float:
    """How far a value is inside its bound, SI."""
    if item.at_least is not None:
        return value - item.at_least
    if item.at_most is not None:
        return item.at_most - value
    assert item.value is not None and item.tolerance is not None
    return item.tolerance - abs(value - item.value)


def bound_words(item: Expectation) -> str:
    """What is agreed, without its figure."""
    if item.state is not None:
        return f"is {item.state}"
    unit = item.variable.units

    def words(value: float) -> str:
        return f"{value * item.variable.factor:.6g} {unit_words(unit)}".rstrip()

    if item.at_least is not None:
        return f"at least {words(item.at_least)}"
    if item.at_most is not None:
        return f"at most {words(item.at_most)}"
    return f"{words(item.value or 0.0)} within {words(item.tolerance or 0.0)}"


# --- baselines -------------------------------------------------------------------------------------
def changes_since(baseline: Baseline, today: Baseline, scenario: Scenario) -> tuple[str, ...]:
    """What differs in scenario and program."""
    program = tuple(
        f"{name}: {baseline.computed.get(name, 'not told')} -> {today.computed[name]}"
        for name in ("simengine", "versions", "platform", "fidelity", "solver")
        if baseline.computed.get(name) != today.computed[name]
    )
    return changes_of_text(baseline.text, scenario) + program


def changes_of_text(older: str, scenario: Scenario) -> tuple[str, ...]:
    """What differs in a scenario from the text that a baseline holds."""
    if older == scenario.text:
        return ()
    try:
        before = scenario_of_text(older, "the scenario in the baseline")
    except ScenarioError:
        return ("the scenario: its older text is not read by this version of simengine",)
    return tuple(
        f"{change.path}: {change.first} -> {change.here}" for change in scenario_changes(before, scenario)
    )


def accepted(checked: Check, reason: str, by: str = "", changes: tuple[str, ...] | None = None) -> Baseline:
    """The state of today with the history of the older baseline and an entry of its own.

    Parameters
    ----------
    checked : Check
        What is accepted.
    reason, by : str
        Why, and by whom.
    changes : tuple of str, optional
        In place of those found.
    """
    entry = Entry(
        date=datetime.now(UTC).strftime("%Y-%m-%d %H:%M UTC"),
        reason=reason,
        by=by,
        changes=checked.changes if changes is None else changes,
        figures={
            f"{comparison.group}: {comparison.name}": f"{comparison.before} -> {comparison.now}"
            for comparison in checked.moved
            if comparison.before or comparison.group != "traces"
        },
    )
    older = checked.baseline.history if checked.baseline else ()
    return replace(checked.today, history=(*older, entry))
