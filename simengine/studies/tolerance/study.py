"""How hubs of one drawing differ: yield against limits, what matters, how many washers bring each in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.balance.shift_tables import FIGURES as COMPUTED
from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress, told_to
from simengine.execution.run import work_out
from simengine.execution.store import Store
from simengine.execution.task import Job, Piece
from simengine.execution.where import Where, threads_of
from simengine.results import tolerance_catalogue as catalogue
from simengine.results.catalogue import STUDY
from simengine.results.dataset import global_attributes, stored
from simengine.results.records import Provenance
from simengine.scenario import Scenario, records
from simengine.studies.envelope.study import setup_of
from simengine.studies.provenance import study_provenance
from simengine.studies.tolerance.hub_rows import row_of, two_stop
from simengine.studies.tolerance.inputs import Input, groups, shares_from, tolerance_inputs
from simengine.studies.tolerance.measured_hubs import MeasuredHubs
from simengine.studies.tolerance.model import (
    COLUMNS,
    NONE_FITS,
    ToleranceModel,
    tolerance_model,
    tolerance_places,
)
from simengine.studies.tolerance.parts import PART, Part, count_of, parts_of, read_part
from simengine.studies.tolerance.ranking import Contributions, contributions, halving
from simengine.studies.tolerance.tally import Tally, histogram_edges, share_band
from simengine.units import readable

if TYPE_CHECKING:
    from simengine.studies.shift_evaluator import Place

Array = NDArray[np.float64]

SOLVER = (
    "air's pitch moment tabulated once for each air, shift speeds and margins of every hub by bracketed "
    "roots; scrambled Sobol' sequence; Sobol' indices with bootstrap bands"
)
EDGES = 4  # parts that the ends of the histograms are taken from
WORK = 0.8  # share of the progress that the hubs themselves take


@dataclass(frozen=True)
class Question:
    """What is asked of a scenario: how many hubs drawn with which seed, or hubs measured."""

    scenario: Scenario
    draws: int
    seed: int
    hubs: MeasuredHubs | None = None
    command: str = ""


def refuse_other_hubs(scenario: Scenario, what: str) -> None:
    """Only a hub that shifts by itself has something to say here: ScenarioError for another.

    `what` is asked for, in words.
    """
    if not isinstance(scenario.record.hub, records.TwoStopHub):
        message = (
            f"{what} is for a two_stop hub, which shifts by itself; this hub is {scenario.record.hub.kind}"
        )
        raise ScenarioError([Problem(str(scenario.path), None, "hub.kind", message)])


def model_of(question: Question) -> ToleranceModel:
    """Inputs, places, tables and limits."""
    record = question.scenario.record
    refuse_other_hubs(question.scenario, "a tolerance study")
    from simengine.balance.assembly import assemble

    aircraft = assemble(record)
    places = tolerance_places(
        record, aircraft.atmosphere.temperature_offset, aircraft.dry_mass + aircraft.fuel_start
    )
    if question.hubs is not None:
        hubs = question.hubs
        return tolerance_model(question.scenario, hubs.inputs, places, values=hubs.values)
    return tolerance_model(question.scenario, tolerance_inputs(question.scenario), places)


def worked_out(question: Question, model: ToleranceModel, start: int) -> Part:
    """One part: its draws, or its measured hubs, and all that follows."""
    if question.hubs is not None:
        values = question.hubs.values[start : start + PART]
    else:
        count = min(PART, question.draws - start)
        values = model.values(shares_from(len(model.inputs), start, PART, question.seed)[:count])
    figures = model.figures(values)
    inside = model.inside(figures)
    return Part(start, values, figures, inside, model.washers_to_fit(values, inside))


def part_piece(asked: tuple[Question, ToleranceModel], number: int) -> Piece:
    """One part by its number, for the execution."""
    question, model = asked
    return worked_out(question, model, number * PART).piece()


def asked_of(question: Question) -> tuple[Question, ToleranceModel]:
    """What every part needs."""
    return question, model_of(question)


def tolerance(
    question: Question, store: Store, where: Where | None = None, progress: Progress | None = None
) -> xarray.Dataset:
    """Work a tolerance study out.

    Parameters
    ----------
    question : Question
    store : Store
        Keeps the parts; those of the same question already there are not worked out again.
    where : Where, optional
        Threads, processes or a cluster; the numbers do not depend on it.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.

    Returns
    -------
    xarray.Dataset
        Everything but the single hubs, which stay in the store's parts.

    Raises
    ------
    ScenarioError
        If the hub is not one that shifts by itself.
    ExecutionError
        If workers cannot be used.
    """
    tell = told_to(progress)
    store.begin(*plan_of(question))
    tell(0.0, "tables of the air")
    with threads_of(where):
        model = model_of(question)
        work_out(
            Job(asked_of, part_piece, question),
            count_of(question.draws),
            store,
            where,
            lambda share: tell(WORK * share, "hubs"),
            (question, model),
        )
        tally = tallied(question, model, store)
        tell(WORK, "what matters")
        values = coordinates(model) | tally_values(model, tally)
        values |= ranking_values(question, model)
    tell(1.0, "done")
    return dataset_of(question, model, tally, values)


def plan_of(question: Question) -> tuple[object, ...]:
    """What the parts depend on; the scenario's text has all its layers merged."""
    hubs = question.hubs.digest if question.hubs else ""
    return "tolerance", question.scenario.text, question.draws, question.seed, hubs, PART


