"""Tables of a comparison: every figure phase by phase, and the events side by side."""

from collections.abc import Sequence
from itertools import groupby
from math import isfinite

import xarray
from rich import box
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from simengine.report.compare.facts import EventRow, Row, case_names, event_rows, figure_rows, shown
from simengine.report.flight.table import NOTHING
from simengine.results.compare_catalogue import Verdict

CASES_ACROSS = 4  # beside the first; more go into tables of their own
MARKS = {
    Verdict.SAME: "=",
    Verdict.BETTER: "▲",
    Verdict.WORSE: "▼",
    Verdict.NEITHER: "~",
    Verdict.ONLY_FIRST: "none here",
    Verdict.ONLY_HERE: "new",
    Verdict.ABSENT: NOTHING,
}
STYLES = {Verdict.BETTER: "green", Verdict.WORSE: "bold red", Verdict.SAME: "dim"}


def figure_tables(dataset: xarray.Dataset) -> list[Table]:
    """One table a phase (and one of the ceilings) for every few cases."""
    names, rows = case_names(dataset), figure_rows(dataset)
    tables = []
    for cases in groups_of_cases(len(names)):
        for phase, own in groupby(rows, key=lambda row: row.phase):
            tables.append(figure_table(phase, list(own), names, cases))
    return tables


def groups_of_cases(count: int) -> list[list[int]]:
    """Numbers of the cases beside the first, a few at a time."""
    others = list(range(1, count))
    return [others[start : start + CASES_ACROSS] for start in range(0, len(others), CASES_ACROSS)]


def figure_table(phase: str, rows: Sequence[Row], names: Sequence[str], cases: Sequence[int]) -> Table:
    """Figures of one phase: the first case's value, and those of the others with difference and verdict."""
    table = bare_table(phase)
    table.add_column("figure", overflow="fold")
    table.add_column(escape(names[0]), justify="right", overflow="fold")
    for case in cases:
        table.add_column(escape(names[case]), justify="right", overflow="fold")
    for row in rows:
        cells = [figure_cell(row, case) for case in cases]
        units = f", {row.units}" if row.units else ""
        table.add_row(f"{row.label}{units}", row.value_words(0), *cells)
    return table


def figure_cell(row: Row, case: int) -> Text:
    """Value, difference, verdict."""
    verdict = row.verdicts[case]
    if verdict in (Verdict.ABSENT, Verdict.ONLY_FIRST):
        return Text(MARKS[verdict], style="dim")
    parts = [row.value_words(case)]
    if verdict is not Verdict.SAME and isfinite(row.differences[case]):
        parts.append(f"({row.difference_words(case)})")
    return Text(" ".join([*parts, MARKS[verdict]]), style=STYLES.get(verdict, ""))


def event_tables(dataset: xarray.Dataset) -> list[Table]:
    """Events side by side, for every few cases; none where nothing happened."""
    names, rows = case_names(dataset), event_rows(dataset)
    if not rows:
        return []
    return [event_table(rows, names, cases) for cases in groups_of_cases(len(names))]


def event_table(rows: Sequence[EventRow], names: Sequence[str], cases: Sequence[int]) -> Table:
    """Time since the phase began and ENGINE rpm; of the others their differences."""
    table = bare_table("Events: time since the phase began, ENGINE rpm; of the others the difference")
    for heading in ("phase", "event"):
        table.add_column(heading, overflow="fold")
    for case in (0, *cases):
        table.add_column(escape(names[case]), justify="right", overflow="fold")
    for row in rows:
        cells = [event_cell(row, case) for case in cases]
        table.add_row(escape(row.phase_name), row.words, first_cell(row), *cells)
    return table


def first_cell(row: EventRow) -> str:
    """Time and rpm in the first case."""
    return f"{row.elapsed[0]:.1f} s  {row.rpm[0]:.0f}" if isfinite(row.elapsed[0]) else NOTHING


def event_cell(row: EventRow, case: int) -> Text:
    """How much later, and at how many rpm more; or that only one of the two has it."""
    first, here = isfinite(row.elapsed[0]), isfinite(row.elapsed[case])
    if not here:
        return Text("none here" if first else NOTHING, style="bold red" if first else "dim")
    if not first:
        return Text(f"new: {row.elapsed[case]:.1f} s  {row.rpm[case]:.0f}", style="bold red")
    if row.same[case]:
        return Text(MARKS[Verdict.SAME], style="dim")
    later, faster = row.elapsed[case] - row.elapsed[0], row.rpm[case] - row.rpm[0]
    return Text(f"{shown(later, 2, '+')} s  {shown(faster, 1 if abs(faster) < 10.0 else 0, '+')}")


def bare_table(title: str) -> Table:
    """A table in the house's style."""
    return Table(
        title=title,
        title_justify="left",
        title_style="bold",
        header_style="",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
    )
