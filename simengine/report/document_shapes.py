"""What each command prints with `--json`: the keys of the documents, what they hold and mean.

The functions that make the documents return these types, so that the type checker holds both together;
`simengine.report.documents` makes JSON Schemas of them. `Figures` and `Record` stand for the variables of a
result, which the catalogues know by name, unit and meaning.
"""

from typing import Annotated, Any, Literal, NotRequired, TypedDict

Figures = Annotated[dict[str, Any], "figures"]
Record = Annotated[dict[str, Any], "record"]
Coordinates = Annotated[dict[str, list[Any]], "what the lists run along: values or names"]
Dimensions = Annotated[
    dict[str, list[str]], "for each figure the coordinates its lists run along, outermost first"
]
Units = Annotated[dict[str, str], "unit of each figure"]
Number = float | None


class Cautioned(TypedDict):
    """What every document holds."""

    cautions: Annotated[list[str], "read these before you turn a propeller"]


class Headed(Cautioned):
    """What every document of a result holds."""

    simengine_result: Annotated[int, "version of this form"]
    title: Annotated[str, "title of the scenario"]
    source: Annotated[str, "program and version that made it"]


class OfScenario(Headed):
    """A document about one scenario."""

    scenario_sha256: Annotated[str, "digest of the scenario's text"]
    defaults_used: Annotated[list[str], "'key path = value' of everything left to its default"]


class Event(TypedDict):
    """One thing that happened in a flight."""

    event_time: Annotated[float, "s, since the start of the flight"]
    event_kind: str
    event_phase: Annotated[int, "number of the phase, from 0"]
    event_engine_rpm: Annotated[Number, "ENGINE rpm"]
    event_propeller_rpm: Annotated[Number, "propeller rpm"]
    event_blade_angle: Annotated[Number, "degree, from the plane of rotation"]
    event_height: Annotated[Number, "m, above mean sea level"]
    event_airspeed: Annotated[Number, "m/s"]
    event_note: str


class FlightDocument(OfScenario):
    """`simengine fly --json`."""

    fidelity: Literal["dynamic", "steady"]
    outcome: Annotated[str, "how the flight ended"]
    conclusion: Annotated[str, "the answer in words"]
    hub_kind: str
    setup: Annotated[Record, "figures of the machine"]
    phases: Annotated[list[Record], "figures of each phase"]
    events: list[Event]
    units: Units
    model_limits: Annotated[list[str], "limits of the model that were met"]


class OwnPoint(TypedDict):
    """The scenario's own point of an envelope."""

    mass: Annotated[float, "kg, all-up"]
    bar: Annotated[float, "1, from 0 trim to 1 full"]


class Change(TypedDict):
    """One change of the machine and what it does."""

    change_name: str
    change_gain: Annotated[Number, "m of shift ceiling"]
    change_shift_ceiling: Annotated[Number, "m, above mean sea level"]
    change_words: str
    change_shift_begin_rpm: Annotated[Number, "ENGINE rpm"]
    change_shift_finish_rpm: Annotated[Number, "ENGINE rpm"]


class EnvelopeDocument(OfScenario):
    """`simengine envelope --json`. Maps, the throttle sweep and the moments are in the result file only."""

    study: Literal["envelope"]
    conclusion: Annotated[str, "the answer in words"]
    hub_kind: str
    finishes_at_every_height: Annotated[bool | None, "null for a hub that does not shift by itself"]
    own: OwnPoint
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    changes: Annotated[list[Change], "best first"]
    units: Units
    balances: Annotated[list[str], "balances found beside the one flown, in words"]
    model_limits: Annotated[list[str], "limits of the model that were met"]


class Case(TypedDict):
    """One machine of a comparison."""

    name: str
    file: str
    title: str
    scenario_sha256: str
    fidelity: str
    outcome: str
    hub_kind: str
    version: Annotated[str, "of the program that flew it"]
    relative_tolerance: Annotated[float, "of the solver"]


class KeyChange(TypedDict):
    """One key that differs from the first case."""

    case: str
    key: str
    first: Annotated[str, "value in the first case, as typed"]
    here: Annotated[str, "value in this case, as typed"]
    kind: str


class FigureRow(TypedDict):
    """One figure in every case; lists run along the cases."""

    figure: str
    phase: str
    units: str
    better: Annotated[str | None, "which way is better"]
    values: Annotated[list[float | str | None], "in `units`, or the states in words"]
    differences: Annotated[list[Number], "from the first case"]
    tolerances: Annotated[list[Number], "differences below these are the solver's own"]
    verdicts: list[str]


class EventRow(TypedDict):
    """One event in every case; lists run along the cases."""

    event_kind: str
    phase: str
    order: Annotated[int, "of its kind in the phase, from 0"]
    event_elapsed: Annotated[list[Number], "s, since the phase began"]
    event_engine_rpm: Annotated[list[Number], "ENGINE rpm"]
    event_blade_angle: Annotated[list[Number], "degree"]
    same: Annotated[list[bool | None], "whether it is the same as in the first case"]


class CompareDocument(Headed):
    """`simengine compare --json`."""

    study: Literal["compare"]
    cases: list[Case]
    changes: list[KeyChange]
    unlike: Annotated[str, "in what else the flights differ, if that was allowed"]
    conclusion: Annotated[str, "the answer in words"]
    alignment: Annotated[str, "how phases were laid beside one another"]
    figures: list[FigureRow]
    events: list[EventRow]


