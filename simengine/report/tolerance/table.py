"""Figures of a tolerance study as tables."""

from math import isnan

import numpy as np
import xarray
from rich import box
from rich.table import Table

from simengine.report.tolerance.text import measured, percent, places

TOLD = (
    "shift_begin_rpm",
    "shift_finish_rpm",
    "return_finish_rpm",
    "full_throttle_rpm",
    "shift_margin_rpm",
    "shift_drive",
)
HEADINGS = {
    "shift_begin_rpm": "shift begins",
    "shift_finish_rpm": "shift finishes",
    "return_begin_rpm": "return begins",
    "return_finish_rpm": "return finishes",
    "full_throttle_rpm": "full throttle",
    "shift_margin_rpm": "margin, rpm",
    "shift_margin_moment": "margin, N m per blade",
    "shift_drive": "least drive on the way, N m per blade",
    "full_throttle_blade_angle": "blade angle, deg",
    "begin_spread_rpm": "begin, between blades",
    "finish_spread_rpm": "finish, between blades",
}
NOTHING = "-"
HUBS_TOLD = 60  # measured hubs told one by one
WORDY = ("spring",)  # columns of words


def tolerance_tables(dataset: xarray.Dataset) -> list[Table]:
    """All tables of a study."""
    tables = [yield_table(dataset), scatter_table(dataset)]
    if "hub" in dataset:
        tables.insert(0, hubs_table(dataset))
    if dataset["input"].size and not measured(dataset):
        tables.append(inputs_table(dataset))
    if int(dataset["own_washers"]) >= 0:
        tables.append(washers_table(dataset))
    return tables


def table(title: str, columns: list[str]) -> Table:
    """An empty table; numbers to the right."""
    made = Table(title=title, box=box.SIMPLE_HEAD, title_justify="left", pad_edge=False)
    for number, column in enumerate(columns):
        first = number == 0
        words = first or column in WORDY
        made.add_column(column, justify="left" if words else "right", overflow="fold", no_wrap=first)
    return made


def yield_table(dataset: xarray.Dataset) -> Table:
    """Yield by place, and by limit."""
    names = places(dataset)
    made = table("Share of hubs inside the limits", ["", *names, "everywhere"])
    made.add_row(
        "all limits",
        *(percent(float(share)) for share in dataset["yield"].values),
        percent(float(dataset["yield_together"])),
    )
    lows = [*dataset["yield_low"].values, float(dataset["yield_together_low"])]
    highs = [*dataset["yield_high"].values, float(dataset["yield_together_high"])]
    if not measured(dataset):
        bands = zip(lows, highs, strict=True)
        made.add_row("  95 % band", *(f"{100 * low:.1f} to {100 * high:.1f} %" for low, high in bands))
    for row, name in enumerate(dataset["limit"].values):
        met = dataset["limit_met"].values[row]
        made.add_row(str(name), *(NOTHING if isnan(share) else percent(float(share)) for share in met), "")
    return made


def scatter_table(dataset: xarray.Dataset) -> Table:
    """Drawing, mean and 95 % of the hubs, by figure and place."""
    ends, words = ("low", "high"), "2.5 % to 97.5 %"
    if measured(dataset):
        ends, words = ("lowest", "highest"), "lowest to highest"
    title = f"Scatter of the hubs: drawing / mean ({words}), ENGINE rpm unless said"
    made = table(title, ["", *places(dataset)])
    spreads = ("begin_spread_rpm", "finish_spread_rpm") if dataset.attrs.get("blades_linked") == "no" else ()
    for name in (*TOLD, *spreads):
        digits = ".2f" if dataset[f"{name}_mean"].attrs["units"] == "N m" else ".0f"
        parts = [dataset[f"{name}_{part}"].values for part in ("nominal", "mean", *ends)]
        cells = [
            scatter_cell(digits, nominal, mean, low, high)
            for nominal, mean, low, high in zip(*parts, strict=True)
        ]
        made.add_row(HEADINGS[name], *cells)
    return made


