"""Readings and raw logs that the full dynamic model gives, for tests and for the demo files. All invented.

Run as a program it writes the demo files again: `python tests/synthetic_readings.py` from the repository.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
from flights import climb, cruise, demo_scenario, descend, ground_run, simulate, with_phases

from simengine.constants import RPM
from simengine.scenario.reading_kinds import KINDS
from simengine.scenario.readings import Reading
from simengine.scenario.variation import with_values

SLOW_RUN = ground_run((0.0, 0.0), (5.0, 0.0), (65.0, 1.0), (75.0, 1.0), (135.0, 0.0), (140.0, 0.0))
SHIFTS = ("shift_begin_rpm", "shift_finish_rpm", "return_begin_rpm", "return_finish_rpm")
INTERVAL = 0.1  # of a log [s]
TACHOMETER = 30.0  # standard deviation of a reading by eye [rpm]


def with_truth(scenario, values):
    """The scenario as the maker's machine really is."""
    return replace(scenario, record=with_values(scenario.record, values))


def reading(name, value, phase, plus_minus=None, row=0, held=False, direction="", **where):
    """A reading in SI; its usual band if none is given."""
    kind = KINDS[name]
    band = kind.usual_band(value) if plus_minus is None else plus_minus
    return Reading(
        kind, value, band, plus_minus is None, phase, where, direction, held, "", "readings.csv", row
    )


def fly(truth, *phases, **flight):
    """A dynamic flight."""
    return simulate(with_phases(truth, *phases, **flight))


def ground_readings(dataset, random=None, phase=0):
    """What lights, tachometer and scale tell of a ground run; with scatter if a generator is given."""

    def off(deviation):
        return 0.0 if random is None else deviation * random.standard_normal()

    found = []
    for name in (*SHIFTS, "full_throttle_rpm"):
        value = float(dataset[name][phase])
        found.append(
            reading(name, (value + off(TACHOMETER)) * RPM, "ground", 2 * TACHOMETER * RPM, len(found) + 2)
        )
    thrust = float(dataset["static_thrust"][phase])
    found.append(
        reading("static_thrust", thrust * (1.0 + off(0.01)), "ground", 0.02 * thrust, len(found) + 2)
    )
    return found


def event_readings(dataset, phase, name_of_phase, names=SHIFTS, **more):
    """Readings of the shift in one phase of a flight, without scatter, at the heights of their events."""
    kinds = {"shift_begin_rpm": 2, "shift_finish_rpm": 3, "return_begin_rpm": 4, "return_finish_rpm": 5}
    found = []
    for name in names:
        value = float(dataset[name][phase])
        rows = (dataset.event_kind.values == kinds[name]) & (dataset.event_phase.values == phase)
        if not np.isfinite(value) or not rows.any():
            continue
        row = int(np.flatnonzero(rows)[0])
        where = {
            "height": float(dataset.event_height[row]),
            "airspeed": float(dataset.event_airspeed[row]),
        }
        found.append(
            reading(name, value * RPM, name_of_phase, 2 * TACHOMETER * RPM, len(found) + 20, **where, **more)
        )
    return found


def log_text(dataset, seed=1, dropouts=True, shaft="engine"):
    """A raw log of a ground run: rpm with scatter, lights with bounce and lost rows."""
    random = np.random.default_rng(seed)
    time = np.arange(0.0, float(dataset.time[-1]), INTERVAL)
    rows = np.searchsorted(dataset.time.values, time)
    angle = dataset.blade_angle.values[rows]
    speed = dataset["engine_rpm" if shaft == "engine" else "propeller_rpm"].values[rows]
    speed = speed + 12.0 * random.standard_normal(time.size)
    coarse, fine = float(dataset.coarse_stop), float(dataset.fine_stop)
    light = np.where(angle > coarse - 0.01, "coarse", np.where(angle < fine + 0.01, "fine", "off"))
    shown = light.copy()
    for row in np.flatnonzero(light[1:] != light[:-1]):
        if row + 2 < time.size:
            shown[row + 2] = light[row]  # the contact bounces once
    lines = [
        "# Invented demo: raw log of a ground run, lights bounce, some rows lost.",
        f"time s,{shaft}_speed rpm,light",
    ]
    for when, rpm, state in zip(time, speed, shown, strict=True):
        lost = dropouts and random.random() < 0.03
        pulse = dropouts and random.random() < 0.01
        shown_rpm = "" if lost else f"{rpm * (2.0 if pulse else 1.0):.0f}"
        lines.append(f"{when:.2f},{shown_rpm},{'' if lost else state}")
    return "\n".join(lines) + "\n"


