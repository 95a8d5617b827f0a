"""A baseline: what a flight was when it was last agreed, small enough to lie beside its scenario."""

import platform
from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING

from simengine.errors import Problem, ScenarioError
from simengine.results.catalogue import EventKind
from simengine.results.figures import flight_figures
from simengine.results.tolerances import LOOSEST
from simengine.scenario import Scenario
from simengine.studies.check.trace_norm import Samples, sample_times, sampled
from simengine.studies.envelope.points import Wanted

if TYPE_CHECKING:
    import xarray

Value = float | str | None  # a number in the stored unit, a state in words, or what did not happen


@dataclass(frozen=True)
class EventRow:
    """One event.

    Attributes
    ----------
    time : float
        [s].
    kind, phase : str
        What happened, and in which phase by name.
    engine_rpm, blade_angle, height : float
        [rpm], [deg], [m].
    """

    time: float
    kind: str
    phase: str
    engine_rpm: float
    blade_angle: float
    height: float

    @property
    def words(self) -> str:
        """What happened where."""
        return f"{self.kind.replace('_', ' ')} in {self.phase}"


@dataclass(frozen=True)
class Entry:
    """One acceptance.

    Attributes
    ----------
    date, reason, by : str
        When, why and, if given, by whom.
    changes : tuple of str
        What differed in the scenario and in what computed it.
    figures : mapping of str to str
        Figures that moved: before and after, in words.
    """

    date: str
    reason: str
    by: str
    changes: tuple[str, ...]
    figures: Mapping[str, str]


@dataclass(frozen=True)
class Baseline:
    """A flight as agreed.

    Attributes
    ----------
    scenario : str
        Name of the scenario file.
    text, sha256 : str
        The scenario with its layers merged, and its digest.
    computed : mapping of str to str
        Versions, platform, fidelity and solver.
    relative_tolerance : float
        Of the flight.
    figures : mapping of phase to mapping of figure to value
        In stored units.
    envelope : mapping of (figure, height) to value
        Only those that the scenario agrees on.
    events : tuple of EventRow
        In the order of time.
    samples : Samples
        Traces between the events.
    history : tuple of Entry
        Oldest first.
    """

    scenario: str
    text: str
    sha256: str
    computed: Mapping[str, str]
    relative_tolerance: float
    figures: Mapping[str, Mapping[str, Value]]
    envelope: Mapping[Wanted, Value]
    events: tuple[EventRow, ...]
    samples: Samples
    history: tuple[Entry, ...] = ()


def baseline_of(
    scenario: Scenario, dataset: "xarray.Dataset", envelope: Mapping[Wanted, tuple[float, str]]
) -> Baseline:
    """What of a flight goes into a baseline.

    Parameters
    ----------
    scenario : Scenario
        What was flown.
    dataset : xarray.Dataset
        The flight.
    envelope : mapping
        Figures of the envelope by name and height, as `envelope_points` gives them.
    """
    attributes = dataset.attrs
    labels = phase_labels(dataset)
    found = flight_figures(dataset)
    per_phase = len(found) // len(labels)
    figures: dict[str, dict[str, Value]] = {label: {} for label in labels}
    for place, figure in enumerate(found):
        figures[labels[place // per_phase]][figure.name] = value_of(figure.value, figure.words)
    return Baseline(
        scenario=scenario.path.name,
        text=scenario.text,
        sha256=scenario.sha256,
        computed={
            "simengine": str(attributes["simengine_version"]),
            "versions": str(attributes["versions"]),
            "platform": f"{platform.system()} {platform.machine()}",
            "fidelity": str(attributes["fidelity"]),
            "solver": str(attributes["solver"]),
            "seeds": "none: nothing is drawn by chance",
        },
        relative_tolerance=float(attributes["solver_relative_tolerance"]),
        figures=figures,
        envelope={wanted: value_of(*found) for wanted, found in envelope.items()},
        events=event_rows(dataset),
        samples=sampled(dataset, sample_times(dataset["event_time"].values)),
    )


def value_of(value: float, words: str) -> Value:
    """A figure as a baseline holds it."""
    return words or (None if isnan(value) else value)


def phase_labels(dataset: "xarray.Dataset") -> list[str]:
    """Names of the phases, the second of a name with its count."""
    labels: list[str] = []
    names = [str(name) for name in dataset["phase_name"].values]
    for place, name in enumerate(names):
        count = names[: place + 1].count(name)
        labels.append(name if count == 1 else f"{name} ({count})")
    return labels


def event_rows(dataset: "xarray.Dataset") -> tuple[EventRow, ...]:
    """Every event of a flight."""
    kinds, phases = tuple(EventKind), phase_labels(dataset)
    columns = ("event_engine_rpm", "event_blade_angle", "event_height")
    return tuple(
        EventRow(
            float(dataset["event_time"].values[row]),
            str(kinds[int(dataset["event_kind"].values[row])]),
            phases[min(int(dataset["event_phase"].values[row]), len(phases) - 1)],
            *(float(dataset[name].values[row]) for name in columns),
        )
        for row in range(dataset.sizes["event"])
    )


def refuse_loose(scenario: Scenario) -> None:
    """A flight computed too loosely is no measure for later ones.

    Raises
    ------
    ScenarioError
        With what to change.
    """
    tolerance = scenario.record.flight.relative_tolerance
    if tolerance > LOOSEST:
        message = f"{tolerance:g} is too loose for a baseline: write {LOOSEST:g} or less"
        origin = scenario.origins.get("flight.relative_tolerance")
        file, line = (origin.file, origin.line) if origin else (str(scenario.path), None)
        raise ScenarioError([Problem(file, line, "flight.relative_tolerance", message)])
