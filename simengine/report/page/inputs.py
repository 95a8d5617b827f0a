"""The inputs of a result by where they came from, out of the scenario that the result carries."""

from collections.abc import Mapping

import xarray

from simengine.errors import ScenarioError
from simengine.report.page.blocks import InputsBlock, lines_of
from simengine.scenario.loader import Scenario, scenario_of_text

SCENARIO = "simengine_scenario"
ORIGINS: Mapping[str, str] = {
    "measured": "read from the part or in a test",
    "fitted": "found by a calibration from readings",
    "assumed": "taken on trust",
    "typed": "in the scenario, but without a mark that says where it comes from",
    "default": "not in the scenario: the program's own value, an estimate unless you know better",
}
Row = tuple[str, str, str]


def input_blocks(dataset: xarray.Dataset) -> tuple[InputsBlock, ...]:
    """Inputs by origin, the surest first; origins that none has are left out."""
    scenario = stored_scenario(dataset)
    rows = marked_rows(dataset) if scenario is None else scenario_rows(scenario)
    rows["default"] = default_rows(dataset if scenario is None else scenario)
    return tuple(
        InputsBlock(origin, meaning, tuple(rows[origin]))
        for origin, meaning in ORIGINS.items()
        if rows.get(origin)
    )


def stored_scenario(dataset: xarray.Dataset) -> Scenario | None:
    """The scenario within a result; None if this version of the program does not read it."""
    try:
        return scenario_of_text(str(dataset.attrs.get(SCENARIO, "")), "scenario")
    except ScenarioError:
        return None


def scenario_rows(scenario: Scenario) -> dict[str, list[Row]]:
    """What was typed, by its mark."""
    rows: dict[str, list[Row]] = {}
    for path, origin in scenario.origins.items():
        words = origin.text if origin.value is not None else f"table: {origin.text}"
        if origin.plus_minus is None and origin.value is None and not origin.text:
            words = "a table"
        rows.setdefault(origin.mark or "typed", []).append((path, words, origin.note))
    return rows


def marked_rows(dataset: xarray.Dataset) -> dict[str, list[Row]]:
    """What a result itself tells of its inputs, where its scenario cannot be read."""
    rows: dict[str, list[Row]] = {}
    for line in lines_of(dataset.attrs.get("inputs_marked", "")):
        path, _, words = line.partition(" = ")
        mark = next((name for name in ("measured", "fitted", "assumed") if name in words), "typed")
        rows.setdefault(mark, []).append((path, words, ""))
    return rows


def default_rows(source: Scenario | xarray.Dataset) -> list[Row]:
    """What was left to its default."""
    lines = (
        source.defaults if isinstance(source, Scenario) else lines_of(source.attrs.get("defaults_used", ""))
    )
    return [(path, words, "") for path, _, words in (line.partition(" = ") for line in lines)]
