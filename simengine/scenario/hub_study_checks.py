"""What the blocks `tolerance` and `choose` ask of the rest of a scenario."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from simengine.scenario.hub_records import HelicalSpring, TorsionSpring, TwoStopHub
from simengine.scenario.quantities import Complaint, Record, dimension_of
from simengine.scenario.tolerance_records import FACTORS, INPUTS, half_width
from simengine.units import Dimension

if TYPE_CHECKING:
    from simengine.scenario.records import ScenarioRecord


def hub_study_complaints(record: "ScenarioRecord") -> Iterator[Complaint]:
    """Inputs that this hub has, places that the wing's polar reaches."""
    yield from tolerance_complaints(record)
    yield from choose_complaints(record)


def tolerance_complaints(record: "ScenarioRecord") -> Iterator[Complaint]:
    """The inputs are numbers of this hub, and their half-widths in its units."""
    if record.tolerance.inputs and not isinstance(record.hub, TwoStopHub):
        yield Complaint(("tolerance", "inputs"), f"is for a two_stop hub; this hub is {record.hub.kind}")
        return
    for index, varied in enumerate(record.tolerance.inputs):
        place = ("tolerance", "inputs", index)
        found = input_of(record, varied.input)
        if found is None:
            yield Complaint((*place, "input"), f"this hub has no value of its own there; {fitting(record)}")
            continue
        value, dimensions = found
        for name in ("plus_minus", "within"):
            text = getattr(varied, name)
            if text is None:
                continue
            try:
                width = half_width(text, dimensions)
            except ValueError as error:
                yield Complaint((*place, name), f"{error}; or a share of the value, for example '5 %'")
                continue
            if width.relative and value == 0.0:
                message = f"the value is zero: give it in its unit, for example '{dimensions[0].example}'"
                yield Complaint((*place, name), message)


def fitting(record: "ScenarioRecord") -> str:
    """The inputs that a scenario's hub has."""
    return "accepted: " + ", ".join(name for name in INPUTS if input_of(record, name) is not None)


def input_of(record: "ScenarioRecord", name: str) -> tuple[float, tuple[Dimension, ...]] | None:
    """Nominal value in SI and dimension of an input; None where this hub has none."""
    if name in FACTORS:
        return 1.0, INPUTS[name]
    owner: object = record
    steps = name.split(".")
    for step in steps[:-1]:
        if isinstance(owner, tuple):
            owner = owner[int(step)] if int(step) < len(owner) else None
        else:
            owner = getattr(owner, step, None)
    if not isinstance(owner, Record):
        return None
    value = getattr(owner, steps[-1], None)
    field = type(owner).model_fields.get(steps[-1])
    dimension = dimension_of(field) if field is not None else None
    return None if value is None or dimension is None else (float(value), (dimension,))


def choose_complaints(record: "ScenarioRecord") -> Iterator[Complaint]:
    """A hub with a choice, targets that do not fight the engine, bars inside the polar."""
    block = record.choose
    if block is None:
        return
    hub = record.hub
    if not isinstance(hub, TwoStopHub):
        yield Complaint(("choose",), f"is for a two_stop hub; this hub is {hub.kind}")
        return
    catalogues = [name for name in ("springs", "wire_springs") if getattr(block, name) is not None]
    if catalogues and not isinstance(hub.spring, HelicalSpring):
        message = f"a catalogue of coil springs is for a helical spring; this one is {hub.spring.kind}"
        yield Complaint(("choose", catalogues[0]), message)
    if isinstance(hub.spring, TorsionSpring) and "most_washers" in block.model_fields_set:
        yield Complaint(("choose", "most_washers"), "a torsion spring has no washers: leave this out")
    if block.targets.cruise_rpm >= record.engine.speed_limit:
        yield Complaint(("choose", "targets", "cruise_rpm"), "must be below the engine's speed_limit")
    coarse, fine = block.coarse_stops or (hub.coarse_stop,), block.fine_stops or (hub.fine_stop,)
    if not max(coarse) > min(fine):
        yield Complaint(("choose", "fine_stops"), "no fine stop lies below a coarse stop")
    for index, bar in enumerate(block.bars):
        most = record.wing.polar.bar[-1]
        if bar > most:
            message = f"is beyond the wing's measured polar, which ends at {100 * most:g} % bar"
            yield Complaint(("choose", "bars", index), message)
