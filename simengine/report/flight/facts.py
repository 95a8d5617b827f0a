"""What a flight says, phase by phase and event by event, as plain numbers and words for the reports."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, nan
from typing import Any

import xarray

from simengine.results.catalogue import EventKind, PitchState

EVENT_WORDS: Mapping[EventKind, str] = {
    EventKind.PHASE_BEGINS: "phase begins",
    EventKind.PHASE_ENDS: "phase ends",
    EventKind.SHIFT_BEGINS: "shift begins",
    EventKind.SHIFT_FINISHES: "shift finishes",
    EventKind.RETURN_BEGINS: "return begins",
    EventKind.RETURN_FINISHES: "return finishes",
    EventKind.SHIFT_HANGS: "blades hang between stops",
    EventKind.RPM_LIMIT_PASSED: "engine rpm limit passed",
    EventKind.RPM_LIMIT_REGAINED: "below engine rpm limit",
    EventKind.HEIGHT_REACHED: "height reached",
    EventKind.CEILING: "ceiling",
    EventKind.FUEL_RESERVE: "fuel down to reserve",
    EventKind.FUEL_EMPTY: "fuel empty",
    EventKind.ENGINE_TABLE_LEFT: "off the bench curve",
    EventKind.OUT_OF_TIME: "out of time",
    EventKind.DISTANCE_REACHED: "distance reached",
    EventKind.GROUND_REACHED: "ground reached",
    EventKind.ENGINE_TABLE_REGAINED: "on the bench curve again",
}

PLACES: Mapping[str, str] = {
    "ground_run": "on the ground",
    "climb": "in the climb",
    "cruise": "in the cruise",
    "descend": "in the descent",
    "throttle_programme": "in the throttle programme",
}


@dataclass(frozen=True)
class EventFacts:
    """One event: time in s, engine rpm, blade angle in degree, height in m."""

    time: float
    kind: EventKind
    phase: int
    engine_rpm: float
    propeller_rpm: float
    blade_angle: float
    height: float
    airspeed: float
    note: str

    @property
    def words(self) -> str:
        """What happened, in words."""
        if self.kind is EventKind.SHIFT_HANGS and isfinite(self.blade_angle):
            return f"blades hang at {self.blade_angle:.1f}°"
        return EVENT_WORDS[self.kind]


@dataclass(frozen=True)
class PhaseFacts:
    """One phase in stored units (engine rpm, degree, N m, m/s, L); `hung_at` is NaN unless blades hung."""

    name: str
    kind: str
    place: str
    outcome: str
    duration: float
    shift_begin_rpm: float
    shift_finish_rpm: float
    return_begin_rpm: float
    return_finish_rpm: float
    full_throttle_rpm: float
    shift_margin_rpm: float
    shift_margin_moment: float
    highest_engine_rpm: float
    static_thrust: float
    highest_thrust: float
    mean_climb_rate: float
    initial_climb_rate: float
    fuel_volume: float
    fuel_flow: float
    distance: float
    initial_pitch_state: PitchState
    final_pitch_state: PitchState
    final_blade_angle: float
    hung_at: float
    events: tuple[EventFacts, ...]

    @property
    def never_shifted(self) -> bool:
        """Full throttle was asked for and the blades stayed on the coarse stop all the time."""
        return (
            isfinite(self.full_throttle_rpm)
            and not isfinite(self.shift_begin_rpm)
            and self.initial_pitch_state is PitchState.COARSE
            and self.final_pitch_state is PitchState.COARSE
        )

    @property
    def left_unfinished(self) -> bool:
        """A shift was under way and did not reach the fine stop."""
        under_way = isfinite(self.shift_begin_rpm) or isfinite(self.hung_at)
        return under_way and not isfinite(self.shift_finish_rpm)


def event_facts(dataset: xarray.Dataset) -> list[EventFacts]:
    """Every event of a result, in order."""
    kinds = tuple(EventKind)
    column = {name: dataset[f"event_{name}"].values for name in EVENT_COLUMNS}
    return [
        EventFacts(
            time=float(column["time"][row]),
            kind=kinds[int(column["kind"][row])],
            phase=int(column["phase"][row]),
            engine_rpm=float(column["engine_rpm"][row]),
            propeller_rpm=float(column["propeller_rpm"][row]),
            blade_angle=float(column["blade_angle"][row]),
            height=float(column["height"][row]),
            airspeed=float(column["airspeed"][row]),
            note=str(column["note"][row]),
        )
        for row in range(dataset.sizes["event"])
    ]


EVENT_COLUMNS = (
    "time",
    "kind",
    "phase",
    "engine_rpm",
    "propeller_rpm",
    "blade_angle",
    "height",
    "airspeed",
    "note",
)
PHASE_COLUMNS = (
    "shift_begin_rpm",
    "shift_finish_rpm",
    "return_begin_rpm",
    "return_finish_rpm",
    "full_throttle_rpm",
    "shift_margin_rpm",
    "shift_margin_moment",
    "highest_engine_rpm",
    "static_thrust",
    "highest_thrust",
    "mean_climb_rate",
    "initial_climb_rate",
    "final_blade_angle",
)
RENAMED = {
    "duration": "phase_duration",
    "fuel_volume": "phase_fuel_volume",
    "fuel_flow": "phase_fuel_flow",
    "distance": "phase_distance",
}


def phase_facts(dataset: xarray.Dataset) -> list[PhaseFacts]:
    """Every phase of a result, in order."""
    states = tuple(PitchState)
    kinds = [str(kind) for kind in dataset["phase_kind"].values]
    names = [str(name) for name in dataset["phase_name"].values]
    sources = {name: name for name in PHASE_COLUMNS} | RENAMED
    column = {name: dataset[source].values for name, source in sources.items()}
    events = event_facts(dataset)
    facts = []
    for row, (name, kind) in enumerate(zip(names, kinds, strict=True)):
        numbers: dict[str, Any] = {key: float(values[row]) for key, values in column.items()}
        own_events = tuple(event for event in events if event.phase == row)
        facts.append(
            PhaseFacts(
                name=name,
                kind=kind,
                place=place_words(name, kind, kinds),
                outcome=str(dataset["phase_outcome"].values[row]),
                initial_pitch_state=states[int(dataset["initial_pitch_state"].values[row])],
                final_pitch_state=states[int(dataset["final_pitch_state"].values[row])],
                hung_at=hang_angle(own_events),
                events=own_events,
                **numbers,
            )
        )
    return facts


def hang_angle(events: tuple[EventFacts, ...]) -> float:
    """Blade angle at which the blades last hung [degree]; NaN if they never did."""
    hangs = [event.blade_angle for event in events if event.kind is EventKind.SHIFT_HANGS]
    return hangs[-1] if hangs else nan


def place_words(name: str, kind: str, kinds: list[str]) -> str:
    """`in the climb`, or the phase's own name where one flight has several of a kind."""
    if kind in PLACES and kinds.count(kind) == 1:
        return PLACES[kind]
    return f"in '{name}'"
