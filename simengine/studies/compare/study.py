"""Several flights beside one another: every figure, trace and event against those of the first."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from math import nan
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.execution.progress import Progress
from simengine.results import compare_catalogue as catalogue
from simengine.results.catalogue import PHASES, STUDY, Variable
from simengine.results.compare_catalogue import DIFFERENCE, VERDICT, ChangeKind
from simengine.results.dataset import stored
from simengine.studies.compare.align import (
    AlignedEvent,
    AlignedPhase,
    Traces,
    aligned_events,
    aligned_phases,
    aligned_traces,
    event_values,
)
from simengine.studies.compare.cases import Case, changes_of, fly_cases, refuse_unlike
from simengine.studies.compare.verdicts import verdicts
from simengine.studies.scenario_changes import Change

if TYPE_CHECKING:
    from collections.abc import Callable

Array = NDArray[np.float64]
Variables = dict[str, xarray.Variable]

ALIGNMENT = (
    "phases side by side; in each the time since the phase began; straight lines between recorded rows; "
    "nothing where a phase is over"
)
SAMENESS = (
    "same: differs by no more than the errors of both solvers, measured by flying with a tighter tolerance"
)
PER_CASE = ("case",)


def compare(
    cases: Sequence[Case],
    *,
    fidelity: str | None = None,
    envelope: bool = False,
    unlike: bool = False,
    command: str = "",
    before_computing: "Callable[[], None] | None" = None,
    progress: Progress | None = None,
) -> xarray.Dataset:
    """Fly and compare.

    Parameters
    ----------
    cases : sequence of Case
        As `read_cases` gives them; the first is what the others are held against.
    fidelity : {"dynamic", "steady"}, optional
        Of what is flown, instead of the scenarios' own.
    envelope : bool
        Find the ceilings too, each at the scenario's own mass and day, and compare them.
    unlike : bool
        Compare flights that differ in more than the machine.
    command : str
        What the user typed, for the file's history.
    before_computing : callable, optional
        Called once everything that was named is found good.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.

    Returns
    -------
    xarray.Dataset
        Dimensions `case`, `phase`, `sample`, `event`, `change`; see `simengine.results.compare_catalogue`.

    Raises
    ------
    ScenarioError
        If the flights are not alike.
    NoSolutionError
        A flight that cannot begin.
    """
    changes = changes_of(cases, fidelity)
    if not unlike:
        refuse_unlike(cases, changes)
    if before_computing:
        before_computing()
    flights_share = 0.3 if envelope else 1.0
    flown = fly_cases(cases, fidelity, command, scaled(progress, 0.0, flights_share))
    if envelope:
        flown = with_ceilings(flown, scaled(progress, flights_share, 1.0))
    return compared(flown, changes, command)


def scaled(progress: Progress | None, start: float, end: float) -> Progress | None:
    """Progress of a part of the work."""
    if progress is None:
        return None
    return lambda share, words: progress(start + share * (end - start), words)


def with_ceilings(cases: Sequence[Case], progress: Progress | None) -> list[Case]:
    """Every case with its ceilings; one above the heights searched stands at their top."""
    from simengine.studies.envelope.points import EnvelopePoints

    done = 0

    def found(case: Case) -> Case:
        nonlocal done
        points = EnvelopePoints(case.scenario.record)
        ceilings = {v.name: points.figure(v.name, None)[0] for v in catalogue.CEILINGS}
        done += 1
        if progress:
            progress(done / len(cases), f"ceilings of {case.name}")
        return replace(case, ceilings=ceilings)

    with ThreadPoolExecutor() as pool:
        return list(pool.map(found, cases))


def compared(cases: Sequence[Case], changes: Sequence[Sequence[Change]], command: str = "") -> xarray.Dataset:
    """Put flights that are flown beside one another."""
    datasets = [case.flight for case in cases]
    phases = aligned_phases(datasets, [case.scenario.record.flight for case in cases])
    events = aligned_events(datasets, phases)
    data: Variables = {}
    data |= case_variables(cases)
    data |= figure_variables(cases, phases)
    data |= trace_variables(aligned_traces(datasets, phases))
    data |= event_variables(datasets, events, phases)
    data |= change_variables(changes)
    data |= ceiling_variables(cases)
    case_names = data.pop("case")
    return xarray.Dataset(data, coords={"case": case_names}, attrs=attributes(cases, changes, command))


def relative_tolerances(cases: Sequence[Case]) -> list[float]:
    """Of every flight's solver [1]."""
    return [float(case.flight.attrs["solver_relative_tolerance"]) for case in cases]


def case_variables(cases: Sequence[Case]) -> Variables:
    """What each case is."""
    texts = {
        "case": [case.name for case in cases],
        "case_file": [case.reference for case in cases],
        "case_scenario": [case.scenario.text for case in cases],
        "case_scenario_sha256": [case.scenario.sha256 for case in cases],
    }
    from_flight = {
        "case_title": "title",
        "case_fidelity": "fidelity",
        "case_outcome": "outcome",
        "case_hub_kind": "hub_kind",
        "case_version": "simengine_version",
        "case_model_limits": "model_limits",
    }
    for name, attribute in from_flight.items():
        texts[name] = [str(case.flight.attrs.get(attribute, "")) for case in cases]
    found = {v.name: stored(v, PER_CASE, texts[v.name]) for v in catalogue.CASE_TEXTS}
    numbers = {
        variable.name: [float(case.flight[variable.name].values) for case in cases]
        for variable in catalogue.CASE_NUMBERS[:-1]
    }
    numbers["case_relative_tolerance"] = relative_tolerances(cases)
    return found | {v.name: stored(v, PER_CASE, numbers[v.name]) for v in catalogue.CASE_NUMBERS}


