"""A section from a CSV file: what is read, what is refused, by file and line, and what a result keeps of it."""

# ruff: noqa: E501  (one case, one line)

from math import radians
from pathlib import Path

import jsonschema
import pytest
from scenario_text import SCENARIO, line_of

from simengine.errors import ScenarioError
from simengine.scenario import Scenario, json_schema, load_scenario
from simengine.scenario.loader import plain
from simengine.scenario.yaml_nodes import parse_text

TABLE = """\
# Invented for a test.
# Second line of the note.
reynolds, alpha deg, cl, cd, cm

100000, -8, -0.4, 0.030, -0.05
100000, -4, 0.02, 0.020, -0.05
100000, 0, 0.41, 0.015, -0.06
100000, 6, 1.00, 0.020, -0.05
100000, 12, 1.30, 0.050, -0.05
3e5, -8, -0.42, 0.020, -0.05
3e5, -4, 0.01, 0.012, -0.05
3e5, 0, 0.42, 0.010, -0.06
3e5, 6, 1.05, 0.014, -0.05
3e5, 12, 1.40, 0.040, -0.05
"""
USES = SCENARIO.replace("  blades: 2\n", "  blades: 2\n  polar: polars/own.csv\n")


def load(folder: Path, table: str = TABLE, scenario: str = USES) -> Scenario:
    """The scenario with its table."""
    (folder / "polars").mkdir(exist_ok=True)
    (folder / "polars" / "own.csv").write_text(table)
    (folder / "s.yaml").write_text(scenario)
    return load_scenario(folder / "s.yaml")


def test_table_in_si_with_its_note(tmp_path: Path) -> None:
    scenario = load(tmp_path)
    polar = scenario.record.propeller.polar
    assert polar is not None
    assert polar.reynolds == (1e5,) * 5 + (3e5,) * 5
    assert polar.alpha[:2] == pytest.approx((radians(-8.0), radians(-4.0)))
    assert polar.cl[4] == 1.3
    assert scenario.origins["propeller.polar"].note == "Invented for a test. Second line of the note."
    assert scenario.files == (str(tmp_path / "s.yaml"), str(tmp_path / "polars" / "own.csv"))
    assert not any(text.startswith("propeller.section") for text in scenario.defaults), "no family is used"


def test_merged_text_holds_the_table_and_reads_back(tmp_path: Path) -> None:
    scenario = load(tmp_path)
    alone = tmp_path / "elsewhere"
    alone.mkdir()
    (alone / "merged.yaml").write_text(scenario.text)
    again = load_scenario(alone / "merged.yaml")
    assert again.record == scenario.record
    assert again.text == scenario.text
    assert again.sha256 == scenario.sha256


def test_table_typed_in_place_is_the_same(tmp_path: Path) -> None:
    lines = [line for line in TABLE.splitlines() if line and not line.startswith("#")]
    rows = "".join(f"      - [{line}]\n" for line in lines[1:])
    typed = f"  blades: 2\n  polar:\n    columns: [{lines[0]}]\n    rows:\n{rows}"
    inline = load(tmp_path, scenario=SCENARIO.replace("  blades: 2\n", typed))
    assert inline.record == load(tmp_path).record


def test_a_part_finds_its_table_and_an_upper_layer_takes_it_away(tmp_path: Path) -> None:
    load(tmp_path)
    (tmp_path / "upper.yaml").write_text("extends: s.yaml\npropeller:\n  polar:\n  section: naca_4digit\n")
    upper = load_scenario(tmp_path / "upper.yaml").record.propeller
    assert (upper.polar, upper.section) == (None, "naca_4digit")
    start, end = USES.index("propeller:\n"), USES.index("hub:\n")
    part = "".join(line[2:] for line in USES[start:end].splitlines(keepends=True)[1:])
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "p.yaml").write_text(part)
    (tmp_path / "whole.yaml").write_text(USES[:start] + "propeller: {use: parts/p.yaml}\n" + USES[end:])
    assert load_scenario(tmp_path / "whole.yaml").record == load_scenario(tmp_path / "s.yaml").record


# what is replaced, by what, text in the line where the error must stand (of the table), words of the message
WRONG = [
    ("cl, cd, cm", "cl, cd", "reynolds,", ["column 'cm' is missing"]),
    ("alpha deg", "alpha", "reynolds,", ["a unit is required", "deg, rad"]),
    ("alpha deg", "alpha kg", "reynolds,", ["kg"]),
    ("cl, cd", "lift, cd", "reynolds,", ["unknown column", "reynolds, alpha, cl, cd, cm"]),
    (
        "reynolds, alpha deg, cl, cd, cm",
        "reynolds; alpha deg; cl; cd; cm",
        "reynolds;",
        ["set apart by commas"],
    ),
    ("100000, 6, 1.00", "100000, 6, one", "100000, 6, one", ["row 4: must be a number", "'one'"]),
    ("100000, 6, 1.00", "100000, 6, ", "100000, 6, ", ["row 4: must be a number"]),
    ("100000, 6, 1.00", "100000, 6, nan", "100000, 6, nan", ["must be a number"]),
    ("100000, 6, 1.00", "100000, 6, 10.0", "100000, 6, 10.0", ["row 4", "at most 4"]),
    ("100000, 6, 1.00, 0.020", "100000, 6, 1.00, 0", "100000, 6, 1.00", ["row 4", "greater than 0"]),
    ("100000, 6, 1.00", "100000, -1, 1.00", "100000, -1", ["row 4", "larger than in the row before"]),
    (
        "100000, 6, 1.00, 0.020, -0.05",
        "100000, 6, 1.00",
        "100000, 6",
        ["row 4", "has 3 values, but there are 5"],
    ),
    ("3e5, -8", "9e4, -8", "9e4", ["only"]),
    ("100000, 0, 0.41, 0.015, -0.06\n", "", "100000, -8", ["there are 4 angles, but 5 are the least"]),
    ("100000, -8, -0.4", "100000, -8, 0.01", "100000, -8", ["does not rise through zero"]),
]


