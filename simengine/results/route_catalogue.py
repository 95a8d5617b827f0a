"""Every variable of a route: its dimensions, its stored unit and how that follows from SI.

Units are written as UDUNITS reads them. Speeds of rotation come in as rad/s of the ENGINE.
"""

from simengine.constants import DEGREE
from simengine.results.catalogue import LITRE, PER_HOUR, PitchState, Variable
from simengine.results.envelope_catalogue import angle, flag, rpm, text

LEG, HUB, INPUT, PATH, GROUND = ("leg",), ("hub",), ("input",), ("path",), ("ground",)
HUB_LEG, HUB_INPUT, MAP = ("hub", "leg"), ("hub", "input"), ("map_height", "map_head_wind")

PARTS = ("climb", "cruise", "descent", "landing")
VERDICTS = ("own_hub", "saves", "burns_more", "within_uncertainty", "not_estimated", "cannot_be_compared")
PER_100_KM = 1e5
KILOMETRE = 1e-3
NO_CRUISE = "NaN where there was no cruise"
BAND = "2.5 and 97.5 percent of the draws; NaN where none were made"
SAVING_SIGN = "positive: the scenario's own hub burns less; the same draws for both hubs"


def volume(name: str, long_name: str, comment: str | None = None) -> Variable:
    """A fuel volume; arguments as in `Variable`."""
    return Variable(name, "L", long_name, 1.0 / LITRE, comment=comment)


COORDINATES: tuple[tuple[tuple[str, ...], Variable], ...] = (
    (LEG, text("leg", "leg of the route")),
    (HUB, text("hub", "hub that flies the route, the scenario's own first")),
    (INPUT, text("input", "uncertain input by its key path")),
    (PATH, Variable("path", "1", "number of the point on the way of the scenario's own hub", stored="count")),
    (GROUND, Variable("ground", "km", "distance of a row of the terrain from the start", KILOMETRE)),
    (("map_height",), Variable("map_height", "m", "cruising height above mean sea level, of the map")),
    (
        ("map_head_wind",),
        Variable("map_head_wind", "m s-1", "wind from ahead on the whole way, of the map"),
    ),
)

LEGS: tuple[Variable, ...] = (
    Variable("leg_start", "km", "distance of the leg's start from that of the route", KILOMETRE),
    Variable("leg_distance", "km", "length of the leg", KILOMETRE),
    Variable("leg_track", "degree", "true track at half the leg", 1.0 / DEGREE),
    Variable("leg_height", "m", "cruising height above mean sea level"),
    Variable("leg_wind_speed", "m s-1", "wind speed at the cruising height"),
    Variable("leg_wind_from", "degree", "true direction that the wind blows from", 1.0 / DEGREE),
    Variable("leg_temperature_offset", "K", "temperature above that of the standard atmosphere"),
    Variable("leg_latitude", "degrees_north", "latitude of the leg's end", standard_name="latitude"),
    Variable("leg_longitude", "degrees_east", "longitude of the leg's end", standard_name="longitude"),
    Variable("leg_ground", "m", "highest ground under the leg", comment="NaN without a terrain table"),
    text("leg_policy", "how the speed of the leg is set"),
)

FLOWN: tuple[Variable, ...] = (
    Variable("time", "min", "time of the leg, climb, descent and landing included", 1.0 / 60.0),
    volume("fuel", "fuel burnt in the leg, climb, descent and landing included"),
    volume("fuel_low", "fuel burnt in the leg, lower end of its 95 % band", BAND),
    volume("fuel_high", "fuel burnt in the leg, upper end of its 95 % band", BAND),
    volume("climb_fuel", "fuel burnt in the climb to the leg's height"),
    Variable("climb_time", "min", "time of the climb to the leg's height", 1.0 / 60.0),
    Variable("fuel_flow", "L h-1", "mean fuel flow of the cruise", PER_HOUR / LITRE, comment=NO_CRUISE),
    Variable(
        "fuel_per_distance",
        "L/(100 km)",
        "fuel of the leg over its distance on the ground",
        PER_100_KM / LITRE,
    ),
    Variable("height_reached", "m", "height of the cruise above mean sea level"),
    Variable("airspeed", "m s-1", "true airspeed of the cruise", comment=NO_CRUISE),
    Variable("ground_speed", "m s-1", "ground speed of the cruise", comment=NO_CRUISE),
    Variable("heading", "degree", "true heading of the cruise", 1.0 / DEGREE, comment=NO_CRUISE),
    Variable("bar", "1", "speed bar of the cruise, 0 trim to 1 full", comment=NO_CRUISE),
    Variable("throttle", "1", "throttle opening of the cruise, 0 closed to 1 full", comment=NO_CRUISE),
    rpm("engine_rpm", "engine speed of the cruise", NO_CRUISE),
    Variable("tip_mach", "1", "Mach number of the blade tip in the cruise", comment=NO_CRUISE),
    angle("blade_angle", "blade angle of the cruise", NO_CRUISE),
    flag("pitch_state", "where the blades are in the cruise", PitchState),
    volume("fuel_left", "fuel on board at the end of the leg, before refuelling"),
    volume("refuelled", "fuel taken on board at the end of the leg"),
    text("problems", "why the leg cannot be flown as asked; empty if it can"),
    text("notes", "what else there is to say on the leg"),
)