def tallied(question: Question, model: ToleranceModel, store: Store) -> Tally:
    """All parts counted, one in memory at a time; the first few say where the histograms end."""
    first = [read_part(store, number).figures for number in range(min(EDGES, count_of(question.draws)))]
    tally = Tally(histogram_edges(np.concatenate(first, axis=1)), model.most_washers, model.criteria)
    for part in parts_of(store, question.draws):
        tally.add(part)
    return tally


def place_words(place: "Place") -> str:
    """Name of a place."""
    return f"ground at {place.height:.0f} m" if place.ground else f"climb at {place.height:.0f} m"


def coordinates(model: ToleranceModel) -> dict[str, Any]:
    """Coordinate variables and what they stand for."""
    by_group = [model.inputs[places[0]] for places in groups(model.inputs).values()]
    return {
        catalogue.PLACE: [place_words(place) for place in model.places],
        catalogue.INPUT: list(groups(model.inputs)),
        catalogue.FIGURE: list(catalogue.RANKED),
        catalogue.CRITERION: [criterion.words for criterion in model.criteria],
        catalogue.WASHERS: np.arange(model.most_washers + 1),
        "place_height": [place.height for place in model.places],
        "place_on_ground": [int(place.ground) for place in model.places],
        "input_half_width": [item.width for item in by_group],
        "input_width_text": [width_text(item) for item in by_group],
        "input_distribution": [item.distribution for item in by_group],
        "input_origin": [item.origin for item in by_group],
        "limit_figure": [criterion.figure for criterion in model.criteria],
        "limit_at_least": [in_stored_unit(each.figure, each.at_least) for each in model.criteria],
        "limit_at_most": [in_stored_unit(each.figure, each.at_most) for each in model.criteria],
        "own_washers": NONE_FITS if model.own_washers is None else model.own_washers,
    }


def in_stored_unit(figure: str, value: float) -> float:
    """End of a limit, a `value` in SI, in the unit of its figure; NaN for an open end."""
    factor = next(variable.factor for variable in catalogue.FIGURES if variable.name == figure)
    return value * factor if np.isfinite(value) else np.nan


def width_text(item: Input) -> str:
    """Half-width for tables."""
    if item.width == 0.0:
        return "as measured"
    within = f", within {readable(item.within, item.dimension)}" if item.within else ""
    return f"± {readable(item.width, item.dimension)}{within}"


def tally_values(model: ToleranceModel, tally: Tally) -> dict[str, Any]:
    """Yields, washers and statistics of every figure [SI]."""
    count = tally.count
    bands = np.array([share_band(int(passed), count) for passed in tally.passed])
    together = share_band(tally.passed_all, count)
    applies = np.array(
        [[place in each.places for place in range(len(model.places))] for each in model.criteria]
    )
    rejects = int(tally.washers[0])
    values: dict[str, Any] = {
        "yield": tally.passed / count,
        "yield_low": bands[:, 0],
        "yield_high": bands[:, 1],
        "yield_together": tally.passed_all / count,
        "yield_together_low": together[0],
        "yield_together_high": together[1],
        "reshim_share": (count - tally.passed_all - rejects) / count,
        "reject_share": rejects / count,
        "hubs_counted": count,
        "limit_met": np.where(applies, tally.met / count, np.nan),
        "washers_share": tally.washers[1:] / count,
    }
    nominal = model.evaluator.figures(row_of(model.record)[None, :])[:, 0]
    told = {
        "mean": tally.mean(),
        "deviation": tally.deviation(),
        "low": tally.quantile(0.025),
        "high": tally.quantile(0.975),
        "lowest": np.where(tally.known > 0, tally.lowest, np.nan),
        "highest": np.where(tally.known > 0, tally.highest, np.nan),
        "nominal": nominal,
        "edges": tally.edges,
        "histogram": tally.bins.astype(np.float64),
    }
    for figure, column in COLUMNS.items():
        place = COMPUTED.index(column)
        values |= {f"{figure}_{name}": array[:, place] for name, array in told.items()}
    return values


