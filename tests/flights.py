"""Flights for tests: the demo machine on phases of a test's own."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from simengine.balance.assembly import assemble
from simengine.flight.simulate import simulate
from simengine.results.catalogue import EventKind
from simengine.scenario import load_scenario, records

SCENARIOS = Path(__file__).parent.parent / "scenarios"
KINDS = list(EventKind)


@cache
def demo_scenario(name="climb_and_cruise"):
    """One of the repository's own scenarios."""
    return load_scenario(SCENARIOS / f"{name}.yaml")


def demo_machine(name="climb_and_cruise"):
    """Its compiled form."""
    return assemble(demo_scenario(name).record)


def with_phases(scenario, *phases, **flight):
    """The scenario flying other phases, in SI, at other settings."""
    plan = records.Flight(phases=phases, **flight)
    return replace(scenario, record=scenario.record.model_copy(update={"flight": plan}))


def with_hub(scenario, **changes):
    """The scenario with values of its hub changed, in SI."""
    hub = scenario.record.hub.model_copy(update=changes)
    return replace(scenario, record=scenario.record.model_copy(update={"hub": hub}))


def ramp(*rows):
    """A throttle programme from (time, opening) pairs."""
    return records.ThrottleProgramme(time=tuple(r[0] for r in rows), throttle=tuple(r[1] for r in rows))


def ground_run(*rows):
    """A ground run on a throttle programme."""
    return records.GroundRun(kind="ground_run", throttle=ramp(*rows))


def climb(to_height, throttle_time=4.0, **more):
    """A climb in SI."""
    return records.Climb(kind="climb", to_height=to_height, throttle_time=throttle_time, **more)


def cruise(duration, **more):
    """A cruise in SI."""
    return records.Cruise(kind="cruise", duration=duration, **more)


def descend(to_height, throttle=0.0, **more):
    """A descent in SI."""
    return records.Descend(kind="descend", to_height=to_height, throttle=throttle, **more)


def events(dataset, kind):
    """Events of one kind as (time [s], engine rpm, blade angle [deg]) tuples."""
    wanted = KINDS.index(kind)
    return [
        (float(event.event_time), float(event.event_engine_rpm), float(event.event_blade_angle))
        for event in (dataset.isel(event=i) for i in range(dataset.sizes["event"]))
        if int(event.event_kind) == wanted
    ]


__all__ = ["EventKind", "simulate"]
