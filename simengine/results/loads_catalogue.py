"""Every variable of the load figures: its dimensions, its stored unit and how that follows from SI.

Speeds of rotation come in as rad/s; a name with `rpm` in it is the ENGINE's unless it says propeller.
"""

from simengine.results.catalogue import LITRE, PER_HOUR, PitchState, Variable
from simengine.results.envelope_catalogue import LEVEL_STATES, NO_SHIFT, angle, flag, rpm, text

CONDITION = ("load_condition",)
END = ("spring_end",)
STROKE = ("stroke",)
STOP = ("stop_rpm",)
CAMPBELL = ("mode", "setting", "campbell_rpm")
EXCITATION = ("excitation",)
SETTING = ("setting",)
MODE = ("mode", "setting")
FAILURE = ("failure",)

ONE_BLADE = "one blade"
NO_ROOT = "one blade; NaN where the section is not given"
NO_WIRE = "NaN where the wire is not given; a yardstick, no proof"
NO_FRICTION = "one blade, with no help from friction"
ROTATES = "turns with the hub; as built zero; all blades in the mean inflow, on the safe side"
BEFORE_LOSS = "before what the machine behind it takes of it; NaN without air"
FROM_STATION = "one blade, from its first station out: nothing of the shank inside it"
MEGAPASCAL = 1e-6


def moment(name: str, long_name: str, comment: str = ONE_BLADE) -> Variable:
    """A moment; arguments as in `Variable`."""
    return Variable(name, "N m", long_name, comment=comment)


def stress(name: str, long_name: str, comment: str = NO_ROOT) -> Variable:
    """A stress; arguments as in `Variable`."""
    return Variable(name, "MPa", long_name, MEGAPASCAL, comment=comment)


def frequency(name: str, long_name: str, comment: str | None = None) -> Variable:
    """A frequency; arguments as in `Variable`."""
    return Variable(name, "Hz", long_name, comment=comment)


def plain(name: str, long_name: str, comment: str | None = None) -> Variable:
    """A pure number; arguments as in `Variable`."""
    return Variable(name, "1", long_name, comment=comment)


COORDINATES: tuple[Variable, ...] = (
    text("load_condition", "condition that the loads are told at"),
    text("spring_end", "end of the spring's stroke, by the stop that the blades stand on"),
    Variable("stroke", "1", "number of a size of stroke", stored="count"),
    rpm("stop_rpm", "engine speed of the stop loads"),
    text("mode", "how the blade swings"),
    text("setting", "where the blade stands"),
    rpm("campbell_rpm", "engine speed of the frequency diagram"),
    text("excitation", "what shakes the blade"),
    text("failure", "what failed"),
)

LOADS: tuple[Variable, ...] = (
    text("load_words", "what the condition is"),
    rpm("load_engine_rpm", "engine speed"),
    rpm("load_propeller_rpm", "propeller speed"),
    angle("load_blade_angle", "blade angle"),
    Variable("load_thrust", "N", "thrust of the whole propeller", comment=BEFORE_LOSS),
    Variable("load_pull", "N", "outward pull of the blade at its root", comment=FROM_STATION),
    Variable("load_pull_kgf", "kgf", "outward pull of the blade at its root", comment=FROM_STATION),
    moment("load_flap_moment", "bending at the root section by the thrust, forward"),
    moment("load_lag_moment", "bending at the root section by the torque, backward"),
    stress("load_stress_pull", "stress at the root section by the pull"),
    stress("load_stress_flat", "stress at the root section by bending across the chord"),
    stress("load_stress_edge", "stress at the root section by bending along the chord"),
    stress("load_stress", "sum of the stresses at the worst corner of the root section"),
    plain("load_strength_factor", "strength given for the root over that sum", NO_ROOT),
    moment("load_coarse_stop_moment", "moment that the coarse stop carries, blade on it", NO_FRICTION),
    moment("load_fine_stop_moment", "moment that the fine stop carries, blade on it", NO_FRICTION),
    Variable("load_pin_force", "N", "force of the larger of the two on its pin", comment=ONE_BLADE),
    stress("load_pin_shear", "mean shear of that pin", "one section; NaN where its diameter is not given"),
    plain("load_tip_mach", "Mach number of the blade tip on its helix"),
    Variable("load_noise_trend", "dB", "sound by tip Mach against the full-throttle climb, trend only"),
)

SPRING_ENDS: tuple[Variable, ...] = (
    Variable("spring_compression", "mm", "compression of the spring", 1e3, comment="NaN if wound"),
    angle("spring_windup", "wind-up of a torsion spring", "NaN for any other"),
    Variable("spring_force", "N", "force of the whole spring", comment="NaN if wound"),
    moment("spring_moment", "moment of a whole torsion spring", "NaN for any other"),
    stress("spring_stress", "largest stress in the spring", NO_WIRE),
)

STROKES: tuple[Variable, ...] = (
    angle("stroke_range", "range of a stroke of the blades, rainflow count of the flown flight"),
    plain("stroke_count", "number of such strokes, to and fro", "a half stroke counts 0.5"),
)

STOPS: tuple[Variable, ...] = (
    moment("coarse_stop_moment", "moment that the coarse stop carries, blade on it", NO_FRICTION),
    moment("fine_stop_moment", "moment that the fine stop carries, blade on it", NO_FRICTION),
)

FREQUENCIES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (CAMPBELL, (frequency("campbell_frequency", "frequency of a blade", "NaN where it is not known"),)),
    (EXCITATION, (plain("excitation_order", "cycles for each turn of the propeller"),)),
    (
        SETTING,
        (
            angle("setting_angle", "blade angle"),
            rpm("setting_rpm", "engine speed at which the blades stand there"),
        ),
    ),
    (
        MODE,
        (
            frequency("mode_frequency", "frequency of a blade at that speed", "NaN where it is not known"),
            plain("mode_order", "the same in cycles for each turn of the propeller"),
            text("mode_nearest", "nearest excitation"),
            plain("mode_separation", "how far the frequency lies above that excitation, share of it"),
        ),
    ),
)


