"""A test card: what a planned ground run and flight should show if the model is right, with bands."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from simengine.execution.progress import Progress, told_to
from simengine.results import card_catalogue as catalogue
from simengine.results.study_dataset import study_dataset
from simengine.scenario import Scenario
from simengine.scenario.variation import COVERAGE_FACTOR
from simengine.studies.calibrate.card_items import Item, items_of
from simengine.studies.calibrate.fit import jacobian_of
from simengine.studies.calibrate.parameters import Parameter, changes, parameters_of, prior_of
from simengine.studies.calibrate.subject import subject_of, varied_if_possible
from simengine.studies.envelope.study import setup_of
from simengine.studies.provenance import study_provenance

if TYPE_CHECKING:
    import xarray

Array = NDArray[np.float64]
SOLVER = "steady balances; bands by first-order propagation of the uncertain inputs with their correlation"
ABOVE_SITE = 1500.0  # height of the level run above the site if none is asked for [m]
LEVEL_TIME = 1800.0  # [s]


def card(
    scenario: Scenario,
    *,
    height: float | None = None,
    level_time: float = LEVEL_TIME,
    progress: Progress | None = None,
    command: str = "",
) -> "xarray.Dataset":
    """Predict a test with bands.

    Bands are `sqrt(g' C g)` with the covariance C of the inputs (JCGM 100:2008, equation 13): `+-` as typed
    or fitted, with the correlation that a calibration left in the scenario, and usual uncertainties where
    nothing was typed.

    Parameters
    ----------
    scenario : Scenario
        Best one that `simengine calibrate` has fitted.
    height : float, optional
        Of the level run and of the shift up high, above mean sea level [m]; 1500 m above the site if left
        out.
    level_time : float
        Duration of the level run [s].
    progress : callable, optional
        Called with the share done and what is being done.
    """
    tell = told_to(progress)
    record = scenario.record
    level = record.site.height + ABOVE_SITE if height is None else height
    base = subject_of(record)
    items = items_of(record, level, level_time)
    parameters = parameters_of(scenario)
    prior = prior_of(record, parameters)

    def model(values: Array) -> Array:
        moved = varied_if_possible(base, changes(record, parameters, values))
        if moved is None:
            return np.full(len(items), np.nan)
        return np.array([item.answer(moved) for item in items])

    tell(0.1, "predicting")
    values = np.array([item.answer(base) for item in items])
    slopes = jacobian_of(model, prior, np.zeros(prior.values.size))
    bands = COVERAGE_FACTOR * np.sqrt((slopes**2).sum(axis=1))
    tell(1.0, "done")
    return study_dataset(
        "card",
        catalogue.COORDINATES,
        catalogue.TABLES,
        item_values(items, values, bands)
        | {"engine_rpm_limit": base.machine.speed_limit, "card_height": level},
        {"band_basis": basis(scenario, parameters)},
        study_provenance(scenario, "card", "card computed", SOLVER, relative_tolerance=1e-9, command=command),
        setup_of(base.machine, record),
    )


def item_values(items: list[Item], values: Array, bands: Array) -> dict[str, object]:
    """Everything along the lines."""
    factors = np.array([item.factor for item in items])
    shown, spread = factors * values, factors * bands
    known = np.isfinite(values)
    return {
        "item": [f"{item.stage}: {item.words}" for item in items],
        "stage": [item.stage for item in items],
        "action": [item.action for item in items],
        "look": [
            light_words(item.role, float(value), float(band)) if item.role else item.look
            for item, value, band in zip(items, shown, spread, strict=True)
        ],
        "item_words": [item.words for item in items],
        "item_units": [item.unit for item in items],
        "item_value": shown,
        "item_band": np.where(known, spread, np.nan),
        "item_happens": known,
    }


def light_words(role: str, left: float, band: float) -> str:
    """Which light must be on, may be on, or will not be on, by what is left and how sure that is."""
    name, other = (
        ("FINE", "blades HANG: throttle back") if role == "fine" else ("COARSE", "blades on their way")
    )
    if not np.isfinite(left):
        return f"{name} light: the model gives no figure"
    if left - band > 0.0:
        return f"{name} light ON"
    if left + band < 0.0:
        return f"{name} light stays OFF, {other}"
    return f"{name} light {'probably ON' if left > 0.0 else 'probably OFF'}, NOT SURE; if off, {other}"


def basis(scenario: Scenario, parameters: tuple[Parameter, ...]) -> str:
    """What the bands rest on."""
    known = scenario.record.calibration
    usual = [parameter.words for parameter in parameters if parameter.usual]
    parts = []
    if known is not None:
        parts.append(f"fitted to {known.readings or 'readings'}, correlation kept")
    if usual:
        parts.append(f"usual uncertainties, nothing typed or measured, for: {', '.join(usual)}")
    return (
        "Bands hold 95 % if the model is right: " + "; ".join(parts or ["the +- typed in the scenario"]) + "."
    )
