"""The folder outside of which a scenario reads nothing: its own, or the marked one above it."""

import os
from pathlib import Path

import pytest
from scenario_text import SCENARIO

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario
from simengine.scenario.folder import MARK, scenario_folder
from simengine.studies.check.suite import in_suite

EXPECTS = "expect:\n  - {figure: shift_ceiling, at_least: 1 m}\n"


@pytest.fixture
def tree(tmp_path):
    """`top/base.yaml`, and on top of it `top/sub/deep/a.yaml`; a stranger's file beside `top`."""
    deep = tmp_path / "top" / "sub" / "deep"
    deep.mkdir(parents=True)
    (tmp_path / "top" / "base.yaml").write_text(SCENARIO + EXPECTS, encoding="utf-8")
    (tmp_path / "outside.yaml").write_text(SCENARIO, encoding="utf-8")
    (deep / "a.yaml").write_text("extends: base.yaml\ntitle: a\n", encoding="utf-8")
    return tmp_path / "top"


def mark(folder):
    (folder / MARK).write_text("", encoding="utf-8")


def refused(path):
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    return caught.value.problems[0].message


def test_without_a_mark_it_is_the_own_folder(tree):
    file = tree / "sub" / "deep" / "a.yaml"
    assert scenario_folder(file) == file.parent.resolve()
    assert "no file 'base.yaml'" in refused(file)
    assert not in_suite(file)


def test_a_mark_above_opens_that_folder_and_nothing_above_it(tree):
    mark(tree)
    file = tree / "sub" / "deep" / "a.yaml"
    assert load_scenario(file).record.title == "a"
    assert in_suite(file)
    file.write_text("extends: ../../../outside.yaml\n", encoding="utf-8")
    assert "leads outside the scenario folder" in refused(file)
    file.write_text("extends: outside.yaml\n", encoding="utf-8")
    assert "no file 'outside.yaml'" in refused(file)


def test_a_link_out_of_the_marked_folder_is_refused(tree):
    mark(tree)
    file = tree / "sub" / "deep" / "a.yaml"
    (tree / "link.yaml").symlink_to(tree.parent / "outside.yaml")
    file.write_text("extends: link.yaml\n", encoding="utf-8")
    assert "by a link" in refused(file)


def test_the_nearest_mark_counts(tree):
    mark(tree)
    mark(tree / "sub")
    assert scenario_folder(tree / "sub" / "deep" / "a.yaml") == (tree / "sub").resolve()


def test_a_folder_or_a_link_is_no_mark(tree):
    (tree / "sub" / MARK).mkdir()
    (tree / MARK).symlink_to(tree / "base.yaml")
    assert scenario_folder(tree / "sub" / "deep" / "a.yaml") == (tree / "sub" / "deep").resolve()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
def test_the_mark_of_another_user_does_not_count(tree):
    mark(tree)
    os.chown(tree / MARK, 12345, -1)
    file = tree / "sub" / "deep" / "a.yaml"
    assert scenario_folder(file) == file.parent.resolve()


@pytest.mark.parametrize(("stand", "typed"), [("sub/deep", "a.yaml"), (".", "sub/deep/a.yaml")])
def test_files_are_shown_as_typed(tree, monkeypatch, stand, typed):
    mark(tree)
    monkeypatch.chdir(tree / stand)
    base = Path(os.path.relpath(tree / "base.yaml"))
    assert load_scenario(typed).files == (typed, str(base))


def test_how_to_widen_it_is_told(tree):
    file = tree / "sub" / "deep" / "a.yaml"
    file.write_text("extends: ../../base.yaml\n", encoding="utf-8")
    assert f"a file '{MARK}' in a folder above" in refused(file)
