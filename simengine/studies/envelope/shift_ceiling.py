"""Up to which height the shift finishes at full throttle, how high the machine climbs, what takes the margin.

Ceilings are zeros of a margin, found between heights at which it has different signs; nothing is
read off the envelope's grid.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import isnan, nan

import numpy as np

from simengine.balance.aircraft import rotor_state, with_parts
from simengine.balance.assembly import assemble_engine
from simengine.balance.pitch import balance_at
from simengine.balance.rotor import OVERSPEED, steady_rotor_speed
from simengine.constants import RPM
from simengine.models.atmosphere import Atmosphere, air_at, density_altitude
from simengine.models.blade import nothing_known
from simengine.models.engine import altitude_factor
from simengine.models.mechanism import PitchMoments, net_moment
from simengine.scenario import records
from simengine.studies.full_throttle import full_throttle, least_drive, shift_speeds
from simengine.studies.machine import Condition, Machine, condition_at, held_flight

SEARCH_TOP = 8000.0  # no paramotor is flown higher [m]
STRIDE = 500.0  # between heights looked at for a change of sign [m]
HEIGHT_TOLERANCE = 0.5  # [m]
SERVICE_CLIMB_RATE = 0.5  # [m/s]
WORTH_NAMING = 0.01  # a moment that nobody would notice [N m]


@dataclass(frozen=True)
class Ceiling:
    """A ceiling: its `height` [m], NaN where there is none, in `words`, and the `cause` of the loss."""

    height: float
    words: str
    cause: str


@dataclass(frozen=True)
class Column:
    """All heights at one temperature offset, all-up `mass` [kg] and `bar` [1]."""

    machine: Machine
    atmosphere: Atmosphere
    mass: float
    bar: float

    def at(self, height: float) -> Condition:
        """Condition at a height [m]."""
        return condition_at(self.atmosphere, height, self.mass, self.bar)

    def margin(self, height: float) -> float:
        """Least drive of one blade on the way to fine [N m] at a height [m]; -1 where the rotor stands."""
        drive = least_drive(self.machine, self.at(height))
        return -1.0 if isnan(drive) else drive

    def climb_margin(self, height: float) -> float:
        """Rate of climb at full throttle beyond that of the service ceiling [m/s] at a height [m]."""
        return full_throttle(self.machine, self.at(height)).climb_rate - SERVICE_CLIMB_RATE


def search_heights(lowest: float, top: float) -> list[float]:
    """Heights to look at from `lowest` to `top`, lowest first [m]."""
    count = max(int((top - lowest) / STRIDE + 0.5), 1)
    return [float(height) for height in np.linspace(lowest, top, count + 1)]


def zero_between(
    margin: Callable[[float], float], low: float, high: float, at_low: float, at_high: float
) -> float:
    """Height [m] at which a margin changes sign, false position kept honest by halving.

    Between heights `low` and `high` [m], where the margin is `at_low` and `at_high`, any unit. Robust against
    a jump: the bracket always holds the change of sign.
    """
    side = 0
    for step in range(60):
        if abs(high - low) <= HEIGHT_TOLERANCE:
            break
        share = at_low / (at_low - at_high) if step % 3 < 2 else 0.5
        middle = low + min(max(share, 0.01), 0.99) * (high - low)
        value = margin(middle)
        if abs(value) < 1e-9:
            return middle
        if (value > 0.0) == (at_low > 0.0):
            low, at_low = middle, value
            at_high *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            high, at_high = middle, value
            at_low *= 0.5 if side == -1 else 1.0
            side = -1
    return 0.5 * (low + high)


def crossings(margin: Callable[[float], float], heights: list[float]) -> tuple[list[float], bool]:
    """Heights at which a margin changes sign [m], and whether it is positive at the lowest; `heights` [m]."""
    values = [margin(height) for height in heights]
    found = [
        zero_between(margin, low, high, at_low, at_high)
        for low, high, at_low, at_high in zip(heights, heights[1:], values, values[1:], strict=False)
        if (at_low > 0.0) != (at_high > 0.0)
    ]
    return found, values[0] > 0.0


def first_loss(margin: Callable[[float], float], lowest: float, top: float) -> float:
    """Lowest height [m] at which a margin that is positive below is lost; NaN if it never is or was.

    Looked for from `lowest` to `top` [m].
    """
    before, at_before = lowest, margin(lowest)
    for height in search_heights(lowest, top)[1:]:
        value = margin(height)
        if at_before > 0.0 >= value:
            return zero_between(margin, before, height, at_before, value)
        before, at_before = height, value
    return nan


def shift_ceiling(column: Column, engine: records.Engine, lowest: float, top: float = SEARCH_TOP) -> Ceiling:
    """Shift ceiling of a two-stop hub, in words and with its cause, from `lowest` to `top` [m]."""
    if not column.machine.shifts:
        return Ceiling(nan, "the blades of this hub are not moved by their loads: no shift to finish", "")
    found, finishes = crossings(column.margin, search_heights(lowest, top))
    if not found:
        if finishes:
            return Ceiling(nan, f"finishes at every height up to {top:.0f} m", "")
        cause, reason = cause_at_lowest(column, lowest)
        return Ceiling(nan, f"never finishes between {lowest:.0f} and {top:.0f} m{reason}", cause)
    if not finishes:
        words = f"does not finish below {found[0]:.0f} m, only above"
        if len(found) == 1:
            return Ceiling(nan, words, "")
        return Ceiling(
            found[1], f"{words}, up to {found[1]:.0f} m", cause_of_loss(column, engine, lowest, found[1])[0]
        )
    cause, reason = cause_of_loss(column, engine, lowest, found[0])
    again = f"; finishes again above {found[1]:.0f} m" if len(found) > 1 else ""
    return Ceiling(found[0], f"finishes up to {found[0]:.0f} m; {reason}{again}", cause)


def service_ceiling(column: Column, lowest: float, top: float = SEARCH_TOP) -> float:
    """Height [m] at which the full-throttle climb falls to 0.5 m/s; NaN outside the search.

    Looked for from `lowest` to `top` [m].
    """
    return first_loss(column.climb_margin, lowest, top)


def cause_at_lowest(column: Column, lowest: float) -> tuple[str, str]:
    """Why a shift does not even finish at the `lowest` height [m]."""
    machine, condition = column.machine, column.at(lowest)
    axial_speed = machine.inflow_factor * held_flight(machine, condition, machine.fine_stop).airspeed
    fine = balance_at(machine.aircraft, condition.air, machine.fine_stop, axial_speed, 1.0, 0.0)
    finish = shift_speeds(machine, condition.air, axial_speed).shift_finish
    if -fine.net > 0.0:
        return "friction", ": without friction it would at the lowest"
    reached = machine.reduction * fine.rotor_speed
    if isnan(finish):
        highest = OVERSPEED * machine.speed_limit / RPM
        return (
            "power too small",
            f": no engine speed up to {highest:.0f} rpm brings the blades fine",
        )
    needed, limit = finish / RPM, machine.speed_limit / RPM
    if finish > machine.speed_limit and reached >= machine.speed_limit:
        return "rpm limit", f": it would need {needed:.0f} rpm, beyond the engine's limit of {limit:.0f} rpm"
    return "power too small", (
        f": it would need {needed:.0f} rpm at the lowest and full throttle gives {reached / RPM:.0f} rpm"
    )


SENTENCES = {
    "air twist falls": "above that the air's help is too small",
    "power falls": "above that the engine no longer gives the rpm it needs",
    "friction": "above that friction takes what is left",
    "": "above that nothing single is to blame: the rpm that the loads need is no longer reached",
}


def cause_of_loss(column: Column, engine: records.Engine, lowest: float, height: float) -> tuple[str, str]:
    """The one ingredient that, had it stayed as at the `lowest` height [m], would give most margin back.

    All are looked at on the fine stop at the ceiling's `height` [m], where the margin is nothing.
    """
    gains = loss_by_ingredient(column, engine, lowest, height)
    machine, condition = column.machine, column.at(height)
    axial_speed = machine.inflow_factor * held_flight(machine, condition, machine.fine_stop).airspeed
    finish = shift_speeds(machine, condition.air, axial_speed).shift_finish
    cause = max(gains, key=gains.__getitem__)
    if gains[cause] < WORTH_NAMING:
        cause = ""
    amounts = ", ".join(f"{name} {-gain:+.2f} N m" for name, gain in gains.items())
    beyond = "; the rpm it needs there is beyond the engine's limit" if finish > machine.speed_limit else ""
    return cause, f"{SENTENCES[cause]} (change since {lowest:.0f} m, per blade: {amounts}){beyond}"


def loss_by_ingredient(
    column: Column, engine: records.Engine, lowest: float, height: float
) -> dict[str, float]:
    """Moment of one blade that each ingredient would give back on the fine stop [N m] at a height [m].

    That is, were it as at the `lowest` height [m].
    """
    machine = column.machine
    low, high = column.at(lowest), column.at(height)
    flight_low = held_flight(machine, low, machine.fine_stop)
    flight = held_flight(machine, high, machine.fine_stop)
    axial_low, axial = (machine.inflow_factor * each.airspeed for each in (flight_low, flight))
    stop, speed = machine.fine_stop, flight.rotor_speed

    def moments(air_of: Condition, axial_speed: float, rotor_speed: float) -> PitchMoments:
        return rotor_state(machine.aircraft, air_of.air, stop, rotor_speed, axial_speed, 1.0).moments

    here = moments(high, axial, speed)
    powered = speed_with_power_of(column, engine, low, high, axial)
    with_power = moments(high, axial, powered)
    friction_low = moments(low, axial_low, flight_low.rotor_speed).friction
    return {
        "air twist falls": here.air - moments(low, axial_low, speed).air,
        "power falls": net_fine(with_power) - net_fine(here),
        "friction": here.friction - friction_low,
    }


def net_fine(moments: PitchMoments) -> float:
    """Fine-going moment less friction [N m]."""
    return -net_moment(moments) - moments.friction


def speed_with_power_of(
    column: Column, engine: records.Engine, low: Condition, high: Condition, axial_speed: float
) -> float:
    """Rotor speed on the fine stop in high air with the engine as strong as in low air [rad/s].

    `axial_speed` is the air speed at the disc [m/s].
    """
    machine = column.machine
    kept = machine.aircraft.engine
    factor = altitude_factor(kept, low.air) / altitude_factor(kept, high.air)
    curve = engine.curve
    stronger = assemble_engine(
        engine.model_copy(
            update={"curve": curve.model_copy(update={"torque": tuple(t * factor for t in curve.torque)})}
        )
    )
    aircraft = with_parts(machine.aircraft, engine=stronger)
    return steady_rotor_speed(
        aircraft, high.air, machine.fine_stop, axial_speed, 1.0, 0.0, nothing_known(aircraft.blade)
    )


def density_altitude_of(column: Column, height: float) -> float:
    """Density altitude of a height [m]."""
    return nan if isnan(height) else float(density_altitude(air_at(column.atmosphere, height).density))
