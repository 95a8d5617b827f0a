"""From a scenario file to load figures on disk: what `simengine loads` and the Python call do."""

from collections.abc import Callable
from pathlib import Path

from simengine.execution.progress import Progress
from simengine.report.outputs import DEFAULT_FOLDER, Drawers, Outcome, ready_scenario, write_study
from simengine.scenario.references import reference_stem, reference_to


def run_loads(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Load a scenario, compute loads, frequencies and failures, write them.

    Parameters
    ----------
    scenario_path, output, variant, command, pictures, before_computing, progress
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
    >>> loads = simengine.loads("scenarios/loads_and_failures.yaml", pictures=False)
    >>> loads.paths[0].name
    'loads_and_failures.loads.nc'
    """
    chosen = reference_to(scenario_path, variant)
    scenario = ready_scenario(chosen, output, before_computing)
    from simengine.studies.loads.study import loads

    dataset = loads(scenario, progress=progress, command=command)
    drawers: Drawers = {}
    if pictures:
        from simengine.report.loads.pictures import loads_drawers

        drawers = loads_drawers(dataset)
    return write_study(dataset, Path(output) / f"{reference_stem(chosen)}.loads.nc", drawers)
