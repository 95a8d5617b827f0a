"""Every variable of an envelope: its dimensions, its stored unit and how that follows from SI.

Units are written as UDUNITS reads them. Speeds of rotation come in as rad/s of the ENGINE.
"""

from collections.abc import Iterable

from simengine.constants import DEGREE, RPM
from simengine.results.catalogue import LITRE, PER_BLADE, PER_HOUR, PitchState, Variable

FLIGHT = ("temperature_offset", "mass", "bar", "height")
GROUND = ("temperature_offset", "height")
COLUMN = ("temperature_offset", "mass", "bar")
MAP = ("map_height", "map_throttle")
SWEEP = ("sweep_throttle",)
BUDGET = ("budget_case", "budget_stop", "budget_rpm")
CASE = ("budget_case",)
ANGLE = ("budget_angle",)
CHANGE = ("change",)

LEVEL_STATES = ("reached", "too_little_power", "too_much_power", "jumps")
NO_SHIFT = "NaN where the moments never change over, or blade loads do not move the blades"
CLIMB = "at the air speed of the full-throttle climb"
STILL = "tied down in still air"
FULL = "full throttle, opened with the blades coarse"
LEVEL = "level flight, throttle opened with the blades coarse"
SIZE_ONLY = "one blade; size only, opposes movement"


def rpm(name: str, long_name: str, comment: str | None = None) -> Variable:
    """An engine speed; arguments as in `Variable`."""
    return Variable(name, "rpm", long_name, 1.0 / RPM, comment=comment)


def angle(name: str, long_name: str, comment: str | None = None) -> Variable:
    """A blade angle; arguments as in `Variable`."""
    return Variable(name, "degree", long_name, 1.0 / DEGREE, comment=comment)


def flag(name: str, long_name: str, meanings: Iterable[str]) -> Variable:
    """A state of a few, whose `meanings` are in the order of its values; arguments as in `Variable`."""
    return Variable(name, "1", long_name, flags=tuple(str(meaning) for meaning in meanings), stored="flag")


def text(name: str, long_name: str) -> Variable:
    """Words; arguments as in `Variable`."""
    return Variable(name, "", long_name, stored="text")


def moment(name: str, source: str, comment: str = PER_BLADE) -> Variable:
    """A part of the moment budget, told by its `source`; arguments as in `Variable`."""
    return Variable(name, "N m", f"pitch moment of {source}", comment=comment)


COORDINATES: tuple[Variable, ...] = (
    Variable("temperature_offset", "K", "temperature above that of the standard atmosphere, at every height"),
    Variable("mass", "kg", "all-up mass"),
    Variable("bar", "1", "speed bar, 0 trim to 1 full"),
    Variable("height", "m", "geometric height above mean sea level"),
    Variable("map_height", "m", "geometric height above mean sea level, of the throttle map"),
    Variable("map_throttle", "1", "throttle opening, 0 closed to 1 full, of the throttle map"),
    Variable("sweep_throttle", "1", "throttle opening, 0 closed to 1 full, of the throttle sweep"),
    text("budget_case", "what the moment budget stands for"),
    text("budget_stop", "stop that the blade stands on"),
    rpm("budget_rpm", "engine speed of the moment budget"),
    angle("budget_angle", "blade angle of the moment budget"),
    text("change", "one change of the machine"),
)

AIR: tuple[Variable, ...] = (
    Variable("density_altitude", "m", "height in the standard atmosphere at which the air is as dense"),
    Variable("pressure_altitude", "m", "height in the standard atmosphere at which the pressure is the same"),
)


def shift_variables(prefix: str, where: str) -> tuple[Variable, ...]:
    """Begin and finish of shift and return; names begin with `prefix`, words end with `where`."""
    words = {
        "shift_begin": "the blades leave the coarse stop",
        "shift_finish": "the blades reach the fine stop",
        "return_begin": "the blades leave the fine stop",
        "return_finish": "the blades are back on the coarse stop",
    }
    return tuple(
        rpm(f"{prefix}{name}_rpm", f"engine speed at which {what}, {where}", NO_SHIFT)
        for name, what in words.items()
    )


def margin_variables(prefix: str, where: str) -> tuple[Variable, ...]:
    """What is left over at full throttle; names begin with `prefix`, words end with `where`."""
    return (
        rpm(
            f"{prefix}shift_margin_rpm",
            f"full-throttle engine speed on the fine stop minus that at which the shift finishes, {where}",
            NO_SHIFT,
        ),
        Variable(
            f"{prefix}shift_margin_moment",
            "N m",
            f"moment left to hold one blade on the fine stop at full throttle, friction paid, {where}",
            comment="one blade; positive holds fine; NaN where blade loads do not move the blades",
        ),
    )


