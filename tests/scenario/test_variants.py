"""`variants:` are laid over their file, each complete; what is wrong in one is told under its name."""

import hashlib
from pathlib import Path

import jsonschema
import pytest
from scenario_text import SCENARIO, line_of, replaced

from simengine.errors import ScenarioError
from simengine.scenario import json_schema, load_scenario, load_variant, load_variants
from simengine.scenario.loader import plain
from simengine.scenario.references import load_reference, reference_stem, reference_to, split_reference
from simengine.scenario.yaml_nodes import parse_text

VARIANTS = """\
variants:
  one_washer_less:
    title: one washer taken out
    hub: {spring: {washers: 1}}
  bolted:
    hub: {use: parts/bolted.yaml}
  small:
    engine: {speed_limit: 8000 rpm}
    drive: {reduction: 3.0}
"""
BOLTED = "kind: fixed\nname: bolted\nblade_angle: 14 deg\n"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts/bolted.yaml").write_text(BOLTED)
    (tmp_path / "base.yaml").write_text(SCENARIO + VARIANTS)
    return tmp_path / "base.yaml"


def problems(path: Path) -> list[tuple[str, int | None, str]]:
    """Key, line and message of every problem; the same whichever way the file is read."""
    found = []
    for load in (load_scenario, load_variants):
        with pytest.raises(ScenarioError) as caught:
            load(path)
        found.append([(problem.key, problem.line, problem.message) for problem in caught.value.problems])
    assert found[0] == found[1]
    return found[0]


def written(path: Path, text: str) -> Path:
    path.write_text(text)
    return path


def test_base_first_then_the_variants_in_order(file: Path) -> None:
    found = load_variants(file)
    assert list(found) == ["base", "one_washer_less", "bolted", "small"]
    assert [scenario.record.hub.kind for scenario in found.values()] == [
        "two_stop",
        "two_stop",
        "fixed",
        "two_stop",
    ]
    assert found["base"].record == load_scenario(file).record
    assert found["one_washer_less"].record.title == "one washer taken out"
    assert found["small"].record.title == f"{found['base'].record.title}: small"
    assert found["small"].record.drive.reduction == 3.0
    assert found["small"].record.hub == found["base"].record.hub


def test_the_file_itself_knows_nothing_of_its_variants(file: Path, tmp_path: Path) -> None:
    scenario = load_scenario(file)
    bare = load_scenario(written(tmp_path / "bare.yaml", SCENARIO))
    assert (scenario.text, scenario.sha256) == (bare.text, bare.sha256)
    assert "variants" not in scenario.text
    assert not any(key.startswith("variants") for key in scenario.origins)


def test_every_variant_is_complete_and_loads_again_from_its_text(file: Path, tmp_path: Path) -> None:
    texts = set()
    for name, scenario in load_variants(file).items():
        again = load_scenario(written(tmp_path / f"{name}_again.yaml", scenario.text))
        assert again.record == scenario.record
        assert again.text == scenario.text
        assert scenario.sha256 == hashlib.sha256(scenario.text.encode()).hexdigest()
        assert again.defaults == scenario.defaults
        texts.add(scenario.text)
    assert len(texts) == 4


def test_origins_of_a_variant_stand_where_they_were_typed(file: Path) -> None:
    origins = load_variants(file)["small"].origins
    assert origins["drive.reduction"].line == line_of(SCENARIO + VARIANTS, "reduction: 3.0")
    assert origins["masses.pilot"].line == line_of(SCENARIO, "pilot:")
    assert origins["masses.pilot"].mark == "measured"


def test_a_variant_can_be_a_file_and_is_still_only_a_layer(file: Path, tmp_path: Path) -> None:
    (tmp_path / "revision.yaml").write_text("hub: {spring: {washers: 5}}\n")
    path = written(tmp_path / "b.yaml", SCENARIO + "variants: {r5: {use: revision.yaml}}\n")
    variant = load_variants(path)["r5"].record
    assert variant.hub.spring.washers == 5
    assert variant.engine == load_scenario(path).record.engine


def test_variants_belong_to_their_file(file: Path, tmp_path: Path) -> None:
    """They would not fit a file that puts another hub on top: washers are none of a fixed one's."""
    top = "extends: base.yaml\nhub: {use: parts/bolted.yaml}\nvariants:\n  new: {note: n}\n"
    found = load_variants(written(tmp_path / "top.yaml", top))
    assert list(found) == ["top", "new"]
    whole = written(tmp_path / "whole.yaml", SCENARIO + "variants: {other: {use: base.yaml}, none: }\n")
    assert list(load_variants(whole)) == ["whole", "other"]


def test_what_is_wrong_in_a_variant(file: Path) -> None:
    text = SCENARIO + VARIANTS.replace("washers: 1", "washres: 1").replace("3.0", "3.0 rpm")
    washers, reduction = problems(written(file, text))
    assert washers[:2] == ("variants.one_washer_less.hub.spring.washres", line_of(text, "washres"))
    assert "nearest: 'washers'" in washers[2]
    assert reduction[:2] == ("variants.small.drive.reduction", line_of(text, "3.0 rpm"))


