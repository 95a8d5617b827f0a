"""Whatever is typed, a scenario loads or fails with `ScenarioError`; nothing else comes out."""

from contextlib import suppress
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scenario_text import LINES, SCENARIO

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario
from simengine.scenario.layers import MOST_HINTS

QUICK = settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

VALUES = [
    "",
    "1",
    "-1",
    "1e400",
    ".nan",
    "null",
    "true",
    "46 mm",
    "46",
    "46 +- mm",
    "1 kg, measured, measured",
]
YAML = ["a: b", "[1, 2", "{}", "[]", "&a x", "*a", "!!int 3", "<<: x", "'", '"', "- 1", "\t"]
ODD = ["x" * 300, "0" * 50, "9" * 5000, "%", "°", "é", "±", "\u2028", "kind: fixed", "use: good.yaml"]
WORDS = st.sampled_from([*VALUES, *YAML, *ODD, "extends: good.yaml"])


def load(folder: Path, data: bytes) -> None:
    """Load a text; only `ScenarioError` may come out, with problems that can be shown."""
    file = folder / "mutated.yaml"
    file.write_bytes(data)
    try:
        load_scenario(file)
    except ScenarioError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.file
            assert problem.message
            assert "Input should" not in problem.message, str(problem)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "good.yaml").write_text(SCENARIO)
    return tmp_path


@QUICK
@given(st.data())
def test_a_value_replaced(folder: Path, data: st.DataObject) -> None:
    number = data.draw(st.integers(0, len(LINES) - 1))
    key = LINES[number].partition(":")[0]
    value = data.draw(WORDS | st.text(max_size=12))
    lines = [*LINES[:number], f"{key}: {value}", *LINES[number + 1 :]]
    load(folder, "\n".join(lines).encode("utf-8", "surrogatepass"))


@QUICK
@given(st.data())
def test_lines_moved_lost_doubled(folder: Path, data: st.DataObject) -> None:
    first, second = (data.draw(st.integers(0, len(LINES) - 1)) for _ in range(2))
    shift = data.draw(st.sampled_from(["", "  ", "    "]))
    lines = [*LINES]
    lines[first] = shift + lines[second].lstrip() if data.draw(st.booleans()) else shift + lines[first]
    if data.draw(st.booleans()):
        del lines[second]
    load(folder, "\n".join(lines).encode())


@QUICK
@given(st.data())
def test_bytes_put_in(folder: Path, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(SCENARIO)))
    inserted = data.draw(st.binary(max_size=6) | WORDS.map(str.encode))
    cut = data.draw(st.integers(0, 8))
    raw = SCENARIO.encode()
    load(folder, raw[:at] + inserted + raw[at + cut :])


TREES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | WORDS,
    lambda child: (
        st.lists(child, max_size=3) | st.dictionaries(st.text(min_size=1, max_size=8), child, max_size=3)
    ),
    max_leaves=6,
)
SECTIONS = [
    "atmosphere",
    "site",
    "masses",
    "fuel",
    "engine",
    "drive",
    "propeller",
    "hub",
    "wing",
    "flight",
    "title",
]


@QUICK
@given(st.sampled_from(SECTIONS), TREES)
def test_any_tree_for_a_section(folder: Path, section: str, tree: object) -> None:
    with suppress(yaml.YAMLError):
        load(
            folder,
            f"extends: good.yaml\n{yaml.safe_dump({section: tree}, allow_unicode=True)}".encode(
                "utf-8", "replace"
            ),
        )


@QUICK
@given(st.binary(max_size=60))
def test_any_bytes(folder: Path, data: bytes) -> None:
    load(folder, data)


def test_names_like_those_of_missing_files_are_looked_for_a_hundred_times(tmp_path: Path) -> None:
    (tmp_path / "engine.yaml").write_text("name: a\n")
    parts = "\n".join(f"key_{number}: {{use: engin_{number}.yaml}}" for number in range(150))
    (tmp_path / "a.yaml").write_text(f"simengine: 1\n{parts}\n")
    with pytest.raises(ScenarioError) as caught:
        load_scenario(tmp_path / "a.yaml")
    missing = [problem.message for problem in caught.value.problems if "no file 'engin_" in problem.message]
    assert len(missing) == 150
    assert sum("nearest: 'engine.yaml'" in message for message in missing) == MOST_HINTS
