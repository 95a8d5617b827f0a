"""Which spring, how many washers, which stops: every combination tried, the good ones weighed."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress, told_to
from simengine.scenario import Scenario, records
from simengine.scenario.choose_records import Choose
from simengine.studies.choose.candidates import Candidates, candidates, life_factors
from simengine.studies.choose.options import Choice, weighed
from simengine.studies.choose.places import choose_places, evaluator_for, part_of
from simengine.studies.choose.result import dataset_of, option_values, relaxation_values, shim_values
from simengine.studies.choose.spring_catalogue import SpringOffer, offers
from simengine.studies.choose.targets import least_slack, met, relaxations, slacks_of, violation
from simengine.studies.shift_evaluator import Place, ShiftEvaluator
from simengine.studies.tolerance.inputs import tolerance_inputs

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

FULL_WORK = 2_000_000  # hubs times places worked out in full; beyond that a first look thins the crowd
KEPT = 20_000  # after the first look
BLOCK = 16_384  # of a first look


def choose(
    scenario: Scenario,
    *,
    springs: Sequence[SpringOffer] = (),
    progress: Progress | None = None,
    command: str = "",
) -> xarray.Dataset:
    """Find spring, washers, stops and counterweight that meet the targets of a scenario.

    Parameters
    ----------
    scenario : Scenario
        With a block `choose`.
    springs : sequence of SpringOffer
        Instead of the block's own.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.choose_catalogue`; the attribute `feasible` says whether all targets
        can be met.

    Raises
    ------
    ScenarioError
        If there is no block `choose`, too many combinations, or none that can be built.
    """
    tell = told_to(progress)
    block = block_of(scenario)
    record = scenario.record
    tell(0.0, "tables of the air")
    inputs = tolerance_inputs(scenario)
    evaluator = evaluator_for(record, block, inputs)
    tell(0.3, "every combination")
    choice = looked_through(scenario, block, evaluator, tuple(springs) or offers(block), tell)
    tell(0.7, "yield of the best")
    numbers, yields = weighed(scenario, choice, evaluator, lambda share: tell(0.7 + 0.25 * share, "yield"))
    tell(0.95, "shim table")
    values = option_values(choice, numbers, yields) | shim_values(record, choice, int(numbers[0]), evaluator)
    given = [] if met(choice.slacks).any() else relaxations(choice.slacks)
    values |= relaxation_values(given)
    tell(1.0, "done")
    return dataset_of(scenario, choice, evaluator, values, command)


def block_of(scenario: Scenario) -> Choose:
    """The block, which a scenario need not have; ScenarioError if it has none."""
    block = scenario.record.choose
    if block is None:
        message = "is required for this command: targets, and what may be fitted"
        raise ScenarioError([Problem(str(scenario.path), None, "choose", message)])
    return block


def looked_through(
    scenario: Scenario,
    block: Choose,
    evaluator: ShiftEvaluator,
    catalogue_springs: Sequence[SpringOffer],
    tell: Progress,
) -> Choice:
    """Every combination in every place; a crowd is thinned by a first look at few places.

    ScenarioError if nothing can be built, or the block is not possible.
    """
    record = scenario.record
    try:
        found = candidates(record, block, catalogue_springs)
    except ValueError as error:
        raise ScenarioError([Problem(str(scenario.path), None, "choose", str(error))]) from error
    if len(found) == 0:
        message = (
            f"none of {found.tried:,} combinations can be built: every spring is loose on the coarse stop or "
            "solid before the fine one; offer other free lengths, wires or stops"
        )
        raise ScenarioError([Problem(str(scenario.path), None, "choose", message)])
    places = choose_places(record, block)
    buildable = len(found)
    life = life_factors(found, block.targets, block.peened)
    idle, limit = record.engine.idle_speed, record.engine.speed_limit
    if buildable * len(places) > FULL_WORK:
        first = first_look(record, block, evaluator, places, found, life, tell)
        keep = np.argsort(violation(first) - 1e-3 * least_slack(first), kind="stable")[:KEPT]
        found, life = kept_candidates(found, keep), life[keep]
    figures = part_of(evaluator, 0, len(places)).figures(found.rows)
    slacks = slacks_of(figures, places, block.targets, idle, limit, life)
    return Choice(block, places, found, slacks, figures, life, buildable)


def first_look(
    record: records.ScenarioRecord,
    block: Choose,
    evaluator: ShiftEvaluator,
    places: Sequence[Place],
    found: Candidates,
    life: Array,
    tell: Progress,
) -> Array:
    """Slacks in three places, block by block: the lowest, coldest and lightest, the opposite, and the ground.

    They can only get smaller in more places, so that no candidate that meets all is lost unless the crowd of
    those is larger than what is kept.
    """
    last = max(i for i, place in enumerate(places) if not place.ground)
    few = [0, last, len(places) - 1]
    part = replace(evaluator, tables=tuple(evaluator.tables[i] for i in few))
    chosen = [places[i] for i in few]
    idle, limit = record.engine.idle_speed, record.engine.speed_limit
    slacks = []
    for start in range(0, len(found), BLOCK):
        rows = slice(start, start + BLOCK)
        figures = part.figures(found.rows[rows])
        slacks.append(slacks_of(figures, chosen, block.targets, idle, limit, life[rows]))
        tell(0.3 + 0.3 * start / len(found), f"{len(found):,} combinations")
    return np.concatenate(slacks)


def kept_candidates(found: Candidates, keep: Numbers) -> Candidates:
    """Some of the candidates."""
    return replace(
        found,
        spring=found.spring[keep],
        washers=found.washers[keep],
        coarse_stop=found.coarse_stop[keep],
        fine_stop=found.fine_stop[keep],
        counterweight=found.counterweight[keep],
        rows=found.rows[keep],
    )
