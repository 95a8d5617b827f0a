"""Layers: `extends`, `use`, what replaces what, and the fence around the scenario folder."""

# ruff: noqa: E501  (scenario text in one line)

from pathlib import Path

import pytest
from scenario_text import SCENARIO, line_of, replaced

from simengine.errors import Problem, ScenarioError
from simengine.scenario import Scenario, load_scenario, records

START, END = SCENARIO.index("engine:\n"), SCENARIO.index("drive:\n")
ENGINE_PART = "".join(line[2:] for line in SCENARIO[START:END].splitlines(keepends=True)[1:])
USES_ENGINE = SCENARIO[:START] + "engine:\n  use: parts/engines/a.yaml\n" + SCENARIO[END:]


def write(folder: Path, **files: str) -> Path:
    """Write files, `__` in a name for a folder; returns the folder."""
    for name, text in files.items():
        path = folder / (name.replace("__", "/") + ".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return folder


def problems_of(path: Path, root: Path | None = None) -> tuple[Problem, ...]:
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path, root)
    return caught.value.problems


@pytest.fixture
def base(tmp_path: Path) -> Path:
    return write(tmp_path, base=SCENARIO, parts__engines__a=ENGINE_PART, first=USES_ENGINE)


def layered(base: Path, text: str) -> Scenario:
    return load_scenario(write(base, child="extends: base.yaml\n" + text) / "child.yaml")


def test_a_part_is_the_same_as_the_text_in_place(base: Path) -> None:
    used, plain = load_scenario(base / "first.yaml"), load_scenario(base / "base.yaml")
    assert used.record == plain.record
    assert used.text == plain.text, "what is simulated is the same, so is its digest"
    assert used.files == (str(base / "first.yaml"), str(base / "parts/engines/a.yaml"))
    origin = used.origins["engine.idle_speed"]
    assert (origin.file, origin.line) == (
        str(base / "parts/engines/a.yaml"),
        line_of(ENGINE_PART, "idle_speed"),
    )


def test_the_upper_layer_wins_key_by_key(base: Path) -> None:
    scenario = layered(base, "title: Heavy\nmasses:\n  pilot: 120 kg\n")
    assert scenario.record.title == "Heavy"
    assert (scenario.record.masses.pilot, scenario.record.masses.machine) == (120.0, 29.0)
    assert scenario.origins["masses.pilot"].mark is None, "the mark of the lower layer's value is gone"
    assert Path(scenario.origins["masses.pilot"].file).name == "child.yaml"
    assert Path(scenario.origins["masses.machine"].file).name == "base.yaml"


def test_keys_beside_use_win(base: Path) -> None:
    text = replaced(
        "  use: parts/engines/a.yaml\n", "  use: parts/engines/a.yaml\n  idle_speed: 2400 rpm\n", USES_ENGINE
    )
    scenario = load_scenario(write(base, second=text) / "second.yaml")
    assert scenario.origins["engine.idle_speed"].text == "2400 rpm"
    assert scenario.record.engine.name == "invented two-stroke"


def test_lists_are_replaced(base: Path) -> None:
    scenario = layered(base, "flight:\n  phases:\n    - {kind: climb, to_height: 800 m}\n")
    assert [phase.kind for phase in scenario.record.flight.phases] == ["climb"]


def test_another_kind_replaces_the_whole_mapping(base: Path) -> None:
    scenario = layered(base, "hub: {kind: fixed, name: f, blade_angle: 13 deg}\n")
    assert isinstance(scenario.record.hub, records.FixedHub)
    spring = "hub:\n  spring: {kind: torsion, rate: 0.4 N*m/deg, preload_angle: 20 deg}\n"
    hub = layered(base, spring).record.hub
    assert isinstance(hub, records.TwoStopHub)
    assert isinstance(hub.spring, records.TorsionSpring)


def test_the_same_kind_is_merged(base: Path) -> None:
    hub = layered(base, "hub:\n  spring: {kind: helical, rate: 15 N/mm}\n").record.hub
    assert isinstance(hub, records.TwoStopHub)
    assert isinstance(hub.spring, records.HelicalSpring)
    assert (hub.spring.rate, hub.spring.free_length) == (15000.0, 0.046)


def test_use_in_an_upper_layer_replaces_what_lies_below(base: Path) -> None:
    """Half of one engine and half of another would be no engine."""
    write(base, low=replaced("  idle_speed", "  clutch: {engage_speed: 3000 rpm}\n  idle_speed"))
    write(base, child="extends: low.yaml\nengine:\n  use: parts/engines/a.yaml\n")
    assert load_scenario(base / "low.yaml").record.engine.clutch is not None
    assert load_scenario(base / "child.yaml").record.engine.clutch is None


def test_a_quantity_in_mapping_form_is_replaced_whole(base: Path) -> None:
    scenario = layered(base, "engine:\n  inertia: {value: 0.002 kg*m2}\n")
    origin = scenario.origins["engine.inertia"]
    assert (origin.value, origin.mark, origin.note) == (0.002, None, "")


