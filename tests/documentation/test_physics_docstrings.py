"""Every public function and record of the physics tells arguments, units, shapes and errors.

Read from the text of the files, so that a rule can be tried on a made-up function too. House style is short:
a sentence that names each argument with its unit behind it does as well as a section `Parameters`. What is a
record of its own (`aircraft`, `air`, `leg`) is told by its type.
"""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

import simengine

PACKAGE = Path(simengine.__file__).parent
FOLDERS = ("models", "balance", "flight", "execution")

ARRAYS = {"NDArray", "ArrayLike", "Array", "Vector", "Inflow"}
PLAIN = ARRAYS | {"float", "int", "bool", "str", "Any", "None", "tuple", "list", "dict", "np", "Literal"}
SYMBOL = r"(?:1|(?:m|s|kg|N|Pa|rad|K|J)\d?)"
UNIT = rf"{SYMBOL}(?:[ /]{SYMBOL})*"  # m, N m s/rad, 1/s, 1
UNITS = re.compile(rf"\[{UNIT}(?:, {UNIT}|, \.\.\.)*\]|\bany (?:one )?unit|\bunit of\b|\bSI\b")
SHAPE = re.compile(r"\bshapes? \(", re.IGNORECASE)
HEADINGS = re.compile(r"^(Parameters|Attributes|Returns|Raises|Notes)\n-{5,}\n", re.MULTILINE)
TOLD_ELSEWHERE = re.compile(r"(?<!Error )\b(?:as|see|in|of|for) `(\w+)`")  # but errors "as" another's
TELLS_ALL = re.compile(r"\b(?:arguments|the rest|the other|else|fields)\b", re.IGNORECASE)
# What a name means throughout, so that no docstring gives it another unit.
USUAL = {
    "airspeed": "m/s",
    "axial_speed": "m/s",
    "bar": "1",
    "blade_angle": "rad",
    "engine_speed": "rad/s",
    "mass": "kg",
    "near": "rad/s",
    "path_angle": "rad",
    "previous_angle": "rad",
    "rotor_speed": "rad/s",
    "throttle": "1",
    "time": "s",
}


def names_in(annotation):
    """Every name in an annotation; one given as text is read like the others."""
    if annotation is None:
        return set()
    if isinstance(annotation, ast.Constant) and isinstance(annotation.value, str):
        annotation = ast.parse(annotation.value, mode="eval").body
    found = {node.id for node in ast.walk(annotation) if isinstance(node, ast.Name)}
    return found | {node.attr for node in ast.walk(annotation) if isinstance(node, ast.Attribute)}


def arguments_of(function):
    """Names and annotations of the arguments, but `self`."""
    given = function.args
    listed = [*given.posonlyargs, *given.args, *given.kwonlyargs]
    listed += [each for each in (given.vararg, given.kwarg) if each]
    return {each.arg: names_in(each.annotation) for each in listed if each.arg != "self"}


def is_record(names):
    """Whether an annotation is that of a record, which tells its own fields."""
    return bool(names - PLAIN - {"float64", "int64", "bool_"}) and not names & ARRAYS


def blocks(text):
    """The docstring in pieces that belong together: clauses, and the entries of a section."""
    parts = HEADINGS.split(text)
    pieces = re.split(r"\n\s*\n|;\s|\.\s", parts[0])
    for heading, body in zip(parts[1::2], parts[2::2], strict=True):
        entries = heading in ("Parameters", "Attributes")
        pieces += re.split(r"\n(?=\S)" if entries else r"\n\s*\n|;\s|\.\s", body)
    return [re.sub(r"\s+", " ", piece) for piece in pieces]


def mentions(name, block):
    """Where a block names an argument, by its name or in words; -1 for nowhere."""
    words = re.escape(name).replace("_", "[_ ]")
    found = re.search(rf"(?<![\w.]){words}(?!\w)", block, re.IGNORECASE)
    return found.end() if found else -1


def is_told(name, text):
    return any(mentions(name, block) >= 0 for block in blocks(text))


def units_told(name, text):
    """Units that stand behind a name in the same clause or entry."""
    for block in blocks(text):
        place = mentions(name, block)
        for found in UNITS.finditer(block, place) if place >= 0 else ():
            yield from re.split(r", ?", found[0].strip("[]"))


