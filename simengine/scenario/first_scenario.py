"""A first scenario: the commented `starter.yaml`, what a maker gave, and the rest brought into proportion."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from math import ceil, floor, sin
from pathlib import Path

from pydantic import ValidationError

from simengine.constants import DEGREE
from simengine.errors import ScenarioError
from simengine.scenario.commented_text import value_lines, with_texts
from simengine.scenario.engine_records import Engine
from simengine.scenario.first_questions import (
    STARTER_POWER,
    STARTER_POWER_SPEED,
    STARTER_TRIM,
    WASHER,
    AnswerError,
    all_up,
    questions,
    size_ratio,
    typed_coarse_stop,
)
from simengine.scenario.loader import plain
from simengine.scenario.problems import describe
from simengine.scenario.quantities import FROM_FILE
from simengine.scenario.yaml_nodes import read_nodes

YOURS = "[yours]"
LEVER_ANGLE = 2.0 * DEGREE
FREE_LENGTH, SOLID_LENGTH = 44.0, 38.0  # of the starter's spring [mm]
SOLID_RESERVE, LEAST_SOLID = 0.3, 10.0  # left before the coils touch, least length of them touching [mm]
TIP = 650.0  # last station of the starter's blade [mm]
CLIMB, CIRCUIT = 1380.0, 30.0  # heights above the site that the first flight goes to [m]


@dataclass(frozen=True)
class Settled:
    """Every answer: what was typed, and defaults for the rest.

    Attributes
    ----------
    typed : mapping of str to str
        Answers as typed, by the question's name, with their units.
    values : mapping of str to float
        Every answer in SI.
    texts : mapping of str to str
        Every answer as it would be typed.
    """

    typed: Mapping[str, str]
    values: Mapping[str, float]
    texts: Mapping[str, str]

    @cached_property
    def scale(self) -> float:
        """Size of the propeller over the starter's."""
        return size_ratio(self.values)


def settled(typed: Mapping[str, str], engine: Engine | None = None) -> Settled:
    """Read what was typed and take defaults for the rest.

    Parameters
    ----------
    typed : mapping of str to str
        By the question's name, for example `pilot: 95 kg` or `pilot: 210 lb`.
    engine : Engine, optional
        Whose power and speeds stand in place of the questions about them.

    Raises
    ------
    AnswerError
        With the flag, what was typed and what is accepted; all of them, one a line.
    """
    known = engine_answers(engine) if engine else {}
    values: dict[str, float] = dict(known)
    texts: dict[str, str] = {}
    problems = [f"--{flag(name)}: --engine says it: leave one out" for name in known if name in typed]
    for asked in questions():
        if asked.name in known:
            continue
        before = {**typed_coarse_stop(typed), **values}
        default = asked.default_text(before)
        try:
            values[asked.name], texts[asked.name] = asked.read(typed.get(asked.name, default), before)
        except AnswerError as error:
            problems.append(f"--{flag(asked.name)}: {error}")
            values[asked.name], texts[asked.name] = asked.read(default, before)
    if problems:
        raise AnswerError("\n".join(problems))
    return Settled({name: texts[name] for name in texts if name in typed}, values, texts)


def flag(name: str) -> str:
    """A question's name as it is typed on the command line."""
    return name.replace("_", "-")


def engine_answers(engine: Engine) -> dict[str, float]:
    """Power, its speed and the limit of an engine [SI]."""
    curve = zip(engine.curve.engine_speed, engine.curve.torque, strict=True)
    power, speed = max((speed * torque, speed) for speed, torque in curve)
    return {"power": power * engine.torque_factor, "power_rpm": speed, "rpm_limit": engine.speed_limit}


def read_engine(file: Path) -> Engine:
    """An engine from a file of its own, such as those of a parts library.

    Raises
    ------
    ScenarioError
        If it cannot be read or is no engine.
    """
    tree, problems = read_nodes(file, str(file))
    if problems:
        raise ScenarioError(problems)
    try:
        return Engine.model_validate(plain(tree), context=FROM_FILE)
    except ValidationError as error:
        raise ScenarioError(describe(error, Engine, tree)) from None


