"""From result files to a page: what `simengine report` and the Python call do."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simengine.errors import OutputError, Problem, ScenarioError
from simengine.execution.progress import Progress
from simengine.report.outputs import DEFAULT_FOLDER
from simengine.report.page.blocks import Section
from simengine.results.files import is_folder, is_there, refuse_unwritable, write_text

PAGE_SUFFIXES = (".html", ".htm")
NAME = "report.html"


@dataclass(frozen=True)
class ReportPage:
    """A page that was written: its title, its file, and what it says result by result."""

    title: str
    path: Path
    sections: tuple[Section, ...]


def run_report(
    results: Sequence[str | Path] | str | Path,
    output: str | Path = DEFAULT_FOLDER,
    *,
    title: str | None = None,
    command: str = "",
    progress: Progress | None = None,
) -> ReportPage:
    """Make one self-contained html page from results of any kind.

    Parameters
    ----------
    results : path or sequence of path
        Result files (.nc), folders of them, or patterns such as `outputs/*.nc`.
    output : path
        The page (`.html`), or the folder for it: `NAME.report.html` for one result, else `report.html`.
    title : str, optional
        Of the page; else that of the result.
    command : str
        What the user typed, for the foot of the page.
    progress : callable, optional
        Called now and then with the share done, 0 to 1, and what is being done.

    Returns
    -------
    ReportPage
        Path and contents.

    Raises
    ------
    ScenarioError, OutputError
        Nothing is written in the first case.

    Examples
    --------
    >>> import simengine
    >>> flight = simengine.fly("scenarios/ground_run.yaml", pictures=False)
    >>> page = simengine.report_page(flight.paths[0])
    >>> page.path.suffix
    '.html'
    """
    from simengine.report.page.reading import read_results
    from simengine.report.page.render import page_html
    from simengine.report.page.sections import section_of

    references = [results] if isinstance(results, str | Path) else list(results)
    found = read_results(references)
    path = page_path(Path(output), [result.path for result in found])
    refuse_unwritable(path.parent)
    sections = []
    for number, result in enumerate(found, 1):
        if progress:
            progress((number - 1) / len(found), result.path.name)
        sections.append(section_of(result, number))
    heading = title or (sections[0].title if len(sections) == 1 else f"{len(sections)} results")
    write_text(path, page_html(heading, sections, command))
    return ReportPage(heading, path, tuple(sections))


def page_path(output: Path, results: Sequence[Path]) -> Path:
    """Where the page goes.

    Raises
    ------
    OutputError
        If its name is taken by a folder, or is one that no page has.
    """
    name = f"{results[0].stem}.{NAME}" if len(results) == 1 else NAME
    path = output
    if is_folder(output) or not output.suffix:
        path = output / name
    elif output.suffix.lower() not in PAGE_SUFFIXES:
        raise OutputError(f"{output}: a page ends in {' or '.join(PAGE_SUFFIXES)}; or give a folder with -o")
    if is_folder(path):
        raise OutputError(f"{path}: is a folder; move it away, or give another name with -o")
    return path


def scenario_out(result: str | Path, file: str | Path) -> Path:
    """Write the scenario that a result carries into a file; returns its path.

    Raises
    ------
    ScenarioError
        If the result cannot be read.
    OutputError
        If there is a file of that name already, or it cannot be written.
    """
    from simengine.report.page.inputs import SCENARIO
    from simengine.results.netcdf import read_netcdf

    path = Path(file)
    text = str(read_netcdf(result).attrs[SCENARIO])
    if not text.strip():
        raise ScenarioError([Problem(str(result), None, "", "carries no scenario")])
    if is_there(path):
        raise OutputError(f"{path}: is there already; move it away, or give another name")
    write_text(path, text)
    return path