def test_nothing_is_agreed_in_a_variant_for_nobody_would_check_it(file: Path, tmp_path: Path) -> None:
    agreed = "[{figure: shift_finish_rpm, phase: all, at_most: 9000 rpm}]"
    text = SCENARIO + f"variants:\n  late: {{note: n, expect: {agreed}}}\n"
    path = written(tmp_path / "agreed.yaml", text)
    ((key, line, message),) = problems(path)
    assert (key, line) == ("variants.late", line_of(text, "late:"))
    assert "extends: agreed.yaml" in message
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(plain(parse_text(text, "a")[0]))
    written(path, text.replace(agreed, "null"))
    assert list(load_variants(path)) == ["agreed", "late"]


def test_what_a_used_file_agrees_on_is_checked_there(file: Path, tmp_path: Path) -> None:
    agreed = "expect: [{figure: shift_finish_rpm, phase: climb, at_most: 9000 rpm}]\n"
    (tmp_path / "other.yaml").write_text(f"hub: {{spring: {{washers: 5}}}}\n{agreed}")
    path = written(tmp_path / "b.yaml", SCENARIO + "variants: {r5: {use: other.yaml}}\n")
    assert list(load_variants(path)) == ["b", "r5"]


def test_what_no_longer_fits_together_is_told_with_the_variant(file: Path) -> None:
    text = SCENARIO + "variants: {late: {hub: {fine_stop: 17 deg}}}\n"
    (problem,) = problems(written(file, text))
    assert problem[0].startswith("variants.late.hub.")


def test_what_is_wrong_in_the_file_is_told_once(file: Path) -> None:
    text = replaced("  blades: 2", "  blades: 9") + VARIANTS
    (problem,) = problems(written(file, text))
    assert problem[:2] == ("propeller.blades", line_of(text, "blades: 9"))


def test_a_part_that_is_not_there(file: Path) -> None:
    text = SCENARIO + VARIANTS.replace("parts/bolted", "parts/boltd")
    (problem,) = problems(written(file, text))
    assert problem[:2] == ("variants.bolted.hub.use", line_of(text, "parts/boltd"))
    assert "nearest: 'bolted.yaml'" in problem[2]


WRONG = [
    ("variants: [a, b]\n", "variants", "must be a mapping"),
    ("variants: fixed\n", "variants", "must be a mapping"),
    ("variants: {a: 5}\n", "variants.a", "must be a mapping of what differs"),
    ("variants: {a b: {note: x}}\n", "variants.a b", "begins with a letter or digit"),
    ("variants: {a/b: {note: x}}\n", "variants.a/b", "letter or digit"),
    ("variants: {base: {note: x}}\n", "variants.base", "name of the file itself"),
    ("variants: {a: {variants: {b: {note: x}}}}\n", "variants.a", "variants of its own"),
    ("variants: {a: {extends: base.yaml}}\n", "variants.a", "'extends' stands at the top"),
    ("varaints: {a: {note: x}}\n", "varaints", "nearest: 'variants'"),
    ("variants: {a: {note: x}, a: {note: y}}\n", "variants.a", "given twice"),
    ("variants:\n" + "".join(f"  v{i}: {{note: x}}\n" for i in range(51)), "variants", "at most 50"),
]


@pytest.mark.parametrize(("text", "key", "words"), WRONG)
def test_wrong_forms(file: Path, text: str, key: str, words: str) -> None:
    (problem,) = problems(written(file, SCENARIO + text))
    assert problem[0] == key
    assert words in problem[2]
    assert problem[1] is not None and problem[1] > len(SCENARIO.splitlines())


def test_one_variant_by_name(file: Path) -> None:
    assert load_variant(file, "bolted").record.hub.kind == "fixed"
    with pytest.raises(ScenarioError, match=r"no variant 'boltd'; the file has .*nearest: 'bolted'"):
        load_variant(file, "boltd")
    with pytest.raises(ScenarioError, match="has no variants"):
        load_variant(written(file, SCENARIO), "bolted")


def test_references(file: Path) -> None:
    reference = reference_to(file, "bolted")
    assert split_reference(reference) == (file, "bolted")
    assert reference_stem(reference) == "base-bolted"
    assert load_reference(reference).record.hub.kind == "fixed"
    assert split_reference(reference_to(file, None)) == (file, None)
    assert split_reference("a.nc:b") == (Path("a.nc:b"), None)
    odd = written(file.with_name("x.yaml:y"), SCENARIO)
    assert split_reference(odd) == (odd, None)


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json_schema())


SCHEMA = [
    (VARIANTS, True),
    ("variants: {a: {}}\n", True),
    ("variants: {a: }\n", True),
    ("variants: {a: {hub: {spring: {rate: 14 kg}}}}\n", False),
    ("variants: {a: {hub: {sprng: {}}}}\n", False),
    ("variants: {a: {variants: {}}}\n", False),
    ("variants: {a: {extends: a.yaml}}\n", False),
    ("variants: {a b: {}}\n", False),
    ("variants: []\n", False),
]


@pytest.mark.parametrize(("text", "good"), SCHEMA)
@pytest.mark.parametrize("base", [SCENARIO, "extends: a.yaml\n"])
def test_schema(validator: jsonschema.Draft202012Validator, base: str, text: str, good: bool) -> None:
    def as_json(value):
        if isinstance(value, tuple):
            return [as_json(item) for item in value]
        return {key: as_json(item) for key, item in value.items()} if isinstance(value, dict) else value

    assert validator.is_valid(as_json(plain(parse_text(base + text, "a.yaml")[0]))) is good
