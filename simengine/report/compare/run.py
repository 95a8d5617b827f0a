"""From scenario files and results to the files of a comparison."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from simengine.execution.progress import Progress
from simengine.report.outputs import DEFAULT_FOLDER, Drawers, Outcome, get_ready, write_study

NAMED = 2  # cases that a file's name tells; of more only how many


def run_compare(
    references: Sequence[str | Path],
    output: str | Path = DEFAULT_FOLDER,
    *,
    fidelity: str | None = None,
    envelope: bool = False,
    unlike: bool = False,
    command: str = "",
    pictures: bool = True,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Read, fly what is not flown yet, compare with the first, write.

    Parameters
    ----------
    references : sequence of path
        Scenario files, `file.yaml:variant`, or results of flights (.nc). One file alone is compared with all
        its variants.
    output
        As in `simengine.envelope`.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenarios' own.
    envelope : bool
        Compare shift ceiling and service ceiling too.
    unlike : bool
        Compare flights that differ in more than the machine.
    command, pictures, before_computing, progress
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
    >>> comparison = simengine.compare(["scenarios/two_stop_or_fixed.yaml"], pictures=False)
    >>> str(comparison.dataset["case"].values[0])
    'two_stop_or_fixed'
    """
    from simengine.studies.compare.cases import read_cases

    named = [str(reference) for reference in references]
    cases = read_cases(named)  # before the study: bad input is told at once, not after heavy imports
    from simengine.studies.compare.study import compare

    dataset = compare(
        cases,
        fidelity=fidelity,
        envelope=envelope,
        unlike=unlike,
        command=command,
        before_computing=partial(get_ready, output, before_computing),
        progress=progress,
    )
    drawers: Drawers = {}
    if pictures:
        from simengine.report.compare.pictures import COMPARE_DRAWERS

        drawers = COMPARE_DRAWERS
    return write_study(dataset, Path(output) / f"{compare_stem(named)}.nc", drawers)


def compare_stem(references: Sequence[str]) -> str:
    """Name of the result's files: one file's own, or the first two and how many more."""
    from simengine.scenario.references import reference_stem

    stems = [reference_stem(reference) for reference in references]
    more = f"-and-{len(stems) - NAMED}-more" if len(stems) > NAMED else ""
    return f"{'-'.join(stems[:NAMED])}{more}.compare"
