"""A choice as tables: options with what each gives up, and the shim table."""

from math import isnan

import numpy as np
import xarray
from rich.table import Table

from simengine.report.tolerance.table import NOTHING, table
from simengine.report.tolerance.text import percent


def choose_tables(dataset: xarray.Dataset) -> list[Table]:
    """All tables of a choice."""
    tables = [targets_table(dataset), options_table(dataset)]
    if dataset["washers"].size > 1:
        tables.append(shim_table(dataset))
    return tables


def cell(value: float, form: str = ".0f") -> str:
    """A number, or a dash where there is none."""
    return NOTHING if isnan(value) else f"{value:{form}}"


def targets_table(dataset: xarray.Dataset) -> Table:
    """What is asked for, and what the first option has to spare."""
    made = table("Targets in every place", ["target", "spare in the worst place, option 1"])
    for row, words in enumerate(str(dataset.attrs["targets"]).splitlines()):
        slack = float(dataset["option_slack"].values[0, row])
        life = row == dataset["target"].size - 1
        if isnan(slack):
            made.add_row(words, "not checked: wire unknown")
        else:
            made.add_row(words, f"{slack:+.2f}" if life else f"{slack:+.0f} rpm")
    return made


def options_table(dataset: xarray.Dataset) -> Table:
    """One row an option."""
    met = dataset["option_meets_all"].values
    title = "Options, best first" if met.any() else "Nearest misses; none meets all targets"
    made = table(
        f"{title} (ENGINE rpm, worst of {dataset['place'].size} places)",
        [
            "",
            "spring",
            "N/mm",
            "washers",
            "stops, deg",
            "cw, g",
            "begin",
            "finish",
            "margin",
            "return",
            "highest",
            "life",
            "yield",
        ],
    )
    for row in range(dataset["option"].size):
        value = {name: dataset[f"option_{name}"].values[row] for name in NAMES}
        made.add_row(
            f"{row + 1}",
            str(value["spring"]),
            cell(float(value["spring_rate"]), ".1f"),
            str(int(value["washers"])),
            f"{float(value['coarse_stop']):.1f}/{float(value['fine_stop']):.1f}",
            cell(float(value["counterweight"]), "g"),
            cell(float(value["begin_rpm"])),
            cell(float(value["finish_rpm"])),
            cell(float(value["margin_rpm"])),
            cell(float(value["return_rpm"])),
            cell(float(value["fastest_rpm"])),
            cell(float(value["life_factor"]), ".2f"),
            percent(float(value["yield"])),
        )
    return made


NAMES = (
    "spring",
    "spring_rate",
    "washers",
    "coarse_stop",
    "fine_stop",
    "counterweight",
    "begin_rpm",
    "finish_rpm",
    "margin_rpm",
    "return_rpm",
    "fastest_rpm",
    "life_factor",
    "yield",
)


def given_up_lines(dataset: xarray.Dataset) -> str:
    """What each option gives up, one a line."""
    return "\n".join(
        f"option {row + 1} {words}" for row, words in enumerate(dataset["option_gives_up"].values)
    )


def shim_rows(dataset: xarray.Dataset) -> list[tuple[int, list[str]]]:
    """Washers and cells `begin / finish` by place; a dash where the hub cannot be built so."""
    rows = []
    for row, count in enumerate(dataset["washers"].values):
        begin, finish = (dataset[name].values[row] for name in ("shim_begin_rpm", "shim_finish_rpm"))
        if np.isnan(begin).all() and np.isnan(finish).all():
            cells = ["cannot be built"] + [""] * (begin.size - 1)
        else:
            cells = [f"{cell(float(a))} / {cell(float(b))}" for a, b in zip(begin, finish, strict=True)]
        rows.append((int(count), cells))
    return rows


def shim_table(dataset: xarray.Dataset) -> Table:
    """Begin and finish for each number of washers: the page for the wall."""
    made = table(
        "Shim table of option 1: shift begins / finishes, ENGINE rpm, own day and mass",
        ["washers", *(str(name) for name in dataset["shim_place"].values)],
    )
    own = int(dataset["option_washers"].values[0])
    for count, cells in shim_rows(dataset):
        made.add_row(f"{count}{' <' if count == own else ''}", *cells)
    return made