def unit_faults(name, units):
    if not units:
        return [f"has no unit for {name}"]
    usual = USUAL.get(name)
    return [] if usual is None or usual in units else [f"has another unit for {name} than [{usual}]"]


def told_with(name, text, known):
    """The docstring, and those that it sends the reader of an argument to."""
    seen, together = set(), [text]
    for piece in together:
        for block in blocks(piece):
            if not (TELLS_ALL.search(block) or mentions(name, block) >= 0):
                continue
            further = [each for each in TOLD_ELSEWHERE.findall(block) if each in known and each not in seen]
            seen.update(further)
            together += [ast.get_docstring(known[each]) or "" for each in further]
    return together


def raised_by(function):
    """Names of the errors that a function raises itself; one that is caught and raised again has none."""
    for node in ast.walk(function):
        raised = node.exc if isinstance(node, ast.Raise) else None
        name = raised.func if isinstance(raised, ast.Call) else raised
        if isinstance(name, ast.Name) and name.id[0].isupper():
            yield name.id


def errors_of(function, known):
    """Names of the errors that a function raises, or that a function of the physics raises for it."""
    reached, found = [function], set()
    for each in reached:
        found.update(raised_by(each))
        called = {node.func.id for node in ast.walk(each) if is_named_call(node)} & known.keys()
        further = [known[name] for name in sorted(called) if isinstance(known[name], ast.FunctionDef)]
        reached += [other for other in further if other not in reached]
    return found


def is_named_call(node):
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name)


def function_faults(function, known):
    """What a function's docstring leaves out."""
    text = ast.get_docstring(function) or ""
    if not re.match(r"[A-Z0-9`][^\n]*", text):
        return ["is no sentence"]
    arguments, faults = arguments_of(function), []
    for name, kinds in arguments.items():
        if is_record(kinds):
            continue
        together = told_with(name, text, known)
        if not any(is_told(name, piece) for piece in together):
            faults.append(f"does not name {name}")
        elif "float" in kinds:
            faults += unit_faults(name, {unit for piece in together for unit in units_told(name, piece)})
        if kinds & ARRAYS and not any(SHAPE.search(piece) for piece in together):
            faults.append(f"has no shape for {name}")
    result = names_in(function.returns)
    if "float" in result and not result & ARRAYS and not UNITS.search(returned(text)):
        faults.append("has no unit for what it returns")
    if result & ARRAYS and not SHAPE.search(text):
        faults.append("has no shape for what it returns")
    return faults + [f"hides {name}" for name in sorted(errors_of(function, known)) if name not in text]


def returned(text):
    """Where the result is told: the first paragraph, and the section on it."""
    section = re.search(r"^Returns\n-+\n(.*?)(?=^\w+\n---|\Z)", text, re.MULTILINE | re.DOTALL)
    return text.split("\n\n")[0] + (section[1] if section else "")


def record_faults(record):
    """What a record's docstring leaves out."""
    text = ast.get_docstring(record) or ""
    fields = [node for node in record.body if isinstance(node, ast.AnnAssign)]
    faults = []
    for field in fields:
        name, kinds = field.target.id, names_in(field.annotation)
        if is_record(kinds):
            continue
        if not is_told(name, text):
            faults.append(f"does not name {name}")
        elif "float" in kinds and not (any(units_told(name, text)) or UNITS.search(text.split("\n\n")[0])):
            faults.append(f"has no unit for {name}")
    if any(names_in(field.annotation) & ARRAYS for field in fields) and not SHAPE.search(text):
        faults.append("has no shape")
    return faults


def faults_of(node, known):
    return record_faults(node) if isinstance(node, ast.ClassDef) else function_faults(node, known)


