"""From a scenario to a test card: what `simengine card` and the Python call do."""

from collections.abc import Callable
from pathlib import Path

from simengine import units
from simengine.errors import Problem, ScenarioError
from simengine.execution.progress import Progress
from simengine.report.outputs import DEFAULT_FOLDER, Outcome, ready_scenario, write_all
from simengine.scenario.quantities import QuantityError, parse_quantity
from simengine.scenario.references import reference_stem, reference_to


def run_card(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    height: str | None = None,
    level_time: str = "30 min",
    command: str = "",
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Predict a planned ground run and flight with bands; write it as html, text and NetCDF.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    height : str, optional
        Height of the level run with its unit, `1500 m`; 1500 m above the site if left out.
    level_time : str
        Duration of the level run with its unit.
    command, before_computing, progress
        As in `simengine.envelope`.

    Returns
    -------
    Outcome

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError
        Nothing is written in the first two cases.

    Examples
    --------
    >>> import simengine
    >>> card = simengine.card("scenarios/ground_run.yaml", height="500 m")
    >>> [path.suffix for path in card.paths]
    ['.nc', '.html', '.txt']
    """
    level = None if height is None else quantity("--height", height, units.LENGTH, -500.0, 9000.0)
    duration = quantity("--level-time", level_time, units.TIME, 10.0, 36000.0)
    chosen = reference_to(scenario_path, variant)
    scenario = ready_scenario(chosen, output, before_computing)
    from simengine.report.calibrate.card_page import card_html, card_text
    from simengine.studies.calibrate.card import card

    dataset = card(scenario, height=level, level_time=duration, progress=progress, command=command)
    stem = reference_stem(chosen)
    texts = {f"{stem}.card.html": card_html(dataset), f"{stem}.card.txt": card_text(dataset)}
    return Outcome(dataset, tuple(write_all(dataset, Path(output) / f"{stem}.card.nc", {}, texts)))


def quantity(option: str, text: str, dimension: units.Dimension, low: float, high: float) -> float:
    """A quantity typed on the command line, in SI."""
    try:
        value = parse_quantity(text, dimension).value
    except QuantityError as error:
        raise ScenarioError([Problem(option, None, "", f"'{text}': {error}")]) from None
    if not low <= value <= high:
        span = f"{units.readable(low, dimension)} to {units.readable(high, dimension)}"
        raise ScenarioError([Problem(option, None, "", f"'{text}' is out of range; possible: {span}")])
    return value
