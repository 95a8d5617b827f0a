"""Hubs as rows of numbers for the evaluator: from a record, and with inputs varied over thousands of them."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from simengine import units
from simengine.balance.assembly import assemble_hub, assemble_inertia
from simengine.balance.shift_tables import HUB_FIELDS
from simengine.models.inertia import BladeInertia, counterweight_inertia
from simengine.models.mechanism import Hub
from simengine.models.springs import disc_stack_coefficients, helical_rate
from simengine.scenario import records
from simengine.scenario.tolerance_records import BLADE_MASS, DATUM, FACTORS, FRICTION, INPUTS
from simengine.scenario.variation import value_at

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Get = Callable[[str], Array]

LOST_MOTION = "hub.lost_motion"
BREAKAWAY = "hub.friction.breakaway"
WIRE_PARTS = ("wire_diameter", "mean_diameter", "active_coils", "shear_modulus")
DISC_PARTS = (
    "outer_diameter",
    "inner_diameter",
    "thickness",
    "cone_height",
    "elastic_modulus",
    "poisson_ratio",
)
SIZES = {f"hub.spring.wire.{name}" for name in WIRE_PARTS} | {f"hub.spring.{name}" for name in DISC_PARTS}
INERTIA_FIELDS = ("first_moment", "inertia_sin2", "inertia_cos2", "inertia_sin1", "inertia_cos1")


def hub_row(hub: Hub, inertia: BladeInertia) -> Array:
    """Numbers of a hub in the order of `HUB_FIELDS`, shape (fields,)."""
    spring = hub.spring
    return np.array(
        [
            hub.coarse_stop,
            hub.fine_stop,
            hub.lost_motion,
            spring.linear,
            spring.quadratic,
            spring.cubic,
            spring.preload,
            spring.lever_arm,
            spring.lever_angle,
            spring.share,
            spring.friction_share,
            hub.friction_constant,
            hub.friction_arm,
            hub.breakaway,
            hub.counterweight_sin2,
            hub.counterweight_cos2,
            inertia.first_moment,
            inertia.sin2,
            inertia.cos2,
            inertia.sin1,
            inertia.cos1,
        ]
    )


def row_of(record: records.ScenarioRecord) -> Array:
    """Numbers of a scenario's hub, shape (fields,)."""
    inertia = assemble_inertia(record.propeller)
    return hub_row(assemble_hub(record, inertia), inertia)


def varied_rows(record: records.ScenarioRecord, values: Mapping[str, Array]) -> tuple[Array, Array]:
    """Rows of many hubs, and by how much the blades of each stand wrong.

    Parameters
    ----------
    record : ScenarioRecord
        With a two-stop hub.
    values : mapping of input to array, shape (n,)
        Key paths of `INPUT_PATHS` in SI, `hub.spring.washers`, and the factors `blade_mass` and `friction`.

    Returns
    -------
    rows : NDArray, shape (n, fields)
        NaN throughout where such a hub cannot be built: a spring that goes solid, stops that cross, a
        length, mass, force or friction below zero.
    errors : NDArray, shape (n,)
        Blade angle error of all blades [rad], from the datum.
    """
    count = len(next(iter(values.values()))) if values else 1
    senseless = impossible(record, values, count)
    if senseless.any():  # worked out as one in the middle, so that nothing stumbles; then taken out
        values = {path: np.where(senseless, nominal(record, path), each) for path, each in values.items()}

    def get(path: str) -> Array:
        value = values[path] if path in values else float(value_at(record, path) or 0.0)
        return np.broadcast_to(np.asarray(value, dtype=np.float64), (count,))

    rows = np.tile(row_of(record), (count, 1))
    columns = stop_columns(get) | spring_columns(record, values, get) | friction_columns(values, get)
    if any(path.startswith("hub.counterweights.") for path in values):
        columns |= counterweight_columns(record, get)
    for name, column in columns.items():
        rows[:, HUB_FIELDS.index(name)] = column
    if BLADE_MASS in values:
        for name in INERTIA_FIELDS:
            rows[:, HUB_FIELDS.index(name)] *= values[BLADE_MASS]
    rows[senseless | ~can_be_built(record, rows, get)] = np.nan
    return rows, get(DATUM) - record.propeller.blade_angle_datum


def nominal(record: records.ScenarioRecord, path: str) -> float:
    """Value of the drawing of the key at a `path` [SI]."""
    return 1.0 if path in FACTORS else float(value_at(record, path) or 0.0)


def impossible(record: records.ScenarioRecord, values: Mapping[str, Array], count: int) -> Flags:
    """Hubs with a part that there cannot be, as a wide distribution may draw it, shape (n,).

    `values` by input, shape (n,) each, of a `count` of hubs. Angles may stand to either side of zero, but for
    the lost motion. Friction at rest is not below that in motion; wire and washers have a size, and a washer
    is wider than its hole.
    """
    found = np.zeros(count, dtype=np.bool_)
    for path, column in values.items():
        if path in SIZES:
            found |= column <= 0.0
        elif path == LOST_MOTION or units.ANGLE not in INPUTS.get(path, ()):
            found |= column < (1.0 if path == BREAKAWAY else 0.0)
    if isinstance(spring := two_stop(record).spring, records.DiscWasherSpring):
        hole = values.get("hub.spring.inner_diameter", spring.inner_diameter)
        found |= np.asarray(hole >= values.get("hub.spring.outer_diameter", spring.outer_diameter))
    return found


