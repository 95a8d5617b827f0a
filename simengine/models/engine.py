"""A spark-ignition engine: torque and fuel from its bench table, throttle and the air of the day.

Friction is a constant torque, so brake torque = indicated torque - friction. Fully open, the brake torque
is the bench curve times the altitude factor. Fully closed, the indicated power is that which friction
takes at idle: a choked throttle passes the same air at every speed, so the torque falls as the speed
rises and the unloaded engine settles at its idle speed.
"""

from math import sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simengine.compiled import kernel, kernel_part
from simengine.constants import GAS_CONSTANT_DRY_AIR, GAS_CONSTANT_WATER_VAPOUR, RPM, SEA_LEVEL_DENSITY
from simengine.models.atmosphere import Air, air_of
from simengine.models.interpolation import held_inside, outside, pchip, pchip_value, row_below

GAGG_FERRAR, DENSITY, SAE_J1349 = range(3)
ALTITUDE_LAWS = {"gagg_ferrar": GAGG_FERRAR, "density": DENSITY, "sae_j1349": SAE_J1349}

# Gagg and Farrar, SAE Trans. 29 (1934) 217: P/P0 = sigma - (1 - sigma) / 7.55 = 1.1325 sigma - 0.1325,
# unsupercharged four-stroke aircraft engines; from memory.
GAGG_LOSS = 1.0 / 7.55

# SAE J1349 (June 1990): P_ref/P = 1.18 (99 kPa / p_dry) sqrt((t + 273) / 298) - 0.18, t in degC, spark
# ignition; 273 and not 273.15 is the standard's own rounding.
J1349_SHARE = 1.18
J1349_PRESSURE = 99e3  # Pa
J1349_TEMPERATURE = 298.0  # K
J1349_ROUNDING = 0.15  # K

# Throttle opening against share of the torque: small openings do most. Common practice, no source.
DEFAULT_THROTTLE = (0.0, 0.15, 0.3, 0.5, 0.75, 1.0)
DEFAULT_TORQUE_SHARE = (0.0, 0.25, 0.5, 0.76, 0.94, 1.0)

# Beyond the last row the torque is gone after this part of that row's speed (estimate; flagged as outside).
FALL_BEYOND_TABLE = 0.3


# Brake specific consumption at part load, one entry for each pairing of speed and load: engine speed
# [rad/s], load (brake torque over that at full throttle) [1] and consumption [kg/J], shape (n,) each.
PartLoad = tuple[ArrayLike, ArrayLike, ArrayLike]


class Engine(NamedTuple):
    """Engine as the kernels take it.

    Attributes
    ----------
    torque_table : NDArray
        Full-throttle brake torque [N m] at the reference air against engine speed, `pchip` table,
        shape (n, 5).
    throttle_table : NDArray
        Share of the way from closed to full indicated torque against throttle, `pchip` table, shape (m, 5).
    consumption_loads : NDArray
        Loads of the consumption tables, rising, shape (k,) [1].
    consumption_tables : NDArray
        INDICATED specific consumption [kg/J] against engine speed, a `pchip` table each, shape (k, n, 5).
    friction_torque : float
        [N m].
    idle_speed, speed_limit, clutch_speed : float
        [rad/s]; no clutch if `clutch_speed` is 0.
    inertia : float
        Crankshaft and what turns with it [kg m2].
    altitude_law : int
        GAGG_FERRAR, DENSITY or SAE_J1349.
    loss_factor : float
        Multiplies the law's loss against the reference air [1].
    reference_share : float
        The altitude law's value at the reference air [1].
    reference_density : float
        [kg/m3].
    fixed_jet : float
        1 if the carburettor does not lean out in thin air, else 0 [1].
    """

    torque_table: NDArray[np.float64]
    throttle_table: NDArray[np.float64]
    consumption_loads: NDArray[np.float64]
    consumption_tables: NDArray[np.float64]
    friction_torque: float
    idle_speed: float
    speed_limit: float
    inertia: float
    altitude_law: int
    loss_factor: float
    reference_share: float
    reference_density: float
    fixed_jet: float
    clutch_speed: float


