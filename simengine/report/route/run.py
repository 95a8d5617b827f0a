"""From a scenario file with a route to result files: what the command and the Python call do."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.execution.where import Where
from simengine.report.outputs import DEFAULT_FOLDER, Outcome, checked, write_all

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure


def run_route(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    samples: int | None = None,
    workers: int | None = None,
    processes: bool = False,
    scheduler: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Outcome:
    """Load a scenario, fly its route with its own hub and others, write it.

    A study that was killed goes on where it was when the same is asked again.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    samples : int, optional
        Draws of the uncertain inputs, instead of the scenario's own number; 0 for none.
    workers, processes, scheduler, command, pictures, before_computing, progress
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
    >>> route = simengine.route("scenarios/triangle.yaml", samples=0, pictures=False)
    >>> route.paths[0].name
    'triangle.route.nc'
    """
    from simengine.scenario.references import reference_stem, reference_to

    chosen = reference_to(scenario_path, variant)
    where = Where(workers, processes, scheduler)
    scenario = checked(chosen, before_computing)
    where.ready()
    from simengine.execution.store import kept_beside
    from simengine.studies.route.study import route

    stem = reference_stem(chosen)
    with kept_beside(Path(output) / f"{stem}.route.nc") as store:
        dataset = route(
            scenario, samples=samples, store=store, where=where, progress=progress, command=command
        )
        paths = write_route(dataset, output, stem, pictures=pictures)
    return Outcome(dataset, tuple(paths))


def write_route(
    dataset: "xarray.Dataset", folder: str | Path, stem: str, *, pictures: bool = True
) -> list[Path]:
    """Write a route as `stem.route.nc` and pictures such as `stem.profile.png`; returns the paths."""
    drawn: dict[str, Callable[[], Figure]] = {}
    if pictures:
        from simengine.report.route.pictures import route_drawers

        drawn = {f"{stem}.{name}": partial(draw, dataset) for name, draw in route_drawers(dataset).items()}
    return write_all(dataset, Path(folder) / f"{stem}.route.nc", drawn)


def route_is_possible(dataset: "xarray.Dataset") -> bool:
    """Whether every leg can be flown as asked with the scenario's own hub."""
    from simengine.report.route.text import possible

    return possible(dataset)
