"""Load figures as tables: by condition, spring, frequencies, failures."""

from collections.abc import Callable
from math import isinf

import numpy as np
import xarray
from rich.table import Table

from simengine.report.envelope.table import Column, table_of
from simengine.report.facts import number
from simengine.report.flight.table import figure
from simengine.report.loads.facts import (
    LEVEL_WORDS,
    NO_MARGIN,
    Row,
    conditions,
    every_mode,
    failed,
    failures,
    odd_blade,
    root_known,
    state,
    strength_known,
)
from simengine.report.loads.text import landing_words
from simengine.results.catalogue import PitchState


def loads_tables(dataset: xarray.Dataset) -> list[Table]:
    """Every table that the machine has."""
    tables = [pull_table(dataset), root_table(dataset)]
    if str(dataset.attrs["hub_kind"]) == "two_stop":
        tables += [stop_table(dataset), spring_table(dataset)]
    if every_mode(dataset):
        tables.append(frequency_table(dataset))
    return [*tables, *failure_tables(dataset)]


def failure_tables(dataset: xarray.Dataset) -> list[Table]:
    """Tables on failures; none where the hub has none to look at."""
    rows = failures(dataset)
    if len(rows) == 1:
        return []
    tables = [failure_table(dataset), level_table(dataset)]
    if str(dataset.attrs["hub_kind"]) == "two_stop":
        tables.append(failed_shift_table(dataset))
    if any(odd_blade(row) for row in rows):
        tables.append(odd_blade_table(dataset))
    return [*tables, landing_table(dataset)]


def of(rows: list[Row], name: str, form: str = ".0f", factor: float = 1.0) -> Callable[[int], str]:
    """Figures of one variable, row by row."""
    return lambda place: figure(factor * rows[place][name], form)


def pull_table(dataset: xarray.Dataset) -> Table:
    """Speeds and pull."""
    rows = conditions(dataset)
    columns: list[Column] = [
        ("condition", lambda place: rows[place].name),
        ("ENGINE rpm", of(rows, "load_engine_rpm")),
        ("PROPELLER rpm", of(rows, "load_propeller_rpm")),
        ("blade angle", of(rows, "load_blade_angle", ".1f")),
        ("pull, N per blade", of(rows, "load_pull")),
        ("pull, kgf per blade", of(rows, "load_pull_kgf")),
        ("tip Mach", of(rows, "load_tip_mach", ".3f")),
        ("sound, dB (trend)", of(rows, "load_noise_trend", "+.1f")),
    ]
    return table_of("Pull and tip speed", columns, range(len(rows)))


def root_table(dataset: xarray.Dataset) -> Table:
    """Bending and stress at the root."""
    rows = conditions(dataset)
    where = f"{1000 * number(dataset, 'root_radius'):.0f} mm from the shaft"
    columns: list[Column] = [
        ("condition", lambda place: rows[place].name),
        ("propeller thrust, N", of(rows, "load_thrust")),
        ("flap, N m", of(rows, "load_flap_moment", ".1f")),
        ("lag, N m", of(rows, "load_lag_moment", ".1f")),
    ]
    if root_known(dataset):
        columns += [
            ("pull, MPa", of(rows, "load_stress_pull", ".1f")),
            ("flap, MPa", of(rows, "load_stress_flat", ".1f")),
            ("lag, MPa", of(rows, "load_stress_edge", ".1f")),
            ("sum, MPa", of(rows, "load_stress", ".1f")),
        ]
    if strength_known(dataset):
        columns.append(("strength / sum", of(rows, "load_strength_factor", ".2f")))
    title = f"Root section, one blade, {where}: {NO_MARGIN}"
    return table_of(title, columns, range(len(rows)))


def stop_table(dataset: xarray.Dataset) -> Table:
    """What the stops carry."""
    rows = conditions(dataset)
    columns: list[Column] = [
        ("condition", lambda place: rows[place].name),
        ("ENGINE rpm", of(rows, "load_engine_rpm")),
        ("coarse stop, N m", of(rows, "load_coarse_stop_moment", ".2f")),
        ("fine stop, N m", of(rows, "load_fine_stop_moment", ".2f")),
        ("pin, N", of(rows, "load_pin_force")),
        ("pin shear, MPa", of(rows, "load_pin_shear", ".1f")),
    ]
    pin = f"pin {1000 * number(dataset, 'pin_radius'):.0f} mm from the pitch axis"
    title = f"Stops, one blade on the stop, no help from friction; {pin}"
    return table_of(title, columns, range(len(rows)))


def spring_table(dataset: xarray.Dataset) -> Table:
    """Both ends of the spring's stroke."""
    torsion = bool(np.isfinite(dataset["spring_windup"].values).any())
    names = ("spring_windup", "spring_moment") if torsion else ("spring_compression", "spring_force")
    heads = ("wound up, deg", "moment, N m") if torsion else ("pressed, mm", "force, N")

    def at(name: str, form: str) -> Callable[[int], str]:
        return lambda place: figure(float(dataset[name].values[place]), form)

    columns: list[Column] = [
        ("blades", lambda place: str(dataset["spring_end"].values[place])),
        (heads[0], at(names[0], ".2f")),
        (heads[1], at(names[1], ".1f")),
        ("stress, MPa", at("spring_stress", ".0f")),
    ]
    return table_of("Whole spring at both ends of its stroke", columns, range(2))


