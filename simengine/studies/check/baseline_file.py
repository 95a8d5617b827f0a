"""A baseline in and out of its file: YAML that a person can read and version control can compare.

The file says which format it is, and carries a digest of everything below it, so that a file that was cut
short, damaged or edited by hand is told from a model that moved.
"""

import hashlib
import textwrap
from collections.abc import Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from simengine.errors import Problem, ScenarioError
from simengine.results.cautions import SHORT_CAUTION
from simengine.results.files import PATIENCE, write_text
from simengine.results.lock import locked
from simengine.scenario.folder import scenario_folder
from simengine.scenario.loader import plain
from simengine.scenario.text_files import read_text
from simengine.scenario.yaml_nodes import parse_text
from simengine.studies.check.baseline import Baseline, Entry, EventRow, Value
from simengine.studies.check.suite import baseline_path
from simengine.studies.check.trace_norm import COMPARED, Samples
from simengine.studies.envelope.points import Wanted

FORMAT = 1
KEY = "simengine_baseline"
LARGEST = 1e15  # of its numbers: far above any figure of ours, far below where a difference overflows
DIGITS = 9  # of figures and events
TRACE_DIGITS = 5
HEAD = "# Written by simengine. Change it with: simengine check --accept --reason '...', never by hand.\n"
LOCK = ".simengine.baselines.lock"
BUSY = "another run is storing baselines here and does not come to an end; try again"
RESTORE = "restore it from version control, or delete it and store the state of today with --store"
EVENT = ("time s", "kind", "phase", "engine_rpm", "blade_angle deg", "height m")


class Text(str):
    """A text that is written as it stands, line by line."""


class Writer(yaml.SafeDumper):
    """PyYAML's writer for our documents."""

    def ignore_aliases(self, data: Any) -> bool:
        """Nothing is written as a reference to something above it."""
        return True


Writer.add_representer(Text, lambda self, text: self.represent_scalar("tag:yaml.org,2002:str", text, "|"))
Writer.add_representer(
    tuple, lambda self, row: self.represent_sequence("tag:yaml.org,2002:seq", row, flow_style=True)
)


def write_baseline(baseline: Baseline, scenario: Path) -> Path:
    """Write a baseline beside its scenario, whole or not at all; returns the path.

    Raises
    ------
    OutputError
        If the folder cannot be written or is full.
    """
    path = baseline_path(scenario)
    body = body_text(baseline)
    write_text(path, f"{HEAD}{KEY}: {FORMAT}\ndigest: {digest(body)}\n{body}")
    return path


def baselines_locked(scenario: Path) -> AbstractContextManager[None]:
    """Keep other runs from storing baselines in the folder of a scenario.

    From reading a baseline to writing the next one nobody else may: an entry of its history would be lost.

    Raises
    ------
    OutputError
        If another run does not come to an end, or the folder cannot be written.
    """
    return locked(scenario.with_name(LOCK), f"{scenario.parent}: {BUSY}", PATIENCE)


def digest(body: str) -> str:
    """Digest of what stands below it; line ends do not count."""
    return hashlib.sha256("\n".join(body.splitlines()).encode()).hexdigest()


def body_text(baseline: Baseline) -> str:
    """Everything below the digest."""
    document = {
        "scenario": {
            "name": baseline.scenario,
            "sha256": baseline.sha256,
            "text": Text(baseline.text),
        },
        "computed": {**baseline.computed, "relative_tolerance": baseline.relative_tolerance},
        "caution": SHORT_CAUTION,
        "figures": [
            {"phase": phase, **{name: shorter(value) for name, value in found.items()}}
            for phase, found in baseline.figures.items()
        ],
        "envelope": [
            {"figure": name, "height": height, "found": shorter(value)}
            for (name, height), value in baseline.envelope.items()
        ],
        "events": [EVENT, *(event_row(event) for event in baseline.events)],
        "traces": {
            "time": numbers(baseline.samples.times, DIGITS),
            **{name: numbers(values, TRACE_DIGITS) for name, values in baseline.samples.values.items()},
        },
        "history": [
            {
                "date": entry.date,
                "reason": entry.reason,
                "by": entry.by,
                "changes": list(entry.changes),
                "figures": dict(entry.figures),
            }
            for entry in baseline.history
        ],
    }
    return yaml.dump(document, Dumper=Writer, sort_keys=False, width=110, allow_unicode=True)


def shorter(value: Value) -> Value:
    """A figure with as many digits as are compared."""
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value


def event_row(event: EventRow) -> tuple[float | str, ...]:
    """An event on one line."""
    return (
        round(event.time, 5),
        event.kind,
        event.phase,
        round(event.engine_rpm, 3),
        round(event.blade_angle, 5),
        round(event.height, 3),
    )


def numbers(values: np.ndarray[Any, np.dtype[np.float64]], digits: int) -> Text:
    """Numbers on lines of their own."""
    return Text("\n".join(textwrap.wrap(" ".join(f"{value:.{digits}g}" for value in values), 104)) + "\n")