IN_FLIGHT: tuple[Variable, ...] = (
    *shift_variables("", CLIMB),
    rpm("full_throttle_rpm_coarse", "engine speed at full throttle with the blades held coarse"),
    rpm("full_throttle_rpm_fine", "engine speed at full throttle with the blades held fine"),
    rpm("full_throttle_rpm", f"engine speed with the blades where they really are, {FULL}"),
    angle("full_throttle_blade_angle", f"blade angle, {FULL}"),
    flag("full_throttle_pitch_state", f"where the blades are, {FULL}", PitchState),
    *margin_variables("", CLIMB),
    Variable("full_throttle_thrust", "N", f"thrust left for the aircraft, {FULL}"),
    Variable("climb_rate", "m s-1", f"rate of climb, {FULL}", comment="negative is sink"),
    Variable("airspeed", "m s-1", f"true airspeed, {FULL}"),
    Variable("level_throttle", "1", f"throttle opening, {LEVEL}", comment="see level_status"),
    rpm("level_rpm", f"engine speed, {LEVEL}", "see level_status"),
    Variable(
        "level_fuel_flow",
        "L h-1",
        f"fuel flow by volume, {LEVEL}",
        PER_HOUR / LITRE,
        comment="see level_status",
    ),
    angle("level_blade_angle", f"blade angle, {LEVEL}", "see level_status"),
    flag("level_pitch_state", f"where the blades are, {LEVEL}", PitchState),
    flag("level_status", "whether a throttle holds level flight, or why none does", LEVEL_STATES),
)

ON_GROUND: tuple[Variable, ...] = (
    *shift_variables("ground_", STILL),
    rpm("ground_full_throttle_rpm", f"engine speed at full throttle, {STILL}"),
    angle("ground_full_throttle_blade_angle", f"blade angle at full throttle, {STILL}"),
    Variable("ground_thrust", "N", f"thrust at full throttle, {STILL}"),
    *margin_variables("ground_", STILL),
)

CEILINGS: tuple[Variable, ...] = (
    Variable(
        "shift_ceiling",
        "m",
        "geometric height above which the shift no longer finishes at full throttle",
        comment="NaN where there is no such height; see shift_ceiling_words",
    ),
    Variable("shift_ceiling_density_altitude", "m", "density altitude of the shift ceiling"),
    Variable(
        "service_ceiling",
        "m",
        "geometric height at which the full-throttle climb falls to 0.5 m/s",
        comment="NaN where it is not between the lowest height and the top of the search",
    ),
    text("shift_ceiling_words", "the shift ceiling in words"),
    text("limiting_cause", "what takes the margin away"),
)

THROTTLE_MAP: tuple[Variable, ...] = tuple(
    variable
    for branch, words in (("opening", "throttle opened step by step"), ("closing", "throttle closed again"))
    for variable in (
        angle(f"map_blade_angle_{branch}", f"blade angle, {words}"),
        rpm(f"map_rpm_{branch}", f"engine speed, {words}"),
        flag(f"map_pitch_state_{branch}", f"where the blades are, {words}", PitchState),
    )
)

THROTTLE_SWEEP: tuple[Variable, ...] = tuple(
    variable
    for branch, words in (("opening", "throttle opened step by step"), ("closing", "throttle closed again"))
    for variable in (
        angle(f"sweep_blade_angle_{branch}", f"blade angle, {words}"),
        rpm(f"sweep_rpm_{branch}", f"engine speed, {words}"),
    )
)


def budget_variables(prefix: str) -> tuple[Variable, ...]:
    """The moment budget by source; names begin with `prefix`."""
    return (
        moment(f"{prefix}spring", "the spring"),
        moment(f"{prefix}centrifugal", "the blade's own mass in rotation"),
        moment(f"{prefix}counterweight", "the counterweights"),
        moment(f"{prefix}air", "the air"),
        moment(f"{prefix}friction", "friction, the most it can hold", SIZE_ONLY),
    )


SHARES: tuple[Variable, ...] = (
    Variable(
        "budget_air_share",
        "1",
        "part of the fine-going moment at the finish of the shift that the air gives",
        comment="negative where the air holds coarse; the rest does not depend on density",
    ),
)

CHANGES: tuple[Variable, ...] = (
    Variable(
        "change_shift_ceiling",
        "m",
        "geometric height of the shift ceiling after the change",
        comment="NaN where there is none; see change_words",
    ),
    Variable("change_gain", "m", "shift ceiling after the change less that before"),
    rpm("change_shift_begin_rpm", f"engine speed at which the blades leave coarse after the change, {CLIMB}"),
    rpm("change_shift_finish_rpm", f"engine speed at which the blades reach fine after the change, {CLIMB}"),
    text("change_words", "what the change does, in words"),
)

SCALARS: tuple[Variable, ...] = (
    angle("coarse_stop", "blade angle on the coarse stop"),
    angle("fine_stop", "blade angle on the fine stop"),
    rpm("engine_rpm_limit", "engine speed limit"),
    Variable("reduction", "1", "engine turns for one turn of the propeller"),
    Variable("site_height", "m", "geometric height of the site above mean sea level"),
    Variable("sweep_height", "m", "geometric height of the throttle sweep above mean sea level"),
)

TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (GROUND, AIR),
    (FLIGHT, IN_FLIGHT),
    (GROUND, ON_GROUND),
    (COLUMN, CEILINGS),
    (MAP, THROTTLE_MAP),
    (SWEEP, THROTTLE_SWEEP),
    (BUDGET, budget_variables("budget_")),
    (CASE, SHARES),
    (ANGLE, budget_variables("budget_angle_")),
    (CHANGE, CHANGES),
    ((), SCALARS),
)


def all_envelope_variables() -> tuple[Variable, ...]:
    """Every variable of an envelope, coordinates first, in file order."""
    return (*COORDINATES, *(variable for _, table in TABLES for variable in table))
