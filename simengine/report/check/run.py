"""From paths to verdicts: what `simengine check` and the Python call do."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.results.files import is_folder, is_there, written_together
from simengine.studies.check.suite import baseline_path, suite_files

if TYPE_CHECKING:
    from simengine.studies.check.study import Check

Status = Literal["passed", "failed", "bad_input", "no_solution"]
EXIT_CODES: dict[Status, int] = {"passed": 0, "failed": 1, "bad_input": 2, "no_solution": 3}
# Which one a run of several files leaves with: what was not checked at all counts most.
WORST_FIRST: tuple[Status, ...] = ("bad_input", "no_solution", "failed", "passed")


@dataclass(frozen=True)
class Job:
    """What to do beside checking.

    Attributes
    ----------
    store : bool
        Store a baseline where there is none.
    accept : bool
        Store the state of today over an older baseline.
    reason, by : str
        Why, and by whom, for the file's history.
    output : Path
        Folder for pictures of what failed.
    pictures : bool
        Whether to draw at all.
    bad_baseline_apart : bool
        Check agreed figures all the same where the baseline cannot be used.
    before_flying : callable
        Called before each flight.
    """

    store: bool = False
    accept: bool = False
    reason: str = ""
    by: str = ""
    output: Path = Path("outputs")
    pictures: bool = True
    bad_baseline_apart: bool = False
    before_flying: Callable[[], None] = lambda: None


@dataclass(frozen=True)
class FileReport:
    """What checking one file gave.

    Attributes
    ----------
    path : Path
        The scenario.
    status : str
        How it went.
    check : Check or None
        Verdicts; None if it could not be flown.
    error : str
        What was wrong, if it could not be flown.
    note : str
        What was stored, or why not.
    pictures : tuple of Path
        Drawn of what failed.
    """

    path: Path
    status: Status
    check: "Check | None" = None
    error: str = ""
    note: str = ""
    pictures: tuple[Path, ...] = ()


def run_check(
    paths: Sequence[str | Path],
    output: str | Path = "outputs",
    *,
    store: bool = False,
    accept: bool = False,
    reason: str = "",
    by: str = "",
    pictures: bool = True,
    bad_baseline_apart: bool = False,
    before_flying: Callable[[], None] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> list[FileReport]:
    """Check scenarios against what they expect and against their baselines.

    Parameters
    ----------
    paths : sequence of paths
        Scenario files, and folders whose scenarios with `expect:` or a baseline are all taken.
    output : path
        Folder for pictures of what failed.
    store : bool
        Store a baseline where there is none.
    accept : bool
        Store the state of today; needs a `reason`, which stays in the baseline's history.
    reason, by : str
        Why, and by whom.
    pictures : bool
        Whether to draw what failed.
    bad_baseline_apart : bool
        Check the agreed figures of a scenario whose baseline cannot be used all the same.
    before_flying : callable, optional
        Called once, when the first scenario to fly is found good.
    progress : callable, optional
        Called with the share done, 0 to 1, and the file at hand.

    Returns
    -------
    list of FileReport
        One for each file, in their order.

    Raises
    ------
    ScenarioError
        If a path leads nowhere or a folder holds nothing to check. What is wrong with one
        file is in its report.
    OutputError
        If a baseline or a picture cannot be written.

    Examples
    --------
    >>> import simengine
    >>> reports = simengine.check(["scenarios/revisions/revision_a_first_hub.yaml"])
    >>> [report.status for report in reports]
    ['passed']
    """
    if accept and not reason.strip():
        raise ScenarioError([Problem("--accept", None, "", "needs a reason: --reason 'what was decided'")])
    if reason.strip() and not (accept or store):
        raise ScenarioError([Problem("--reason", None, "", "belongs to --accept or --store")])
    files = files_of([Path(path) for path in paths])
    job = Job(
        store,
        accept,
        " ".join(reason.split()),
        by.strip(),
        Path(output),
        pictures,
        bad_baseline_apart,
        cache(before_flying or (lambda: None)),
    )
    reports = []
    for index, path in enumerate(files):
        if progress:
            progress(index / len(files), path.name)
        reports.append(check_file(path, job))
    return reports


def files_of(paths: Sequence[Path]) -> list[Path]:
    """Every file to check, each once, in the order given."""
    problems, files = [], []
    for path in paths:
        found = list(suite_files(path)) if is_folder(path) else [path]
        if not found:
            message = (
                "holds no scenario with 'expect:' or a baseline; store one with: simengine check FILE --store"
            )
            problems.append(Problem(str(path), None, "", message))
        if not is_there(path):
            problems.append(Problem(str(path), None, "", missing_words(path)))
        files += found
    if problems:
        raise ScenarioError(problems)
    return list(dict.fromkeys(files))


def missing_words(path: Path) -> str:
    """What to do about a path that leads nowhere."""
    from simengine.scenario.references import split_reference

    file, variant = split_reference(path)
    if variant is None or not file.is_file():
        return "no such file or folder"
    return f"names a variant; what is checked has a file of its own: one with 'extends: {file.name}'"


def check_file(path: Path, job: Job) -> FileReport:
    """Check one file; what is wrong with it is told, and the others still run."""
    try:
        checked, unusable = checked_scenario(path, job)
        note = "" if unusable else stored_note(checked, path, job)
    except NoSolutionError as error:
        return FileReport(path, "no_solution", error=str(error))
    except ScenarioError as error:
        return FileReport(path, "bad_input", error=str(error))
    settled = checked.passed or (job.accept and not checked.failed)
    drawn = () if settled or not job.pictures else draw(checked, path, job.output)
    status: Status = "bad_input" if unusable else ("passed" if settled else "failed")
    return FileReport(path, status, checked, unusable, note, drawn)


def checked_scenario(path: Path, job: Job) -> "tuple[Check, str]":
    """Load, fly and compare one scenario; and why its baseline cannot be used, if so."""
    from simengine.scenario import load_scenario

    scenario = load_scenario(path)
    has_baseline = is_there(baseline_path(path))
    if not (scenario.record.expect or has_baseline or job.store or job.accept):
        message = "has neither 'expect:' nor a baseline: there is nothing to check"
        raise ScenarioError([Problem(str(path), None, "", message)])
    from simengine.studies.check.baseline_file import read_baseline

    baseline, unusable = None, ""
    try:
        baseline = read_baseline(path, any_name=job.accept) if has_baseline else None
    except ScenarioError as error:
        if not job.bad_baseline_apart:
            raise
        unusable = str(error)
    job.before_flying()
    from simengine.studies.check.study import check

    return check(scenario, baseline), unusable


def stored_note(checked: "Check", path: Path, job: Job) -> str:
    """Store a baseline if that was asked for; what was done, in words."""
    from simengine.studies.check.baseline import refuse_loose
    from simengine.studies.check.baseline_file import write_baseline
    from simengine.studies.check.study import accepted

    older = checked.baseline
    if not (job.accept or (job.store and older is None)):
        return ""
    refuse_loose(checked.scenario)
    if checked.failed:
        return (
            "baseline NOT stored: an agreed figure fails; mend the scenario or agree on another figure first"
        )
    unchanged = older is not None and not (checked.moved or checked.changes)
    if (
        older is not None
        and unchanged
        and older.sha256 == checked.today.sha256
        and older.scenario == path.name
    ):
        return "baseline left as it is: nothing moved"
    reason = job.reason or "first stored"
    written = write_baseline(accepted(checked, reason, job.by), path)
    return f"baseline stored: {written}"


def draw(checked: "Check", path: Path, output: Path) -> tuple[Path, ...]:
    """Draw what failed."""
    from simengine.report.check.picture import check_picture
    from simengine.report.outputs import PICTURE_FORMATS, refuse_folders, write_picture

    paths = tuple(output / f"{path.stem}.check.{form}" for form in PICTURE_FORMATS)
    refuse_folders(list(paths))
    with written_together(paths) as files:
        write_picture(lambda: check_picture(checked), files)
    return paths


def exit_code(reports: Sequence[FileReport]) -> int:
    """Exit code of a run: bad input before no solution before a failure."""
    statuses = {report.status for report in reports}
    return EXIT_CODES[next((status for status in WORST_FIRST if status in statuses), "passed")]
