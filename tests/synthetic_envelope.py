"""A made-up envelope for tests of tables and pictures: plausible shapes, invented, no model behind."""

import numpy as np
import xarray
from numpy.typing import NDArray
from synthetic_flight import PROVENANCE

from simengine.constants import DEGREE, RPM
from simengine.results.dataset import global_attributes
from simengine.results.records import Setup

Array = NDArray[np.float64]

COARSE, FINE, LIMIT, REDUCTION = 14.0, 10.0, 8500.0, 2.68
OWN_MASS = 133.0
OFFSETS, MASSES, BARS = (0.0,), (118.0, OWN_MASS, 148.0), (0.0, 1.0)
HEIGHTS = np.linspace(0.0, 5000.0, 41)
# Finish speed at sea level: the shift finishes everywhere, up to some height, or nowhere.
FINISH_AT_SEA = {"always": 6000.0, "ceiling": 7200.0, "never": 8900.0}
COARSE_STATE, HUNG_STATE, FINE_STATE = 0, 2, 3
STATES = "coarse shifting hung fine"
CASES = ("ground, low", "climb, low", "ground, high", "climb, high")
CHANGES = {
    "one washer less": 812.0,
    "one washer more": -790.0,
    "spring rate -5 %": 420.0,
    "spring rate +5 %": -410.0,
    "friction halved": 655.0,
    "fine stop 0.5 deg coarser": 530.0,
    "coarse stop 0.5 deg finer": 12.0,
    "10 g counterweight at 25 mm driving fine (0 deg)": 1130.0,
    "blade angle datum -0.5 deg": -160.0,
    "engine power +5 %": 240.0,
    "reduction +3 %": -205.0,
    "pilot 10 kg lighter": -35.0,
}

Variable = tuple[tuple[str, ...] | str, object, dict[str, object]]
POINT = ("temperature_offset", "mass", "bar", "height")


def number(dims: tuple[str, ...] | str, values: object, units: str) -> Variable:
    return dims, np.asarray(values, dtype=np.float64), {"units": units}


def state(dims: tuple[str, ...], values: object) -> Variable:
    attributes = {"flag_values": np.arange(4, dtype=np.int8), "flag_meanings": STATES}
    return dims, np.asarray(values).astype(np.int8), attributes


def grid() -> tuple[Array, ...]:
    return np.meshgrid(np.array(OFFSETS), np.array(MASSES), np.array(BARS), HEIGHTS, indexing="ij")


def finish_speed(kind: str) -> Array:
    _, mass, bar, height = grid()
    return FINISH_AT_SEA[kind] + 0.12 * height - 4.0 * (mass - OWN_MASS) - 180.0 * bar


def point_variables(kind: str) -> dict[str, Variable]:
    _, mass, bar, height = grid()
    finish = finish_speed(kind)
    coarse, fine = 7000.0 - 0.2 * height + 120.0 * bar, 8250.0 - 0.16 * height + 150.0 * bar
    begin = 0.78 * finish
    share = np.clip((fine - begin) / (finish - begin), 0.0, 1.0)
    angle = COARSE - (COARSE - FINE) * share
    where = np.select([share >= 1.0, share > 0.0], [FINE_STATE, HUNG_STATE], COARSE_STATE)
    climb = 3.6 - 0.0008 * height - 0.03 * (mass - OWN_MASS) - 1.2 * bar
    level = 0.42 + 5.5e-5 * height + 0.003 * (mass - OWN_MASS) + 0.12 * bar
    rpm = {
        "shift_begin_rpm": begin,
        "shift_finish_rpm": finish,
        "return_begin_rpm": 0.95 * finish,
        "return_finish_rpm": 0.72 * finish,
        "full_throttle_rpm_coarse": coarse,
        "full_throttle_rpm_fine": fine,
        "full_throttle_rpm": coarse + (fine - coarse) * share,
        "shift_margin_rpm": fine - finish,
        "level_rpm": 5600.0 + 0.05 * height,
    }
    others = {
        "full_throttle_blade_angle": (angle, "degree"),
        "shift_margin_moment": ((fine - finish) * 0.003, "N m"),
        "full_throttle_thrust": (700.0 - 0.05 * height, "N"),
        "climb_rate": (climb, "m s-1"),
        "airspeed": (11.0 + 2.5e-4 * height + 3.0 * bar, "m s-1"),
        "level_throttle": (level, "1"),
        "level_fuel_flow": (3.9 + 1e-4 * height, "L h-1"),
        "level_blade_angle": (np.full_like(height, COARSE), "degree"),
    }
    data = {name: number(POINT, values, "rpm") for name, values in rpm.items()}
    data |= {name: number(POINT, values, units) for name, (values, units) in others.items()}
    data["full_throttle_pitch_state"] = state(POINT, where)
    data["level_pitch_state"] = state(POINT, np.zeros_like(height))
    data["level_status"] = (
        POINT,
        (level > 1.0).astype(np.int8),
        {"flag_meanings": "reached too_little_power too_much_power jumps", "flag_values": np.arange(4)},
    )
    return data