def scatter_cell(digits: str, nominal: float, mean: float, low: float, high: float) -> str:
    """One cell; dashes for what no hub does."""
    drawing = NOTHING if isnan(nominal) else f"{nominal:{digits}}"
    if isnan(mean):
        return f"{drawing} / {NOTHING}"
    return f"{drawing} / {mean:{digits}} ({low:{digits}} to {high:{digits}})"


def hubs_table(dataset: xarray.Dataset) -> Table:
    """Every measured hub: in or out, washers to fit, begin and finish."""
    made = table(
        "Measured hubs: shift begins / finishes, ENGINE rpm (!! outside a limit there)",
        ["hub", "inside", "washers to fit", *places(dataset)],
    )
    begins, finishes = dataset["shift_begin_rpm"].values, dataset["shift_finish_rpm"].values
    inside, washers = dataset["inside_limits"].values, dataset["washers_to_fit"].values
    count = dataset["hub"].size
    for row in range(min(count, HUBS_TOLD)):
        cells = [
            f"{begin:.0f} / {finish:.0f}{'' if good else ' !!'}"
            for begin, finish, good in zip(begins[row], finishes[row], inside[row], strict=True)
        ]
        fits = "none does" if washers[row] < 0 else str(int(washers[row]))
        good = "yes" if inside[row].all() else "NO"
        made.add_row(str(dataset["hub"].values[row]), good, fits, *cells)
    if count > HUBS_TOLD:
        made.add_row(f"and {count - HUBS_TOLD} more in the file")
    return made


def inputs_table(dataset: xarray.Dataset) -> Table:
    """Every tolerance: what it does to begin, finish and drive, and what halving it brings."""
    made = table(
        f"What each tolerance does ({places(dataset)[0]}: share of the variance with its 95 % band)",
        ["tolerance", "half-width", "begin", "finish", "return", "yield if halved", "from"],
    )
    own = float(dataset["yield_together_on_first_draws"])
    finish = dataset["first_order"].sel(ranked_figure="shift_finish_rpm").isel(place=0).values
    for row in np.argsort(-np.nan_to_num(finish, nan=-1.0)):
        shares = [
            share_cell(dataset, int(row), name)
            for name in ("shift_begin_rpm", "shift_finish_rpm", "return_finish_rpm")
        ]
        halved = float(dataset["halved_yield_together"].values[row])
        made.add_row(
            str(dataset["input"].values[row]),
            f"{dataset['input_width_text'].values[row]} {dataset['input_distribution'].values[row]}",
            *shares,
            f"{percent(halved)} ({100 * (halved - own):+.1f})",
            str(dataset["input_origin"].values[row]),
        )
    return made


def share_cell(dataset: xarray.Dataset, row: int, figure: str) -> str:
    """A share of the variance with its band."""
    place = {"ranked_figure": figure}
    parts = [
        float(dataset[name].sel(place).isel(place=0, input=row))
        for name in ("first_order", "first_order_low", "first_order_high")
    ]
    if isnan(parts[0]):
        return NOTHING
    share, low, high = (100.0 * max(part, 0.0) for part in parts)
    return f"{share:.0f} % ({low:.0f} to {high:.0f})"


def washers_table(dataset: xarray.Dataset) -> Table:
    """How many washers the hubs end up with."""
    own = int(dataset["own_washers"])
    made = table(
        f"Washers that bring a hub inside all limits, nearest to the drawing's {own}",
        ["washers", "share of hubs"],
    )
    for count, share in zip(dataset["washers"].values, dataset["washers_share"].values, strict=True):
        if share > 0.0:
            made.add_row(f"{int(count)}{' (drawing)' if int(count) == own else ''}", percent(float(share)))
    rejects = float(dataset["reject_share"])
    if rejects > 0.0:
        made.add_row("none does", percent(rejects))
    return made
