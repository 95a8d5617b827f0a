"""From scenario files and results to the files of a comparison."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.report.outputs import DEFAULT_FOLDER, Outcome, write_all

if TYPE_CHECKING:
    from matplotlib.figure import Figure

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
    before_flying: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Outcome:
    """Read, fly what is not flown yet, compare with the first, write.

    Parameters
    ----------
    references : sequence of path
        Scenario files, `file.yaml:variant`, or results of flights (.nc). One file alone is compared with all
        its variants.
    output : path
        Folder for the results, made if it is not there.
    fidelity : {"dynamic", "steady"}, optional
        Instead of the scenarios' own.
    envelope : bool
        Compare shift ceiling and service ceiling too.
    unlike : bool
        Compare flights that differ in more than the machine.
    command : str
        What the user typed, for the file's history.
    pictures : bool
        Whether to draw as well.
    before_flying : callable, optional
        Called once everything that was named is found good.
    progress : callable, optional
        Called now and then with the share done, 0 to 1, and what is being done.

    Raises
    ------
    ScenarioError, NoSolutionError, OutputError
        Nothing is written in the first two cases.
    """
    from simengine.studies.compare.study import compare

    named = [str(reference) for reference in references]
    dataset = compare(
        named,
        fidelity=fidelity,
        envelope=envelope,
        unlike=unlike,
        command=command,
        before_flying=before_flying,
        progress=progress,
    )
    drawn: dict[str, Callable[[], Figure]] = {}
    stem = compare_stem(named)
    if pictures:
        from simengine.report.compare.pictures import COMPARE_DRAWERS

        drawn = {f"{stem}.{name}": partial(draw, dataset) for name, draw in COMPARE_DRAWERS.items()}
    return Outcome(dataset, tuple(write_all(dataset, Path(output) / f"{stem}.nc", drawn)))


def compare_stem(references: Sequence[str]) -> str:
    """Name of the result's files: one file's own, or the first two and how many more."""
    from simengine.scenario.references import reference_stem

    stems = [reference_stem(reference) for reference in references]
    more = f"-and-{len(stems) - NAMED}-more" if len(stems) > NAMED else ""
    return f"{'-'.join(stems[:NAMED])}{more}.compare"