TRIPS: tuple[Variable, ...] = (
    text("hub_key", "what the hub is: own, fine, coarse, compromise or governed"),
    angle("hub_angle", "angle of bolted blades", "NaN for a hub whose blades move"),
    Variable("trip_time", "min", "time of all legs that can be flown", 1.0 / 60.0),
    volume("trip_fuel", "fuel of all legs that can be flown"),
    volume("trip_fuel_low", "fuel of the trip, lower end of its 95 % band", BAND),
    volume("trip_fuel_high", "fuel of the trip, upper end of its 95 % band", BAND),
    Variable("trip_fuel_flow", "L h-1", "fuel of the trip over its time", PER_HOUR / LITRE),
    Variable("trip_fuel_per_distance", "L/(100 km)", "fuel of the trip over its way", PER_100_KM / LITRE),
    volume("fuel_needed", "fuel of the longest stretch between stops, with contingency and reserve"),
    volume("reserve_wanted", "reserve to be kept at every landing"),
    volume("least_fuel_left", "least fuel on board at any leg's end"),
    rpm("cruise_rpm", "engine speed of the cruise, mean over time", NO_CRUISE),
    Variable("cruise_tip_mach", "1", "Mach number of the tip in the cruise, mean over time"),
    Variable("climb_tip_mach", "1", "Mach number of the tip in the climb-out"),
    Variable(
        "noise_trend",
        "dB",
        "trend of cruise noise against the own hub by tip Mach number alone",
        comment="a trend, no prediction: 150 log10 of the ratio of tip Mach numbers; 14 CFR 36 appendix G, "
        "G36.201(d)(3), its nominal 150 from memory",
    ),
    Variable("climb_out_rate", "m s-1", "full-throttle rate of climb after take-off, all-up mass"),
    rpm("climb_out_rpm", "engine speed in that climb"),
    Variable(
        "go_around_rate",
        "m s-1",
        "full-throttle rate of climb at the ground of the last landing, mass as it is then",
    ),
    volume("saving", "fuel that the scenario's own hub saves against this one on the trip", SAVING_SIGN),
    volume("saving_low", "lower end of the saving's 95 % band", SAVING_SIGN),
    volume("saving_high", "upper end of the saving's 95 % band", SAVING_SIGN),
    Variable("saving_share", "percent", "saving over this hub's fuel", 100.0),
    Variable("saving_chance", "percent", "share of the draws in which the own hub burns less", 100.0),
    flag("verdict", "whether the saving exceeds its uncertainty", VERDICTS),
    Variable("draws_flown", "1", "draws in which every leg could be flown", stored="count"),
    Variable("explained", "1", "share of the variance that the linear regression on the inputs explains"),
)

INPUTS: tuple[Variable, ...] = (
    text("input_text", "value and half-width of its 95 % interval"),
    text("input_origin", "scenario, or default where the scenario says no +-"),
)

SHARES: tuple[Variable, ...] = (
    Variable(
        "variance_share",
        "1",
        "share of the variance by input: of the own hub's fuel for itself, of the saving for the others",
        comment="squared standardised regression coefficients of independent inputs",
    ),
)

WAY: tuple[Variable, ...] = (
    Variable("path_leg", "1", "number of the leg, from 0", stored="count"),
    flag("path_part", "part of the leg", PARTS),
    Variable("path_distance", "km", "distance from the start of the route", KILOMETRE),
    Variable("path_height", "m", "height above mean sea level"),
    Variable("path_time", "min", "time since take-off", 1.0 / 60.0),
    volume("path_fuel", "fuel on board"),
    rpm("path_rpm", "engine speed"),
    angle("path_blade_angle", "blade angle"),
    flag("path_pitch_state", "where the blades are", PitchState),
)

SAVING_MAP: tuple[Variable, ...] = (
    Variable(
        "map_saving_share",
        "percent",
        "saving of the own hub against the map's other hub over that hub's fuel, climb included",
        100.0,
        comment="NaN where one of the two cannot fly there",
    ),
    flag("map_pitch_state", "where the own hub's blades are in the cruise of the map", PitchState),
)

TERRAIN: tuple[Variable, ...] = (Variable("ground_height", "m", "height of the ground above mean sea level"),)

SCALARS: tuple[Variable, ...] = (
    angle("coarse_stop", "blade angle on the coarse stop"),
    angle("fine_stop", "blade angle on the fine stop"),
    rpm("engine_rpm_limit", "engine speed limit"),
    Variable("reduction", "1", "engine turns for one turn of the propeller"),
    Variable("site_height", "m", "geometric height of the site above mean sea level"),
    Variable("start_mass", "kg", "all-up mass at take-off"),
    volume("start_fuel", "fuel on board after the launch"),
    Variable("map_distance", "km", "way that each point of the map stands for", KILOMETRE),
    Variable("terrain_clearance", "m", "height wanted above the ground in the cruise"),
)

TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (LEG, LEGS),
    (HUB_LEG, FLOWN),
    (HUB, TRIPS),
    (INPUT, INPUTS),
    (HUB_INPUT, SHARES),
    (PATH, WAY),
    (MAP, SAVING_MAP),
    (GROUND, TERRAIN),
    ((), SCALARS),
)


def all_route_variables() -> tuple[Variable, ...]:
    """Every variable of a route, coordinates first, in file order."""
    tables = tuple(variable for _, table in TABLES for variable in table)
    return (*(variable for _, variable in COORDINATES), *tables)
