"""What a maker knows in the first hour: questions, what is accepted, and defaults in proportion.

The defaults are those of `starter.yaml`, an invented machine, brought to the size and speed of the maker's by
the laws of similar propellers: power as speed cubed times size to the fifth, moments as speed squared times
size to the fifth. These are starting values and no design.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import sin

from simengine import units
from simengine.constants import DEGREE, RPM
from simengine.errors import SimengineError
from simengine.scenario.quantities import QuantityError, parse_quantity
from simengine.units import Dimension

KILOWATT, KILOMETRE_PER_HOUR = 1e3, 1.0 / 3.6

# The machine of `starter.yaml`.
STARTER_POWER = 19.44 * KILOWATT
STARTER_POWER_SPEED = 7800 * RPM
STARTER_REDUCTION = 2.45
STARTER_LIMIT, STARTER_TABLE_END = 8400 * RPM, 9000 * RPM
STARTER_DIAMETER = 1.3
STARTER_FINE, STARTER_TRAVEL, STARTER_DATUM = 10.5 * DEGREE, 3.5 * DEGREE, 1.9 * DEGREE
MOST_TRAVEL = 15.0 * DEGREE
STARTER_ARM, STARTER_RATE = 0.022, 96e3
STARTER_COMPRESSION = 3.6e-3  # on the coarse stop, washers included
WASHER = 0.3e-3
STARTER_TRIM, STARTER_POLAR_MASS, STARTER_AREA = 37.5 * KILOMETRE_PER_HOUR, 100.0, 26.0
WING_AND_EQUIPMENT, FUEL_DENSITY = 14.0, 745.0

# How power goes with the number of blades, and the blade angle with the power to be taken up: found from this
# model's own full-throttle speeds, and good for a first guess.
BLADES_EXPONENT, ANGLE_EXPONENT = 0.8, 0.7

Answers = Mapping[str, float]
Rule = Callable[[Answers], float]


class AnswerError(SimengineError):
    """Something a maker typed that cannot be taken; the text says what can be."""

    exit_code = 2


def always(value: float) -> Rule:
    """A bound or a default that depends on no other answer."""
    return lambda _: value


@dataclass(frozen=True)
class Question:
    """One figure a maker may know.

    Attributes
    ----------
    name : str
        As the flag is called.
    key : str
        Key path at which it stands in the scenario; empty where other values follow from it.
    dimension : Dimension
        Of the answer.
    unit : str
        Taken for a number typed without one.
    lowest, highest : callable
        Sensible range, from the answers before it [SI].
    default : callable
        From the answers before it [SI].
    step : str
        The default is rounded to it [`unit`].
    whole : bool
        Whether only whole numbers will do.
    """

    name: str
    key: str
    dimension: Dimension
    unit: str
    lowest: Rule
    highest: Rule
    default: Rule
    step: str
    whole: bool = False

    def in_unit(self, value: float) -> float:
        """SI value as a number of the unit."""
        return units.from_si(value, self.unit, self.dimension)

    def default_text(self, before: Answers) -> str:
        """The default as one would type it, rounded inside the range."""
        low, high = self.in_unit(self.lowest(before)), self.in_unit(self.highest(before))
        step = Decimal(self.step)
        rounded = step * round(Decimal(min(max(self.in_unit(self.default(before)), low), high)) / step)
        inside = min(max(float(rounded), low), high)
        return f"{inside:.6g} {self.unit}".rstrip()

    def read(self, text: str, before: Answers) -> tuple[float, str]:
        """Value in SI of an answer, and the answer as it stands in the scenario.

        Raises
        ------
        AnswerError
            With what is accepted.
        """
        typed = self.with_unit(text)
        try:
            value = parse_quantity(typed, self.dimension).value
        except QuantityError as error:
            raise AnswerError(f"'{text.strip()}': {error}; {self.range_words(before)}") from None
        bound = 1e-9 * abs(value)
        inside = self.lowest(before) - bound <= value <= self.highest(before) + bound
        if not inside or (self.whole and not (typed.isascii() and typed.isdigit())):
            raise AnswerError(f"'{text.strip()}' is not accepted here; {self.range_words(before)}")
        return value, typed

    def with_unit(self, text: str) -> str:
        """What was typed, with the unit where it was a number alone."""
        typed = text.strip()
        return f"{typed} {self.unit}" if self.unit and is_number(typed) else typed

    def range_words(self, before: Answers) -> str:
        """What is accepted."""
        low, high = (f"{self.in_unit(bound(before)):.4g}" for bound in (self.lowest, self.highest))
        kind = "a whole number, " if self.whole else ""
        return f"accepted: {kind}{low} to {high} {self.unit}".rstrip()


def is_number(text: str) -> bool:
    """Whether a text is a bare number."""
    try:
        float(text)
    except ValueError:
        return False
    return True


def power_ratio(a: Answers) -> float:
    """Power over the starter's."""
    return a["power"] / STARTER_POWER


def speed_ratio(a: Answers) -> float:
    """Propeller speed at most power over the starter's."""
    return a["power_rpm"] / a["reduction"] / (STARTER_POWER_SPEED / STARTER_REDUCTION)


def size_ratio(a: Answers) -> float:
    """Diameter over the starter's."""
    return a["diameter"] / STARTER_DIAMETER


def power_for_blades(a: Answers) -> float:
    """Power for each usual pair of blades at the starter's speed, over the starter's."""
    return float(power_ratio(a) / ((a["blades"] / 2.0) ** BLADES_EXPONENT * speed_ratio(a) ** 3))


def usual_reduction(a: Answers) -> float:
    """Reduction that brings the propeller to the starter's speed."""
    return a["power_rpm"] / (STARTER_POWER_SPEED / STARTER_REDUCTION)