def test_a_table_with_its_own_columns_is_replaced_whole(base: Path) -> None:
    table = (
        "wing:\n  polar:\n    columns: [speed m/s, bar %, sink m/s]\n    rows: [[11, 0, 1.2], [14, 100, 2]]\n"
    )
    assert layered(base, table).record.wing.polar.speed == (11.0, 14.0)


def test_an_empty_value_takes_away(base: Path) -> None:
    scenario = layered(base, "atmosphere:\n  temperature_offset:\n")
    assert scenario.record.atmosphere.temperature_offset == 0.0
    assert "atmosphere.temperature_offset = 0 K" in scenario.defaults
    text = load_scenario(write(base, again=scenario.text) / "again.yaml")
    assert text.record == scenario.record


def test_layers_on_layers(base: Path) -> None:
    write(base, middle="extends: base.yaml\nmasses: {pilot: 95 kg}\ntitle: middle\n")
    write(base, top="extends: middle.yaml\ntitle: top\n")
    scenario = load_scenario(base / "top.yaml")
    assert (scenario.record.title, scenario.record.masses.pilot) == ("top", 95.0)


def test_parts_of_parts_and_parts_in_lists(base: Path) -> None:
    write(
        base,
        parts__hubs__h="kind: two_stop\nname: h\ncoarse_stop: 16 deg\nfine_stop: 12 deg\nspring: {use: parts/springs/s.yaml, rate: 15 N/mm}\n",
        parts__springs__s="kind: helical\nrate: 10 N/mm\nfree_length: 46 mm\nfitted_length: 40 mm\nlever_arm: 20 mm\n",
        parts__phases__c="kind: climb\nto_height: 700 m\n",
        child="extends: base.yaml\nhub: {use: parts/hubs/h.yaml}\nflight:\n  phases:\n    - use: parts/phases/c.yaml\n    - {use: parts/phases/c.yaml, to_height: 900 m}\n",
    )
    record = load_scenario(base / "child.yaml").record
    hub = record.hub
    assert isinstance(hub, records.TwoStopHub)
    assert isinstance(hub.spring, records.HelicalSpring)
    assert (hub.spring.rate, hub.spring.free_length) == (15000.0, 0.046)
    assert [phase.to_height for phase in record.flight.phases if isinstance(phase, records.Climb)] == [
        700.0,
        900.0,
    ]


def test_an_error_in_a_part_names_the_part(base: Path) -> None:
    write(base, parts__engines__a=replaced("idle_speed: 2200 rpm", "idle_speed: 2200", ENGINE_PART))
    (problem,) = problems_of(base / "first.yaml")
    assert problem.file == str(base / "parts/engines/a.yaml")
    assert (problem.line, problem.key) == (line_of(ENGINE_PART, "idle_speed"), "engine.idle_speed")


def test_errors_of_several_files_at_once(base: Path) -> None:
    write(base, parts__engines__a=replaced("idle_speed: 2200 rpm", "idle_speed: 2200", ENGINE_PART))
    write(base, second=replaced("  blades: 2", "  blades: 9", USES_ENGINE))
    assert {problem.key for problem in problems_of(base / "second.yaml")} == {
        "engine.idle_speed",
        "propeller.blades",
    }


# --- where files are looked for ---------------------------------------------------------------------
def test_parts_are_found_upward_to_the_root(base: Path) -> None:
    write(base, tests__deep__t=USES_ENGINE)
    assert load_scenario(base / "tests/deep/t.yaml", root=base).record.engine.name == "invented two-stroke"
    assert "no file 'parts/engines/a.yaml'" in problems_of(base / "tests/deep/t.yaml")[0].message


def test_the_nearest_folder_comes_first(base: Path) -> None:
    near = replaced("invented two-stroke", "near", ENGINE_PART)
    write(base, sub__t=USES_ENGINE, sub__parts__engines__a=near)
    assert load_scenario(base / "sub/t.yaml", root=base).record.engine.name == "near"


def test_up_and_over_inside_the_root(base: Path) -> None:
    write(base, sub__t="extends: ../base.yaml\ntitle: t\n")
    assert load_scenario(base / "sub/t.yaml", root=base).record.title == "t"
    assert "outside the scenario folder" in problems_of(base / "sub/t.yaml")[0].message


