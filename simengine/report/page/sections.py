"""From a result to the section that a page has for it."""

import shlex

import xarray

from simengine.errors import ScenarioError
from simengine.report.page.blocks import PictureBlock, Section, lines_of, table_block, words_blocks
from simengine.report.page.drawings import flight_block, picture_block
from simengine.report.page.inputs import SCENARIO, input_blocks
from simengine.report.page.kinds import FLIGHT, KINDS
from simengine.report.page.reading import Result, refusal
from simengine.results.catalogue import STUDY
from simengine.results.compare_catalogue import STUDY_NAME as COMPARE
from simengine.results.yardsticks import NOT_CHECKED

LEFT_OUT = (
    "one blade stands for all: blades that differ, bend or lag are not in the motion",
    "take-off run, turns, gusts and thermals are not flown",
    "the air's twisting moment has no measured source: fit it to your own ground run",
)
WHOSE = {"compare": "the first case", "calibrate": "the scenario before the fit"}  # inputs that are shown
LISTED = frozenset({"compare", "card"})  # commands whose tables a phone shows row by row
NOT_LOOKED = frozenset({"loads", "calibrate", "card"})  # commands that do not look for limits of the model
AGAIN = "again.yaml"
MORE_FILES = {
    "compare": "and the other cases: each result carries the first case's scenario only",
    "calibrate": "and the readings, which are not in the result",
}


def section_of(result: Result, number: int) -> Section:
    """Everything that the page says of a result, the `number`th of it.

    Raises
    ------
    ScenarioError
        If the file's values make no sense.
    """
    try:
        return built(result, number)
    except Exception as error:  # a damaged file can make no sense in every way there is
        message = (
            "holds values that make no sense to this version of simengine: it may be damaged or of another "
            "version; make it again"
        )
        raise ScenarioError([refusal(result.path, message)]) from error


def built(result: Result, number: int) -> Section:
    """The section of a whole result."""
    dataset, kind = result.dataset, result.kind
    study = str(dataset.attrs.get(STUDY, FLIGHT))
    return Section(
        anchor=f"result-{number}",
        study=study or kind.command,
        kind=kind.name,
        file=result.path.name,
        title=str(dataset.attrs.get("title", "")) or result.path.stem,
        note=str(dataset.attrs.get("note", "")),
        question=kind.question(dataset),
        answer=tuple(kind.sentences(dataset)),
        shown=tuple(table_block(table, listed=kind.command in LISTED) for table in kind.shown(dataset)),
        pictures=pictures_of(result, number),
        tables=tuple(map(table_block, kind.more(dataset))),
        words=words_blocks(kind.words(dataset)),
        inputs=input_blocks(dataset),
        inputs_of=WHOSE.get(kind.command, ""),
        limits=limits_of(dataset),
        looked=kind.command not in NOT_LOOKED,
        not_checked=(*lines_of(dataset.attrs.get("not_checked", "\n".join(NOT_CHECKED))), *LEFT_OUT),
        provenance=provenance_of(result),
        commands=typed_commands(dataset),
        again=commands_again(result),
        scenario=str(dataset.attrs.get(SCENARIO, "")),
    )


def pictures_of(result: Result, number: int) -> tuple[PictureBlock, ...]:
    """The pictures that the command drew too."""
    dataset = result.dataset
    if result.kind is KINDS[FLIGHT]:
        return (flight_block(dataset, f"r{number}p1-"),)
    drawers = result.kind.drawers(dataset)
    return tuple(
        picture_block(name, draw, dataset, f"r{number}p{place}-")
        for place, (name, draw) in enumerate(drawers.items(), 1)
    )


def limits_of(dataset: xarray.Dataset) -> tuple[str, ...]:
    """Limits of the model that were met; of a comparison each with its case."""
    if str(dataset.attrs.get(STUDY, FLIGHT)) == COMPARE:
        from simengine.report.compare.terminal import limit_text

        return lines_of(limit_text(dataset))
    return lines_of(dataset.attrs.get("model_limits", ""))


PROVENANCE = (
    ("source", "computed by"),
    ("versions", "with"),
    ("fidelity", "fidelity"),
    ("solver", "solver"),
    ("solver_relative_tolerance", "relative tolerance"),
    ("solver_steps", "steps"),
    ("solver_rejected_steps", "steps rejected"),
    ("seed", "seed of the draws"),
    ("outcome", "ended"),
    ("institution", "institution"),
    ("references", "references"),
    ("simengine_scenario_sha256", "scenario, sha256"),
)


COUNTS = frozenset({"solver_steps", "solver_rejected_steps"})  # of the integrator, which only a flight has


def provenance_of(result: Result) -> tuple[tuple[str, str], ...]:
    """Where the result comes from, as name and value."""
    attributes = result.dataset.attrs
    told = [("file", result.path.name)]
    told += [("computed", line.partition(": ")[0]) for line in lines_of(attributes.get("history", ""))[:1]]
    told += [
        (words, f"{value:g}" if isinstance(value, float) else str(value))
        for name, words in PROVENANCE
        if (value := attributes.get(name)) is not None
        and (name not in COUNTS or result.kind is KINDS[FLIGHT])
    ]
    return tuple(told)


def typed_commands(dataset: xarray.Dataset) -> tuple[str, ...]:
    """What was typed when the result was made."""
    return tuple(line.partition(": ")[2] or line for line in lines_of(dataset.attrs.get("history", "")))


def commands_again(result: Result) -> tuple[str, ...]:
    """How to get the scenario out of the result and compute it anew."""
    name, command = shlex.quote(result.path.name), result.kind.command
    more = f"   # {MORE_FILES[command]}" if command in MORE_FILES else ""
    return (f"simengine report {name} --scenario-out {AGAIN}", f"simengine {command} {AGAIN}{more}")
