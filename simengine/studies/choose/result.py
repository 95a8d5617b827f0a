"""A choice as a dataset: options, what each gives up, what to relax, and the shim table."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.balance.shift_tables import FIGURES, HUB_FIELDS
from simengine.constants import DEGREE, RPM
from simengine.results import choose_catalogue as catalogue
from simengine.results.catalogue import STUDY
from simengine.results.dataset import global_attributes, stored
from simengine.scenario import Scenario, records
from simengine.scenario.choose_records import Choose
from simengine.studies.choose.candidates import Candidates, can_be_fitted, column
from simengine.studies.choose.options import Choice
from simengine.studies.choose.places import part_of, place_words, shim_places
from simengine.studies.choose.targets import (
    BEGIN,
    FINISH,
    LIFE,
    LIMIT,
    RETURN,
    TARGETS,
    Relaxation,
    met,
)
from simengine.studies.envelope.study import setup_of
from simengine.studies.provenance import study_provenance
from simengine.studies.shift_evaluator import ShiftEvaluator
from simengine.studies.tolerance.hub_rows import two_stop

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

SOLVER = (
    "every combination tried; shift speeds by bracketed roots on tables of the air's pitch moment; "
    "Pareto front of the slacks in the worst place; yield on common scrambled Sobol' draws"
)


def option_values(choice: Choice, numbers: Numbers, yields: Array) -> dict[str, Any]:
    """Options with their worst figures [SI] and what they give up."""
    found, slacks = choice.found, choice.slacks[numbers]
    flights = [i for i, place in enumerate(choice.places) if not place.ground]
    figures = choice.figures[:, numbers]

    def of(name: str, where: Sequence[int] | slice = slice(None)) -> Array:
        return np.asarray(figures[where, :, FIGURES.index(name)])

    springs = [found.springs[n].name if n >= 0 else "the hub's own" for n in found.spring[numbers]]
    frees = [found.springs[n].free_length if n >= 0 else np.nan for n in found.spring[numbers]]
    return {
        "option": np.arange(1, numbers.size + 1),
        "target": list(TARGETS),
        "place": [place_words(place) for place in choice.places],
        "option_spring": springs,
        "option_spring_rate": column(found.rows, "spring_linear")[numbers],
        "option_free_length": frees,
        "option_washers": found.washers[numbers],
        "option_coarse_stop": found.coarse_stop[numbers],
        "option_fine_stop": found.fine_stop[numbers],
        "option_counterweight": found.counterweight[numbers],
        "option_meets_all": met(slacks).astype(int),
        "option_begin_rpm": of("shift_begin", flights).min(axis=0),
        "option_finish_rpm": of("shift_finish", flights).max(axis=0),
        "option_return_rpm": of("return_finish", flights).min(axis=0),
        "option_margin_rpm": of("margin_speed", flights).min(axis=0),
        "option_fastest_rpm": np.maximum(of("speed_fine"), of("full_throttle")).max(axis=0),
        "option_life_factor": choice.life[numbers],
        "option_yield": yields,
        "option_gives_up": given_up(choice, numbers),
        "option_slack": in_units(slacks),
        "combinations_tried": found.tried,
        "combinations_buildable": choice.buildable,
        "combinations_meeting_all": int(met(choice.slacks).sum()),
        "draws": choice.block.draws,
    }


def in_units(slacks: Array) -> Array:
    """Slacks in rpm, that of life as it is; NaN where nothing is known of the wire."""
    shown = slacks / RPM
    shown[:, LIFE] = slacks[:, LIFE]
    return np.where(np.isfinite(shown), shown, np.nan)


TRAVEL = len(TARGETS)  # its place among the merits
WORTH_TELLING = 0.25  # of a loss in its scale
WORDS = {
    BEGIN: "reserve above cruise",
    FINISH: "margin below full throttle",
    RETURN: "reserve of the return above idle",
    LIMIT: "distance from the rpm limit",
    LIFE: "spring life factor",
    TRAVEL: "travel between the stops",
}


def given_up(choice: Choice, numbers: Numbers) -> list[str]:
    """What each option gives up."""
    travel = choice.found.coarse_stop[numbers] - choice.found.fine_stop[numbers]
    merits, slacks = choice.merits(numbers), choice.slacks[numbers]
    return [gives_up(merits, slacks, travel, row) for row in range(numbers.size)]


def gives_up(merits: Array, slacks: Array, travel: Array, row: int) -> str:
    """What an option gives up against the best of the others, the two largest losses."""
    if slacks.shape[0] < 2:
        return "the only one"
    values = np.column_stack([slacks, travel])
    weight = merits.max(axis=0) - merits[row]
    told = []
    for merit in np.argsort(-weight)[:2]:
        best = int(np.argmax(merits[:, merit]))
        loss = values[best, merit] - values[row, merit]
        if weight[merit] < WORTH_TELLING or not np.isfinite(loss):
            continue
        told.append(f"{amount(int(merit), float(loss))} of {WORDS[int(merit)]} against option {best + 1}")
    return "gives up " + " and ".join(told) if told else "gives up next to nothing"


def amount(merit: int, loss: float) -> str:
    """A loss for reading."""
    if merit == LIFE:
        return f"{loss:.2f}"
    return f"{loss / DEGREE:.1f} deg" if merit == TRAVEL else f"{loss / RPM:.0f} rpm"


def shim_values(
    record: records.ScenarioRecord, choice: Choice, number: int, evaluator: ShiftEvaluator
) -> dict[str, Any]:
    """Begin, finish, return and margin of the first option for each number of washers [SI]."""
    found, block = choice.found, choice.block
    own = two_stop(record).spring
    part = part_of(evaluator, len(choice.places), len(evaluator.tables))
    places = shim_places(record, block)
    if isinstance(own, records.TorsionSpring):
        counts = np.array([0])
    else:
        counts = np.arange(block.fewest_washers, block.most_washers + 1)
    rows = np.tile(found.rows[number], (counts.size, 1))
    if not isinstance(own, records.TorsionSpring):
        change = (counts - found.washers[number]) * own.washer_thickness
        rows[:, HUB_FIELDS.index("preload")] += change
        rows[~fits_with(record, found, number, counts, rows)] = np.nan
    figures = part.figures(rows)

    def of(name: str) -> Array:
        return np.asarray(figures[..., FIGURES.index(name)].T)

    return {
        "washers": counts,
        "shim_place": [
            f"{'ground' if place.ground else 'climb'} at {place.height:.0f} m" for place in places
        ],
        "shim_begin_rpm": of("shift_begin"),
        "shim_finish_rpm": of("shift_finish"),
        "shim_return_rpm": of("return_finish"),
        "shim_margin_rpm": of("margin_speed"),
    }


def fits_with(
    record: records.ScenarioRecord, found: Candidates, number: int, counts: Numbers, rows: Array
) -> NDArray[np.bool_]:
    """Whether the first option can be built with other washers, shape (counts,)."""
    spring = np.full(counts.size, found.spring[number])
    return can_be_fitted(two_stop(record).spring, found.springs, spring, counts, rows)


def relaxation_values(given: Sequence[Relaxation]) -> dict[str, Any]:
    """What must give, nearest first."""
    return {
        "relaxation_target": [TARGETS[each.target] for each in given],
        "relaxation_by": [each.by if each.target == LIFE else each.by / RPM for each in given],
        "relaxation_enough": [int(each.candidate >= 0) for each in given],
        "relaxation_alone": [int(each.alone) for each in given],
    }


def dataset_of(
    scenario: Scenario, choice: Choice, evaluator: ShiftEvaluator, values: dict[str, Any], command: str
) -> xarray.Dataset:
    """Everything in the units of the catalogue."""
    record = scenario.record
    data = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, table in catalogue.TABLES
        for variable in table
    }
    named = {
        variable.name: stored(variable, variable.name, np.asarray(values[variable.name]))
        for variable in catalogue.COORDINATES
    }
    limits = (
        []
        if choice.found.springs and np.isfinite(choice.life).all()
        else ["spring life is not checked where the wire of a spring is unknown"]
    )
    provenance = study_provenance(
        scenario,
        "choose",
        "choice computed",
        SOLVER,
        relative_tolerance=1e-9,
        steps=len(choice.found),
        model_limits=limits,
        command=command,
    )
    attributes = global_attributes(provenance, setup_of(evaluator.machine, record))
    attributes |= {STUDY: "choose", "feasible": "yes" if met(choice.slacks).any() else "no"}
    attributes |= {"targets": "\n".join(target_words(record, choice.block)), "seed": choice.block.seed}
    return xarray.Dataset(data, coords=named, attrs=attributes)


def target_words(record: records.ScenarioRecord, block: Choose) -> list[str]:
    """What is asked for, one a line, in the order of `TARGETS`."""
    targets, engine = block.targets, record.engine
    cruise, begin = targets.cruise_rpm / RPM, targets.begin_above_cruise / RPM
    back, idle = targets.return_above_idle / RPM, engine.idle_speed / RPM
    limit, reserve = engine.speed_limit / RPM, targets.limit_reserve / RPM
    return [
        f"shift begins above {cruise + begin:.0f} rpm ({cruise:.0f} rpm of cruise and {begin:.0f} rpm)",
        f"shift finishes {targets.finish_below_full / RPM:.0f} rpm or more below full throttle",
        f"return ends above {idle + back:.0f} rpm ({idle:.0f} rpm of idle and {back:.0f} rpm)",
        f"full throttle stays below {limit - reserve:.0f} rpm",
        f"spring stands {targets.strokes:,.0f} strokes with a factor of {targets.life_factor:g} in stress",
    ]
