import subprocess
import sys

import pytest

from simengine.studies.check.suite import baseline_path, in_suite, suite_files

FIRST = "simengine: 1\ntitle: a\n"
EXPECTS = "expect:\n  - {figure: shift_ceiling, at_least: 1 m}\n"


def write(folder, **files):
    for name, text in files.items():
        path = folder / (name.replace("__", "/") + ".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        (FIRST + EXPECTS, True),
        ("# a comment\n" + FIRST.replace("1\n", "1  # format\n", 1) + EXPECTS, True),
        (FIRST, False),
        (EXPECTS, False),
        ("simengine: 12\n" + EXPECTS, False),
        ("services:\n  simengine: 1\n  expect: 3\n", False),
        (FIRST + "expect: []\n", False),
        ("on: push\njobs: {}\n", False),
        ("extends: base.yaml\n", True),
        ("extends: 'base.yaml'  # below\n", True),
        ("extends: base.yaml\nexpect: []\n", False),
        ("extends: ../outside.yaml\n", False),
        ("extends: none.yaml\n", False),
        ("extends: a.yaml\n" + EXPECTS, False),
        ("", False),
    ],
)
def test_a_scenario_is_told_from_its_text(tmp_path, text, taken):
    write(tmp_path, outside=FIRST + EXPECTS, f__base=FIRST + EXPECTS, f__a=text)
    assert in_suite(tmp_path / "f" / "a.yaml") == taken


def test_a_baseline_beside_it_is_enough_and_is_itself_no_scenario(tmp_path):
    write(tmp_path, a=FIRST)
    baseline_path(tmp_path / "a.yaml").write_text(FIRST + EXPECTS, encoding="utf-8")
    assert list(suite_files(tmp_path)) == [tmp_path / "a.yaml"]


def test_folders_are_searched_and_underscores_left_apart(tmp_path):
    text = FIRST + EXPECTS
    write(tmp_path, b=text, sub__a=text, _broken=text, _apart__c=text, outputs__d=text)
    (tmp_path / ".hidden").mkdir()
    write(tmp_path / ".hidden", e=text)
    (tmp_path / "notes.txt").write_text(text, encoding="utf-8")
    assert [str(path.relative_to(tmp_path)) for path in suite_files(tmp_path)] == ["b.yaml", "sub/a.yaml"]
    assert in_suite(tmp_path / "_broken.yaml", named=True)


def test_bytes_that_are_no_text_are_passed_over(tmp_path):
    (tmp_path / "a.yaml").write_bytes(b"\xff\xfe\x00expect:\n")
    assert not in_suite(tmp_path / "a.yaml")


def test_nothing_heavy_is_imported():
    code = (
        "import sys, simengine.pytest_plugin, simengine.studies.check.suite\n"
        "heavy = {'numpy', 'xarray', 'yaml', 'pydantic', 'numba', 'matplotlib', 'pint'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