def public_in(tree):
    """Public functions, records and their methods of a file, by name."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node.name, node
        if isinstance(node, ast.ClassDef):
            methods = (each for each in node.body if isinstance(each, ast.FunctionDef))
            yield from ((f"{node.name}.{each.name}", each) for each in methods if each.name[0] != "_")


@cache
def physics():
    """Every public function and record of the physics, by file and name."""
    paths = (path for folder in FOLDERS for path in sorted((PACKAGE / folder).glob("*.py")))
    return {
        f"{path.relative_to(PACKAGE).as_posix()}:{name}": node
        for path in paths
        for name, node in public_in(ast.parse(path.read_text(encoding="utf-8")))
    }


@cache
def by_name():
    """The same by the name that a docstring or a call uses."""
    return {node.name: node for node in physics().values()}


def all_faults(file):
    return {
        name: faults
        for name, node in physics().items()
        if name.startswith(f"{file}:") and (faults := faults_of(node, by_name()))
    }


@pytest.mark.parametrize("file", sorted({name.split(":")[0] for name in physics()}))
def test_arguments_units_shapes_and_errors_are_told(file):
    assert all_faults(file) == {}


def test_the_physics_is_found():
    assert len(physics()) > 450
    assert len({name.split("/")[0] for name in physics()}) == len(FOLDERS)


GOOD = '''
def drag(air: Air, speed: float, chord: NDArray[np.float64]) -> float:
    """Drag [N] at a speed [m/s]; `chord` of shape (n,) [m]. ValueError if it is negative."""
    if speed < 0.0:
        raise ValueError("speed")
'''
SECTIONS = '''
def drag(air: Air, blade_angle: float, chord: NDArray[np.float64]) -> float:
    """Drag of a blade.

    Parameters
    ----------
    air : the air
    blade_angle : at the reference station,
        on the measured face [rad]
    chord : shape (n,) [m]

    Returns
    -------
    float
        [N].
    """
'''


def faults_in(source, *changes):
    for old, new in changes:
        assert old in source
        source = source.replace(old, new)
    found = dict(public_in(ast.parse(source)))
    return faults_of(next(iter(found.values())), found)


@pytest.mark.parametrize(
    ("source", "change", "fault"),
    [
        (GOOD, ("at a speed [m/s]", ""), "does not name speed"),
        (GOOD, ("speed [m/s]", "speed"), "has no unit for speed"),  # that of the chord is its own sentence's
        (GOOD, ("speed [m/s]", "speed [fast]"), "has no unit for speed"),
        (GOOD, ("speed [m/s]", "airspeed [m/s]"), "does not name speed"),
        (GOOD, ("; `chord` of shape (n,) [m]", ""), "does not name chord"),
        (GOOD, (" of shape (n,)", ""), "has no shape for chord"),
        (GOOD, (" ValueError if it is negative.", ""), "hides ValueError"),
        (GOOD, ("Drag [N] at", "drag [N] at"), "is no sentence"),
        (GOOD, (GOOD[GOOD.index('    """') : GOOD.index("    if")], ""), "is no sentence"),
        (SECTIONS, ("face [rad]", "face"), "has no unit for blade_angle"),
        (SECTIONS, ("    blade_angle :", "    angle :"), "does not name blade_angle"),
        (SECTIONS, ("face [rad]", "face [m]"), "has another unit for blade_angle than [rad]"),
        (SECTIONS, ("[N].", "Positive."), "has no unit for what it returns"),
    ],
)
def test_a_bad_docstring_is_found(source, change, fault):
    assert faults_in(source) == []
    assert fault in faults_in(source, change)


def test_an_error_of_a_checker_is_found():
    caller = '\ndef build(speed: float) -> None:\n    """Build for a speed [m/s]{}."""\n    check(speed)\n'
    checker = '\ndef check(speed: float) -> None:\n    """Refuse."""\n    raise ValueError\n'
    assert faults_in(caller.format("") + checker) == ["hides ValueError"]
    assert faults_in(caller.format("; ValueError as `check`") + checker) == []


def test_arguments_may_be_told_by_another_function():
    first = '\ndef one(speed: float) -> float:\n    """One [1], {} `two`."""\n'
    second = '\ndef two(speed: float) -> float:\n    """Two [1] at a speed [m/s]."""\n'
    assert faults_in(first.format("arguments as for") + second) == []
    assert faults_in(first.format("and not") + second) == ["does not name speed"]
    assert faults_in(first.format("arguments as for")) == ["does not name speed"]


def test_a_bad_record_is_found():
    source = '''
class Wire(NamedTuple):
    """A wire of a diameter [m]; `turns`, shape (n,), as `Coil` has them."""
    diameter: float
    turns: NDArray[np.float64]
    coil: Coil
'''
    assert faults_in(source) == []
    assert faults_in(source, ("diameter [m]", "diameter")) == ["has no unit for diameter"]
    assert faults_in(source, ("shape (n,), ", "")) == ["has no shape"]
    assert faults_in(source, ("`turns`", "They")) == ["does not name turns"]
