"""Fly a scenario: from checked parameters to one dataset."""

from math import isfinite
from typing import TYPE_CHECKING

from simengine.balance.aircraft import Aircraft
from simengine.balance.assembly import assemble, assemble_torsion
from simengine.errors import NoSolutionError
from simengine.flight import dynamic, steady
from simengine.flight.model_limits import Flown, model_limits
from simengine.flight.observations import flight_events, model_figures
from simengine.flight.phases import Cockpit, FlyLeg, PhaseOutcome, first_state, fly_phase
from simengine.flight.traces import traces as all_traces
from simengine.flight.track import Settings, Track
from simengine.results.dataset import flight_dataset
from simengine.results.records import PhaseBounds, Provenance, Setup
from simengine.results.summary import summarise_phase
from simengine.scenario import Scenario, records

if TYPE_CHECKING:
    import xarray

FIDELITIES: dict[str, FlyLeg] = {"dynamic": dynamic.fly_leg, "steady": steady.fly_leg}
SOLVERS = {
    "dynamic": "linearly implicit Runge-Kutta, order 4(3), located events, stick and slide as modes",
    "steady": "midpoint rule on height, distance and fuel; rotor, pitch and path in balance at every instant",
}


def simulate(scenario: Scenario, *, fidelity: str | None = None, command: str = "") -> "xarray.Dataset":
    """Fly every phase of a scenario.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenario's own.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Traces on `time`, located events on `event`, figures on `phase`; see `simengine.results`.

    Raises
    ------
    NoSolutionError
        If the flight cannot even begin, or asks for what the machine cannot fly.
    ValueError
        If there is no such fidelity, or a part of the machine cannot be as described.
    """
    record = scenario.record
    chosen = fidelity or record.flight.fidelity
    if chosen not in FIDELITIES:
        raise ValueError(f"fidelity '{chosen}' is not one of {', '.join(FIDELITIES)}")
    aircraft = assemble(record)
    track, bounds, outcome = fly_all(aircraft, record, FIDELITIES[chosen])
    traces = all_traces(aircraft, track, record.fuel.density)
    events = flight_events(aircraft, track, bounds, traces)
    phases = [
        summarise_phase(
            index, phase, traces, events, record.fuel.density, model_figures(aircraft, traces, index)
        )
        for index, phase in enumerate(bounds)
    ]
    flown = Flown(aircraft, traces, bounds)
    provenance = Provenance(
        title=record.title,
        note=record.note,
        scenario_text=scenario.text,
        outcome=outcome,
        fidelity=chosen,
        solver=SOLVERS[chosen],
        relative_tolerance=record.flight.relative_tolerance,
        steps=track.steps,
        rejected_steps=track.rejected,
        command=command,
        defaults_used=scenario.defaults,
        inputs_marked=marked_inputs(scenario),
        model_limits=(*unlinked_words(record.hub), *model_limits(flown, assemble_torsion(record.propeller))),
    )
    return flight_dataset(traces, events, phases, provenance, setup(aircraft, record))


def unlinked_words(hub: records.Hub) -> tuple[str, ...]:
    """A sentence if nothing but equal springs keeps the blades alike."""
    if not isinstance(hub, records.TwoStopHub) or hub.blades_linked:
        return ()
    return ("the blades are not linked, the model moves them as one: an unequal shift is not in it",)


def marked_inputs(scenario: Scenario) -> tuple[str, ...]:
    """Inputs that say where they come from or how sure they are, as typed."""
    return tuple(
        f"{key} = {origin.text}"
        + (f" ({origin.mark})" if origin.mark and origin.mark not in origin.text else "")
        for key, origin in scenario.origins.items()
        if origin.mark or origin.plus_minus is not None
    )


def setup(aircraft: Aircraft, record: records.ScenarioRecord) -> Setup:
    """Fixed figures of the machine for the reader of a result."""
    return Setup(
        hub_kind=record.hub.kind,
        coarse_stop=aircraft.hub.coarse_stop,
        fine_stop=aircraft.hub.fine_stop,
        engine_speed_limit=aircraft.engine.speed_limit,
        reduction=aircraft.drive.reduction,
        fuel_density=record.fuel.density,
        fuel_start=aircraft.fuel_start,
        site_height=record.site.height,
    )


def fly_all(
    aircraft: Aircraft,
    record: records.ScenarioRecord,
    fly_leg: FlyLeg,
    record_interval: float | None = None,
) -> tuple[Track, list[PhaseBounds], str]:
    """Fly the phases one after the other; the record, when each was flown, and how the flight ended.

    `record_interval` [s] instead of the flight's own; infinite where only the phases' ends matter.
    NoSolutionError if the first phase cannot begin, or one asks for what the machine cannot fly.
    """
    interval = record.flight.record_interval if record_interval is None else record_interval
    phases = record.flight.phases
    track = Track()
    cockpit = Cockpit(
        aircraft=aircraft,
        fly_leg=fly_leg,
        settings=Settings(record.flight.relative_tolerance, interval, isfinite(interval)),
        track=track,
        state=first_state(aircraft, phases[0], record.site.height),
        ground_height=record.site.height,
    )
    bounds: list[PhaseBounds] = []
    for index, phase in enumerate(phases):
        track.phase = len(bounds)
        start = cockpit.state.time
        outcome = fly_phase(cockpit, phase)
        name = phase.name or phase.kind.replace("_", " ")
        if cockpit.state.time > start:
            bounds.append(PhaseBounds(name, phase.kind, start, cockpit.state.time, outcome.sentence))
        elif index == 0:
            raise NoSolutionError(f"phase 1 ({name}) {outcome.sentence}")
        if outcome.ends_flight:
            return track, bounds, early_end(record, index, name, outcome)
    return track, bounds, f"all {len(phases)} phases flown"


def early_end(record: records.ScenarioRecord, index: int, name: str, outcome: PhaseOutcome) -> str:
    """How a flight ended before its last phase was done: in the phase of that `index` and `name`."""
    left = len(record.flight.phases) - index - 1
    not_flown = f"; {left} phase{'s' if left > 1 else ''} after it not flown" if left else ""
    return f"ended in phase {index + 1} ({name}): {outcome.sentence}{not_flown}"
