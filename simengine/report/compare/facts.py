"""What a comparison says, figure by figure and event by event, as plain numbers and words for the reports."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.report.flight.facts import EVENT_WORDS, place_words
from simengine.results import compare_catalogue as catalogue
from simengine.results.catalogue import EventKind, Variable
from simengine.results.compare_catalogue import DIFFERENCE, VERDICT, ChangeKind, Verdict
from simengine.results.figures import Merit, merit
from simengine.results.tolerances import difference_tolerance

LABELS: Mapping[str, str] = {
    "phase_duration": "time",
    "shift_begin_rpm": "shift begins",
    "shift_finish_rpm": "shift finishes",
    "return_begin_rpm": "return begins",
    "return_finish_rpm": "return finishes",
    "full_throttle_rpm": "full throttle",
    "shift_margin_rpm": "shift margin",
    "shift_margin_moment": "shift margin per blade",
    "highest_engine_rpm": "highest engine speed",
    "static_thrust": "static thrust",
    "highest_thrust": "highest thrust",
    "mean_climb_rate": "mean climb rate",
    "initial_climb_rate": "climb rate at first",
    "phase_fuel": "fuel by mass",
    "phase_fuel_volume": "fuel",
    "phase_fuel_flow": "fuel flow",
    "phase_distance": "distance",
    "initial_pitch_state": "blades at the start",
    "final_pitch_state": "blades at the end",
    "final_blade_angle": "blade angle at the end",
    "shift_ceiling": "shift ceiling",
    "service_ceiling": "service ceiling",
}
UNITS: Mapping[str, str] = {"rpm": "ENGINE rpm", "m s-1": "m/s", "L h-1": "L/h", "degree": "°", "1": ""}
DECIMALS: Mapping[str, int] = {"N m": 2, "m s-1": 2, "kg": 3, "L": 3, "L h-1": 2, "s": 1, "degree": 2}
# What a maker would notice, in stored units (own choice): less moved, but is not worth a sentence or a dot.
NOTICED: Mapping[str, float] = {
    "rpm": 1.0,
    "N m": 0.01,
    "N": 1.0,
    "m s-1": 0.01,
    "kg": 0.005,
    "L": 0.005,
    "L h-1": 0.01,
    "m": 10.0,
    "s": 1.0,
    "degree": 0.05,
}
# Said by another figure too, or by an event: the passing of the rpm limit, the phase before.
TWICE_TOLD = frozenset(
    {
        "phase_fuel",
        "phase_fuel_flow",
        "phase_distance",
        "mean_climb_rate",
        "highest_engine_rpm",
        "initial_pitch_state",
    }
)
CLIMB_RATES = frozenset({"initial_climb_rate", "mean_climb_rate"})
CEILINGS = "ceilings"  # stands where a figure of a flight has its phase


@dataclass(frozen=True)
class Row:
    """One figure in every case.

    Attributes
    ----------
    name, label, units : str
        As stored; in words; as shown.
    phase, place : str
        Name of the phase; `in the climb`.
    values, differences : tuple of float
        Stored units; of a state in words NaN.
    words : tuple of str
        Of a state, in each case.
    verdicts : tuple of Verdict
        Against the first case.
    notice : float
        Least difference worth a word.
    decimals : int
        As shown.
    better : {"more", "less", "neither"}
        Which way is better for the maker.
    """

    name: str
    label: str
    units: str
    phase: str
    place: str
    values: tuple[float, ...]
    differences: tuple[float, ...]
    words: tuple[str, ...]
    verdicts: tuple[Verdict, ...]
    notice: float
    decimals: int
    better: Merit

    @property
    def there(self) -> bool:
        """Whether any case has it."""
        return any(verdict is not Verdict.ABSENT for verdict in self.verdicts)

    @property
    def title(self) -> str:
        """Figure and phase."""
        return self.label if self.phase == CEILINGS else f"{self.label}, {self.phase}"

    def share(self, case: int) -> float:
        """Difference over the first case's value; NaN where that says nothing."""
        first = self.values[0]
        return self.differences[case] / abs(first) if isfinite(first) and first != 0.0 else float("nan")

    def noticed(self, case: int) -> bool:
        """Whether the figure moved by more than a maker would overlook, or came or went."""
        if self.verdicts[case] in (Verdict.SAME, Verdict.ABSENT):
            return False
        return not isfinite(self.differences[case]) or abs(self.differences[case]) >= self.notice

    def value_words(self, case: int) -> str:
        """The value as shown, without its unit."""
        if self.words:
            return self.words[case].replace("_", " ")
        return shown(self.values[case], self.decimals)

    def difference_words(self, case: int) -> str:
        """The difference as shown, with its sign."""
        return shown(self.differences[case], self.decimals, "+")


@dataclass(frozen=True)
class EventRow:
    """One event in every case: `elapsed` s since its phase began, ENGINE rpm; NaN where it did not happen.

    `same` tells where time and rpm are those of the first case within the errors of both solvers.
    """

    kind: EventKind
    phase: int
    place: str
    phase_name: str
    order: int
    elapsed: tuple[float, ...]
    rpm: tuple[float, ...]
    blade_angle: tuple[float, ...]
    same: tuple[bool, ...]

    @property
    def words(self) -> str:
        """What happened; from the second of its kind in the phase on, which one."""
        return EVENT_WORDS[self.kind] + (f" ({self.order})" if self.order > 1 else "")


