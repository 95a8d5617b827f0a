"""From a scenario file to a choice's files: what the command and the Python call do."""

from collections.abc import Callable
from pathlib import Path

from simengine.execution.progress import Progress
from simengine.execution.where import Where, refuse_elsewhere, threads_of
from simengine.report.outputs import DEFAULT_FOLDER, Drawers, Outcome, get_ready, write_study
from simengine.scenario.references import load_reference, reference_stem, reference_to


def run_choose(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    springs: str | Path | None = None,
    where: Where | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Load a scenario, try everything that its block `choose` allows, and write what to fit.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    springs : path, optional
        A csv file of springs instead of those of the block.
    where : simengine.Where, optional
        How many threads; all cores where left out. A choice is soon made: processes and clusters are refused.
    command, pictures, before_computing, progress
        As in `simengine.envelope`.

    Returns
    -------
    Outcome

    Raises
    ------
    ScenarioError, OutputError, ExecutionError
        Nothing is written in the first case. That no choice meets the targets is no error: the attribute
        `feasible` says it.

    Examples
    --------
    >>> import simengine
    >>> choice = simengine.choose("scenarios/choose_spring.yaml", pictures=False)
    >>> choice.dataset.attrs["feasible"]
    'yes'
    """
    refuse_elsewhere(where, "choose")
    chosen = reference_to(scenario_path, variant)
    scenario = load_reference(chosen)
    from simengine.studies.choose.spring_catalogue import read_springs, refuse_catalogue
    from simengine.studies.choose.study import block_of, choose

    block = block_of(scenario)
    if springs is not None:
        refuse_catalogue(scenario, str(springs))
    offered = read_springs(Path(springs), block.shear_modulus) if springs is not None else ()
    get_ready(output, before_computing)
    with threads_of(where):
        dataset = choose(scenario, springs=offered, progress=progress, command=command)
    drawers: Drawers = {}
    if pictures:
        from simengine.report.choose.pictures import choose_drawers

        drawers = choose_drawers(dataset)
    return write_study(dataset, Path(output) / f"{reference_stem(chosen)}.choose.nc", drawers)
