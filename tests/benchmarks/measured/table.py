"""The figures on the screen."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from measured.figure import AT_MOST, TOLD, Figure


def shown(value: float) -> str:
    """Three digits, plainly where that is short."""
    return f"{value:,.0f}" if value >= 1000 else f"{value:.3g}"


def value_told(figure: Figure) -> str:
    """What came out."""
    return "-" if figure.value is None else f"{shown(figure.value)} {figure.unit}".strip()


def target_told(figure: Figure) -> str:
    """What was aimed at."""
    if figure.sense == TOLD or figure.target is None:
        return ""
    return f"{'<=' if figure.sense == AT_MOST else '>='} {shown(figure.target)} {figure.unit}".strip()


def verdict(figure: Figure) -> Text:
    """Met or missed, and by how much."""
    if figure.met is None or figure.share is None:
        return Text("not measured" if figure.value is None else "")
    if figure.met:
        return Text("met", style="green")
    return Text(f"MISSED {shown(1.0 / figure.share)}x", style="bold red")


def print_table(console: Console, figures: Sequence[Figure], heading: str) -> None:
    """All figures by group, then why what is missed is missed."""
    table = Table(title=heading, title_justify="left", expand=False)
    for name in ("figure", "measured", "target", "", "absolute"):
        table.add_column(name, overflow="fold")
    before = ""
    for figure in figures:
        if figure.group != before:
            table.add_section()
            table.add_row(Text(figure.group, style="bold"))
            before = figure.group
        table.add_row(
            f"  {figure.name}", value_told(figure), target_told(figure), verdict(figure), figure.measured
        )
    console.print(table)
    for figure in figures:
        if figure.why:
            console.print(f"{figure.group}, {figure.name}: {figure.why}", style="dim", highlight=False)
    counted = [figure for figure in figures if figure.met is not None]
    console.print(f"{sum(bool(figure.met) for figure in counted)} of {len(counted)} targets met")