def test_relative_paths_are_shown_as_typed(base: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(base)
    assert load_scenario("first.yaml").files == ("first.yaml", "parts/engines/a.yaml")
    assert load_scenario("./first.yaml", root=".").files == ("first.yaml", "parts/engines/a.yaml")


def test_the_scenario_must_be_inside_its_root(base: Path) -> None:
    write(base, sub__x="a: 1")
    (problem,) = problems_of(base / "first.yaml", root=base / "sub")
    assert "is not inside the scenario folder" in problem.message


MISSING = [
    ("parts/engines/b.yaml", "no file 'parts/engines/b.yaml'"),
    ("parts/engines/aa.yaml", "nearest: 'a.yaml'"),
    ("parts/engine/a.yaml", "no file"),
    ("parts/engines", "must name a .yaml"),
    ("parts/engines/a.txt", "must name a .yaml"),
    ("/etc/passwd", "must be relative"),
    ("/etc/a.yaml", "must be relative"),
    ("~/a.yaml", "must be relative"),
    ("C:/a.yaml", "'/' between folders"),
    ("parts\\engines\\a.yaml", "'/' between folders"),
    ("../outside.yaml", "outside the scenario folder"),
    ("parts/../../outside.yaml", "outside the scenario folder"),
    ("[parts/engines/a.yaml]", "must be the path of one file"),
    ("12", "must be the path of one file"),
    ("parts/folder.yaml", "is a folder"),
    ("a" * 5000 + ".yaml", "cannot be read"),
]


@pytest.mark.parametrize("word", ["use", "extends"])
@pytest.mark.parametrize(("name", "words"), MISSING)
def test_a_file_that_cannot_be_pulled(tmp_path: Path, name: str, words: str, word: str) -> None:
    """One clear problem at its line, and none about what the file would have given."""
    folder = tmp_path / "scenarios"
    write(folder, parts__engines__a=ENGINE_PART)
    (folder / "parts/folder.yaml").mkdir()
    (tmp_path / "outside.yaml").write_text(ENGINE_PART)
    text = (
        USES_ENGINE.replace("parts/engines/a.yaml", name) if word == "use" else f"title: t\nextends: {name}\n"
    )
    write(folder, top=text)
    (problem,) = problems_of(folder / "top.yaml")
    assert words in problem.message
    if "is a folder" not in words:
        assert problem.line == line_of(text, f"{word}: ")
        assert problem.key == ("engine.use" if word == "use" else "extends")


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios"
    write(folder, first=USES_ENGINE)
    (tmp_path / "outside.yaml").write_text(ENGINE_PART)
    (folder / "parts/engines").mkdir(parents=True)
    (folder / "parts/engines/a.yaml").symlink_to(tmp_path / "outside.yaml")
    (problem,) = problems_of(folder / "first.yaml")
    assert "outside the scenario folder" in problem.message
    assert "by a link" in problem.message


def test_a_linked_folder_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios"
    write(folder, first=USES_ENGINE)
    write(tmp_path / "elsewhere", engines__a=ENGINE_PART)
    (folder / "parts").symlink_to(tmp_path / "elsewhere")
    assert "by a link" in problems_of(folder / "first.yaml")[0].message


def test_a_link_inside_the_folder_is_followed(base: Path) -> None:
    (base / "parts/engines/b.yaml").symlink_to(base / "parts/engines/a.yaml")
    write(base, second=USES_ENGINE.replace("a.yaml", "b.yaml"))
    assert load_scenario(base / "second.yaml").record.engine.name == "invented two-stroke"


# --- loops and bombs --------------------------------------------------------------------------------
def test_loop_of_extends_shows_the_chain(tmp_path: Path) -> None:
    write(tmp_path, a="extends: b.yaml\n", b="extends: c.yaml\n", c="# c\nextends: a.yaml\n")
    (problem,) = problems_of(tmp_path / "a.yaml")
    chain = " > ".join(str(tmp_path / name) for name in ("a.yaml", "b.yaml", "c.yaml", "a.yaml"))
    assert "in a loop" in problem.message
    assert chain in problem.message
    assert (problem.file, problem.line) == (str(tmp_path / "c.yaml"), 2)


def test_loop_of_use(tmp_path: Path) -> None:
    write(tmp_path, a="engine: {use: b.yaml}\n", b="altitude: {use: b.yaml}\n")
    (problem, *_) = problems_of(tmp_path / "a.yaml")
    assert "in a loop" in problem.message or any(
        "in a loop" in p.message for p in problems_of(tmp_path / "a.yaml")
    )


def test_a_file_that_pulls_itself(tmp_path: Path) -> None:
    write(tmp_path, a="extends: a.yaml\n")
    assert "in a loop" in problems_of(tmp_path / "a.yaml")[0].message


def test_a_long_chain_ends(tmp_path: Path) -> None:
    for number in range(40):
        write(tmp_path, **{f"f{number}": f"extends: f{number + 1}.yaml\n"})
    assert any("more than 20 files pull one another" in p.message for p in problems_of(tmp_path / "f0.yaml"))


def test_parts_that_multiply_end(tmp_path: Path) -> None:
    """Each file uses the next one ten times: 10^15 parts if nothing stopped it."""
    padding = "# " + "x" * 2000 + "\n"
    for number in range(15):
        lines = "".join(f"k{i}: {{use: f{number + 1}.yaml}}\n" for i in range(10))
        write(tmp_path, **{f"f{number}": padding + lines})
    write(tmp_path, f15="z: 1\n")
    assert any("more than" in problem.message for problem in problems_of(tmp_path / "f0.yaml"))


def test_parts_that_nest_end(tmp_path: Path) -> None:
    """Twenty files of 25 levels each would be 500 levels deep."""
    for number in range(25):
        nested = "".join(f"{' ' * level}k{level}:\n" for level in range(25)) + " " * 25
        write(tmp_path, **{f"f{number}": f"{nested}use: f{number + 1}.yaml\n"})
    assert any(
        "nested deeper than 30 levels" in problem.message for problem in problems_of(tmp_path / "f0.yaml")
    )
