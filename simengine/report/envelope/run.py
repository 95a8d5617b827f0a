"""From a scenario file to an envelope's files: what `simengine envelope` and the Python call do."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.execution.progress import Progress
from simengine.execution.where import Where
from simengine.report.outputs import DEFAULT_FOLDER, Drawers, Outcome, ready_scenario, write_study
from simengine.scenario.references import reference_stem, reference_to

if TYPE_CHECKING:
    import xarray


def run_envelope(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    where: Where | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Load a scenario, compute where its shift begins, finishes, hangs and stalls, write it.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path : path
        A scenario file, or `file.yaml:variant`.
    output : path
        Folder for the results, made if it is not there.
    variant : str, optional
        Name of one of the file's variants, to look at instead of the file itself.
    where : simengine.Where, optional
        Threads, processes or a cluster; all cores of this machine where left out. The numbers do not depend
        on it.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_computing : callable, optional
        Called once the scenario is found good.
    progress : callable, optional
        Called now and then with the share done, 0 to 1, and what is being done.

    Returns
    -------
    Outcome
        `dataset`, what was computed, and `paths`, the files written.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError, ExecutionError
        Nothing is written in the first two cases.

    Examples
    --------
    >>> import simengine
    >>> found = simengine.envelope("scenarios/ground_run.yaml", pictures=False)
    >>> found.dataset["shift_ceiling"].attrs["units"]
    'm'
    """
    chosen = reference_to(scenario_path, variant)
    scenario = ready_scenario(chosen, output, before_computing, where)
    from simengine.execution.store import kept_beside
    from simengine.studies.envelope.study import envelope

    data = Path(output) / f"{reference_stem(chosen)}.envelope.nc"
    with kept_beside(data) as store:
        dataset = envelope(scenario, store=store, where=where, progress=progress, command=command)
        return write_envelope(dataset, data, pictures=pictures)


def write_envelope(dataset: "xarray.Dataset", data: Path, *, pictures: bool = True) -> Outcome:
    """Write an envelope and its pictures."""
    drawers: Drawers = {}
    if pictures:
        from simengine.report.envelope.pictures import envelope_drawers

        drawers = envelope_drawers(dataset)
    return write_study(dataset, data, drawers)
