"""Which limits of the model a route met, in words."""

from collections.abc import Sequence

from simengine.balance.aircraft import Aircraft
from simengine.constants import RPM
from simengine.models.engine import outside_table
from simengine.scenario import Scenario
from simengine.studies.route.trip import Trip

HIGH_TIP_MACH = 0.7


def route_limits(scenario: Scenario, aircraft: Aircraft, trips: Sequence[Trip]) -> list[str]:
    """One sentence for each limit met by the scenario's own hub, and what a route leaves out."""
    engine = aircraft.engine
    own = trips[0]
    speeds = [point.engine_speed for leg in own.legs for point in leg.path]
    machs = [leg.cruise.tip_mach for leg in own.legs if leg.cruise]
    machs += [leg.climb_tip_mach for leg in own.legs if leg.climb_tip_mach > 0.0]
    listed = [
        "steady flight: no turns, no gusts, no thermals, no acceleration between climb and cruise; landings "
        "are flown idle overhead"
    ]
    if speeds and max(speeds) > engine.speed_limit:
        listed.append(
            f"the engine ran at {max(speeds) / RPM:.0f} rpm, above its limit of "
            f"{engine.speed_limit / RPM:.0f} rpm"
        )
    outside = [speed for speed in speeds if outside_table(engine, speed)]
    if outside:
        listed.append(
            f"the engine ran outside its bench curve, between {min(outside) / RPM:.0f} and "
            f"{max(outside) / RPM:.0f} rpm: torque and fuel are extrapolated there"
        )
    if machs and max(machs) > HIGH_TIP_MACH:
        listed.append(f"the blade tip reached Mach {max(machs):.2f}, beyond the section data")
    if scenario.record.atmosphere.tailwind:
        listed.append("atmosphere.tailwind is not used: a route has its own winds")
    return listed
