"""Every variable of a comparison: the figures, traces and events of several flights beside one another."""

from dataclasses import replace
from enum import StrEnum

from simengine.results.catalogue import EVENTS, PHASES, SETUP, TRACES, Variable
from simengine.results.figures import ENVELOPE_FIGURES, NOT_COMPARED

STUDY_NAME = "compare"
DIFFERENCE, VERDICT = "_difference", "_verdict"


class Verdict(StrEnum):
    """What became of a figure against the first case; the order is that of the stored flag values."""

    SAME = "same"
    BETTER = "better"
    WORSE = "worse"
    NEITHER = "neither"
    ONLY_FIRST = "only_first"
    ONLY_HERE = "only_here"
    ABSENT = "absent"


class ChangeKind(StrEnum):
    """What a differing key belongs to; the order is that of the stored flag values."""

    MACHINE = "machine"
    FLIGHT = "flight"
    SOLVER = "solver"


COMPARED_TRACES = (
    "throttle",
    "engine_rpm",
    "propeller_rpm",
    "blade_angle",
    "height",
    "airspeed",
    "vertical_speed",
    "thrust",
    "fuel_flow_volume",
    "fuel_used",
    "spring_moment",
    "centrifugal_moment",
    "counterweight_moment",
    "air_moment",
    "stop_reaction",
    "blade_pull",
)
COMPARED_EVENTS = ("event_engine_rpm", "event_propeller_rpm", "event_blade_angle", "event_height")
NOT_COMPARABLE = "NaN where the phase is over or was not flown"


def as_stored(variable: Variable) -> Variable:
    """The same for values that are in stored units already."""
    return replace(variable, factor=1.0)


def difference(variable: Variable) -> Variable:
    """Difference of a variable from that of the first case."""
    return replace(
        variable,
        name=variable.name + DIFFERENCE,
        long_name=f"{variable.long_name}: less that of the first case",
        standard_name=None,
        factor=1.0,
    )


def verdict(variable: Variable) -> Variable:
    """What became of a figure against the first case."""
    return Variable(
        variable.name + VERDICT,
        "1",
        f"{variable.long_name}: against the first case",
        comment="same: within the error of the solver; neither: it moved and neither way is better",
        flags=tuple(Verdict),
        stored="flag",
    )


CASE_TEXTS: tuple[Variable, ...] = tuple(
    Variable(name, "", long_name, stored="text")
    for name, long_name in (
        ("case", "name of the case"),
        ("case_file", "file that the case came from"),
        ("case_title", "title of the scenario"),
        ("case_scenario", "the whole scenario as one text"),
        ("case_scenario_sha256", "digest of the scenario's text"),
        ("case_fidelity", "fidelity of the flight"),
        ("case_outcome", "how the flight ended"),
        ("case_hub_kind", "kind of the hub"),
        ("case_version", "version of the program that flew it"),
        ("case_model_limits", "limits of the model that were met"),
    )
)
CASE_NUMBERS: tuple[Variable, ...] = (
    *(as_stored(variable) for variable in SETUP),
    Variable("case_relative_tolerance", "1", "relative tolerance of the solver"),
)
PHASE_TEXTS: tuple[Variable, ...] = tuple(
    variable for variable in PHASES if variable.name in ("phase_name", "phase_kind")
)
FIGURES: tuple[Variable, ...] = tuple(
    as_stored(variable) for variable in PHASES if variable.name not in NOT_COMPARED
)
CEILINGS: tuple[Variable, ...] = tuple(as_stored(variable) for variable in ENVELOPE_FIGURES)

SAMPLE_PHASE = Variable("sample_phase", "1", "number of the phase of a sample, from 0", stored="count")
ELAPSED = Variable("elapsed", "s", "time since the phase began")
ALIGNED_TRACES: tuple[Variable, ...] = tuple(
    replace(as_stored(variable), comment=NOT_COMPARABLE)
    for variable in TRACES
    if variable.name in COMPARED_TRACES
)

EVENT_TEXTS: tuple[Variable, ...] = (
    *(v for v in EVENTS if v.name in ("event_kind", "event_phase")),
    Variable("event_order", "1", "which of its kind in the phase, from 1", stored="count"),
)
EVENT_TIME = Variable(
    "event_elapsed", "s", "time of the event since its phase began", comment="NaN: did not happen"
)
ALIGNED_EVENTS: tuple[Variable, ...] = (
    EVENT_TIME,
    *(as_stored(v) for v in EVENTS if v.name in COMPARED_EVENTS),
)

CHANGES: tuple[Variable, ...] = (
    Variable("change_case", "1", "number of the case, from 0, in which the key differs", stored="count"),
    Variable("change_key", "", "key of the scenario that differs", stored="text"),
    Variable("change_first", "", "value in the first case, as typed", stored="text"),
    Variable("change_here", "", "value in this case, as typed", stored="text"),
    Variable("change_kind", "1", "what the key belongs to", flags=tuple(ChangeKind), stored="flag"),
)