def figure_variables(cases: Sequence[Case], phases: Sequence[AlignedPhase]) -> Variables:
    """Every figure of every phase with its difference and its verdict."""
    names = {"phase_name": [phase.name for phase in phases], "phase_kind": [phase.kind for phase in phases]}
    found = {v.name: stored(v, "phase", names[v.name]) for v in PHASES if v.name in names}
    for variable in catalogue.FIGURES:
        values = np.array(
            [
                [nan if row is None else float(case.flight[variable.name].values[row]) for row in rows]
                for case, rows in ((case, [p.rows[i] for p in phases]) for i, case in enumerate(cases))
            ]
        )
        judgement = verdicts(variable, values, relative_tolerances(cases), names["phase_kind"])
        found |= judged(variable, ("case", "phase"), values, judgement)
    return found


def judged(
    variable: Variable, dimensions: tuple[str, ...], values: Array, judgement: NDArray[np.int8]
) -> Variables:
    """A figure, its difference from the first case, and its verdict."""
    found = {variable.name + VERDICT: stored(catalogue.verdict(variable), dimensions, judgement)}
    if variable.flags:
        absent = replace(variable, flags=(*variable.flags, "not_flown"))
        return {
            variable.name: stored(absent, dimensions, np.where(np.isnan(values), len(variable.flags), values))
        } | found
    return {
        variable.name: stored(variable, dimensions, values),
        variable.name + DIFFERENCE: stored(catalogue.difference(variable), dimensions, values - values[:1]),
    } | found


def trace_variables(traces: Traces) -> Variables:
    """Every trace with its difference from that of the first case."""
    found = {
        v.name: stored(v, "sample", values)
        for v, values in ((catalogue.SAMPLE_PHASE, traces.phase), (catalogue.ELAPSED, traces.elapsed))
    }
    for variable in catalogue.ALIGNED_TRACES:
        values = traces.values[variable.name]
        found[variable.name] = stored(variable, ("case", "sample"), values)
        apart = catalogue.difference(variable)
        found[apart.name] = stored(apart, ("case", "sample"), values - values[:1])
    return found


def event_variables(
    datasets: Sequence[xarray.Dataset], events: Sequence[AlignedEvent], phases: Sequence[AlignedPhase]
) -> Variables:
    """Every event side by side, with its difference from that of the first case."""
    columns: dict[str, Any] = {
        "event_kind": [event.kind for event in events],
        "event_phase": [event.phase for event in events],
        "event_order": [event.order for event in events],
    }
    found = {v.name: stored(v, "event", columns[v.name]) for v in catalogue.EVENT_TEXTS}
    rows = [event_values(event, datasets, phases) for event in events]
    for variable in catalogue.ALIGNED_EVENTS:
        values = np.array([row[variable.name] for row in rows]).reshape(len(events), len(datasets)).T
        found[variable.name] = stored(variable, ("case", "event"), values)
        apart = catalogue.difference(variable)
        found[apart.name] = stored(apart, ("case", "event"), values - values[:1])
    return found


def change_variables(changes: Sequence[Sequence[Change]]) -> Variables:
    """What was changed in each case."""
    listed = [(case, change) for case, own in enumerate(changes) for change in own]
    kinds = list(ChangeKind)
    columns: dict[str, Any] = {
        "change_case": [case for case, _ in listed],
        "change_key": [change.path for _, change in listed],
        "change_first": [change.first for _, change in listed],
        "change_here": [change.here for _, change in listed],
        "change_kind": [kinds.index(change.kind) for _, change in listed],
    }
    return {v.name: stored(v, "change", columns[v.name]) for v in catalogue.CHANGES}


def ceiling_variables(cases: Sequence[Case]) -> Variables:
    """Ceilings with difference and verdict, where they were found."""
    if not all(case.ceilings for case in cases):
        return {}
    found: Variables = {}
    for variable in catalogue.CEILINGS:
        values = np.array([case.ceilings[variable.name] for case in cases])
        found |= judged(variable, PER_CASE, values, verdicts(variable, values, relative_tolerances(cases)))
    return found


def attributes(cases: Sequence[Case], changes: Sequence[Sequence[Change]], command: str) -> dict[str, object]:
    """Attributes of the file: those of the first flight's that hold for all, and how it was compared."""
    first = cases[0].flight.attrs
    kept = ["Conventions", "source", "references", "comment", "versions", "simengine_version"]
    kept += ["simengine_scenario", "simengine_scenario_sha256"]
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    unlike = sorted({c.path for own in changes for c in own if c.kind is ChangeKind.FLIGHT})
    found: dict[str, object] = {name: first[name] for name in kept if name in first}
    found |= {
        "title": f"{cases[0].name} against {', '.join(case.name for case in cases[1:])}",
        "history": f"{now}: {command or 'simengine.compare'}",
        STUDY: catalogue.STUDY_NAME,
        "fidelity": " and ".join(dict.fromkeys(str(case.flight.attrs["fidelity"]) for case in cases)),
        "alignment": ALIGNMENT,
        "sameness": SAMENESS,
    }
    if unlike:
        found["unlike"] = "flights are not alike; they differ in: " + ", ".join(unlike)
    return found
