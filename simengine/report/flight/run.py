"""From a scenario file to a flight on disk: what `simengine fly` and the Python call do."""

from collections.abc import Callable
from pathlib import Path

from simengine.report.outputs import DEFAULT_FOLDER, Outcome, ready_scenario, write_outputs
from simengine.scenario.references import reference_stem, reference_to


def run_fly(
    scenario_path: str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    variant: str | None = None,
    fidelity: str | None = None,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
) -> Outcome:
    """Load, fly, write.

    Parameters
    ----------
    scenario_path, output, variant
        As in `simengine.envelope`.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenario's own.
    command, pictures, before_computing
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
    >>> flight = simengine.fly("scenarios/ground_run.yaml", pictures=False)
    >>> begins, finishes = (flight.dataset[name][0] for name in ("shift_begin_rpm", "shift_finish_rpm"))
    >>> bool(begins < finishes)  # ENGINE rpm in the first phase
    True
    """
    chosen = reference_to(scenario_path, variant)
    scenario = ready_scenario(chosen, output, before_computing)
    from simengine.flight.simulate import simulate

    dataset = simulate(scenario, fidelity=fidelity, command=command)
    paths = write_outputs(dataset, output, reference_stem(chosen), pictures=pictures)
    return Outcome(dataset, tuple(paths))
