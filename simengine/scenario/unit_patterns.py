"""Regular expressions of units as they may be typed, for the JSON Schema."""

import re

from simengine import units
from simengine.units import Dimension


def unit_pattern(dimension: Dimension) -> str:
    """Regular expression (ECMA 262 and Python) of the accepted units as they may be typed."""
    spellings = list(dimension.units)
    spellings += [alias for alias, name in units.WHOLE_ALIASES.items() if name in dimension.units]
    return "|".join(spelling_pattern(unit) for unit in spellings if unit)


def spelling_pattern(unit: str) -> str:
    """Regular expression of one unit with its other spellings."""
    pattern = re.sub(r"([*/()])", r" \1 ", unit)
    parts = [part_pattern(part) for part in pattern.split(" ") if part]
    return "".join(parts).replace("N(?: *[*·] *| +)", "N(?: *[*·] *| *)")


def part_pattern(part: str) -> str:
    """Regular expression of one factor or operator of a unit."""
    operators = {"*": "(?: *[*·] *| +)", "/": " */ *", "(": r"\(", ")": r"\)"}
    if part in operators:
        return operators[part]
    others = [alias for alias, name in units.ALIASES.items() if name == part]
    names = "|".join(re.escape(name).replace(r"\ ", " ") for name in (part, *others))
    raised = re.sub(r"(?<=[a-z])2", r"(?:(?:\\^|\\*\\*)?2|²)", names)
    raised = re.sub(r"(?<=[a-z])3", r"(?:(?:\\^|\\*\\*)?3|³)", raised)
    return f"(?:{raised})" if others else raised