def spring_lines(dataset: xarray.Dataset) -> str:
    """Fatigue factors, class of life and strokes flown, one a line; nothing for a hub without a spring."""
    if str(dataset.attrs["hub_kind"]) != "two_stop":
        return ""
    factors = ", ".join(
        f"{name.capitalize()} {figure(number(dataset, f'spring_{name}_factor'), '.2f')}"
        for name in ("sines", "gerber", "goodman")
    )
    strokes = number(dataset, "spring_strokes_allowed")
    allowed = "no end" if isinf(strokes) else figure(strokes, ".0e")
    sizes = zip(dataset["stroke_range"].values, dataset["stroke_count"].values, strict=True)
    counted = ", ".join(f"{count:g} × {size:.2f}°" for size, count in sizes) or "none"
    return "\n".join(
        (
            f"Fatigue factors for a life without end: {factors}; strokes allowed: {allowed}.",
            f"Strokes in {number(dataset, 'flight_hours'):.2f} h flown, rainflow count: {counted}.",
        )
    )


def frequency_table(dataset: xarray.Dataset) -> Table:
    """Every mode at every setting against its nearest excitation."""
    modes = every_mode(dataset)
    columns: list[Column] = [
        ("mode", lambda place: modes[place].mode),
        ("blade", lambda place: modes[place].setting),
        ("ENGINE rpm", lambda place: f"{modes[place].engine_rpm:.0f}"),
        ("Hz", lambda place: f"{modes[place].frequency:.1f}"),
        ("per propeller turn", lambda place: f"{modes[place].order:.2f}"),
        ("apart, %", lambda place: f"{100 * modes[place].separation:+.0f}"),
        ("nearest excitation", lambda place: modes[place].nearest),
    ]
    title = "Frequencies of one blade (pitch: floating, friction left out; flap, lag: first estimate)"
    return table_of(title, columns, range(len(modes)), words_from=6)


def failure_table(dataset: xarray.Dataset) -> Table:
    """What failures do to full throttle."""
    rows = failures(dataset)
    columns: list[Column] = [
        ("failure", lambda place: failed(rows[place])),
        ("static rpm", of(rows, "failure_static_rpm")),
        ("static thrust, N", of(rows, "failure_static_thrust")),
        ("climb rpm", of(rows, "failure_climb_rpm")),
        ("climb, m/s", of(rows, "failure_climb_rate", "+.2f")),
        ("highest rpm", of(rows, "failure_highest_rpm")),
        ("to limit", of(rows, "failure_rpm_margin", "+.0f")),
        ("blades", lambda place: blades_cell(rows[place], "failure_")),
    ]
    return table_of("Failures at full throttle: ENGINE rpm", columns, range(len(rows)))


def failed_shift_table(dataset: xarray.Dataset) -> Table:
    """Where the blades would shift and return in the climb after each failure."""
    rows = failures(dataset)
    columns: list[Column] = [
        ("failure", lambda place: failed(rows[place])),
        ("shift begins", of(rows, "failure_shift_begin_rpm")),
        ("shift finishes", of(rows, "failure_shift_finish_rpm")),
        ("return begins", of(rows, "failure_return_begin_rpm")),
        ("return finishes", of(rows, "failure_return_finish_rpm")),
    ]
    return table_of("Failures, shift at the air speed of the climb: ENGINE rpm", columns, range(len(rows)))


def level_table(dataset: xarray.Dataset) -> Table:
    """What failures do to level flight, and what shakes."""
    rows = failures(dataset)
    columns: list[Column] = [
        ("failure", lambda place: failed(rows[place])),
        ("level flight", lambda place: LEVEL_WORDS[int(rows[place]["failure_level_status"])]),
        ("throttle, %", of(rows, "failure_level_throttle", ".0f", 100.0)),
        ("ENGINE rpm", of(rows, "failure_level_rpm")),
        ("fuel, L/h", of(rows, "failure_level_fuel_flow", ".2f")),
        ("blades", lambda place: blades_cell(rows[place], "failure_level_")),
    ]
    return table_of("Failures in level flight", columns, range(len(rows)))


def odd_blade_table(dataset: xarray.Dataset) -> Table:
    """What one odd blade does to the shaft."""
    rows = [row for row in failures(dataset) if odd_blade(row)]
    columns: list[Column] = [
        ("failure", lambda place: failed(rows[place])),
        ("climb: its thrust, N", of(rows, "failure_thrust_difference", "+.0f")),
        ("bends the shaft, N m", of(rows, "failure_out_of_plane", ".1f")),
        ("pushes it, N", of(rows, "failure_in_plane", ".1f")),
        ("level: its thrust, N", of(rows, "failure_level_thrust_difference", "+.0f")),
        ("bends the shaft, N m", of(rows, "failure_level_out_of_plane", ".1f")),
        ("pushes it, N", of(rows, "failure_level_in_plane", ".1f")),
    ]
    title = "One odd blade, full-throttle climb and level flight: against another, once per turn, safe side"
    return table_of(title, columns, range(len(rows)))


def blades_cell(row: Row, prefix: str) -> str:
    """Where the blades are that are not stuck."""
    found = state(row, f"{prefix}pitch_state")
    if found in (PitchState.COARSE, PitchState.FINE):
        return str(found)
    hung = "hung at " if found is PitchState.HUNG else ""
    return f"{hung}{row[f'{prefix}blade_angle']:.1f}°"


def landing_table(dataset: xarray.Dataset) -> Table:
    """What is assumed of each failure and what is left to the pilot."""
    rows = failures(dataset)
    columns: list[Column] = [
        ("failure", lambda place: failed(rows[place])),
        ("assumed", lambda place: rows[place].words),
        ("to a landing", lambda place: landing_words(rows[place])),
    ]
    return table_of("Failures in words", columns, range(len(rows)), words_from=1)