def ground_variables(kind: str) -> dict[str, Variable]:
    dims = ("temperature_offset", "height")
    finish = (FINISH_AT_SEA[kind] - 350.0 + 0.08 * HEIGHTS)[None, :]
    full = (8300.0 - 0.15 * HEIGHTS)[None, :]
    rpm = {
        "ground_shift_begin_rpm": 0.78 * finish,
        "ground_shift_finish_rpm": finish,
        "ground_return_begin_rpm": 0.95 * finish,
        "ground_return_finish_rpm": 0.72 * finish,
        "ground_full_throttle_rpm": full,
        "ground_shift_margin_rpm": full - finish,
    }
    data = {name: number(dims, values, "rpm") for name, values in rpm.items()}
    data["ground_full_throttle_blade_angle"] = number(dims, np.full_like(full, FINE), "degree")
    data["ground_thrust"] = number(dims, 780.0 - 0.06 * HEIGHTS[None, :], "N")
    data["ground_shift_margin_moment"] = number(dims, (full - finish) * 0.003, "N m")
    data["density_altitude"] = number(dims, 1.04 * HEIGHTS[None, :] + 60.0, "m")
    data["pressure_altitude"] = number(dims, HEIGHTS[None, :], "m")
    return data


def ceiling_variables(kind: str) -> dict[str, Variable]:
    dims = ("temperature_offset", "mass", "bar")
    _, mass, bar = np.meshgrid(OFFSETS, MASSES, BARS, indexing="ij")
    ceiling = (1050.0 + 4.0 * (mass - OWN_MASS) + 330.0 * bar) / 0.28
    words = {
        "always": "finishes at every height up to 8000 m",
        "never": "never finishes between 0 and 8000 m: without friction it would at the lowest",
        "ceiling": "finishes up to {:.0f} m; above that the air's help is too small",
    }[kind]
    if kind != "ceiling":
        ceiling = np.full_like(ceiling, np.nan)
    told = np.array([words.format(value) for value in ceiling.ravel()]).reshape(ceiling.shape)
    cause = {"always": "", "never": "friction", "ceiling": "air twist falls"}[kind]
    return {
        "shift_ceiling": number(dims, ceiling, "m"),
        "shift_ceiling_density_altitude": number(dims, 1.04 * ceiling + 60.0, "m"),
        "service_ceiling": number(dims, (3.1 - 0.03 * (mass - OWN_MASS) - 1.2 * bar) / 0.0008, "m"),
        "shift_ceiling_words": (dims, told, {}),
        "limiting_cause": (dims, np.full(ceiling.shape, cause), {}),
    }


def map_variables(kind: str) -> dict[str, Variable]:
    dims = ("map_height", "map_throttle")
    height, throttle = np.meshgrid(np.linspace(0.0, 5000.0, 60), np.linspace(0.0, 1.0, 40), indexing="ij")
    finish = FINISH_AT_SEA[kind] + 0.12 * height
    data = {}
    for branch, shift in (("opening", 0.0), ("closing", 0.12)):
        speed = 2000.0 + (6300.0 - 0.16 * height) * np.sqrt(throttle)
        share = np.clip((speed / finish - 0.78 + 2.0 * shift) / 0.22, 0.0, 1.0)
        where = np.select([share >= 1.0, share > 0.0], [FINE_STATE, HUNG_STATE], COARSE_STATE)
        data[f"map_blade_angle_{branch}"] = number(dims, COARSE - (COARSE - FINE) * share, "degree")
        data[f"map_rpm_{branch}"] = number(dims, speed, "rpm")
        data[f"map_pitch_state_{branch}"] = state(dims, where)
    return data


def sweep_variables() -> dict[str, Variable]:
    throttle = np.linspace(0.0, 1.0, 201)
    data = {}
    for branch, at in (("opening", 0.62), ("closing", 0.5)):
        share = np.clip((throttle - at) / 0.12, 0.0, 1.0)
        rpm = 2000.0 + 5000.0 * np.sqrt(throttle) + 1100.0 * share
        data[f"sweep_blade_angle_{branch}"] = number("sweep_throttle", COARSE - 4.0 * share, "degree")
        data[f"sweep_rpm_{branch}"] = number("sweep_throttle", rpm, "rpm")
    return data