def build_engine(
    *,
    engine_speed: ArrayLike,
    torque: ArrayLike,
    consumption: ArrayLike,
    friction_torque: float,
    idle_speed: float,
    speed_limit: float,
    inertia: float,
    throttle: ArrayLike | None = None,
    torque_share: ArrayLike | None = None,
    altitude_law: str = "gagg_ferrar",
    loss_factor: float = 1.0,
    reference_pressure: float = 101325.0,
    reference_temperature: float = 288.15,
    fixed_jet: bool = True,
    clutch_speed: float = 0.0,
    part_load: PartLoad | None = None,
) -> Engine:
    """Engine from its full-throttle bench curve.

    Parameters
    ----------
    engine_speed : shape (n,), rising [rad/s]
    torque : full-throttle brake torque, shape (n,) [N m]
    consumption : full-throttle brake specific consumption, shape (n,) [kg/J]
    friction_torque : friction and pumping, taken as constant [N m]
    idle_speed : where the unloaded engine settles with the throttle closed [rad/s]
    speed_limit : [rad/s]
    inertia : [kg m2]
    throttle, torque_share : share of the way from closed to full-throttle indicated torque, both from 0
        to 1, shape (m,); left out, a concave map (common practice, no source)
    altitude_law : a key of ALTITUDE_LAWS
    loss_factor : multiplies the loss that the law gives [1]
    reference_pressure, reference_temperature : dry air of the bench curve [Pa], [K]
    fixed_jet : whether the carburettor keeps its jets
    clutch_speed : engine speed at which a centrifugal clutch takes hold, 0 for none [rad/s]
    part_load : consumption at part load; left out, fuel is in proportion to INDICATED power at each speed
        (a Willans line through the full-throttle point)

    Raises
    ------
    ValueError
        With what to change, if the engine cannot be as described.
    """
    check_machine(friction_torque, loss_factor, inertia)
    curve = full_throttle_curve(engine_speed, torque)
    check_speeds(curve, idle_speed, speed_limit, clutch_speed)
    loads, tables = consumption_columns(curve, consumption, friction_torque, part_load)
    reference, law = reference_air(reference_pressure, reference_temperature), law_number(altitude_law)
    return Engine(
        torque_table=curve,
        throttle_table=throttle_map(throttle, torque_share),
        consumption_loads=loads,
        consumption_tables=tables,
        friction_torque=float(friction_torque),
        idle_speed=float(idle_speed),
        speed_limit=float(speed_limit),
        inertia=float(inertia),
        altitude_law=law,
        loss_factor=float(loss_factor),
        reference_share=altitude_share(law, reference),
        reference_density=reference.density,
        fixed_jet=1.0 if fixed_jet else 0.0,
        clutch_speed=float(clutch_speed),
    )


def check_machine(friction_torque: float, loss_factor: float, inertia: float) -> None:
    """Refuse `friction_torque` [N m], `loss_factor` [1] or `inertia` [kg m2] of a wrong sign: ValueError."""
    if friction_torque < 0.0 or loss_factor < 0.0 or not inertia > 0.0:
        raise ValueError("engine: friction torque and loss factor must not be negative, inertia above zero")


def full_throttle_curve(engine_speed: ArrayLike, torque: ArrayLike) -> NDArray[np.float64]:
    """`pchip` table of the full-throttle brake torque [N m] against engine speed [rad/s], shape (n, 5).

    `engine_speed`, rising, and `torque`, above zero, shape (n,) each; ValueError if they are not.
    """
    curve = pchip(engine_speed, torque, "engine: full-throttle torque against engine speed")
    check_positive(torque, "full-throttle torque")
    return curve


def reference_air(pressure: float, temperature: float) -> Air:
    """Dry air of the bench at a pressure [Pa] and temperature [K]; ValueError unless both are above zero."""
    if not (pressure > 0.0 and temperature > 0.0):
        raise ValueError("engine: pressure and temperature of the reference air must be above zero")
    return air_of(float(pressure), float(temperature), 0.0)


def law_number(name: str) -> int:
    """Number of an altitude law, ValueError if there is none of that name."""
    if name not in ALTITUDE_LAWS:
        raise ValueError(f"engine: altitude law {name!r} is not one of {', '.join(ALTITUDE_LAWS)}")
    return ALTITUDE_LAWS[name]


def check_speeds(
    curve: NDArray[np.float64], idle_speed: float, speed_limit: float, clutch_speed: float
) -> None:
    """Refuse contradicting `idle_speed`, `speed_limit`, `clutch_speed` [rad/s]; torque `curve`, shape (n, 5).

    ValueError if the curve has less than two rows, or idle is not below its last row, the limit and the
    clutch.
    """
    if len(curve) < 2 or not curve[0, 0] > 0.0:
        raise ValueError("engine: give at least two rows of the full-throttle curve, at speeds above zero")
    if not 0.0 < idle_speed < curve[-1, 0]:
        raise ValueError(
            f"engine: idle speed {idle_speed / RPM:.0f} rpm must lie above zero and below the last row of "
            f"the full-throttle curve, {curve[-1, 0] / RPM:.0f} rpm"
        )
    if not idle_speed < speed_limit:
        raise ValueError(
            f"engine: speed limit {speed_limit / RPM:.0f} rpm must lie above idle, {idle_speed / RPM:.0f} rpm"
        )
    if clutch_speed != 0.0 and not idle_speed < clutch_speed:
        raise ValueError(
            f"engine: the clutch takes hold at {clutch_speed / RPM:.0f} rpm, which must lie above idle, "
            f"{idle_speed / RPM:.0f} rpm"
        )


