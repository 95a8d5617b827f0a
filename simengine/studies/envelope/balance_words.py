"""All balances of rotor and blade in words: one, none, two, snaps, hunts, or locked by friction."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simengine.balance.equilibria import (
    Equilibrium,
    Place,
    RestInterval,
    all_equilibria,
    rest_intervals,
)
from simengine.models.atmosphere import Air
from simengine.studies.machine import Machine

ONCE_PER_REVOLUTION = (0.7, 1.3)  # pitch frequency over rotor speed that the wake of the pilot drives
COARSE_SAMPLES = (0.2, 0.4, 0.6, 0.8, 1.0)
SHIFT_SAMPLES = 9
STANDS = 1e-6  # [rad]


@dataclass(frozen=True)
class Balances:
    """Everything about the balances at one throttle opening [1]."""

    throttle: float
    equilibria: tuple[Equilibrium, ...]
    rest: tuple[RestInterval, ...]

    @property
    def stable(self) -> int:
        """How many of them die out after a small disturbance."""
        return sum(each.stable for each in self.equilibria)

    @property
    def hunts(self) -> Equilibrium | None:
        """The one balance there is, if a small disturbance of it grows."""
        alone = self.equilibria[0] if len(self.equilibria) == 1 else None
        return alone if alone is not None and not alone.stable else None

    def locked(self, machine: Machine) -> bool:
        """Whether friction holds the blade wherever it stands."""
        return any(
            each.coarse >= machine.coarse_stop - STANDS and each.fine <= machine.fine_stop + STANDS
            for each in self.rest
        )


def balances_at(machine: Machine, air: Air, axial_speed: float, throttle: float) -> Balances:
    """Look for every balance at one throttle, 0 to 1 [1], and `axial_speed` of the air at the disc [m/s]."""
    return Balances(
        throttle,
        all_equilibria(machine.aircraft, air, axial_speed, throttle),
        rest_intervals(machine.aircraft, air, axial_speed, throttle),
    )


def openings(shift_from: float, shift_to: float) -> list[float]:
    """Throttles to look at [1]: a few overall, more over the shift, from `shift_from` to `shift_to` [1]."""
    width = max(shift_to - shift_from, 0.02)
    low, high = max(shift_from - 0.25 * width, 0.02), min(shift_to + 0.25 * width, 1.0)
    dense = np.linspace(low, high, SHIFT_SAMPLES)
    return sorted({round(float(each), 4) for each in (*COARSE_SAMPLES, *dense)})


def span(throttles: Sequence[float]) -> str:
    """Throttle openings as people say them."""
    low, high = 100.0 * min(throttles), 100.0 * max(throttles)
    return (
        f"at {low:.0f} % throttle"
        if f"{low:.0f}" == f"{high:.0f}"
        else f"between {low:.0f} and {high:.0f} % throttle"
    )


def sentences(machine: Machine, looked_at: Sequence[Balances]) -> list[str]:
    """The odd cases, or that there is none."""
    every = len(looked_at)
    none = [each.throttle for each in looked_at if not each.equilibria]
    several = [each.throttle for each in looked_at if each.stable > 1]
    hunting = [each for each in looked_at if each.hunts]
    locked = [each.throttle for each in looked_at if each.locked(machine)]
    found = []
    if none:
        found.append(f"no balance {span(none)}: the rotor does not come to a steady speed there")
    if several:
        found.append(
            f"two balances {span(several)}: snaps from one to the other, and comes back at less throttle "
            "than it went"
        )
    if hunting:
        worst = max((each.hunts for each in hunting if each.hunts), key=lambda each: each.growth_rate)
        found.append(
            f"hunts {span([each.throttle for each in hunting])} unless friction holds it (grows at "
            f"{worst.growth_rate:.2g} 1/s, {worst.pitch_frequency / (2.0 * np.pi):.2g} Hz)"
        )
    if len(locked) == every:
        found.append("locked by friction at every throttle: the blade stays wherever it stands")
    elif locked:
        found.append(f"locked by friction {span(locked)}: the blade stays wherever it stands")
    return found or ["one balance at every throttle"]


def once_per_revolution(looked_at: Sequence[Balances]) -> str:
    """Caution on a floating blade whose own frequency the pilot's wake drives; empty if there is none."""
    low, high = ONCE_PER_REVOLUTION
    ratios = [
        each.per_revolution
        for balances in looked_at
        for each in balances.equilibria
        if each.place is Place.BETWEEN and each.stable and low <= each.per_revolution <= high
    ]
    if not ratios:
        return ""
    return (
        f"caution: a blade standing between its stops swings at {min(ratios):.2f} to {max(ratios):.2f} times "
        "the rotor speed; the wake of the pilot pushes it once a revolution: fatigue"
    )


def balance_words(
    machine: Machine, air: Air, axial_speed: float, shift_from: float, shift_to: float
) -> list[str]:
    """Sentences on all balances at one height, at an `axial_speed` of the air at the disc [m/s].

    The shift lies between two throttle openings, `shift_from` and `shift_to` [1].
    """
    looked_at = [
        balances_at(machine, air, axial_speed, opening) for opening in openings(shift_from, shift_to)
    ]
    caution = once_per_revolution(looked_at)
    return [*sentences(machine, looked_at), *([caution] if caution else [])]
