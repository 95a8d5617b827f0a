"""The results that a page is made from: which files, of which kind, and whether they are whole."""

import glob
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import xarray

from simengine.errors import Problem, ScenarioError
from simengine.report.page.kinds import FLIGHT, KINDS, Kind
from simengine.results.catalogue import STUDY
from simengine.results.dataset import program_version
from simengine.results.files import is_file, is_folder, is_there
from simengine.results.netcdf import MARK, read_netcdf
from simengine.results.netcdf_trial import can_be_read

RESULT = ".nc"
MOST_TOLD = 5  # missing variables named in a message
WILD = frozenset("*?[")


@dataclass(frozen=True)
class Result:
    """A result and the file that it came from."""

    path: Path
    dataset: xarray.Dataset
    kind: Kind


def read_results(references: Sequence[str | Path]) -> list[Result]:
    """Read result files, folders of them, and patterns such as `outputs/*.nc`.

    Raises
    ------
    ScenarioError
        With every problem found. What a folder holds beside results of this program is passed over.
    """
    results: list[Result] = []
    problems: list[Problem] = []
    files = result_files(references)
    plain = [path for path, _ in files if is_file(path)]  # a pipe would never end
    tried = len(plain) > 1 and can_be_read(plain)  # if not, each is tried by itself
    for path, from_folder in files:
        try:
            results.append(read_result(path, tried=tried))
        except ScenarioError as error:
            if not (from_folder and is_foreign(error)):
                problems += error.problems
    if not results and not problems:
        problems = [refusal(references[0] if references else ".", f"holds no result of simengine ({RESULT})")]
    if problems:
        raise ScenarioError(problems)
    return results


def is_foreign(error: ScenarioError) -> bool:
    """Whether a file was refused because another program wrote it."""
    return any(f"`{MARK}`" in problem.message for problem in error.problems)


def result_files(references: Sequence[str | Path]) -> list[tuple[Path, bool]]:
    """Files in the order asked for, each once; true for those that were found in a folder."""
    found: dict[Path, bool] = {}
    for reference in references:
        path = Path(reference)
        if is_folder(path):
            inside = results_in(path)
            found |= {each: True for each in inside if each not in found}
        elif WILD & set(str(reference)) and not is_there(path):
            matches = sorted(map(Path, glob.glob(str(reference))))  # noqa: PTH207, of absolute patterns too
            found |= {each: False for each in matches or [path] if each not in found}
        elif path not in found:
            found[path] = False
    return list(found.items())


def results_in(folder: Path) -> list[Path]:
    """Results in a folder, by name.

    Raises
    ------
    ScenarioError
        If it cannot be read.
    """
    try:
        inside = sorted(folder.iterdir())
    except OSError as error:
        raise ScenarioError([refusal(folder, f"cannot be read: {error.strerror}")]) from None
    return [path for path in inside if path.name.endswith(RESULT) and not path.name.startswith(".")]


def read_result(path: Path, *, tried: bool = False) -> Result:
    """Read one result; `tried` if another process has read it to its end before.

    Raises
    ------
    ScenarioError
        If it is no result of this program, of a later version, of an unknown kind, or not whole.
    """
    try:
        dataset = read_netcdf(path, tried=tried)
    except ScenarioError as error:
        raise ScenarioError(
            [replace(each, message=f"{each.message}; accepted: {accepted()}") for each in error.problems]
        ) from error
    written_by = str(dataset.attrs.get("simengine_version", "unknown"))
    if later(written_by, program_version()):
        message = (
            f"was written by simengine {written_by}, later than this one, {program_version()}: "
            "update simengine, or make the result again with this one"
        )
        raise ScenarioError([refusal(path, message)])
    study = str(dataset.attrs.get(STUDY, FLIGHT))
    if study not in KINDS:
        message = f"is a result of the kind '{study}', which simengine {program_version()} does not know"
        raise ScenarioError([refusal(path, f"{message}; accepted: {accepted()}")])
    kind = KINDS[study]
    missing = [name for name in kind.needed if name not in dataset.variables]
    if missing:
        more = f" and {len(missing) - MOST_TOLD} more" if len(missing) > MOST_TOLD else ""
        message = (
            f"is no whole result of `simengine {kind.command}`: {', '.join(missing[:MOST_TOLD])}{more} "
            f"missing; it was cut, or written by another version ({written_by}): make it again"
        )
        raise ScenarioError([refusal(path, message)])
    return Result(path, dataset, kind)


def later(version: str, than: str) -> bool:
    """Whether a version is later in its first two numbers; unknown ones are not."""
    first, second = (re.match(r"(\d+)\.(\d+)", text) for text in (version, than))
    if first is None or second is None:
        return False
    return tuple(map(int, first.groups())) > tuple(map(int, second.groups()))


def accepted() -> str:
    """The commands whose results a page can be made from."""
    return "results of simengine " + ", ".join(kind.command for kind in KINDS.values())


def refusal(path: object, message: str) -> Problem:
    """A file that cannot be used."""
    return Problem(str(path), None, "", message)
