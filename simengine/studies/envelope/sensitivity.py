"""What one change fixes it: the shift ceiling after each of a dozen single changes of the scenario."""

from collections.abc import Callable, Sequence
from math import isnan, nan, radians
from typing import Any

from pydantic import ValidationError

from simengine.balance.assembly import assemble
from simengine.models.atmosphere import Atmosphere
from simengine.scenario import records
from simengine.scenario.variation import rebuilt
from simengine.studies.envelope.shift_ceiling import SEARCH_TOP, Column, first_loss
from simengine.studies.full_throttle import shift_speeds
from simengine.studies.machine import held_flight, machine_of

Scenario = records.ScenarioRecord
Change = Callable[[Scenario], Scenario | None]


def with_hub(scenario: Scenario, **changes: Any) -> Scenario | None:
    """The scenario with values of its two-stop hub replaced, `changes` by name, SI; None for another hub."""
    if not isinstance(scenario.hub, records.TwoStopHub):
        return None
    return scenario.model_copy(update={"hub": rebuilt(scenario.hub, **changes)})


def with_spring(scenario: Scenario, **changes: Any) -> Scenario | None:
    """The scenario with values of its spring replaced, `changes` by name in SI; None where it has none."""
    if not isinstance(scenario.hub, records.TwoStopHub):
        return None
    return with_hub(scenario, spring=rebuilt(scenario.hub.spring, **changes))


def washers(by: int) -> Change:
    """More or fewer washers under the spring, `by` so many."""

    def change(scenario: Scenario) -> Scenario | None:
        hub = scenario.hub
        if not isinstance(hub, records.TwoStopHub) or isinstance(hub.spring, records.TorsionSpring):
            return None
        count = hub.spring.washers + by
        return None if count < 0 else with_spring(scenario, washers=count)

    return change


def rate(factor: float) -> Change:
    """A stiffer or softer spring, by a `factor` on its rate [1], fitted the same."""

    def change(scenario: Scenario) -> Scenario | None:
        hub = scenario.hub
        if not isinstance(hub, records.TwoStopHub):
            return None
        spring = hub.spring
        if isinstance(spring, records.DiscWasherSpring):
            return with_spring(scenario, elastic_modulus=factor * spring.elastic_modulus)
        if spring.rate is not None:
            return with_spring(scenario, rate=factor * spring.rate)
        wire = spring.wire if isinstance(spring, records.HelicalSpring) else None
        if wire is None:
            return None
        return with_spring(scenario, wire=rebuilt(wire, shear_modulus=factor * wire.shear_modulus))

    return change


def friction_halved(scenario: Scenario) -> Scenario | None:
    """Half the constant friction and half the bearing's."""
    if not isinstance(scenario.hub, records.TwoStopHub):
        return None
    friction = scenario.hub.friction
    halved = rebuilt(
        friction, constant=0.5 * friction.constant, bearing_coefficient=0.5 * friction.bearing_coefficient
    )
    return with_hub(scenario, friction=halved)


def fine_stop_coarser(scenario: Scenario) -> Scenario | None:
    """The fine stop half a degree earlier."""
    hub = scenario.hub
    if not isinstance(hub, records.TwoStopHub):
        return None
    return with_hub(scenario, fine_stop=hub.fine_stop + radians(0.5))


def coarse_stop_finer(scenario: Scenario) -> Scenario | None:
    """The coarse stop half a degree earlier, the spring's preload on it as before."""
    hub = scenario.hub
    if not isinstance(hub, records.TwoStopHub):
        return None
    return with_hub(scenario, coarse_stop=hub.coarse_stop - radians(0.5))


def counterweight(scenario: Scenario) -> Scenario | None:
    """10 g on 25 mm along the chord."""
    if not isinstance(scenario.hub, records.TwoStopHub):
        return None
    weight = records.Counterweight(mass=0.010, arm=0.025, angle_from_chord=0.0)
    return with_hub(scenario, counterweights=(*scenario.hub.counterweights, weight))


def datum(scenario: Scenario) -> Scenario:
    """The chord half a degree finer on the same protractor reading."""
    propeller = scenario.propeller
    turned = rebuilt(propeller, blade_angle_datum=propeller.blade_angle_datum - radians(0.5))
    return scenario.model_copy(update={"propeller": turned})


def more_power(scenario: Scenario) -> Scenario:
    """5 % more torque at every speed."""
    stronger = rebuilt(scenario.engine, torque_factor=1.05 * scenario.engine.torque_factor)
    return scenario.model_copy(update={"engine": stronger})


def reduction(scenario: Scenario) -> Scenario:
    """3 % more reduction."""
    drive = rebuilt(scenario.drive, reduction=1.03 * scenario.drive.reduction)
    return scenario.model_copy(update={"drive": drive})


