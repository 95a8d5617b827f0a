"""The ten options worth showing: spread over the front, weighed by their yield on common draws."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simengine.scenario import Scenario, records
from simengine.scenario.choose_records import Choose
from simengine.scenario.tolerance_records import Varied
from simengine.scenario.variation import with_values
from simengine.studies.choose.candidates import Candidates
from simengine.studies.choose.places import part_of
from simengine.studies.choose.targets import (
    least_slack,
    merits,
    met,
    pareto_front,
    slacks_of,
    spread_choice,
    violation,
)
from simengine.studies.shift_evaluator import Place, ShiftEvaluator
from simengine.studies.tolerance.hub_rows import two_stop
from simengine.studies.tolerance.inputs import Input, shares_from, tolerance_inputs
from simengine.studies.tolerance.model import ToleranceModel

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

RATE = "hub.spring.rate"
RATE_POWERS = {
    "hub.spring.wire.wire_diameter": 4.0,
    "hub.spring.wire.mean_diameter": 3.0,
    "hub.spring.wire.active_coils": 1.0,
    "hub.spring.wire.shear_modulus": 1.0,
}
OPTIONS = 10
LOOKED_AT = 48  # of the front, weighed by their yield before ten are kept
YIELD_GIVEN_UP = 0.1  # an option that loses more than that against the most robust one is not shown


@dataclass(frozen=True)
class Choice:
    """What was found.

    Attributes
    ----------
    block : Choose
    places : tuple of Place
    found : Candidates
        Those worked out in every place.
    slacks : NDArray
        Of those, shape (n, targets).
    figures : NDArray
        Of those, shape (places, n, figures).
    life : NDArray
        Allowed over largest spring stress, shape (n,).
    buildable : int
        Combinations that can be built, more than `found` where a first look thinned them.
    """

    block: Choose
    places: tuple[Place, ...]
    found: Candidates
    slacks: Array
    figures: Array
    life: Array
    buildable: int

    def merits(self, numbers: Numbers) -> Array:
        """What some candidates, by their `numbers`, shape (n,), are weighed by; shape (n, targets + 1)."""
        travel = self.found.coarse_stop[numbers] - self.found.fine_stop[numbers]
        return merits(self.slacks[numbers], travel)


def weighed(
    scenario: Scenario,
    choice: Choice,
    evaluator: ShiftEvaluator,
    tell: Callable[[float], None],
) -> tuple[Numbers, Array]:
    """Up to ten candidates and their yields: the most robust first; where none meets all, the nearest."""
    good = np.flatnonzero(met(choice.slacks))
    if good.size == 0:
        nearest = np.argsort(violation(choice.slacks), kind="stable")[:OPTIONS]
        return nearest, np.array([option_yield(scenario, choice, int(n), evaluator) for n in nearest])
    front = good[pareto_front(choice.merits(good))]
    front = front[spread_choice(choice.merits(front), LOOKED_AT)]
    yields = np.empty(front.size)
    for place, number in enumerate(front):
        tell(place / front.size)
        yields[place] = option_yield(scenario, choice, int(number), evaluator)
    robust = np.flatnonzero(yields >= yields.max() - YIELD_GIVEN_UP)
    kept = robust[spread_choice(choice.merits(front[robust]), OPTIONS)]
    even = least_slack(choice.slacks[front])
    order = sorted(kept, key=lambda each: (-round(float(yields[each]), 2), -even[each]))
    return front[order], yields[order]


def option_yield(scenario: Scenario, choice: Choice, number: int, evaluator: ShiftEvaluator) -> float:
    """Share of hubs that meet all targets in every place [1], on the same draws for every option.

    The option by its candidate's `number`.
    """
    record, inputs = option_scenario(scenario, choice, number)
    count = len(choice.places)
    model = ToleranceModel(record, inputs, part_of(evaluator, 0, count), choice.places, ())
    size = 1 << (choice.block.draws - 1).bit_length()
    shares = shares_from(len(inputs), 0, size, choice.block.seed)[: choice.block.draws]
    figures = model.figures(model.values(shares))
    life = np.full(figures.shape[1], choice.life[number])
    targets = choice.block.targets
    idle, limit = record.engine.idle_speed, record.engine.speed_limit
    return float(met(slacks_of(figures, choice.places, targets, idle, limit, life)).mean())


def option_scenario(
    scenario: Scenario, choice: Choice, number: int
) -> tuple[records.ScenarioRecord, tuple[Input, ...]]:
    """The scenario with a candidate fitted, and its tolerances: those of a spring grow with its rate."""
    found, record = choice.found, scenario.record
    own = two_stop(record).spring
    values: dict[str, Any] = {
        "hub.coarse_stop": float(found.coarse_stop[number]),
        "hub.fine_stop": float(found.fine_stop[number]),
    }
    if not isinstance(own, records.TorsionSpring):
        values["hub.spring.washers"] = int(found.washers[number])
    spring = int(found.spring[number])
    if spring >= 0 and isinstance(own, records.HelicalSpring):
        offer = found.springs[spring]
        values |= {
            "hub.spring.rate": offer.rate,
            "hub.spring.wire": None,
            "hub.spring.free_length": offer.free_length,
            "hub.spring.solid_length": offer.solid_length,
            "tolerance.inputs": catalogue_inputs(scenario),
        }
    weight = float(found.counterweight[number])
    if weight > 0.0 and choice.block.counterweight is not None:
        extra = records.Counterweight(
            mass=weight,
            arm=choice.block.counterweight.arm,
            angle_from_chord=choice.block.counterweight.angle_from_chord,
        )
        values["hub.counterweights"] = (*two_stop(record).counterweights, extra)
    fitted = with_values(record, values)
    inputs = tolerance_inputs(replace(scenario, record=fitted))
    return fitted, tuple(scaled(item, record) for item in inputs)


def catalogue_inputs(scenario: Scenario) -> tuple[Varied, ...]:
    """Stated tolerances for a spring of the catalogue: those of the own spring's wire as one of the rate.

    The rate goes with d^4 / (D^3 N) times the modulus, and independent shares add as squares.
    """
    stated = scenario.record.tolerance.inputs
    kept = [varied for varied in stated if varied.input not in RATE_POWERS]
    if len(kept) == len(stated) or any(varied.input == RATE for varied in kept):
        return tuple(kept)
    shares = [
        RATE_POWERS[item.name] * item.width / item.value
        for item in tolerance_inputs(scenario)
        if item.name in RATE_POWERS
    ]
    together = 100.0 * float(np.sqrt(np.sum(np.square(shares))))
    return (*kept, Varied(input=RATE, plus_minus=f"{together:.4f} %"))


def scaled(item: Input, record: records.ScenarioRecord) -> Input:
    """A `+-` typed for the rate of the scenario's own spring, as the same share of another's."""
    own = getattr(two_stop(record).spring, "rate", None)
    if item.name != RATE or own is None or not item.origin.startswith("+-"):
        return item
    return replace(item, width=item.width * item.value / own)