def stop_columns(get: Get) -> dict[str, Array]:
    """Stops and lost motion, shape (n,) each [rad]."""
    return {name: get(f"hub.{name}") for name in ("coarse_stop", "fine_stop", "lost_motion")}


def friction_columns(values: Mapping[str, Array], get: Get) -> dict[str, Array]:
    """Friction, with its factor among the `values`, shape (n,) each, SI."""
    factor = values.get(FRICTION, np.ones(1))
    return {
        "friction_constant": factor * get("hub.friction.constant"),
        "friction_arm": factor * get("hub.friction.bearing_coefficient") * get("hub.friction.bearing_radius"),
        "breakaway": get("hub.friction.breakaway"),
    }


def spring_columns(record: records.ScenarioRecord, values: Mapping[str, Array], get: Get) -> dict[str, Array]:
    """Force law, preload and lever."""
    spring = two_stop(record).spring
    if isinstance(spring, records.TorsionSpring):
        return {"spring_linear": get("hub.spring.rate"), "preload": get("hub.spring.preload_angle")}
    shims = get("hub.spring.washers") * get("hub.spring.washer_thickness")
    lever = {name: get(f"hub.spring.{name}") for name in ("lever_arm", "lever_angle")}
    if isinstance(spring, records.HelicalSpring):
        preload = get("hub.spring.free_length") - get("hub.spring.fitted_length") + shims
        return lever | {"spring_linear": coil_rate(spring, get), "preload": preload}
    law = lever | {"preload": get("hub.spring.fitted_compression") + shims}
    packed = get("hub.spring.face_friction") * (spring.parallel - 1)
    return law | {"friction_share": packed} | disc_columns(spring, values, get)


def coil_rate(spring: records.HelicalSpring, get: Get) -> Array:
    """Rate of a coil, typed or from its wire, shape (n,) [N/m]."""
    if spring.wire is None:
        return get("hub.spring.rate")
    wire, mean, coils, modulus = (get(f"hub.spring.wire.{name}") for name in WIRE_PARTS)
    return np.asarray(np.vectorize(helical_rate, otypes=[float])(wire, mean, coils, modulus))


def disc_columns(spring: records.DiscWasherSpring, values: Mapping[str, Array], get: Get) -> dict[str, Array]:
    """Force law of a stack of disc washers; one call for each hub only where the washers differ."""
    if not any(f"hub.spring.{name}" in values for name in DISC_PARTS):
        return {}
    each = zip(*(get(f"hub.spring.{name}") for name in DISC_PARTS), strict=True)
    laws = [
        disc_stack_coefficients(
            **dict(zip(DISC_PARTS, map(float, washer), strict=True)),
            parallel=spring.parallel,
            series=spring.series,
        )
        for washer in each
    ]
    names = ("spring_linear", "spring_quadratic", "spring_cubic")
    return dict(zip(names, np.array(laws).T, strict=True))


def counterweight_columns(record: records.ScenarioRecord, get: Get) -> dict[str, Array]:
    """All counterweights of a blade."""
    total = np.zeros((get(DATUM).size, 2))
    for place in range(len(two_stop(record).counterweights)):
        parts = (get(f"hub.counterweights.{place}.{name}") for name in ("mass", "arm", "angle_from_chord"))
        datum = record.propeller.blade_angle_datum
        for i, (mass, arm, angle) in enumerate(zip(*parts, strict=True)):
            weight = counterweight_inertia(float(mass), float(arm), float(angle) + datum)
            total[i] += weight.sin2, weight.cos2
    return {"counterweight_sin2": total[:, 0], "counterweight_cos2": total[:, 1]}


def can_be_built(record: records.ScenarioRecord, rows: Array, get: Get) -> Flags:
    """Whether the spring can follow each hub's blade from stop to stop, shape (n,); `rows` (n, fields)."""
    spring = two_stop(record).spring
    column = {name: rows[:, HUB_FIELDS.index(name)] for name in HUB_FIELDS}
    travel = column["coarse_stop"] - column["fine_stop"] - column["lost_motion"]
    fits = (travel > 0.0) & (column["preload"] >= 0.0) & (column["spring_linear"] > 0.0)
    if isinstance(spring, records.TorsionSpring):
        return np.asarray(fits)
    angle = column["lever_angle"]
    swing = column["lever_arm"] * (np.sin(angle) - np.sin(angle - travel))
    fits &= angle - travel > -0.5 * np.pi
    pressed = column["preload"] + swing
    if isinstance(spring, records.DiscWasherSpring):
        return np.asarray(fits & (pressed < spring.series * get("hub.spring.cone_height")))
    if spring.solid is None:
        return np.asarray(fits)
    solid = spring.solid
    if spring.solid_length is None and spring.wire is not None:
        return np.asarray(
            fits
            & (
                get("hub.spring.free_length") - pressed
                > spring.wire.total_coils * get("hub.spring.wire.wire_diameter")
            )
        )
    return np.asarray(fits & (get("hub.spring.free_length") - pressed > solid))


def two_stop(record: records.ScenarioRecord) -> records.TwoStopHub:
    """The self-shifting hub of a scenario; studies of it ask before: TypeError for another."""
    if not isinstance(record.hub, records.TwoStopHub):
        raise TypeError(f"a hub of kind {record.hub.kind} is not moved by its loads")
    return record.hub
