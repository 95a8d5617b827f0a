"""Figures of a route as tables: by leg, by hub, by uncertain input."""

from collections.abc import Callable, Sequence
from math import isfinite

import numpy as np
import xarray
from rich import box
from rich.table import Table

from simengine.report.flight.table import NOTHING, figure
from simengine.report.route.text import OWN, signed
from simengine.results.catalogue import PitchState
from simengine.results.route_catalogue import VERDICTS

STATES = tuple(PitchState)
VERDICT_CELLS = {
    "own_hub": NOTHING,
    "saves": "saving larger than its uncertainty",
    "burns_more": "burns more, by more than the uncertainty",
    "within_uncertainty": "smaller than its uncertainty",
    "not_estimated": "uncertainty not estimated",
    "cannot_be_compared": "cannot be compared",
}


def route_tables(dataset: xarray.Dataset) -> list[Table]:
    """Tables of a route."""
    tables = [plan_table(dataset), flown_table(dataset), hubs_table(dataset), beside_table(dataset)]
    if np.isfinite(dataset["variance_share"].values).any():
        tables.append(inputs_table(dataset))
    return tables


def table_of(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    """A table whose first column is words."""
    table = Table(title=title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    for place, heading in enumerate(headings):
        table.add_column(heading, justify="left" if place == 0 else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def plan_table(dataset: xarray.Dataset) -> Table:
    """The legs as planned."""
    take = column_of(dataset, None)
    headings = ("leg", "km", "track, °", "height, m", "ground, m", "wind, km/h", "from, °", "speed by")
    rows = [
        (
            str(name),
            take("leg_distance", leg, ".1f"),
            take("leg_track", leg, "03.0f"),
            take("leg_height", leg),
            take("leg_ground", leg),
            take("leg_wind_speed", leg, ".1f", 3.6),
            take("leg_wind_from", leg, "03.0f"),
            str(dataset["leg_policy"].values[leg]),
        )
        for leg, name in enumerate(dataset["leg"].values)
    ]
    return table_of("The route", headings, rows)


def flown_table(dataset: xarray.Dataset) -> Table:
    """The legs as flown by the scenario's own hub, and their sum."""
    take = column_of(dataset, OWN)
    headings = (
        "leg", "time, min", "airspeed, km/h", "ground, km/h", "ENGINE rpm", "throttle, %", "blades", "L",
        "95 % band, L", "L/h cruise", "L/100 km", "left, L",
    )  # fmt: skip
    rows = [
        (
            str(name),
            take("time", leg, ".0f"),
            take("airspeed", leg, ".1f", 3.6),
            take("ground_speed", leg, ".1f", 3.6),
            take("engine_rpm", leg),
            take("throttle", leg, ".0f", 100.0),
            blades(dataset, leg),
            take("fuel", leg, ".2f"),
            ends(*(float(dataset[key].values[OWN, leg]) for key in ("fuel_low", "fuel_high"))),
            take("fuel_flow", leg, ".2f"),
            take("fuel_per_distance", leg, ".1f"),
            take("fuel_left", leg, ".2f"),
        )
        for leg, name in enumerate(dataset["leg"].values)
    ]
    total = [NOTHING] * len(headings)
    own = {name: float(dataset[name].values[OWN]) for name in TOTALS}
    total[0], total[1] = "whole trip", figure(own["trip_time"], ".0f")
    total[7], total[8] = figure(own["trip_fuel"], ".2f"), ends(own["trip_fuel_low"], own["trip_fuel_high"])
    total[10] = figure(own["trip_fuel_per_distance"], ".1f")
    return table_of(f"Flown with {dataset['hub'].values[OWN]}", headings, [*rows, total])


TOTALS = ("trip_time", "trip_fuel", "trip_fuel_low", "trip_fuel_high", "trip_fuel_per_distance")


def column_of(dataset: xarray.Dataset, hub: int | None) -> Callable[..., str]:
    """How a figure of a leg becomes a cell."""

    def take(name: str, leg: int, form: str = ".0f", factor: float = 1.0) -> str:
        values = dataset[name].values
        value = float(values[leg] if hub is None else values[hub, leg])
        return figure(factor * value, form)

    return take


def blades(dataset: xarray.Dataset, leg: int) -> str:
    """Where the blades are in the cruise."""
    angle = float(dataset["blade_angle"].values[OWN, leg])
    if not isfinite(angle):
        return NOTHING
    state = STATES[int(dataset["pitch_state"].values[OWN, leg])]
    word = "HUNG" if state is PitchState.HUNG else str(state)
    moves = str(dataset.attrs["hub_kind"]) != "fixed"
    return f"{word} {angle:.1f}°" if moves else f"{angle:.1f}°"


def short(name: object) -> str:
    """The scenario's own hub without its stops, which other tables tell."""
    return str(name).partition(" (")[0]


def ends(low: float, high: float) -> str:
    """A band."""
    return f"{low:.2f} to {high:.2f}" if isfinite(low) else NOTHING


def hubs_table(dataset: xarray.Dataset) -> Table:
    """Fuel by hub, and the saving."""
    headings = (
        "hub", "L", "95 % band, L", "L/h", "L/100 km", "time, min", "own hub saves, L", "95 % band of it, L",
        "%", "is the saving larger than its uncertainty?",
    )  # fmt: skip
    rows = []
    for row, name in enumerate(dataset["hub"].values):
        value = {key: float(dataset[key].values[row]) for key in HUB_KEYS}
        own = row == OWN
        rows.append(
            (
                short(name),
                figure(value["trip_fuel"], ".2f"),
                ends(value["trip_fuel_low"], value["trip_fuel_high"]),
                figure(value["trip_fuel_flow"], ".2f"),
                figure(value["trip_fuel_per_distance"], ".1f"),
                figure(value["trip_time"], ".0f"),
                NOTHING if own or not isfinite(value["saving"]) else signed(value["saving"]),
                NOTHING if own else signed_ends(value["saving_low"], value["saving_high"]),
                NOTHING if own else figure(value["saving_share"], "+.1f"),
                VERDICT_CELLS[VERDICTS[int(dataset["verdict"].values[row])]],
            )
        )
    return table_of("The same route, height, mass, airspeed and wind with other hubs", headings, rows)


HUB_KEYS = (
    "trip_fuel",
    "trip_fuel_low",
    "trip_fuel_high",
    "trip_fuel_flow",
    "trip_fuel_per_distance",
    "trip_time",
    "saving",
    "saving_low",
    "saving_high",
    "saving_share",
)


def signed_ends(low: float, high: float) -> str:
    """A band of a difference."""
    return f"{signed(low)} to {signed(high)}" if isfinite(low) else NOTHING


def beside_table(dataset: xarray.Dataset) -> Table:
    """What stands beside the fuel: rpm, noise, climb, reserve, problems."""
    headings = (
        "hub", "cruise ENGINE rpm", "tip Mach cruise", "climb", "noise by tip Mach alone",
        "climb-out, m/s", "at ENGINE rpm", "go-around, m/s", "least fuel left, L", "legs not flown",
    )  # fmt: skip
    limit = float(dataset["engine_rpm_limit"].values)
    rows = []
    for row, name in enumerate(dataset["hub"].values):
        rpm = float(dataset["climb_out_rpm"].values[row])
        problems = sum(bool(str(words)) for words in dataset["problems"].values[row])
        rows.append(
            (
                short(name),
                figure(float(dataset["cruise_rpm"].values[row])),
                figure(float(dataset["cruise_tip_mach"].values[row]), ".3f"),
                figure(float(dataset["climb_tip_mach"].values[row]), ".3f"),
                NOTHING if row == OWN else noise_words(float(dataset["noise_trend"].values[row])),
                figure(float(dataset["climb_out_rate"].values[row]), ".2f"),
                figure(rpm) + (" ABOVE LIMIT" if rpm > limit else ""),
                figure(float(dataset["go_around_rate"].values[row]), ".2f"),
                figure(float(dataset["least_fuel_left"].values[row]), ".2f"),
                str(problems) if problems else NOTHING,
            )
        )
    return table_of("What stands beside the fuel", headings, rows)


def noise_words(trend: float) -> str:
    """Trend of the noise against the own hub."""
    if not isfinite(trend):
        return NOTHING
    if abs(trend) < 1.0:
        return "about the same"
    return f"{'louder' if trend > 0 else 'quieter'}, trend {trend:+.0f} dB"


def inputs_table(dataset: xarray.Dataset) -> Table:
    """Share of the variance by input: of the own fuel, and of each saving."""
    names = [short(name) for name in dataset["hub"].values]
    against = tuple(f"% of saving over {name}" for name in names[1:])
    headings = ("uncertain input", "value", "said by", "% of own fuel's variance", *against)
    shares = 100.0 * dataset["variance_share"].values
    rows = [
        (
            str(path),
            str(dataset["input_text"].values[place]),
            str(dataset["input_origin"].values[place]),
            *(figure(float(shares[hub, place]), ".0f") for hub in range(len(names))),
        )
        for place, path in enumerate(dataset["input"].values)
    ]
    explained = [figure(100.0 * float(value), ".0f") for value in dataset["explained"].values]
    return table_of(
        "Whose uncertainty it is (squared standardised regression coefficients)",
        headings,
        [*rows, ("all inputs together", NOTHING, NOTHING, *explained)],
    )