@dataclass(frozen=True)
class ChangeFacts:
    """One key that differs from the first case."""

    case: int
    key: str
    first: str
    here: str
    kind: ChangeKind

    @property
    def words(self) -> str:
        """`hub.spring.washers: 6 -> 5`."""
        return f"{self.key}: {self.first} -> {self.here}"


def shown(value: float, decimals: int, sign: str = "") -> str:
    """A number with as many decimals as its unit has; more if it would be zero; a dash for none."""
    if not isfinite(value):
        return "–"
    if value != 0.0 and abs(value) < 0.5 * 10.0**-decimals:
        return format(value, f"{sign}.1g")
    return format(value + 0.0, f"{sign}.{decimals}f")


def case_names(dataset: xarray.Dataset) -> list[str]:
    """Names of the cases, the first first."""
    return [str(name) for name in dataset["case"].values]


def change_facts(dataset: xarray.Dataset) -> list[ChangeFacts]:
    """Everything that was changed."""
    kinds = tuple(ChangeKind)
    return [
        ChangeFacts(
            case=int(dataset["change_case"].values[row]),
            key=str(dataset["change_key"].values[row]),
            first=str(dataset["change_first"].values[row]),
            here=str(dataset["change_here"].values[row]),
            kind=kinds[int(dataset["change_kind"].values[row])],
        )
        for row in range(dataset.sizes["change"])
    ]


def figure_rows(dataset: xarray.Dataset) -> list[Row]:
    """Every figure that any case has: phase by phase, ceilings last."""
    names = [str(name) for name in dataset["phase_name"].values]
    kinds = [str(kind) for kind in dataset["phase_kind"].values]
    rows = []
    for number, (name, kind) in enumerate(zip(names, kinds, strict=True)):
        place, own = place_words(name, kind, kinds), dataset.isel(phase=number)
        for variable in catalogue.FIGURES:
            if kind == "cruise" and variable.name in CLIMB_RATES:
                continue  # a held height; what is left of it tells of the swing at the start
            rows.append(figure_row(own, variable, name, kind, place))
    for variable in catalogue.CEILINGS:
        if variable.name in dataset:
            rows.append(figure_row(dataset, variable, CEILINGS, "", ""))
    return [row for row in rows if row.there]


def figure_row(dataset: xarray.Dataset, variable: Variable, phase: str, kind: str, place: str) -> Row:
    """One figure of one phase."""
    kinds = tuple(Verdict)
    stored = dataset[variable.name]
    words: tuple[str, ...] = ()
    values = differences = tuple(float("nan") for _ in range(dataset.sizes["case"]))
    if variable.flags:
        meanings = str(stored.attrs["flag_meanings"]).split()
        words = tuple(meanings[int(value)] for value in stored.values)
    else:
        values = tuple(stored.values.tolist())
        differences = tuple(dataset[variable.name + DIFFERENCE].values.tolist())
    return Row(
        name=variable.name,
        label=LABELS[variable.name],
        units="" if variable.flags else UNITS.get(variable.units, variable.units),
        phase=phase,
        place=place,
        values=values,
        differences=differences,
        words=words,
        verdicts=tuple(kinds[int(flag)] for flag in dataset[variable.name + VERDICT].values),
        notice=NOTICED.get(variable.units, 0.0),
        decimals=DECIMALS.get(variable.units, 0),
        better=merit(variable.name, kind),
    )


def event_rows(dataset: xarray.Dataset) -> list[EventRow]:
    """Every event, in order."""
    kinds = tuple(EventKind)
    names = [str(name) for name in dataset["phase_name"].values]
    phase_kinds = [str(kind) for kind in dataset["phase_kind"].values]
    same = same_events(dataset)
    rows = []
    for row in range(dataset.sizes["event"]):
        phase = int(dataset["event_phase"].values[row])
        rows.append(
            EventRow(
                kind=kinds[int(dataset["event_kind"].values[row])],
                phase=phase,
                place=place_words(names[phase], phase_kinds[phase], phase_kinds),
                phase_name=names[phase],
                order=int(dataset["event_order"].values[row]),
                elapsed=tuple(dataset["event_elapsed"].values[:, row].tolist()),
                rpm=tuple(dataset["event_engine_rpm"].values[:, row].tolist()),
                blade_angle=tuple(dataset["event_blade_angle"].values[:, row].tolist()),
                same=tuple(same[:, row].tolist()),
            )
        )
    return rows


def same_events(dataset: xarray.Dataset) -> NDArray[np.bool_]:
    """Whether each event is the first case's within the errors of both solvers, shape (cases, events)."""
    relative = dataset["case_relative_tolerance"].values.tolist()
    same = np.ones((dataset.sizes["case"], dataset.sizes["event"]), dtype=np.bool_)
    for name, bound in (("event_elapsed", "event_time"), ("event_engine_rpm", "event_engine_rpm")):
        allowed = np.array([difference_tolerance(bound, relative[0], own) for own in relative])
        same &= np.abs(dataset[name + DIFFERENCE].values) <= allowed[:, None]
    return same


def told_rows(rows: Sequence[Row], case: int) -> list[Row]:
    """Rows worth a sentence for a case, the most moved first; what another row says too is left out."""
    worth = [row for row in rows if row.noticed(case) and row.name not in TWICE_TOLD]
    return sorted(worth, key=lambda row: -weight(row, case))


def weight(row: Row, case: int) -> float:
    """How far a figure moved, as a share of the larger of both; 1 for one that came or went."""
    largest = np.nanmax(np.abs([row.values[0], row.values[case], 1e-12]))
    apart = row.differences[case]
    return float(min(abs(apart) / largest, 1.0)) if isfinite(apart) else 1.0
