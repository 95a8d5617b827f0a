"""Whether a run ended as it must: with an answer whose numbers are finite, or an error of use to a person."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from simengine.errors import NoSolutionError, OutputError, ScenarioError, SimengineError

LONGEST_MESSAGE = 100_000  # characters of all problems together
LONGEST_LINE = 1_500
PLAIN = "\n\t"  # besides printable letters, what a terminal takes for no order
RECORDED = ("engine_rpm", "propeller_rpm", "blade_angle", "height", "airspeed", "fuel_flow", "thrust")
ENDLESS = ("spring_strokes_allowed", "spring_life")  # infinite means: no end in sight
FINISHED = (0, 1, 3)
STOPPED = (-1, -2)  # from outside: found good, or still at work


def judged(
    code: int, text: str, broken: str, errors: list[BaseException], outputs: Path, command: str
) -> list[str]:
    """Everything that is wrong; nothing if all is well."""
    found = []
    if broken:
        found.append(f"traceback: {last_line(broken)}\n{broken[-3000:]}")
    if "Traceback (most recent call last)" in text:
        found.append("a traceback is printed")
    if code not in (*FINISHED, 2, *STOPPED):
        found.append(f"exit code {code}")
    found += odd_characters(text)
    found += [line for error in errors for line in judged_error(error, code)]
    if code == 2 and not errors and "Usage:" not in text and command != "check":
        found.append("exit code 2 without an error or a hint at usage")
    if code == 2 and not text.strip():
        found.append("exit code 2 without a word")
    left = sorted(path for path in outputs.rglob("*") if path.is_file())
    found += [
        f"left behind: {path.name}"
        for path in left
        if path.name.startswith(".") and path.name.endswith((".part", ".lock")) and code in FINISHED
    ]
    if code == 2 and left:
        found.append(f"bad input, but written: {[path.name for path in left]}")
    if code in FINISHED:
        found += [line for path in left if path.suffix == ".nc" for line in judged_result(path)]
    return found


def last_line(text: str) -> str:
    """The last line that says anything."""
    return next((line for line in reversed(text.splitlines()) if line.strip()), "")


def odd_characters(text: str) -> list[str]:
    """Characters that a terminal would obey."""
    odd = sorted({character for character in text if not (character.isprintable() or character in PLAIN)})
    return [f"odd characters are printed: {odd[:10]!r}"] if odd else []


def judged_error(error: BaseException, code: int) -> list[str]:
    """What is wrong with what a person is told."""
    if type(error).__name__ in ("Exit", "BadParameter", "UsageError", "Abort"):
        return []
    if not isinstance(error, SimengineError):
        return []  # a traceback, told as such
    text = str(error)
    found = judged_problems(error) + judged_words(text)
    if error.exit_code != code:
        found.append(f"exit code {code}, but the error's is {error.exit_code}")
    return found


def judged_words(text: str) -> list[str]:
    """What is wrong with the words."""
    found = []
    if not text.strip() or len(text) > LONGEST_MESSAGE:
        found.append(f"a message of {len(text)} characters")
    if any(len(line) > LONGEST_LINE for line in text.splitlines()):
        found.append(f"a line of {max(map(len, text.splitlines()))} characters: {text[:300]!r}")
    for word in (
        "Input should",
        "object has no attribute",
        "NoneType",
        "<class",
        "numpy",
        "pydantic",
        "Errno ",
        "KeyError",
    ):
        if word in text:
            found.append(f"a message for programmers: {word!r} in {text[:300]!r}")
    return found


def judged_problems(error: SimengineError) -> list[str]:
    """What is wrong with the kind of an error and the parts of a problem."""
    found = []
    if isinstance(error, ScenarioError):
        found += [
            f"a problem without file or message: {each}"
            for each in error.problems
            if not (each.file and each.message)
        ]
        if not error.problems:
            found.append("an error without problems")
    elif not isinstance(error, NoSolutionError | OutputError):
        found.append(f"an error of the base type: {type(error).__name__}")
    return found


def judged_result(path: Path) -> list[str]:
    """What is wrong with the numbers of a result: none may be infinite, none of a recorded trace missing."""
    import netCDF4

    found = []
    with netCDF4.Dataset("result", memory=path.read_bytes()) as file:  # the library takes no odd names
        file.set_auto_mask(False)
        for name, variable in file.variables.items():
            values: Any = variable[...]
            if not (isinstance(values, np.ndarray) and np.issubdtype(values.dtype, np.floating)):
                continue
            if np.isinf(values).any() and name not in ENDLESS:
                found.append(f"{path.name}: {name} is infinite")
            if name in RECORDED and variable.dimensions == ("time",) and np.isnan(values).any():
                found.append(f"{path.name}: {name} is not a number")
    return found


def judged_json(text: str) -> list[str]:
    """What is wrong with a document: it must be one, and strictly so."""
    if not text.strip():
        return []  # stopped before anything was printed, as where there is no solution

    def refuse(word: str) -> None:
        raise ValueError(word)

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as error:
        return [f"no document: {error}: {text[:200]!r}"]
    return []
