"""Which limits of the model an envelope met: nothing doubtful reaches a reader without a word."""

from typing import Any

import numpy as np

from simengine.constants import RPM
from simengine.models.atmosphere import Atmosphere, air_at
from simengine.models.engine import outside_table
from simengine.models.momentum import RotorLoads, rotor_loads
from simengine.results.envelope_catalogue import LEVEL_STATES
from simengine.studies.machine import Machine, day

STALLED_SHARE = 0.15  # more of the blade than this beyond its stall is worth a word
HIGH_TIP_MACH = 0.7


def model_limits(machine: Machine, own: Atmosphere, values: dict[str, Any]) -> list[str]:
    """One sentence for each limit of the model that the points of the grid met."""
    return [
        *root_limits([*full_loads(machine, own, values), *other_loads(machine, own, values)]),
        *load_limits(full_loads(machine, own, values)),
        *engine_limits(machine, values),
        *level_limits(values),
    ]


def full_loads(machine: Machine, own: Atmosphere, values: dict[str, Any]) -> list[RotorLoads]:
    """Propeller loads at every point of the grid at full throttle."""
    return [
        loads_at(machine, own, values, place, "full_throttle_rpm", values["full_throttle_blade_angle"][place])
        for place in np.ndindex(values["full_throttle_rpm"].shape)
    ]


def other_loads(machine: Machine, own: Atmosphere, values: dict[str, Any]) -> list[RotorLoads]:
    """The same in level flight and where the moments on the stops change over."""
    listed = []
    for place in np.ndindex(values["full_throttle_rpm"].shape):
        for name, angle in (
            ("level_rpm", float(values["level_blade_angle"][place])),
            ("shift_begin_rpm", machine.coarse_edge),
            ("shift_finish_rpm", machine.fine_stop),
            ("return_begin_rpm", machine.fine_stop),
            ("return_finish_rpm", machine.coarse_edge),
        ):
            if values[name][place] > 0.0:
                listed.append(loads_at(machine, own, values, place, name, angle))
    return listed


def loads_at(
    machine: Machine,
    own: Atmosphere,
    values: dict[str, Any],
    place: tuple[int, ...],
    speed_name: str,
    blade_angle: float,
) -> RotorLoads:
    """Loads at one point of the grid, at one of its engine speeds and a blade angle [rad]."""
    air = air_at(day(own, values["temperature_offset"][place[0]]), float(values["height"][place[-1]]))
    speed = float(values[speed_name][place]) / machine.reduction
    axial_speed = machine.inflow_factor * float(values["airspeed"][place])
    return rotor_loads(machine.aircraft.blade, float(blade_angle), speed, axial_speed, air)


def root_limits(loads: list[RotorLoads]) -> list[str]:
    """A sentence if any blade element had no balance of its own."""
    failed = sum(each.status > 0.0 for each in loads)
    if not failed:
        return []
    return [
        f"at {failed} of {len(loads)} points some blade elements found no inflow angle that balances them: "
        "loads are wrong there"
    ]


def load_limits(loads: list[RotorLoads]) -> list[str]:
    """Sentences on the blade elements."""
    stalled = max(each.stalled_fraction for each in loads)
    mach = max(each.tip_mach for each in loads)
    listed = []
    if stalled > STALLED_SHARE:
        listed.append(
            f"up to {100 * stalled:.0f} % of the blade was beyond its stall at full throttle: thrust and "
            "torque are less certain there"
        )
    if mach > HIGH_TIP_MACH:
        listed.append(f"the blade tip reached Mach {mach:.2f}, beyond the section data")
    return listed


def engine_limits(machine: Machine, values: dict[str, Any]) -> list[str]:
    """Sentences on the engine's bench curve and speed limit."""
    engine = machine.aircraft.engine
    speeds = np.concatenate([values[name].ravel() for name in ("full_throttle_rpm", "level_rpm")])
    listed = []
    if speeds.max() > machine.speed_limit:
        listed.append(
            f"the engine ran at {speeds.max() / RPM:.0f} rpm, above its limit of "
            f"{machine.speed_limit / RPM:.0f} rpm"
        )
    outside = [speed for speed in speeds if outside_table(engine, float(speed))]
    if outside:
        listed.append(
            f"the engine ran outside its bench curve, between {min(outside) / RPM:.0f} and "
            f"{max(outside) / RPM:.0f} rpm: torque and fuel are extrapolated there"
        )
    return listed


def level_limits(values: dict[str, Any]) -> list[str]:
    """Sentences on points without level flight."""
    status = values["level_status"]
    words = {
        "too_little_power": "full throttle does not hold level flight",
        "too_much_power": "even closed throttle climbs",
        "jumps": "no throttle holds level flight: the blades snap past the pitch that would",
    }
    listed = []
    for number, name in enumerate(LEVEL_STATES):
        count = int(np.sum(status == number))
        if name in words and count:
            listed.append(f"at {count} of {status.size} points {words[name]}")
    return listed
