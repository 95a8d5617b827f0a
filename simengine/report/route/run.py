"""From a scenario file with a route to result files: what the command and the Python call do."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.execution.progress import Progress
from simengine.execution.where import Where
from simengine.report.outputs import DEFAULT_FOLDER, Drawers, Outcome, ready_scenario, write_study
from simengine.scenario.references import reference_stem, reference_to

if TYPE_CHECKING:
    import xarray


def run_route(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    draws: int | None = None,
    where: Where | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Load a scenario, fly its route with its own hub and others, write it.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    draws : int, optional
        Draws of the uncertain inputs, instead of the scenario's own number; 0 for none.
    where, command, pictures, before_computing, progress
        As in `simengine.envelope`.

    Returns
    -------
    Outcome
        Written also where legs cannot be flown: `route_is_possible` tells.

    Raises
    ------
    ScenarioError, OutputError, ExecutionError
        Nothing is written in the first case.

    Examples
    --------
    >>> import simengine
    >>> route = simengine.route("scenarios/triangle.yaml", draws=0, pictures=False)
    >>> route.paths[0].name
    'triangle.route.nc'
    """
    chosen = reference_to(scenario_path, variant)
    scenario = ready_scenario(chosen, output, before_computing, where)
    from simengine.execution.store import kept_beside
    from simengine.studies.route.study import route

    data = Path(output) / f"{reference_stem(chosen)}.route.nc"
    with kept_beside(data) as store:
        dataset = route(scenario, draws=draws, store=store, where=where, progress=progress, command=command)
        return write_route(dataset, data, pictures=pictures)


def write_route(dataset: "xarray.Dataset", data: Path, *, pictures: bool = True) -> Outcome:
    """Write a route and its pictures."""
    drawers: Drawers = {}
    if pictures:
        from simengine.report.route.pictures import route_drawers

        drawers = route_drawers(dataset)
    return write_study(dataset, data, drawers)


def route_is_possible(dataset: "xarray.Dataset") -> bool:
    """Whether every leg can be flown as asked with the scenario's own hub."""
    from simengine.report.route.text import possible

    return possible(dataset)
