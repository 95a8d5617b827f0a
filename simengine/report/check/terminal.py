"""A check on the terminal."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.table import Table

from simengine.report.check.run import FileReport
from simengine.report.check.words import count, headline, moved_lines
from simengine.report.terminal import Speaker

if TYPE_CHECKING:
    from simengine.studies.check.study import Check

WORDS = {"passed": "PASS", "failed": "FAIL", "bad_input": "BAD INPUT", "no_solution": "NO SOLUTION"}
MOST_MOVES = 12


def print_check(reports: Sequence[FileReport], *, quiet: bool = False, verbose: bool = False) -> None:
    """Print what checking gave to standard output; the caution is always part of it.

    Parameters
    ----------
    reports : sequence of FileReport
        One for each file.
    quiet : bool
        One line for each file, and what fails.
    verbose : bool
        Everything compared and every caution too.
    """
    say = Speaker()
    for report in reports:
        print_file(say, report, quiet, verbose)
    say.line(total(reports), style="bold")
    say.caution(verbose=verbose)


def print_file(say: Speaker, report: FileReport, quiet: bool, verbose: bool) -> None:
    """One file."""
    word, style = WORDS[report.status], "" if report.status == "passed" else "bold red"
    checked = report.check
    told = headline(checked) if checked else "could not be checked"
    say.line(f"{word}  {report.path}: {told}", style=style)
    say.lines([f"  {line}" for line in report.error.splitlines()])
    if checked and checked.verdicts and (not quiet or checked.failed):
        say.console.print(verdict_table(checked, only_failed=quiet))
    if checked and checked.moved:
        lines = moved_lines(checked)
        shown = lines if verbose else lines[:MOST_MOVES]
        say.lines([f"  {line}" for line in shown])
        if len(shown) < len(lines):
            say.line(f"  and {len(lines) - len(shown)} more that moved: -v tells all")
    if checked and verbose:
        print_details(say, checked)
    if report.note:
        say.line(f"  {report.note}")
    if not quiet:
        say.lines([f"  picture: {path}" for path in report.pictures if path.suffix == ".png"])
        say.line("")


def verdict_table(checked: "Check", *, only_failed: bool) -> Table:
    """Agreed figures with what was found."""
    table = Table(box=None, pad_edge=True, header_style="bold")
    for heading in ("", "figure", "where", "agreed", "found", "room", "why agreed"):
        table.add_column(heading, overflow="fold")
    for verdict in checked.verdicts:
        if only_failed and verdict.passed:
            continue
        row = (
            "pass" if verdict.passed else "FAIL",
            verdict.figure,
            verdict.where,
            verdict.bound,
            verdict.found,
            verdict.margin,
            verdict.reason,
        )
        table.add_row(*map(plain, row), style="" if verdict.passed else "red")
    return table


def plain(words: str) -> str:
    """Words whose brackets are no markup."""
    return words.replace("[", r"\[")


def print_details(say: Speaker, checked: "Check") -> None:
    """What was compared, how near it came, and the baseline's history."""
    if checked.baseline is None:
        return
    near = sorted(checked.comparisons, key=lambda c: -c.share)[:5]
    lines = [f"{c.group}: {c.name}: {100 * c.share:.3g} % of its tolerance" for c in near]
    say.block(
        f"Compared with the baseline: {len(checked.comparisons)} things; nearest to its tolerance:",
        "\n".join(lines),
    )
    history = [
        f"{entry.date}{f' ({entry.by})' if entry.by else ''}: {entry.reason}"
        + "".join(f"\n    {change}" for change in entry.changes)
        + "".join(f"\n    {name}: {change}" for name, change in entry.figures.items())
        for entry in checked.baseline.history
    ]
    say.block("History of the baseline:", "\n".join(history))


def total(reports: Sequence[FileReport]) -> str:
    """How many files went how."""
    statuses = [report.status for report in reports]
    parts = [
        f"{statuses.count(status)} {words}"
        for status, words in (
            ("passed", "passed"),
            ("failed", "failed"),
            ("bad_input", "with bad input"),
            ("no_solution", "without a physical solution"),
        )
        if status in statuses
    ]
    return f"{count(len(statuses), 'scenario')}: {', '.join(parts)}"
