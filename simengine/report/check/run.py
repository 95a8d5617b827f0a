"""From paths to verdicts: what `simengine check` and the Python call do."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.execution.progress import Progress
from simengine.report.check.picture_files import draw, take_away
from simengine.report.outputs import DEFAULT_FOLDER
from simengine.results.files import is_folder, is_there
from simengine.studies.check.suite import baseline_path, suite_files

if TYPE_CHECKING:
    from simengine.studies.check.baseline import Baseline
    from simengine.studies.check.study import Check

Status = Literal["passed", "failed", "bad_input", "no_solution"]
EXIT_CODES: dict[Status, int] = {"passed": 0, "failed": 1, "bad_input": 2, "no_solution": 3}
# Which one a run of several files leaves with: what was not checked at all counts most.
WORST_FIRST: tuple[Status, ...] = ("bad_input", "no_solution", "failed", "passed")


@dataclass(frozen=True)
class Job:
    """What to do beside checking: the arguments of `run_check`."""

    store: bool = False
    accept: bool = False
    reason: str = ""
    by: str = ""
    output: Path = DEFAULT_FOLDER
    pictures: bool = True
    bad_baseline_apart: bool = False
    before_computing: Callable[[], None] = lambda: None


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
        What was stored, or why not, what was removed, and what was not flown.
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
    output: str | Path = DEFAULT_FOLDER,
    *,
    store: bool = False,
    accept: bool = False,
    reason: str = "",
    by: str = "",
    pictures: bool = True,
    bad_baseline_apart: bool = False,
    before_computing: Callable[[], None] | None = None,
    progress: Progress | None = None,
) -> list[FileReport]:
    """Check scenarios against what they expect and against their baselines.

    Parameters
    ----------
    paths : sequence of paths
        Scenario files, and folders whose scenarios with `expect:` or a baseline are all taken.
    output : path
        Folder for pictures of what failed; that of a scenario which passes again is removed.
    store : bool
        Store a baseline where there is none.
    accept : bool
        Store the state of today; needs a `reason`, which stays in the baseline's history.
    reason, by : str
        Why, and by whom.
    pictures : bool
        Whether to draw what failed, and remove what is mended.
    bad_baseline_apart : bool
        Check the agreed figures of a scenario whose baseline cannot be used all the same.
    before_computing : callable, optional
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
        If a baseline or a picture cannot be written, or an old picture not removed.

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
        cache(before_computing or (lambda: None)),
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
    if variant is not None and is_there(file):
        return f"names a variant; what is checked has a file of its own: one with 'extends: {file.name}'"
    try:
        path.stat()
    except PermissionError as error:
        return f"cannot be read: {error.strerror}"
    except (OSError, ValueError):
        pass
    return "no such file or folder"


def check_file(path: Path, job: Job) -> FileReport:
    """Check one file; what is wrong with it is told, and the others still run."""
    try:
        checked, unusable = checked_scenario(path, job)
        checked, note = (checked, "") if unusable else stored(checked, path, job)
    except NoSolutionError as error:
        return FileReport(path, "no_solution", error=str(error))
    except ScenarioError as error:
        return FileReport(path, "bad_input", error=str(error))
    settled = checked.passed or (job.accept and not checked.failed)
    status: Status = "bad_input" if unusable else ("passed" if settled else "failed")
    drawn = () if settled or not job.pictures else draw(checked, path, job.output)
    removed = take_away(path, job.output) if status == "passed" and job.pictures else ()
    notes = "; ".join(words for words in (note, removed_note(removed), variants_note(path)) if words)
    return FileReport(path, status, checked, unusable, notes, drawn)


def removed_note(removed: Sequence[Path]) -> str:
    """That the picture of an earlier failure is gone."""
    return f"picture of an earlier failure removed: {', '.join(map(str, removed))}" if removed else ""


def variants_note(path: Path) -> str:
    """What is not checked of a file: its variants."""
    from simengine.scenario.loader import variant_names

    names = variant_names(path)
    if not names:
        return ""
    heading = "its variant" if len(names) == 1 else "its variants"
    way = f"to have one checked, give it a file of its own with 'extends: {path.name}'"
    return f"not flown: {heading} {', '.join(names)}; {way}"


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
    job.before_computing()
    from simengine.studies.check.study import check

    return check(scenario, baseline), unusable


def stored(checked: "Check", path: Path, job: Job) -> "tuple[Check, str]":
    """Store a baseline if that was asked for; the check, and what was done in words.

    While the scenario flew another run may have stored a baseline: what is stored follows that one.
    """
    from simengine.studies.check.baseline import refuse_loose
    from simengine.studies.check.baseline_file import baselines_locked, read_baseline
    from simengine.studies.check.study import held_against

    if not (job.accept or (job.store and checked.baseline is None)):
        return checked, ""
    refuse_loose(checked.scenario)
    if checked.failed:
        return checked, (
            "baseline NOT stored: an agreed figure fails; mend the scenario or agree on another figure first"
        )
    with baselines_locked(path):
        if is_there(baseline_path(path)):
            checked = held_against(checked, read_baseline(path, any_name=job.accept))
        return checked, stored_note(checked, path, job)


def stored_note(checked: "Check", path: Path, job: Job) -> str:
    """Store a baseline unless there is one that says the same or may not be replaced; what was done."""
    from simengine.studies.check.baseline_file import write_baseline
    from simengine.studies.check.study import accepted

    older = checked.baseline
    if older is not None and not job.accept:
        return "baseline NOT stored: another run stored one meanwhile"
    if older is not None and is_the_same(older, checked, path):
        return "baseline left as it is: nothing moved"
    written = write_baseline(accepted(checked, job.reason or "first stored", job.by), path)
    return f"baseline stored: {written}"


def is_the_same(older: "Baseline", checked: "Check", path: Path) -> bool:
    """Whether nothing moved or changed since a baseline, not even the scenario's text or name."""
    same_text = older.sha256 == checked.today.sha256 and older.scenario == path.name
    return same_text and not (checked.moved or checked.changes)


def exit_code(reports: Sequence[FileReport]) -> int:
    """Exit code of a run: bad input before no solution before a failure."""
    statuses = {report.status for report in reports}
    return EXIT_CODES[next((status for status in WORST_FIRST if status in statuses), "passed")]