def check_positive(column: ArrayLike, name: str) -> None:
    """Refuse a `column`, shape (n,), with a value not above zero: ValueError that calls it by its `name`."""
    if not (np.asarray(column, dtype=np.float64) > 0.0).all():
        raise ValueError(f"engine: {name} must be above zero in every row")


def throttle_map(throttle: ArrayLike | None, torque_share: ArrayLike | None) -> NDArray[np.float64]:
    """`pchip` table, shape (m, 5), of `torque_share` [1] against `throttle` [1], shape (m,) each.

    The default map if both are left out. ValueError unless it rises from (0, 0) to (1, 1).
    """
    if throttle is None and torque_share is None:
        throttle, torque_share = DEFAULT_THROTTLE, DEFAULT_TORQUE_SHARE
    if throttle is None or torque_share is None:
        raise ValueError("engine: a throttle map needs both its throttle and its torque share")
    table = pchip(throttle, torque_share, "engine: throttle map")
    ends = (table[0, 0], table[0, 1], table[-1, 0], table[-1, 1])
    if ends != (0.0, 0.0, 1.0, 1.0) or not (np.diff(table[:, 1]) > 0.0).all():
        raise ValueError(
            "engine: the throttle map must begin at throttle 0, share 0 (closed: the engine idles), end at "
            "throttle 1, share 1 (full throttle) and rise in between"
        )
    return table