def usual_diameter(a: Answers) -> float:
    """Diameter at which the starter's blade angles take up the power."""
    return float(STARTER_DIAMETER * power_for_blades(a) ** 0.2)


def usual_fine_stop(a: Answers) -> float:
    """Fine stop at which the engine comes to its speed of most power; below a coarse stop that was given."""
    angle = float(STARTER_FINE * (power_for_blades(a) / size_ratio(a) ** 5) ** ANGLE_EXPONENT)
    if "coarse" in a:
        return min(max(angle, a["coarse"] - MOST_TRAVEL), a["coarse"] - STARTER_TRAVEL)
    return angle


def moment_ratio(a: Answers) -> float:
    """Moment wanted of the spring over the starter's: that of the blade loads on the coarse stop."""
    coarse = 2.0 * (a["coarse"] + STARTER_DATUM)
    starter = 2.0 * (STARTER_FINE + STARTER_TRAVEL + STARTER_DATUM)
    return float(size_ratio(a) ** 5 * speed_ratio(a) ** 2 * sin(coarse) / sin(starter))


def usual_rate(a: Answers) -> float:
    """Spring rate in proportion to the blade loads."""
    return STARTER_RATE * moment_ratio(a) * (STARTER_ARM / a["lever_arm"]) ** 2


def usual_preload(a: Answers) -> float:
    """Compression without washers that brings the spring's moment in proportion to the blade loads."""
    moment = STARTER_RATE * STARTER_COMPRESSION * STARTER_ARM * moment_ratio(a)
    return moment / (a["spring_rate"] * a["lever_arm"]) - a["washers"] * WASHER


def all_up(a: Answers) -> float:
    """Everything that flies [kg]."""
    return a["pilot"] + a["machine"] + WING_AND_EQUIPMENT + FUEL_DENSITY * a["fuel"]


def usual_trim(a: Answers) -> float:
    """Trim speed of the starter's wing at this wing loading."""
    loading = all_up(a) / STARTER_POLAR_MASS * STARTER_AREA / a["wing_area"]
    return float(STARTER_TRIM * loading**0.5)


def typed_coarse_stop(typed: Mapping[str, str]) -> dict[str, float]:
    """The coarse stop, if one was typed: the default of the fine one, asked first, keeps below it."""
    asked = next(asked for asked in questions() if asked.name == "coarse")
    try:
        return {"coarse": parse_quantity(asked.with_unit(typed["coarse"]), asked.dimension).value}
    except (KeyError, QuantityError):
        return {}


def question(
    name: str,
    key: str,
    dimension: Dimension,
    unit: str,
    low: float,
    high: float,
    default: Rule | float,
    step: str,
) -> Question:
    """A question whose range, in its unit, depends on nothing."""
    rule = default if callable(default) else always(units.to_si(default, unit, dimension))
    bounds = [always(units.to_si(bound, unit, dimension)) for bound in (low, high)]
    whole = dimension is units.NUMBER and step == "1"
    return Question(name, key, dimension, unit, bounds[0], bounds[1], rule, step, whole)


def questions() -> tuple[Question, ...]:
    """Every question, in the order in which they are asked: a default may depend on the answers before it."""
    return (
        question("pilot", "masses.pilot", units.MASS, "kg", 40, 200, 98, "1"),
        question("machine", "masses.machine", units.MASS, "kg", 10, 80, 29, "1"),
        question("fuel", "fuel.start", units.VOLUME, "L", 2, 50, 10, "1"),
        question("wing_area", "wing.area", units.AREA, "m2", 12, 50, 26, "1"),
        question("trim_speed", "", units.SPEED, "km/h", 20, 80, usual_trim, "0.5"),
        question("site_height", "site.height", units.LENGTH, "m", -400, 5000, 120, "10"),
        question("power", "", units.POWER, "kW", 4, 60, 19.44, "0.01"),
        question("power_rpm", "", units.ROTATION_SPEED, "rpm", 4000, 12000, 7800, "50"),
        Question(
            "rpm_limit",
            "engine.speed_limit",
            units.ROTATION_SPEED,
            "rpm",
            lambda a: a["power_rpm"],
            lambda a: a["power_rpm"] * STARTER_TABLE_END / STARTER_POWER_SPEED,
            lambda a: a["power_rpm"] * STARTER_LIMIT / STARTER_POWER_SPEED,
            "50",
        ),
        question("reduction", "drive.reduction", units.NUMBER, "", 1, 8, usual_reduction, "0.01"),
        question("blades", "propeller.blades", units.NUMBER, "", 2, 4, 2, "1"),
        question("diameter", "propeller.diameter", units.LENGTH, "mm", 900, 2000, usual_diameter, "10"),
        question("fine", "hub.fine_stop", units.ANGLE, "deg", 0.5, 35, usual_fine_stop, "0.5"),
        Question(
            "coarse",
            "hub.coarse_stop",
            units.ANGLE,
            "deg",
            lambda a: a["fine"] + 0.5 * DEGREE,
            lambda a: a["fine"] + MOST_TRAVEL,
            lambda a: a["fine"] + STARTER_TRAVEL,
            "0.1",
        ),
        question("lever_arm", "hub.spring.lever_arm", units.LENGTH, "mm", 5, 80, STARTER_ARM * 1e3, "1"),
        question("spring_rate", "hub.spring.rate", units.STIFFNESS, "N/mm", 0.5, 2000, usual_rate, "0.5"),
        question("washers", "hub.spring.washers", units.NUMBER, "", 0, 40, 6, "1"),
        question("preload", "", units.LENGTH, "mm", 0.1, 40, usual_preload, "0.1"),
    )