def read_baseline(scenario: Path, *, any_name: bool = False) -> Baseline:
    """Read the baseline beside a scenario; with `any_name` also one that was another scenario's.

    Raises
    ------
    ScenarioError
        If it is damaged, of a newer format, not ours, or of another scenario; with the remedy.
    """
    path = baseline_path(scenario)
    if path.is_symlink():
        refuse_link_outside(path, scenario_folder(scenario))
    text = read_text(path, str(path))
    found = top_of(path, text)
    body = body_of(text)
    if body is None or digest(body) != found.get("digest"):
        raise refusal(path, f"was cut short, damaged or edited by hand: its digest does not fit; {RESTORE}")
    try:
        baseline = from_document(found)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError) as error:
        raise refusal(path, f"does not hold what a baseline holds ({error}); {RESTORE}") from None
    if baseline.scenario != scenario.name and not any_name:
        raise refusal(
            path,
            f"is the baseline of '{baseline.scenario}', not of '{scenario.name}'; give it back its name, or "
            f"take it over with --accept --reason",
        )
    return baseline


def refuse_link_outside(path: Path, folder: Path) -> None:
    """Refuse a link that leads out of the scenario folder, or round to itself.

    Raises
    ------
    ScenarioError
    """
    try:
        inside = path.resolve().is_relative_to(folder)
    except (OSError, RuntimeError):
        inside = False
    if not inside:
        raise refusal(path, "is a link that leads outside the scenario folder, where nothing is read")


def top_of(path: Path, text: str) -> Mapping[str, Any]:
    """What the file holds, once it is known to be ours and of a format that we know."""
    marked = next((line for line in text.splitlines()[:5] if line.startswith(f"{KEY}:")), "")
    if not marked:
        raise refusal(path, f"is not a baseline of simengine: the key '{KEY}' is missing; {RESTORE}")
    version = marked.partition(":")[2].strip()
    if version != str(FORMAT):
        raise refusal(
            path,
            f"is a baseline of format {version}, and this simengine reads format {FORMAT}: use the simengine "
            f"that wrote it or a newer one",
        )
    try:
        tree, problems = parse_text(text, str(path))
    except ScenarioError as error:
        raise refusal(path, f"is damaged ({error.problems[0].message}); {RESTORE}") from None
    if problems:
        raise refusal(path, f"is damaged ({problems[0].message}); {RESTORE}")
    return dict(plain(tree))


def body_of(text: str) -> str | None:
    """Everything below the digest."""
    lines = text.splitlines()
    place = next((place for place, line in enumerate(lines) if line.startswith("digest:")), None)
    return None if place is None else "\n".join(lines[place + 1 :])


def from_document(found: Mapping[str, Any]) -> Baseline:
    """A baseline from what its file holds."""
    scenario, traces = found["scenario"], found["traces"]
    computed = dict(found["computed"])
    tolerance = number(computed.pop("relative_tolerance"))
    return Baseline(
        scenario=str(scenario["name"]),
        text=str(scenario["text"]),
        sha256=str(scenario["sha256"]),
        computed={name: str(value) for name, value in computed.items()},
        relative_tolerance=tolerance,
        figures={str(row["phase"]): figures_of(row) for row in found["figures"]},
        envelope={wanted(row): value_from(row["found"]) for row in found["envelope"]},
        events=tuple(
            EventRow(number(time), str(kind), str(phase), number(rpm), number(angle), number(height))
            for time, kind, phase, rpm, angle, height in found["events"][1:]
        ),
        samples=samples_from(traces),
        history=tuple(entry_from(row) for row in found["history"]),
    )


def samples_from(traces: Mapping[str, Any]) -> Samples:
    """Traces, all of one length, with times that rise."""
    times, values = array(traces["time"]), {name: array(traces[name]) for name in COMPARED}
    if any(found.size != times.size for found in values.values()):
        raise ValueError("traces of different lengths")
    if not np.all(np.diff(times) >= 0.0):
        raise ValueError("times that do not rise")
    return Samples(times, values)


def wanted(row: Mapping[str, Any]) -> Wanted:
    """Name and height of a figure of the envelope."""
    height = row["height"]
    return str(row["figure"]), None if height is None else number(height)


def figures_of(row: Mapping[str, Any]) -> dict[str, Value]:
    """Figures of one phase."""
    return {name: value_from(value) for name, value in row.items() if name != "phase"}


def value_from(value: Any) -> Value:
    """A figure as it was."""
    return value if value is None or isinstance(value, str) else number(value)


def number(value: Any) -> float:
    """A number, of a size that a run of ours can have; NaN where there was none."""
    found = float(value)
    if abs(found) > LARGEST:
        raise ValueError(f"a number of {found:g}")
    return found


def array(text: Any) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Numbers of a trace; a single one is read as a number."""
    return np.array([number(word) for word in str(text).split()])


def entry_from(row: Mapping[str, Any]) -> Entry:
    """One acceptance."""
    figures = {str(name): str(value) for name, value in row["figures"].items()}
    changes = tuple(str(change) for change in row["changes"])
    return Entry(str(row["date"]), str(row["reason"]), str(row["by"]), changes, figures)


def refusal(path: Path, message: str) -> ScenarioError:
    """A baseline that cannot be used."""
    return ScenarioError([Problem(str(path), None, "", message)])
