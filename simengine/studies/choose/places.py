"""Where the targets of a choice must hold, where the shim table holds, and the tables for both."""

from collections.abc import Sequence
from dataclasses import replace

from simengine.balance.assembly import assemble
from simengine.scenario import records
from simengine.scenario.choose_records import Choose
from simengine.studies.shift_evaluator import Place, ShiftEvaluator, places_in_order, shift_evaluator
from simengine.studies.tolerance.hub_rows import two_stop
from simengine.studies.tolerance.inputs import Input
from simengine.studies.tolerance.model import angle_reach


def choose_places(record: records.ScenarioRecord, block: Choose) -> tuple[Place, ...]:
    """Every combination in flight, and the ground at the lowest height for the rpm limit."""
    aircraft = assemble(record)
    own_mass = aircraft.dry_mass + aircraft.fuel_start
    offsets = block.temperature_offsets or (aircraft.atmosphere.temperature_offset,)
    torques = block.engine_torque or (1.0,)
    flights = places_in_order(
        block.heights, offsets, block.masses or (own_mass,), block.bars or (0.0,), torques
    )
    ground = [
        Place(block.heights[0], offset, own_mass, 0.0, torque, ground=True)
        for offset in offsets
        for torque in torques
    ]
    return (*flights, *ground)


def shim_places(record: records.ScenarioRecord, block: Choose) -> tuple[Place, ...]:
    """Own day and mass at every height, and the ground."""
    aircraft = assemble(record)
    own_mass = aircraft.dry_mass + aircraft.fuel_start
    offset = aircraft.atmosphere.temperature_offset
    ground = Place(record.site.height, offset, own_mass, ground=True)
    return (ground, *(Place(height, offset, own_mass) for height in block.heights))


def evaluator_for(record: records.ScenarioRecord, block: Choose, inputs: Sequence[Input]) -> ShiftEvaluator:
    """Tables wide enough for every stop and its tolerance; places of the targets, then of the shims."""
    hub = two_stop(record)
    reach = angle_reach(inputs)
    coarse, fine = block.coarse_stops or (hub.coarse_stop,), block.fine_stops or (hub.fine_stop,)
    places = (*choose_places(record, block), *shim_places(record, block))
    lowest, highest = min((*fine, hub.fine_stop)), max((*coarse, hub.coarse_stop))
    return shift_evaluator(record, places, lowest - reach, highest + reach)


def part_of(evaluator: ShiftEvaluator, first: int, last: int) -> ShiftEvaluator:
    """The evaluator in some of its places."""
    return replace(evaluator, tables=evaluator.tables[first:last])


def place_words(place: Place) -> str:
    """Name of a place with all that may differ."""
    told = [f"{'ground' if place.ground else 'climb'} at {place.height:.0f} m"]
    if place.temperature_offset:
        told.append(f"{place.temperature_offset:+.0f} K")
    if not place.ground:
        told.append(f"{place.mass:.0f} kg")
    if place.bar:
        told.append(f"{100 * place.bar:.0f} % bar")
    if place.torque_factor != 1.0:
        told.append(f"engine {100 * place.torque_factor:.0f} %")
    return ", ".join(told)