def imbalance(prefix: str, where: str) -> tuple[Variable, ...]:
    """What an odd blade does to the hub; names begin with `prefix`, words end with `where`."""
    return (
        Variable(f"{prefix}thrust_difference", "N", f"thrust of the odd blade less that of another, {where}"),
        moment(f"{prefix}out_of_plane", f"moment that bends the shaft once per turn, {where}", ROTATES),
        Variable(f"{prefix}in_plane", "N", f"force across the shaft once per turn, {where}", comment=ROTATES),
    )


FAILURES: tuple[Variable, ...] = (
    text("failure_assumed", "what is assumed"),
    rpm("failure_static_rpm", "engine speed at full throttle, tied down"),
    Variable("failure_static_thrust", "N", "thrust left for the aircraft at full throttle, tied down"),
    rpm("failure_climb_rpm", "engine speed at full throttle in the climb at trim speed"),
    Variable("failure_climb_rate", "m s-1", "rate of climb at full throttle", comment="negative is sink"),
    rpm("failure_highest_rpm", "highest engine speed at full throttle: tied down, climb, full bar"),
    rpm("failure_rpm_margin", "engine rpm limit less that", "negative: the limit is passed"),
    Variable(
        "failure_throttle_at_limit",
        "1",
        "throttle opening at which the climb meets the rpm limit",
        comment="NaN where full throttle in the climb does not pass it, or one blade is odd",
    ),
    angle("failure_blade_angle", "blade angle at full throttle in the climb, of blades that are not stuck"),
    flag("failure_pitch_state", "where these blades are at full throttle in the climb", PitchState),
    flag("failure_level_status", "whether a throttle holds level flight, or why none does", LEVEL_STATES),
    Variable("failure_level_throttle", "1", "throttle opening of level flight", comment="see the status"),
    rpm("failure_level_rpm", "engine speed of level flight", "see the status"),
    Variable("failure_level_fuel_flow", "L h-1", "fuel flow by volume of level flight", PER_HOUR / LITRE),
    angle("failure_level_blade_angle", "blade angle in level flight, of the blades that are not stuck"),
    flag("failure_level_pitch_state", "where these blades are in level flight", PitchState),
    rpm("failure_shift_begin_rpm", "engine speed at which the blades leave coarse in the climb", NO_SHIFT),
    rpm("failure_shift_finish_rpm", "engine speed at which the blades reach fine in the climb", NO_SHIFT),
    rpm("failure_return_begin_rpm", "engine speed at which the blades leave fine in the climb", NO_SHIFT),
    rpm("failure_return_finish_rpm", "engine speed at which they are back on coarse in the climb", NO_SHIFT),
    *imbalance("failure_", "full-throttle climb"),
    *imbalance("failure_level_", "level flight"),
)

SCALARS: tuple[Variable, ...] = (
    angle("coarse_stop", "blade angle on the coarse stop"),
    angle("fine_stop", "blade angle on the fine stop"),
    rpm("engine_rpm_limit", "engine speed limit"),
    rpm("engine_rpm_idle", "engine speed at idle"),
    plain("reduction", "engine turns for one turn of the propeller"),
    Variable("site_height", "m", "geometric height above mean sea level that all is computed at"),
    Variable("blades", "1", "number of blades", stored="count"),
    Variable("own_mass", "kg", "all-up mass"),
    Variable("blade_mass", "kg", "mass of one blade from its first station out"),
    Variable(
        "pull_at_limit", "N", "outward pull of one blade at the engine's rpm limit", comment=FROM_STATION
    ),
    Variable("root_radius", "m", "radius of the root section"),
    stress("root_strength", "strength given for the root", "NaN where it is not given: no margin claimed"),
    Variable("pin_radius", "m", "distance of the stop's pin from the pitch axis"),
    frequency("flap_at_rest", "first flap frequency of the standing blade", "NaN where it is not known"),
    frequency("lag_at_rest", "first lag frequency of the standing blade", "NaN where it is not known"),
    stress("spring_tensile_strength", "tensile strength taken for the spring's wire", NO_WIRE),
    plain("spring_stress_share", "largest stress over that strength", NO_WIRE),
    plain("spring_sines_factor", "fatigue factor for a life without end, Sines", NO_WIRE),
    plain("spring_gerber_factor", "fatigue factor for a life without end, Gerber", NO_WIRE),
    plain("spring_goodman_factor", "fatigue factor for a life without end, Goodman", NO_WIRE),
    plain("spring_strokes_allowed", "strokes that the handbook allows, infinite for ever", NO_WIRE),
    Variable("flight_hours", "h", "duration of the flown flight", 1.0 / PER_HOUR),
    plain("shifts_flown", "shifts to fine and back in the flown flight, of half the travel or more"),
    Variable("shifts_per_hour", "h-1", "the same for each hour", PER_HOUR, comment="of the whole flight"),
    Variable("spring_life", "h", "hours of such flying that use up the strokes allowed", 1.0 / PER_HOUR),
)

TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (CONDITION, LOADS),
    (END, SPRING_ENDS),
    (STROKE, STROKES),
    (STOP, STOPS),
    *FREQUENCIES,
    (FAILURE, FAILURES),
    ((), SCALARS),
)


def all_loads_variables() -> tuple[Variable, ...]:
    """Every variable of the load figures, coordinates first, in file order."""
    return (*COORDINATES, *(variable for _, table in TABLES for variable in table))