def lighter_pilot(scenario: Scenario) -> Scenario:
    """10 kg less."""
    masses = rebuilt(scenario.masses, pilot=scenario.masses.pilot - 10.0)
    return scenario.model_copy(update={"masses": masses})


CHANGES: dict[str, Change] = {
    "one washer less": washers(-1),
    "one washer more": washers(1),
    "spring rate -5 %": rate(0.95),
    "spring rate +5 %": rate(1.05),
    "friction halved": friction_halved,
    "fine stop 0.5 deg coarser": fine_stop_coarser,
    "coarse stop 0.5 deg finer": coarse_stop_finer,
    "10 g counterweight at 25 mm driving fine (0 deg)": counterweight,
    "blade angle datum -0.5 deg": datum,
    "engine power +5 %": more_power,
    "reduction +3 %": reduction,
    "pilot 10 kg lighter": lighter_pilot,
}


OWN = -1  # stands for no change
After = tuple[float, float, float, str]


def changed(scenario: Scenario, change: Change) -> Scenario | None:
    """The scenario after a change; None if it does not apply or cannot be built."""
    try:
        return change(scenario)
    except ValidationError:
        return None


def ceiling_after(scenario: Scenario, atmosphere: Atmosphere, lowest: float) -> After:
    """Shift ceiling [m], begin and finish in the low climb [rad/s, engine], and the ceiling in words.

    `lowest` is the height of the low climb, where the search begins [m].
    """
    aircraft = assemble(scenario)
    machine = machine_of(aircraft)
    column = Column(machine, atmosphere, aircraft.dry_mass + aircraft.fuel_start, 0.0)
    condition = column.at(lowest)
    axial_speed = machine.inflow_factor * held_flight(machine, condition, machine.fine_stop).airspeed
    speeds = shift_speeds(machine, condition.air, axial_speed)
    height = first_loss(column.margin, lowest, SEARCH_TOP)
    if not isnan(height):
        return height, speeds.shift_begin, speeds.shift_finish, f"finishes up to {height:.0f} m"
    words = "never finishes" if column.margin(lowest) <= 0.0 else f"finishes above {SEARCH_TOP:.0f} m"
    if column.margin(lowest) <= 0.0 < column.margin(SEARCH_TOP):
        words = "finishes only higher up"
    return nan, speeds.shift_begin, speeds.shift_finish, words


def after_change(scenario: Scenario, atmosphere: Atmosphere, lowest: float, place: int) -> After:
    """`ceiling_after` a change by its `place` in `CHANGES`, or after none; `lowest` [m] as there."""
    after = None
    if isinstance(scenario.hub, records.TwoStopHub):
        after = scenario if place == OWN else changed(scenario, list(CHANGES.values())[place])
    if after is None:
        return nan, nan, nan, "does not apply to this hub, or cannot be fitted"
    return ceiling_after(after, atmosphere, lowest)


def sensitivity(scenario: Scenario, atmosphere: Atmosphere, lowest: float) -> dict[str, object]:
    """Variables of the catalogue in SI, in the order of `CHANGES`; `lowest` [m] as for `ceiling_after`."""
    places = (OWN, *range(len(CHANGES)))
    before, *rows = (after_change(scenario, atmosphere, lowest, place) for place in places)
    return change_values(before[0], rows)


def change_values(before: float, rows: Sequence[After]) -> dict[str, object]:
    """The same from the ceiling as it is, `before` [m], and from what the changes do in their order."""
    ceilings, begins, finishes, words = zip(*rows, strict=True)
    return {
        "change": list(CHANGES),
        "change_shift_ceiling": ceilings,
        "change_gain": [ceiling - before for ceiling in ceilings],
        "change_shift_begin_rpm": begins,
        "change_shift_finish_rpm": finishes,
        "change_words": list(words),
    }


def ranked(values: dict[str, object]) -> str:
    """The changes by what they gain, best first, one a line."""
    names, gains, words = values["change"], values["change_gain"], values["change_words"]
    rows = list(zip(names, gains, words, strict=True))  # type: ignore[call-overload]
    known = sorted((row for row in rows if not isnan(row[1])), key=lambda row: -row[1])
    above = [row for row in rows if isnan(row[1]) and row[2].startswith("finishes above")]
    other = [row for row in rows if isnan(row[1]) and row not in above]
    lines = [f"{name}: {text}" for name, _, text in above]
    lines += [f"{name}: {text} ({gain:+.0f} m)" for name, gain, text in known]
    return "\n".join([*lines, *(f"{name}: {text}" for name, _, text in other)])