def first_scenario(name: str, answers: Settled, engine_file: str | None = None) -> str:
    """Commented YAML of a scenario that loads and flies.

    Parameters
    ----------
    name : str
        For the title.
    answers : Settled
        What was typed, and defaults for the rest.
    engine_file : str, optional
        Part that stands in place of the engine, as the scenario names it.
    """
    text = files("simengine.scenario").joinpath("starter.yaml").read_text(encoding="utf-8")
    lines = {line.path: line.value for line in value_lines(text)}
    tables = {path: yaml_row(value) for path, value in lines.items() if ".rows." in path}
    values, marks = asked_values(answers)
    for changes, marked, named in (
        (engine_values(answers, tables), "engine.name", ("power", "power_rpm")),
        (blade_values(answers, tables), "", ()),
        (spring_values(answers), "hub.spring.fitted_length", ("preload",)),
        (wing_values(answers, tables), "wing.polar.rows.0", ("trim_speed",)),
        (flight_values(answers), "", ()),
    ):
        values |= changes
        marks[marked] = mark_of(answers, named)
    given = "partly invented" if answers.typed or engine_file else "invented"
    values["title"] = json.dumps(f"{name}, first look ({given} numbers)", ensure_ascii=False)
    text = with_texts(text, values, {path: mark for path, mark in marks.items() if mark})
    if answers.values["washers"] == 0:
        text = text.replace("one_washer_less:", "one_washer_more:")
    return text if engine_file is None else with_engine_file(text, engine_file)


def yaml_row(value: str) -> list[float]:
    """Numbers of a table's row as it stands in the text."""
    return [float(cell) for cell in value.strip("[]").split(",")]


def rows_below(table: str, tables: Mapping[str, list[float]]) -> list[tuple[str, list[float]]]:
    """Rows of one table, each with its key path."""
    return [(path, row) for path, row in tables.items() if path.startswith(f"{table}.rows.")]


def row_text(cells: list[float]) -> str:
    """A table's row."""
    return f"[{', '.join(f'{cell:.7g}' for cell in cells)}]"


def mark_of(answers: Settled, names: tuple[str, ...]) -> str:
    """Mark of a value that follows from several answers: which of them were given."""
    given = [f"{name.replace('_', ' ')} {answers.typed[name]}" for name in names if name in answers.typed]
    return f"[yours: {', '.join(given)}]" if given else ""


def asked_values(answers: Settled) -> tuple[dict[str, str], dict[str, str]]:
    """Values that stand in the scenario as they were asked, and their marks."""
    values, marks = {}, {}
    for asked in questions():
        if not asked.key or asked.name not in answers.texts:
            continue
        given = asked.name in answers.typed
        plain_text = given or asked.whole or asked.name == "site_height"
        values[asked.key] = answers.texts[asked.name] + ("" if plain_text else ", assumed")
        if given:
            marks[asked.key] = YOURS
    return values, marks


def engine_values(answers: Settled, tables: Mapping[str, list[float]]) -> dict[str, str]:
    """The bench curve brought to the maker's power and speed; friction and inertia with it."""
    if not {"power", "power_rpm"} & answers.typed.keys():
        return {}
    power = answers.values["power"] / STARTER_POWER
    speed = answers.values["power_rpm"] / STARTER_POWER_SPEED
    values = {
        path: row_text([significant(w * speed, 5), significant(m * power / speed, 4), fuel])
        for path, (w, m, fuel) in rows_below("engine.curve", tables)
    }
    values["engine.friction_torque"] = f"{significant(3.2 * power / speed, 3):g} N*m, assumed"
    values["engine.inertia"] = f"{significant(0.0026 * power, 3):g} kg*m2, assumed"
    values["engine.name"] = (
        f"two-stroke, {answers.texts['power']} at {answers.texts['power_rpm']} (curve invented)"
    )
    return values