def budget_variables() -> dict[str, Variable]:
    dims = ("budget_case", "budget_stop", "budget_rpm")
    density = np.array([1.2, 1.2, 0.88, 0.88])[:, None, None]
    moving = np.array([0.6, 1.0, 0.6, 1.0])[:, None, None]
    rpm = np.linspace(1900.0, 1.1 * LIMIT, 60)[None, None, :]
    spring = np.array([7.2, 9.0])[None, :, None]
    twist = np.sin(2.0 * np.array([COARSE, FINE]) * DEGREE)[None, :, None] * 2e-7 * rpm**2
    every = np.ones((4, 2, 60))
    data = {
        "budget_spring": spring * every,
        "budget_centrifugal": -1.6 * twist * every,
        "budget_counterweight": 0.25 * twist * every,
        "budget_air": -2.2e-8 * density * moving * rpm**2 * every,
        "budget_friction": (0.3 + 3e-9 * rpm**2) * every,
    }
    stored = {name: number(dims, values, "N m") for name, values in data.items()}
    angles = np.linspace(COARSE, FINE, 41)
    share = (COARSE - angles) / (COARSE - FINE)
    by_angle = {
        "spring": 7.2 + 1.8 * share,
        "centrifugal": -7.6 + 1.9 * share,
        "counterweight": 1.1 - 0.3 * share,
        "air": -1.1 - 0.1 * share,
        "friction": 0.45 + 0.0 * share,
    }
    stored |= {
        f"budget_angle_{name}": number("budget_angle", values, "N m") for name, values in by_angle.items()
    }
    stored["budget_air_share"] = number("budget_case", [0.12, 0.18, 0.09, 0.13], "1")
    return stored


def change_variables(kind: str) -> dict[str, Variable]:
    gain = np.array(list(CHANGES.values()))
    ceiling = 3750.0 + gain
    if kind != "ceiling":
        gain, ceiling = np.full_like(gain, np.nan), np.full_like(gain, np.nan)
    words = {
        "always": "finishes above 8000 m",
        "never": "never finishes",
        "ceiling": "finishes up to {:.0f} m",
    }[kind]
    return {
        "change_words": ("change", np.array([words.format(value) for value in ceiling]), {}),
        "change_shift_ceiling": number("change", ceiling, "m"),
        "change_gain": number("change", gain, "m"),
        "change_shift_begin_rpm": number("change", 5616.0 - 0.1 * np.nan_to_num(gain), "rpm"),
        "change_shift_finish_rpm": number("change", 7200.0 - 0.15 * np.nan_to_num(gain), "rpm"),
    }


def coordinates() -> dict[str, Variable]:
    return {
        "temperature_offset": number("temperature_offset", OFFSETS, "K"),
        "mass": number("mass", MASSES, "kg"),
        "bar": number("bar", BARS, "1"),
        "height": number("height", HEIGHTS, "m"),
        "map_height": number("map_height", np.linspace(0.0, 5000.0, 60), "m"),
        "map_throttle": number("map_throttle", np.linspace(0.0, 1.0, 40), "1"),
        "sweep_throttle": number("sweep_throttle", np.linspace(0.0, 1.0, 201), "1"),
        "budget_case": ("budget_case", np.array(CASES), {}),
        "budget_rpm": number("budget_rpm", np.linspace(1900.0, 1.1 * LIMIT, 60), "rpm"),
        "budget_stop": ("budget_stop", np.array(["coarse", "fine"]), {}),
        "budget_angle": number("budget_angle", np.linspace(COARSE, FINE, 41), "degree"),
        "change": ("change", np.array(list(CHANGES)), {}),
    }


SHIFT_NAMES = ("shift_", "return_", "ground_shift", "ground_return")


def synthetic_envelope(kind: str = "ceiling", hub_kind: str = "two_stop") -> xarray.Dataset:
    """Envelope whose shift finishes up to a `ceiling`, `always` or `never`; invented throughout."""
    setup = Setup(
        hub_kind=hub_kind,
        coarse_stop=COARSE * DEGREE,
        fine_stop=FINE * DEGREE,
        engine_speed_limit=LIMIT * RPM,
        reduction=REDUCTION,
        fuel_density=745.0,
        fuel_start=7.0,
        site_height=120.0,
    )
    data = point_variables(kind) | ground_variables(kind) | ceiling_variables(kind)
    data |= {
        "coarse_stop": number((), COARSE, "degree"),
        "fine_stop": number((), FINE, "degree"),
        "engine_rpm_limit": number((), LIMIT, "rpm"),
        "reduction": number((), REDUCTION, "1"),
        "site_height": number((), 120.0, "m"),
        "sweep_height": number((), 1120.0, "m"),
    }
    data |= map_variables(kind) | sweep_variables() | budget_variables() | change_variables(kind)
    attributes = global_attributes(PROVENANCE, setup) | {
        "balances": "at 0 m: one balance at every throttle\nat 3000 m: hunts at 40 % throttle"
    }
    dataset = xarray.Dataset(data, coords=coordinates(), attrs=attributes)
    if hub_kind != "two_stop":
        for name in dataset.data_vars:
            if str(name).startswith(SHIFT_NAMES) and dataset[name].dtype.kind == "f":
                dataset[name] = dataset[name].where(False)
    return dataset
