"""pytest collects scenarios with `expect:` or a baseline: `pytest scenarios/` is a maker's regression suite.

Loaded in every pytest session where simengine is installed, so nothing but pytest is imported until a
scenario is found. `-p no:simengine` leaves it out.
"""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from simengine.report.check.run import FileReport

SUFFIXES = (".yaml", ".yml")
PROPERTY = ("simengine", "scenario")
OPTION = "simengine_output"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Where pictures of what fails go."""
    parser.getgroup("simengine").addoption(
        "--simengine-output",
        dest=OPTION,
        default="outputs",
        metavar="DIR",
        help="folder for pictures of scenarios that fail (default: outputs, below the root folder)",
    )


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> "ScenarioFile | None":
    """Take scenarios of ours that have something to check; told from a file's text alone."""
    if file_path.suffix not in SUFFIXES:
        return None
    from simengine.studies.check.suite import in_suite

    if not in_suite(file_path, named=parent.session.isinitpath(file_path)):
        return None
    return ScenarioFile.from_parent(parent, path=file_path)


def pytest_terminal_summary(terminalreporter: "pytest.TerminalReporter") -> None:
    """The caution goes with every result; no option leaves it out."""
    reports = (report for kind in ("passed", "failed") for report in terminalreporter.stats.get(kind, ()))
    if any(PROPERTY in getattr(report, "user_properties", ()) for report in reports):
        from simengine.results.cautions import SHORT_CAUTION

        terminalreporter.write_line(f"simengine CAUTION. {SHORT_CAUTION}")


class NotKeptError(Exception):
    """Something agreed that does not hold; its text is the whole report."""


class ScenarioFile(pytest.File):
    """One scenario: flown once, however many of its items are asked for."""

    flown: "FileReport | None" = None

    def collect(self) -> "Iterable[ScenarioItem]":
        """One item for each agreed figure and for each group of the baseline."""
        from simengine.errors import SimengineError
        from simengine.results.files import is_there
        from simengine.scenario import load_scenario
        from simengine.studies.check.baseline_file import read_baseline
        from simengine.studies.check.study import expected_names, group_names
        from simengine.studies.check.suite import baseline_path

        try:
            names = expected_names(load_scenario(self.path))
        except SimengineError:
            return [self.item("scenario", nothing_more)]
        items = [self.item(name, expectation_failure(place)) for place, name in enumerate(unlike(names))]
        if not is_there(baseline_path(self.path)):
            return items
        try:
            groups = group_names(read_baseline(self.path))
        except SimengineError:
            return [*items, self.item("baseline", nothing_more)]
        return [*items, *(self.item(f"baseline: {group}", moved_in(group)) for group in groups)]

    def item(self, name: str, failure: "Failure") -> "ScenarioItem":
        """An item of this file."""
        made = ScenarioItem.from_parent(self, name=name)
        made.failure = failure
        return made

    def report(self) -> "FileReport":
        """What checking the file gave."""
        if self.flown is None:
            from simengine.report.check.run import run_check

            folder = self.config.rootpath / self.config.getoption(OPTION)
            (self.flown,) = run_check([self.path], folder, bad_baseline_apart=True)
        return self.flown


Failure = Callable[["FileReport"], str]


class ScenarioItem(pytest.Item):
    """One agreed figure, or one group of a baseline."""

    failure: Failure

    def runtest(self) -> None:
        """Fly, unless that was done, and look."""
        self.user_properties.append(PROPERTY)
        assert isinstance(self.parent, ScenarioFile)
        report = self.parent.report()
        if report.check is None or (report.error and self.name == "baseline"):
            raise NotKeptError(report.error)
        told = self.failure(report)
        if told:
            pictures = [f"picture: {path}" for path in report.pictures if path.suffix == ".png"]
            raise NotKeptError("\n".join([told, *pictures]))

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: object = None) -> str:
        """What was found, without a traceback through the program."""
        if isinstance(excinfo.value, NotKeptError):
            return str(excinfo.value)
        return str(super().repr_failure(excinfo))

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Heading of the report."""
        return self.path, None, f"{self.path.name}: {self.name}"


def nothing_more(report: "FileReport") -> str:
    """The file itself is what fails; nothing else to look at."""
    return report.error


def expectation_failure(place: int) -> Failure:
    """What is wrong with one agreed figure."""

    def told(report: "FileReport") -> str:
        from simengine.report.check.words import verdict_report

        assert report.check is not None
        verdict = report.check.verdicts[place]
        return "" if verdict.passed else verdict_report(verdict)

    return told


def moved_in(group: str) -> Failure:
    """What moved in one group of the baseline."""

    def told(report: "FileReport") -> str:
        from simengine.report.check.document import group_failure

        assert report.check is not None
        return group_failure(report.check, group)

    return told


def unlike(names: list[str]) -> list[str]:
    """Names of which none is like another: the second of a name gets its count."""
    return [
        name if names[:place].count(name) == 0 else f"{name} ({names[:place].count(name) + 1})"
        for place, name in enumerate(names)
    ]