def consumption_columns(
    curve: NDArray[np.float64], consumption: ArrayLike, friction_torque: float, part_load: PartLoad | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Loads, shape (k,), and a table of INDICATED specific consumption [kg/J] for each, shape (k, n, 5).

    Indicated from brake: the same fuel over brake plus friction power. Columns run over the speeds of the
    full-throttle curve and of the part-load grid together; the full-throttle column comes from the curve
    unless the grid has load 1. Arguments as for `build_engine`, `curve` its table of torque; ValueError if
    one is not as told there.
    """
    check_positive(consumption, "specific consumption")
    full = pchip(curve[:, 0], consumption, "engine: consumption against engine speed")
    columns = {1.0: pchip(full[:, 0], full[:, 1] * curve[:, 1] / (curve[:, 1] + friction_torque))}
    if part_load is not None:
        columns |= part_load_columns(curve, friction_torque, part_load)
    speeds = np.unique(np.concatenate([table[:, 0] for table in columns.values()]))
    loads = sorted(columns)
    tables = [
        pchip(speeds, [pchip_value(columns[load], held_inside(columns[load], speed)) for speed in speeds])
        for load in loads
    ]
    return np.array(loads), np.array(tables)


def part_load_columns(
    curve: NDArray[np.float64], friction_torque: float, part_load: PartLoad
) -> dict[float, NDArray[np.float64]]:
    """Indicated specific consumption [kg/J] against engine speed, shape (n, 5), for each load of a grid.

    Arguments as for `consumption_columns`. ValueError unless the grid gives every pairing of its speeds,
    inside the curve, and loads, above 0 to 1, once, each above zero.
    """
    speed, load, brake_consumption = (np.asarray(column, dtype=np.float64) for column in part_load)
    check_positive(brake_consumption, "part-load consumption")
    if not ((load > 0.0) & (load <= 1.0)).all():
        raise ValueError("engine: part load must be above 0 (no brake power there) and at most 1")
    if not speed.shape == load.shape == brake_consumption.shape or speed.size == 0:
        raise ValueError("engine: part load needs as many engine speeds as loads and consumptions")
    if speed.min() < curve[0, 0] or speed.max() > curve[-1, 0]:
        raise ValueError("engine: part-load speeds must lie inside the full-throttle curve")
    speeds, loads = np.unique(speed), np.unique(load)
    pairs = set(zip(speed.tolist(), load.tolist(), strict=True))
    if len(pairs) != speed.size or len(pairs) != speeds.size * loads.size:
        raise ValueError("engine: part load must give every pairing of its engine speeds and loads once")
    full = np.array([pchip_value(curve, one) for one in speed])
    indicated = brake_consumption * load * full / (load * full + friction_torque)
    order = np.lexsort((speed, load))
    rows = indicated[order].reshape(loads.size, speeds.size)
    return {float(one): pchip(speeds, row) for one, row in zip(loads, rows, strict=True)}


@kernel_part
def altitude_share(law: int, air: Air) -> float:
    """Full-throttle torque in this air over that in the law's own reference air [1], never negative.

    `law` is GAGG_FERRAR, DENSITY or SAE_J1349; sources beside their constants.
    """
    if law == SAE_J1349:
        dry = air.pressure - vapour_pressure(air)
        root = sqrt((air.temperature - J1349_ROUNDING) / J1349_TEMPERATURE)
        return dry / (J1349_SHARE * J1349_PRESSURE * root - (J1349_SHARE - 1.0) * dry)
    sigma = air.density / SEA_LEVEL_DENSITY
    if law == DENSITY:
        return sigma
    return max(sigma - (1.0 - sigma) * GAGG_LOSS, 0.0)


@kernel_part
def vapour_pressure(air: Air) -> float:
    """Vapour pressure [Pa] that explains the air's density: `humid_density` solved for it."""
    dry_density = air.pressure / (GAS_CONSTANT_DRY_AIR * air.temperature)
    lightness = (1.0 / GAS_CONSTANT_DRY_AIR - 1.0 / GAS_CONSTANT_WATER_VAPOUR) / air.temperature
    return (dry_density - air.density) / lightness


@kernel_part
def altitude_factor(engine: Engine, air: Air) -> float:
    """Full-throttle brake torque in this air over that in the engine's reference air [1], never negative."""
    loss = 1.0 - altitude_share(engine.altitude_law, air) / engine.reference_share
    return max(1.0 - engine.loss_factor * loss, 0.0)


@kernel_part
def full_throttle_torque(engine: Engine, engine_speed: float) -> float:
    """Brake torque on the bench curve [N m] at an engine speed [rad/s].

    Below the first row it falls to zero at standstill, beyond the last it falls away; both are assumptions,
    and `outside_table` tells.
    """
    table = engine.torque_table
    first, last = table[0], table[-1]
    if engine_speed < first[0]:
        share = max(engine_speed, 0.0) / first[0]
        return float(first[1] * share * (2.0 - share))
    if engine_speed <= last[0]:
        return pchip_value(table, engine_speed)
    slope = min(last[2], -last[1] / (FALL_BEYOND_TABLE * last[0]))
    return float(max(last[1] + slope * (engine_speed - last[0]), 0.0))


@kernel
def indicated_torque(engine: Engine, engine_speed: float, throttle: float, air: Air) -> float:
    """Torque before friction [N m] at an engine speed [rad/s] and a throttle opening, held to 0 to 1 [1]."""
    friction = engine.friction_torque
    opened = full_throttle_torque(engine, engine_speed) * altitude_factor(engine, air) + friction
    closed = min(friction * engine.idle_speed / max(engine_speed, 1e-3 * engine.idle_speed), opened)
    share = pchip_value(engine.throttle_table, min(max(throttle, 0.0), 1.0))
    return closed + share * (opened - closed)


@kernel_part
def engine_torque(engine: Engine, engine_speed: float, throttle: float, air: Air) -> float:
    """Brake torque [N m], negative when the engine is driven; arguments as for `indicated_torque`."""
    return indicated_torque(engine, engine_speed, throttle, air) - engine.friction_torque


@kernel_part
def indicated_consumption(engine: Engine, engine_speed: float, load: float) -> float:
    """Fuel over indicated work [kg/J] at an engine speed [rad/s] and a load [1]; held at its table's ends."""
    loads, tables = engine.consumption_loads, engine.consumption_tables
    speed = held_inside(tables[0], engine_speed)
    inside = min(max(load, loads[0]), loads[-1])
    below = row_below(loads, inside)
    low = pchip_value(tables[below], speed)
    if below + 1 == len(loads):
        return low
    share: float = (inside - loads[below]) / (loads[below + 1] - loads[below])
    return low + share * (pchip_value(tables[below + 1], speed) - low)


@kernel_part
def mixture_excess(engine: Engine, air: Air) -> float:
    """Fuel of a fixed jet over that of the right mixture, 1 or more [1].

    Fuel/air grows as one over the root of density: Heywood, Internal Combustion Engine Fundamentals,
    ch. 7 (form from memory). In air denser than at the bench the mixture is left as it was there.
    """
    if engine.fixed_jet == 0.0 or air.density >= engine.reference_density:
        return 1.0
    return sqrt(engine.reference_density / air.density)


@kernel
def fuel_flow(engine: Engine, engine_speed: float, throttle: float, air: Air) -> float:
    """Fuel burnt [kg/s], never negative; arguments as for `indicated_torque`."""
    available = full_throttle_torque(engine, engine_speed) * altitude_factor(engine, air)
    indicated = indicated_torque(engine, engine_speed, throttle, air)
    load = (indicated - engine.friction_torque) / available if available > 0.0 else 0.0
    power = indicated * max(engine_speed, 0.0)
    return indicated_consumption(engine, engine_speed, load) * power * mixture_excess(engine, air)


@kernel_part
def outside_table(engine: Engine, engine_speed: float) -> bool:
    """Whether an engine speed [rad/s] lies outside the full-throttle curve."""
    return outside(engine.torque_table, engine_speed)