class VerdictEntry(TypedDict):
    """One agreed figure against what was found; words with units."""

    figure: str
    where: str
    bound: str
    found: str
    margin: Annotated[str, "negative where it is exceeded"]
    reason: str
    passed: bool


class Moved(TypedDict):
    """One thing that moved against the baseline; words with units."""

    group: str
    name: str
    before: str
    now: str
    share: Annotated[Number, "1, difference over tolerance; null where it cannot be measured"]
    difference: str
    tolerance: str


class CheckedFile(TypedDict):
    """One scenario that was checked."""

    path: str
    status: Literal["passed", "failed", "bad_input", "no_solution"]
    error: str
    note: str
    pictures: list[str]
    expectations: list[VerdictEntry]
    moved: list[Moved]
    compared: Annotated[int, "1, things compared with the baseline"]
    changes: Annotated[list[str], "keys changed since the baseline"]
    scenario_sha256: str | None


class CheckDocument(Cautioned):
    """`simengine check --json`."""

    study: Literal["check"]
    simengine: Annotated[str, "version"]
    exit_code: int
    files: list[CheckedFile]


class RouteDocument(OfScenario):
    """`simengine route --json`. The way and the map are in the result file only."""

    study: Literal["route"]
    conclusion: Annotated[str, "the answer in words"]
    hub_kind: str
    possible: Annotated[bool, "whether every leg can be flown"]
    comparison_rule: Annotated[str, "how hubs are compared"]
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    units: Units
    model_limits: Annotated[list[str], "limits of the model that were met"]


class CalibrationDocument(OfScenario):
    """`simengine calibrate --json`. The unit of a row stands in the variable of units along its dimension."""

    study: Literal["calibrate"]
    conclusion: Annotated[str, "the answer in words"]
    contradiction: Annotated[bool, "whether a reading was set aside"]
    identifiability: Annotated[list[str], "which inputs the readings cannot tell apart"]
    chosen_question: Annotated[str, "what the next measurement shall narrow"]
    fitted_scenario: Annotated[str, "file that was written"]
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    log_oddities: Annotated[list[str], "what was odd in a raw log"]


class CardDocument(OfScenario):
    """`simengine card --json`. The unit of a line stands in `item_units`."""

    study: Literal["card"]
    band_basis: Annotated[str, "what the bands come from"]
    items: Annotated[list[str], "names of the card's lines"]
    figures: Figures


class ChooseDocument(OfScenario):
    """`simengine choose --json`."""

    study: Literal["choose"]
    conclusion: Annotated[str, "the answer in words"]
    feasible: Annotated[bool, "whether a combination meets all targets"]
    targets: Annotated[list[str], "what was asked for"]
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    units: Units
    model_limits: Annotated[list[str], "limits of the model that were met"]


class ToleranceDocument(OfScenario):
    """`simengine tolerance --json`. Histograms are in the result file only."""

    study: Literal["tolerance"]
    seed: Annotated[int, "that fixed the draws"]
    conclusion: Annotated[str, "the answer in words"]
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    units: Units
    left_out: Annotated[list[str], "draws that could not be built, and why"]
    model_limits: Annotated[list[str], "limits of the model that were met"]


class LoadsDocument(OfScenario):
    """`simengine loads --json`. Curves are in the result file only."""

    study: Literal["loads"]
    conclusion: Annotated[str, "the answer in words"]
    hub_kind: str
    coordinates: Coordinates
    dimensions: Dimensions
    figures: Figures
    landing: Annotated[dict[str, str], "for each failure whether flight to a landing is possible"]
    units: Units
    spring_life: Annotated[str | None, "in words; null where the wire is not given"]
    spring_basis: Annotated[str, "what the spring's stress was computed from"]
    yardsticks: Annotated[list[str], "rules the figures are held against"]
    not_checked: Annotated[list[str], "what was NOT checked"]


class PageTable(TypedDict):
    """A table of a page, in words."""

    title: str
    headings: list[str]
    rows: list[list[str]]


class PagePicture(TypedDict):
    """A picture of a page."""

    name: str
    subject: str
    caption: str


class PageInput(TypedDict):
    """One input of a scenario."""

    key: str
    value: str
    note: NotRequired[str]


class PageResult(TypedDict):
    """One result on a page."""

    kind: str
    file: str
    title: str
    question: str
    conclusion: str
    warnings: list[str]
    tables: list[PageTable]
    pictures: list[PagePicture]
    words: Annotated[dict[str, list[str]], "paragraphs by heading"]
    inputs: Annotated[dict[str, list[PageInput]], "inputs by origin: measured, assumed, fitted, default ..."]
    model_limits: list[str]
    not_checked: list[str]
    provenance: dict[str, str]
    commands: list[str]
    again: Annotated[list[str], "how to repeat it"]


class PageDocument(Cautioned):
    """`simengine report --json`."""

    simengine_result: Annotated[int, "version of this form"]
    study: Literal["report"]
    title: str
    page: Annotated[str, "file that was written"]
    results: list[PageResult]


class WarmupDocument(TypedDict):
    """`simengine warmup --json`."""

    ready: Annotated[bool, "whether everything is compiled"]
    folder: Annotated[str | None, "where the compiled code is; null if it can be kept nowhere"]
    kept: Annotated[bool, "whether it is there for the next run"]
    size_bytes: Annotated[int, "of the compiled code"]
    seconds: Annotated[float, "that this took"]
    compiled: Annotated[list[str], "what was compiled now"]
    failed: Annotated[list[str], "what was not, and will be when it is needed"]
