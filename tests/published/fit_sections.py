"""The numbers of the section families that no published section gives, fitted to the measured propellers.

    PYTHONPATH=tests python tests/published/fit_sections.py

prints the fitted numbers, the errors of every propeller, and the errors of each propeller when it is left out
of the fit. The numbers stand in `simengine.models.section_families.FITTED`, and a test compares the two.

Two steps. First the drift of the zero-lift angle with Reynolds number, read off the measurements alone: the
advance ratio without thrust of every propeller at its several rpm. Then six numbers of drag and greatest lift
by least squares over thrust and power of all propellers, each propeller with the same weight and its datum
fitted inside to its static rows only.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from math import atan, log10, pi

import numpy as np
from measured_propellers import (
    LIGHT_SHARE,
    MeasuredPropeller,
    coefficients,
    column,
    datum_from_static_rows,
    measured_blade,
    measured_rows,
    open_propellers,
    rows,
)
from numpy.typing import NDArray
from scipy.optimize import least_squares

from simengine.models import section_families
from simengine.models.section_families import FITTED

SMOOTH = ("flat_bottom", "naca_4digit")  # published sections, which share their low-Reynolds drag
THIN = ("thin_low_reynolds",)
# Name in FITTED: families and field, start, bounds. Bounds: laminar to bubble-ridden drag, and greatest lift
# that thin sections reach in wind tunnels at these Reynolds numbers (common practice, no source).
PARAMETERS = {
    "smooth_drag_exponent_low": (SMOOTH, "drag_exponent_low", 0.60, 0.30, 0.90),
    "flat_bottom_drag_rise": (("flat_bottom",), "drag_rise", 0.010, 0.004, 0.030),
    "thin_lift_max": (THIN, "lift_max", 1.05, 0.80, 1.40),
    "thin_rounding": (THIN, "rounding", 0.45, 0.10, 0.50),
    "thin_drag_min": (THIN, "drag_min", 0.020, 0.010, 0.030),
    "thin_drag_rise": (THIN, "drag_rise", 0.020, 0.005, 0.060),
}
SCALE = 0.03  # of thrust and power at rest: scatter of the measurements, headers of the data files
NEAR_ZERO = 0.35  # of the greatest thrust: where the line through zero thrust is laid
SPEED_STEP = 500.0  # rpm, runs closer than this are taken together


@contextmanager
def families_with(values: dict[str, float]) -> Iterator[None]:
    """Section families with some of their fitted numbers replaced, for as long as the context lasts."""
    before = dict(section_families.FAMILIES)
    try:
        for name, value in values.items():
            families, field = PARAMETERS[name][:2]
            for family in families:
                held = section_families.FAMILIES[family]
                section_families.FAMILIES[family] = held._replace(**{field: value})
        yield
    finally:
        section_families.FAMILIES.update(before)


def judged_rows(propeller: MeasuredPropeller) -> NDArray[np.float64]:
    """J, rpm, CT, CP with CT above a fifth of its static value, shape (n, 4)."""
    table = measured_rows(propeller)
    return table[table[:, 2] > LIGHT_SHARE * table[table[:, 0] == 0.0, 2].mean()]


def model_of(propeller: MeasuredPropeller) -> tuple[float, NDArray[np.float64]]:
    """Datum from the static rows [rad], and CT and CP of the model at the judged rows, shape (n, 2)."""
    table = judged_rows(propeller)
    blade, angle = measured_blade(propeller)
    datum = datum_from_static_rows(blade, angle, table)
    return datum, coefficients(blade, angle + datum, table[:, 1] / 60.0, table[:, 0])


def deviations(propeller: MeasuredPropeller) -> NDArray[np.float64]:
    """Errors of CT and CP over their static values and the scatter; all propellers have the same weight."""
    table = judged_rows(propeller)
    full_scale = table[table[:, 0] == 0.0, 2:].mean(axis=0)
    error = (model_of(propeller)[1] - table[:, 2:]) / full_scale / SCALE
    return np.asarray(error.ravel() / np.sqrt(len(table)))


def fit(propellers: Sequence[MeasuredPropeller]) -> dict[str, float]:
    """The six numbers from some propellers."""
    names = list(PARAMETERS)
    _, _, start, low, high = (list(values) for values in zip(*PARAMETERS.values(), strict=True))

    def all_deviations(values: NDArray[np.float64]) -> NDArray[np.float64]:
        with families_with(dict(zip(names, values, strict=True))):
            return np.concatenate([deviations(propeller) for propeller in propellers])

    best = least_squares(
        all_deviations, start, bounds=(low, high), x_scale=start, loss="soft_l1", diff_step=1e-2
    )
    return {name: float(value) for name, value in zip(names, best.x, strict=True)}


def zero_thrust_points(propeller: MeasuredPropeller) -> NDArray[np.float64]:
    """log10 of Reynolds number, inflow angle at 0.75 R [rad] without thrust, a row an rpm, shape (n, 2)."""
    table = [row for row in rows(propeller.performance) if float(row["j"]) > 0.0]
    j, rpm, ct, reynolds = (column(table, name) for name in ("j", "rpm", "ct", "re_75_est"))
    points = []
    for step in np.unique(rpm // SPEED_STEP):
        near = (rpm // SPEED_STEP == step) & (ct < NEAR_ZERO * ct.max())
        if near.sum() >= 4 and ct[near].min() < 0.1 * ct.max():
            zero = np.polyfit(ct[near], j[near], 2)[-1]
            points.append((log10(reynolds[near].mean()), atan(zero / (0.75 * pi))))
    return np.array(points).reshape(-1, 2)


def zero_lift_loss() -> float:
    """Fall of the inflow angle without thrust for ten times less Reynolds number [rad]: median of all."""
    slopes = []
    for propeller in open_propellers():
        points = zero_thrust_points(propeller)
        if len(points) > 1 and np.ptp(points[:, 0]) > log10(1.5):
            slopes.append(np.polyfit(points[:, 0], points[:, 1], 1)[0])
    return float(np.median(slopes))


def errors(propeller: MeasuredPropeller) -> dict[str, float]:
    """Datum [deg] and errors [%] of one propeller, judged rows."""
    table = judged_rows(propeller)
    datum, model = model_of(propeller)
    error = 100.0 * (model / table[:, 2:] - 1.0)
    static, size = table[:, 0] == 0.0, np.abs(error)
    return {
        "datum": float(np.degrees(datum)),
        "static CT": float(error[static, 0].mean()),
        "static CP": float(error[static, 1].mean()),
        "median CT": float(np.median(size[:, 0])),
        "median CP": float(np.median(size[:, 1])),
        "worst CT": float(error[size[:, 0].argmax(), 0]),
        "worst CP": float(error[size[:, 1].argmax(), 1]),
    }


def left_out_errors(propeller: MeasuredPropeller) -> dict[str, float]:
    """Errors of a propeller with the numbers fitted to all others."""
    with families_with(fit([other for other in open_propellers() if other != propeller])):
        return errors(propeller)


def pooled_medians() -> tuple[float, float]:
    """Median error of CT and of CP over all judged rows of all propellers [%]."""
    size = np.concatenate(
        [np.abs(model_of(item)[1] / judged_rows(item)[:, 2:] - 1.0) for item in open_propellers()]
    )
    ct, cp = 100.0 * np.median(size, axis=0)
    return float(ct), float(cp)


def print_table(title: str, table: dict[str, dict[str, float]]) -> None:
    """Errors as a markdown table."""
    heads = list(next(iter(table.values())))
    print(f"\n{title}\n\n| propeller | " + " | ".join(heads) + " |\n" + "|---" * (len(heads) + 1) + "|")
    for name, values in table.items():
        print(f"| {name} | " + " | ".join(f"{value:+.1f}" for value in values.values()) + " |")


def main() -> None:
    """Fit and print."""
    loss, fitted = zero_lift_loss(), fit(open_propellers())
    for name, value in {"zero_lift_loss": loss, **fitted}.items():
        print(f"{name} {value:.4f} (in use {FITTED[name]:g})")
    with families_with(fitted):
        print_table("Fitted to all", {item.name: errors(item) for item in open_propellers()})
        print("\nmedians over all rows: CT {:.1f} %, CP {:.1f} %".format(*pooled_medians()))
    print_table("Left out of the fit", {item.name: left_out_errors(item) for item in open_propellers()})


if __name__ == "__main__":
    main()