DEMO_TRUTH = {"hub.friction.constant": 0.12, "engine.torque_factor": 1.03, "engine.consumption_factor": 1.06}


def demo_truth():
    """The demo machine as it "really" is: a little more preload, friction and power."""
    scenario = demo_scenario()
    return with_truth(
        scenario, DEMO_TRUTH | {"hub.spring.free_length": scenario.record.hub.spring.free_length + 1.5e-4}
    )


def write_demo(folder):
    """Write the demo readings and the demo log."""
    truth = demo_truth()
    low = truth.record.site.height
    flown = fly(truth, SLOW_RUN, climb(low + 900.0, throttle_time=30.0), cruise(1800.0), descend(low + 300.0))
    random = np.random.default_rng(7)
    lines = list(HEADER)
    for item in ground_readings(flown, random):
        unit = "rpm" if item.kind.name.endswith("_rpm") else "N"
        value, band = (x / RPM if unit == "rpm" else x for x in (item.value, item.plus_minus))
        lines.append(
            f"{item.kind.name}, {value:.0f}, {unit}, {band:.0f}, ground, {low:.0f}, , , , , fit, first run"
        )
    for item in event_readings(flown, 1, "climb", SHIFTS[:2]):
        value = item.value / RPM + TACHOMETER * random.standard_normal()
        height, speed = item.where["height"], 3.6 * item.where["airspeed"]
        lines.append(
            f"{item.kind.name}, {value:.0f}, rpm, 60, climb, {height:.0f}, {speed:.1f}, , , , hold, flight 1"
        )
    fuel = float(flown["phase_fuel_volume"][2]) + 0.02 * random.standard_normal()
    lines.append(
        f"fuel_used, {fuel:.2f}, L, 0.1, level, {low + 900.0:.0f}, , , , 30, fit, weighed before and after"
    )
    (folder / "first_flight.csv").write_text("\n".join(lines) + "\n")
    run = fly(truth, SLOW_RUN, record_interval=INTERVAL)
    (folder / "ground_run_log.csv").write_text(log_text(run))


HEADER = (
    "# Invented demo readings of the invented machine of climb_and_cruise.yaml: first ground run and flight.",
    "# One reading a row. The unit of the value stands in its row, that of any other column in its heading.",
    "# +- is the half-width of the 95 % band; left empty, a usual one is taken. rpm is ENGINE rpm.",
    "# use: 'hold' keeps a reading out of the fit, to be predicted. An empty cell means: as in the scenario.",
    "# More columns: temperature degC, qnh hPa, throttle %, bar %, mass kg, wire_length m, half_spacing mm,",
    "# blade_mass g.",
    "# Kinds: shift_begin_rpm shift_finish_rpm return_begin_rpm return_finish_rpm full_throttle_rpm",
    "# level_rpm",
    "# on_coarse_stop off_stops on_fine_stop (an rpm at which that light was on; direction up or down)",
    "# static_thrust fuel_used climb_rate blade_angle_coarse blade_angle_fine spring_torque blade_mass",
    "# swing_time_bifilar swing_time_axis. Phases: bench ground climb level descent.",
    "what, value, unit, +-, phase, height m, airspeed km/h, angle deg, direction, duration min, use, note",
)

if __name__ == "__main__":
    write_demo(Path(__file__).parent.parent / "scenarios" / "readings")
