"""Which limits of the model a flight met, in words with figures, phase and time."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from simengine.balance import limits
from simengine.balance.aircraft import Aircraft
from simengine.balance.limits import DiscPoint
from simengine.constants import RPM
from simengine.flight.observations import Traces, beyond_bench_curve
from simengine.models.atmosphere import Air, air_at
from simengine.models.mechanism import TWO_STOP
from simengine.models.windup import TorsionBlade
from simengine.results.records import PhaseBounds
from simengine.results.summary import FULL_THROTTLE


@dataclass(frozen=True)
class Flown:
    """A flight as its limits are read from it: the machine, traces in SI, and the phases."""

    aircraft: Aircraft
    traces: Traces
    bounds: list[PhaseBounds]

    @cached_property
    def axial_speed(self) -> NDArray[np.float64]:
        """Air speed at the disc, shape (n,) [m/s]."""
        return np.asarray(self.aircraft.inflow_factor * self.traces["airspeed"])

    def air(self, row: int) -> Air:
        """The air at a recorded `row`."""
        return air_at(self.aircraft.atmosphere, float(self.traces["height"][row]))

    def point(self, row: int) -> DiscPoint:
        """What the propeller ran at in a recorded row."""
        angle, speed = (float(self.traces[name][row]) for name in ("blade_angle", "propeller_rpm"))
        return DiscPoint(angle, speed, float(self.axial_speed[row]), self.air(row))

    def where(self, row: int) -> str:
        """Phase and time of a recorded row."""
        name = self.bounds[int(self.traces["phase_index"][row])].name
        return f"in phase '{name}' at {self.traces['time'][row]:.0f} s"

    def lasted(self, rows: NDArray[np.bool_]) -> float:
        """For how long rows of some kind lasted together [s]; `rows` says which they are, shape (n,)."""
        steps = np.diff(self.traces["time"])
        return float(steps[rows[:-1] & rows[1:]].sum())


def model_limits(flown: Flown, torsion: TorsionBlade | None) -> list[str]:
    """One sentence for each limit of the model that the flight met."""
    return [
        *stalled_limit(flown),
        *limits.mach_words(*largest(flown, flown.traces["tip_mach"])),
        *windmill_limit(flown),
        *reynolds_limit(flown),
        *polar_limit(flown),
        *pitch_limits(flown, torsion),
        *engine_limits(flown.aircraft, flown.traces),
    ]


def largest(flown: Flown, trace: NDArray[np.float64]) -> tuple[float, str]:
    """Greatest value of a `trace`, shape (n,), in any unit, and where it was."""
    row = int(np.argmax(trace))
    return float(trace[row]), flown.where(row)


def stalled_limit(flown: Flown) -> Iterator[str]:
    """How much of the disc was beyond its stall, where, when and for how long."""
    share = np.where(flown.traces["propeller_rpm"] > 0.0, flown.traces["stalled_fraction"], 0.0)
    row = int(np.argmax(share))
    lasted = flown.lasted(share > limits.STALLED_SHARE)
    more = f" (more than {100 * limits.STALLED_SHARE:.0f} % for {lasted:.0f} s in all)"
    blade = flown.aircraft.blade
    yield from limits.stalled_words(blade, flown.point(row), float(share[row]), flown.where(row) + more)


def windmill_limit(flown: Flown) -> Iterator[str]:
    """Where the air drove the propeller, or the propeller braked."""
    traces = flown.traces
    turning = traces["propeller_rpm"] > 0.0
    driven = turning & ((traces["propeller_torque"] < 0.0) | (traces["thrust"] < 0.0))
    if driven.any():
        row = int(np.flatnonzero(driven)[0])
        yield (
            f"the propeller windmilled or braked for {flown.lasted(driven):.0f} s in all, first "
            f"{flown.where(row)}, with a thrust down to {traces['thrust'][driven].min():.0f} N: loads of a "
            "windmilling propeller are rough"
        )


def reynolds_limit(flown: Flown) -> Iterator[str]:
    """Blade elements outside the Reynolds numbers of their section data, throttle open."""
    aircraft, traces = flown.aircraft, flown.traces
    working = np.flatnonzero(traces["throttle"] > 0.0)
    if working.size == 0:
        return
    viscosity = np.array([flown.air(int(row)).viscosity for row in working])
    blade = aircraft.blade
    speed = np.hypot(
        np.outer(traces["propeller_rpm"][working], blade.radius), flown.axial_speed[working, None]
    )
    reynolds = (traces["air_density"][working] / viscosity)[:, None] * speed * blade.chord
    yield from limits.reynolds_words(blade.sections, float(reynolds.min()), float(reynolds.max()))


def polar_limit(flown: Flown) -> Iterator[str]:
    """Angles of attack outside the user's own polar."""
    blade = flown.aircraft.blade
    polar = limits.polar_of(blade.sections)
    if polar is None:
        return
    rows = np.flatnonzero(flown.traces["propeller_rpm"] > 0.0)
    first, last = limits.polar_angles(polar)
    shares = np.zeros(flown.traces["time"].size)
    for row in rows:
        shares[row] = limits.share_outside(blade, first, last, *flown.point(int(row)))
    yield from limits.outside_polar_words(polar, *largest(flown, shares))


def pitch_limits(flown: Flown, torsion: TorsionBlade | None) -> Iterator[str]:
    """What is uncertain of the moments about the pitch axis."""
    aircraft, traces = flown.aircraft, flown.traces
    if aircraft.hub.kind == TWO_STOP:
        yield limits.air_moment_words(aircraft.air_moment_factor)
    full = np.where(traces["throttle"] >= FULL_THROTTLE, traces["propeller_rpm"], 0.0)
    row = int(np.argmax(full))
    if full[row] > 0.0:
        factor = aircraft.air_moment_factor
        yield from limits.wind_up_words(aircraft.blade, torsion, flown.point(row), factor)


def engine_limits(aircraft: Aircraft, traces: Traces) -> list[str]:
    """Sentences on the engine's bench curve and speed limit."""
    speed, engine = traces["engine_rpm"], aircraft.engine
    listed = []
    if speed.max() > engine.speed_limit:
        listed.append(
            f"the engine ran at {speed.max() / RPM:.0f} rpm, above its limit of "
            f"{engine.speed_limit / RPM:.0f} rpm"
        )
    outside = beyond_bench_curve(aircraft, speed)
    if outside.size:
        listed.append(
            f"the engine ran outside its bench curve, between {outside.min() / RPM:.0f} and "
            f"{outside.max() / RPM:.0f} rpm: torque and fuel are extrapolated there"
        )
    return listed
