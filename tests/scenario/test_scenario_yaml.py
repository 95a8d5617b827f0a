"""Reading of YAML: what is a number, what is refused, and where."""

from pathlib import Path

import pytest
from scenario_text import SCENARIO, line_of, replaced

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario
from simengine.scenario.yaml_nodes import DEPTH_LIMIT, Scalar, parse_text


def read(text: str) -> object:
    """The value of `key: text`."""
    mapping, problems = parse_text(f"key: {text}", "a.yaml")
    assert not problems
    node = mapping.entries["key"]
    assert isinstance(node, Scalar)
    return node.value


# YAML 1.2.2, section 10.3.2, core schema: tag resolution (octal and hexadecimal left out on purpose)
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1e3", 1000.0),
        ("1E-3", 0.001),
        ("+.5", 0.5),
        ("5.", 5.0),
        ("010", 10),
        ("-7", -7),
        ("0x10", "0x10"),
        ("1_000", "1_000"),
        ("on", "on"),
        ("no", "no"),
        ("Yes", "Yes"),
        ("12:30", "12:30"),
        ("2026-01-01", "2026-01-01"),
        ("true", True),
        ("FALSE", False),
        ("~", None),
        ("null", None),
        ("", None),
        ('""', ""),
        ('"12"', "12"),
        ("'true'", "true"),
        ("=", "="),
    ],
)
def test_scalars(text: str, value: object) -> None:
    result = read(text)
    assert (type(result), result) == (type(value), value)


def test_a_whole_number_of_many_digits() -> None:
    assert read("0" * 6000 + "1") == 1


REFUSED = [
    ("title: &a x", "anchor '&a' is not accepted"),
    ("title: &a x\nnote: *a", "alias '*a' is not accepted"),
    ("title: *a", "alias '*a' is not accepted"),
    ("title: !!str x", "tag 'tag:yaml.org,2002:str' is not accepted"),
    ("title: !!python/object/apply:os.system [ls]", "python/object/apply:os.system' is not accepted"),
    ("title: !mine x", "tag '!mine' is not accepted"),
    ("title: {<<: {a: 1}}", "merge key '<<' is not accepted"),
    ("? [a, b]\n: 1", "a key must be a plain word"),
    ("title: .inf", "must be a finite number (got '.inf')"),
    ("title: " + "9" * 400, "must be a finite number"),
]


@pytest.mark.parametrize(("text", "words"), REFUSED)
def test_refused(text: str, words: str) -> None:
    _, problems = parse_text(f"# comment\n{text}", "a.yaml")
    assert any(words in problem.message for problem in problems), problems
    assert all(problem.line in (2, 3) for problem in problems)


BROKEN = [
    ("title: [1, 2", None, "not valid YAML"),
    ("title: x\n  bad: y", 2, "not valid YAML"),
    ("title: x\n\tbad: y", 2, "not valid YAML"),
    ("title: 'x", None, "not valid YAML"),
    ("a: 1\n---\nb: 2", 2, "single document"),
    ("- a\n- b", 1, "must hold keys and values"),
    ("just text", 1, "must hold keys and values"),
    ("", None, "is empty"),
    ("# nothing but a comment\n", None, "is empty"),
    ("a: x\x01y", 1, "U+0001"),
    ("a: " + "[" * (DEPTH_LIMIT + 5), 1, "nested deeper than 30 levels"),
    ("a: [" + "1," * 150_000 + "]", 1, "more than 150,000 keys and values"),
    ("a: " + "[" * 100_000, 1, "nested deeper than 30 levels"),
]


@pytest.mark.parametrize(("text", "line", "words"), BROKEN)
def test_broken(tmp_path: Path, text: str, line: int | None, words: str) -> None:
    file = tmp_path / "broken.yaml"
    file.write_text(text)
    with pytest.raises(ScenarioError) as caught:
        load_scenario(file)
    (problem,) = caught.value.problems
    assert problem.file == str(file)
    assert words in problem.message
    assert line is None or problem.line == line


def test_files_that_are_none(tmp_path: Path) -> None:
    cases = {
        "missing.yaml": "no such file",
        "folder.yaml": "is a folder",
        "binary.yaml": "is not UTF-8 text",
        "large.yaml": "is larger than 1 MB",
        "empty.yaml": "is empty",
    }
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "binary.yaml").write_bytes(b"a: 1\nb: \xff\xfe\x00")
    (tmp_path / "large.yaml").write_text("# " + "x" * 1_000_001)
    (tmp_path / "empty.yaml").write_bytes(b"")
    for name, words in cases.items():
        with pytest.raises(ScenarioError) as caught:
            load_scenario(tmp_path / name)
        assert words in str(caught.value)
        assert name in str(caught.value)
    with pytest.raises(ScenarioError, match=r"binary\.yaml:2: is not UTF-8"):
        load_scenario(tmp_path / "binary.yaml")


@pytest.mark.parametrize("name", ["no/folder/a.yaml", "a" * 5000 + ".yaml", "a\0b.yaml", ".", "/dev/null"])
def test_names_that_are_no_file(tmp_path: Path, name: str) -> None:
    with pytest.raises(ScenarioError):
        load_scenario(tmp_path / name)


def test_key_given_twice_names_both_lines(tmp_path: Path) -> None:
    text = replaced("  machine: 29 kg", "  machine: 29 kg\n  wing: 5 kg\n  machine: 30 kg")
    file = tmp_path / "twice.yaml"
    file.write_text(text)
    with pytest.raises(ScenarioError) as caught:
        load_scenario(file)
    (problem,) = caught.value.problems
    first, second = line_of(text, "  machine:"), line_of(text, "  machine:", 2)
    assert (problem.line, problem.key) == (second, "masses.machine")
    assert f"line {first}" in problem.message


def test_alias_bomb_is_refused_at_once(tmp_path: Path) -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    file = tmp_path / "bomb.yaml"
    file.write_text("\n".join(lines))
    with pytest.raises(ScenarioError) as caught:
        load_scenario(file)
    assert "alias '*a0' is not accepted" in str(caught.value)
    assert len(caught.value.problems) < 300


def test_thousands_of_problems_are_cut_short(tmp_path: Path) -> None:
    file = tmp_path / "junk.yaml"
    file.write_text("".join(f"key{number}: 1\n" for number in range(1000)))
    with pytest.raises(ScenarioError, match="more problems") as caught:
        load_scenario(file)
    assert len(caught.value.problems) == 201


def test_windows_line_ends_and_byte_order_mark(tmp_path: Path) -> None:
    file = tmp_path / "windows.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + SCENARIO.replace("\n", "\r\n").encode())
    plain = tmp_path / "plain.yaml"
    plain.write_text(SCENARIO)
    assert load_scenario(file).record == load_scenario(plain).record