def ranking_values(question: Question, model: ToleranceModel) -> dict[str, Any]:
    """Contributions and halved tolerances; NaN for measured hubs, which have no distribution."""
    names, places = len(groups(model.inputs)), len(model.places)
    shape = (names, len(catalogue.RANKED), places)
    if question.hubs is not None:
        parts = [np.full(shape, np.nan)] * 6
        own, halved = np.full(places + 1, np.nan), np.full((names, places + 1), np.nan)
    else:
        columns = [COMPUTED.index(COLUMNS[name]) for name in catalogue.RANKED]
        parts = [part.reshape(shape) for part in contributions(model, columns, question.seed)]
        own, halved = halving(model, question.seed)
    first, first_low, first_high, total, total_low, total_high = Contributions(*parts)
    return {
        "first_order": first,
        "first_order_low": first_low,
        "first_order_high": first_high,
        "total_order": total,
        "total_order_low": total_low,
        "total_order_high": total_high,
        "yield_on_first_draws": own[:-1],
        "yield_together_on_first_draws": own[-1],
        "halved_yield": halved[:, :-1],
        "halved_yield_together": halved[:, -1],
    }


def dataset_of(
    question: Question, model: ToleranceModel, tally: Tally, values: Mapping[str, Any]
) -> xarray.Dataset:
    """Everything but the single hubs, in the units of the catalogue."""
    data = {
        variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
        for dimensions, table in catalogue.TABLES
        for variable in table
    }
    for figure in catalogue.FIGURES:
        data |= {
            variable.name: stored(variable, dimensions, np.asarray(values[variable.name]))
            for dimensions, variable in catalogue.statistics(figure)
        }
    named = {
        variable.name: stored(variable, variable.name, np.asarray(values[variable.name]))
        for variable in catalogue.COORDINATES
    }
    attributes = global_attributes(
        provenance(question, model, tally), setup_of(model.evaluator.machine, model.record)
    )
    attributes |= {
        STUDY: "tolerance",
        "seed": question.seed,
        "blades_linked": "yes" if two_stop(model.record).blades_linked else "no",
        "left_out": "\n".join(left_out(question.scenario, model.inputs)),
        "limits_stated": "yes" if model.record.tolerance.limits else "no",
    }
    return xarray.Dataset(data, coords=named, attrs={k: v for k, v in attributes.items() if v != ""})


def left_out(scenario: Scenario, inputs: Sequence[Input]) -> list[str]:
    """What the scenario gives with a `+-` and this study does not vary."""
    from simengine.scenario.variation import uncertain_inputs

    varied = {item.name for item in inputs}
    return [
        f"{item.path} ± {readable(item.plus_minus, item.dimension)}"
        for item in uncertain_inputs(scenario)
        if item.path not in varied
    ]


def provenance(question: Question, model: ToleranceModel, tally: Tally) -> Provenance:
    """Where the result comes from."""
    record = question.scenario.record
    broken = tally.count - int(tally.known[0, COMPUTED.index("drive")])
    limits = [
        f"{broken} of {tally.count} hubs cannot be built (spring solid or loose, stops crossed, a length, "
        "mass, friction or lost motion below zero): they count as outside the limits"
    ]
    if not two_stop(record).blades_linked:
        limits.append(
            "blades without a link: each is taken at the rotor speed of blades that all stand as it does"
        )
    return study_provenance(
        question.scenario,
        "tolerance",
        "tolerance study computed",
        SOLVER,
        relative_tolerance=1e-9,
        steps=tally.count,
        model_limits=limits if broken else limits[1:],
        command=question.command,
    )