@pytest.mark.parametrize(("old", "new", "part", "words"), WRONG)
def test_wrong_tables(tmp_path: Path, old: str, new: str, part: str, words: list[str]) -> None:
    table = TABLE.replace(old, new, 1)
    assert table != TABLE
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, table)
    problem = caught.value.problems[0]
    assert problem.file == str(tmp_path / "polars" / "own.csv")
    assert problem.line == line_of(table, part)
    if words != ["only"]:
        assert all(word in problem.message for word in words), problem.message
    assert not any("'columns' is required" in str(each) for each in caught.value.problems)


def test_all_problems_at_once(tmp_path: Path) -> None:
    table = TABLE.replace("-0.4,", "x,").replace("1.40", "y")
    scenario = USES.replace("machine: 29 kg", "machine: 29")
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, table, scenario)
    assert [Path(problem.file).name for problem in caught.value.problems] == ["s.yaml", "own.csv", "own.csv"]


def test_a_wrong_unit_of_angle_is_told_by_the_slope(tmp_path: Path) -> None:
    table = TABLE.replace("alpha deg", "alpha rad")
    for angle in ("-8", "-4", "6", "12"):
        table = table.replace(f", {angle},", f", {float(angle) / 8:g},")
    with pytest.raises(ScenarioError, match="is the unit of alpha right"):
        load(tmp_path, table)


WRONG_FILES = [
    ("polars/none.csv", "no file 'polars/none.csv'"),
    ("polars/own.txt", "must name a .csv file"),
    ("../own.csv", "leads outside the scenario folder"),
    ("/own.csv", "must be relative"),
    ("12", "must be the path of one file"),
]


@pytest.mark.parametrize(("name", "words"), WRONG_FILES)
def test_wrong_names_of_files(tmp_path: Path, name: str, words: str) -> None:
    scenario = USES.replace("polars/own.csv", name)
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, scenario=scenario)
    (problem,) = caught.value.problems
    assert problem.line == line_of(scenario, "  polar:")
    assert words in problem.message


@pytest.mark.parametrize("content", ["", "# only a comment\n", "\0\n"])
def test_files_without_a_table(tmp_path: Path, content: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, content)
    (problem,) = caught.value.problems
    assert Path(problem.file).name == "own.csv"


def test_section_and_polar_are_one_too_many(tmp_path: Path) -> None:
    scenario = USES.replace("  blades: 2\n", "  blades: 2\n  section: flat_bottom\n")
    with pytest.raises(ScenarioError) as caught:
        load(tmp_path, scenario=scenario)
    (problem,) = caught.value.problems
    assert (problem.line, problem.key) == (line_of(scenario, "section: flat_bottom"), "propeller.section")
    assert "given twice" in problem.message


def test_schema_accepts_the_name_of_a_file_and_the_table(tmp_path: Path) -> None:
    validator = jsonschema.Draft202012Validator(json_schema())

    def as_json(value: object) -> object:
        if isinstance(value, tuple):
            return [as_json(item) for item in value]
        return {key: as_json(item) for key, item in value.items()} if isinstance(value, dict) else value

    def valid(text: str) -> bool:
        return bool(validator.is_valid(as_json(plain(parse_text(text, "a.yaml")[0]))))

    assert valid(USES)
    assert valid(load(tmp_path).text)
    assert not valid(USES.replace("own.csv", "own.yaml"))


def test_air_moment_factor_and_shear_modulus(tmp_path: Path) -> None:
    text = "  blades: 2\n  air_moment_factor: 1.4 +- 0.3, fitted\n  shear_modulus: 5 GPa, assumed\n"
    scenario = load(tmp_path, scenario=SCENARIO.replace("  blades: 2\n", text))
    propeller = scenario.record.propeller
    assert (propeller.air_moment_factor, propeller.shear_modulus) == (1.4, 5e9)
    assert scenario.origins["propeller.air_moment_factor"].plus_minus == pytest.approx(0.3)
    plain_one = load(tmp_path, scenario=SCENARIO)
    assert "propeller.air_moment_factor = 1" in plain_one.defaults
    for wrong in ("3.1", "-0.1", "1 deg"):
        with pytest.raises(ScenarioError, match="air_moment_factor"):
            load(
                tmp_path,
                scenario=SCENARIO.replace("  blades: 2\n", f"  blades: 2\n  air_moment_factor: {wrong}\n"),
            )