def blade_values(answers: Settled, tables: Mapping[str, list[float]]) -> dict[str, str]:
    """The starter's blade at the maker's diameter."""
    scale = answers.scale
    if scale == 1.0 and "blades" not in answers.typed:
        return {}
    values = {
        path: row_text(
            [
                1e3 * answers.values["diameter"] / 2.0 if row[0] == TIP else significant(row[0] * scale, 5),
                significant(row[1] * scale, 3),
                *row[2:5],
                significant(row[5] * scale**2, 3),
            ]
        )
        for path, row in rows_below("propeller.stations", tables)
    }
    values["propeller.hub_radius"] = f"{significant(60.0 * scale, 4):g} mm, assumed"
    metres = answers.values["diameter"]
    values["propeller.name"] = f"{answers.texts['blades']} blades, {metres:.3g} m (shape invented)"
    return values


def spring_values(answers: Settled) -> dict[str, str]:
    """Lengths of the spring, so that it does not go solid with one washer more; the variants' own values."""
    a = answers.values
    travel, arm, washers = a["coarse"] - a["fine"], 1e3 * a["lever_arm"], round(a["washers"])
    preload, shims = 1e3 * a["preload"], 1e3 * WASHER * (washers + 1)
    swing = arm * (sin(LEVER_ANGLE) - sin(LEVER_ANGLE - travel))
    free = max(FREE_LENGTH, ceil(preload + shims + swing + LEAST_SOLID))
    left = free - preload - shims - swing
    solid = min(SOLID_LENGTH, floor(left - SOLID_RESERVE))
    coarse, fine = a["coarse"] / DEGREE, a["fine"] / DEGREE
    middle = round(coarse + fine) / 2.0
    bolted = f"kind: fixed, name: blades bolted between the stops, blade_angle: {middle:g} deg"
    origin = "" if "preload" in answers.typed else ", assumed"
    return {
        "hub.spring.free_length": f"{free:g} mm, assumed",
        "hub.spring.fitted_length": f"{free - preload:.6g} mm{origin}",
        "hub.spring.solid_length": f"{solid:g} mm, assumed",
        "hub.name": f"coil spring hub, {coarse:.4g} to {fine:.4g} deg (invented)",
        "variants.one_washer_less": f"{{hub: {{spring: {{washers: {washers - 1 if washers else 1}}}}}}}",
        "variants.bolted": f"{{choose: null, hub: {{{bolted}}}}}",
    }


def wing_values(answers: Settled, tables: Mapping[str, list[float]]) -> dict[str, str]:
    """The starter's glides brought to the maker's trim speed, all-up mass as answered."""
    if not {"wing_area", "trim_speed"} & answers.typed.keys():
        return {}
    faster = answers.values["trim_speed"] / STARTER_TRIM
    values = {
        path: row_text([bar, significant(speed * faster, 4), significant(sink * faster, 3)])
        for path, (bar, speed, sink) in rows_below("wing.polar", tables)
    }
    values["wing.polar_mass"] = f"{all_up(answers.values):.4g} kg, assumed"
    values["wing.name"] = "wing by its trim speed (glides invented)"
    return values


def flight_values(answers: Settled) -> dict[str, str]:
    """Heights of the first flight, above the site."""
    site = answers.values["site_height"]
    return {
        "flight.phases.1.to_height": f"{100 * round((site + CLIMB) / 100):g} m",
        "flight.phases.3.to_height": f"{10 * round((site + CIRCUIT) / 10):g} m",
    }


def significant(value: float, digits: int) -> float:
    """A number rounded to so many digits."""
    return float(f"{value:.{digits}g}")


def with_engine_file(text: str, engine_file: str) -> str:
    """The text with a part in place of the engine's block."""
    lines = text.splitlines(keepends=True)
    first, after = lines.index("engine:\n"), lines.index("drive:\n")
    part = json.dumps(engine_file, ensure_ascii=False)
    block = f"engine: {{use: {part}}}  # {YOURS} a part in a file of its own\n\n"
    return "".join([*lines[:first], block, *lines[after:]])
