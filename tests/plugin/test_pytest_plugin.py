"""The plugin as a maker meets it: a repository of their own, with other people's YAML files in it."""

import os
import re
import tomllib
from importlib.metadata import entry_points
from pathlib import Path

import platformdirs
import pytest
from demo_suite import changed, copied_suite

from simengine.results.cautions import SHORT_CAUTION
from simengine.scenario import load_scenario
from simengine.studies.check.study import expected_names
from simengine.studies.check.suite import baseline_path

pytest_plugins = ["pytester"]

MODULE = "simengine.pytest_plugin"
INSTALLED = any(point.value == MODULE for point in entry_points(group="pytest11"))
# pytester gives its runs another home: without this each of them would compile the flight model anew.
CACHE = os.environ.get("SIMENGINE_CACHE_DIR") or platformdirs.user_cache_dir("simengine", appauthor=False)
PROJECT = Path(__file__).parents[2] / "pyproject.toml"


@pytest.fixture(autouse=True)
def compiled_kernels(monkeypatch):
    """Keep what was compiled."""
    monkeypatch.setenv("SIMENGINE_CACHE_DIR", CACHE)


@pytest.fixture
def suite(pytester):
    """A maker's repository with the demo revisions and files that are none of ours."""
    suite = copied_suite(pytester.path)
    (pytester.path / "docker-compose.yml").write_text("services: {a: {expect: 1}}\n", encoding="utf-8")
    (pytester.path / "notes.yaml").write_text("expect:\n  - a\n", encoding="utf-8")
    return suite


def run(pytester, *arguments):
    """pytest in the maker's repository, in a process of its own, warnings as errors."""
    loaded = () if INSTALLED else ("-p", MODULE)
    return pytester.runpytest_subprocess(*loaded, "-p", "no:cacheprovider", "-W", "error", *arguments)


def only(suite, *names):
    """Leave nothing but some scenarios."""
    for path in suite.glob("*.yaml"):
        if path.name.partition(".")[0] not in (*names, "agreed"):
            path.unlink()


def test_the_entry_point_is_declared():
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    assert project["project"]["entry-points"]["pytest11"] == {"simengine": MODULE}


def test_each_agreed_figure_and_each_group_is_an_item(pytester, suite):
    only(suite, "revision_a_first_hub")
    result = run(pytester, "-v")
    result.assert_outcomes(passed=2 * (10 + 6))
    text = result.stdout.str()
    for name in expected_names(load_scenario(suite / "agreed.yaml")):
        assert f"revisions/agreed.yaml::{name} PASSED" in text
    assert "revisions/revision_a_first_hub.yaml::baseline: events PASSED" in text
    assert SHORT_CAUTION in text
    assert "notes.yaml" not in text
    assert not (pytester.path / "outputs").exists()


def test_a_failure_reads_without_a_traceback(pytester, suite):
    only(suite, "_blades_two_degrees_off")
    result = run(pytester, suite / "_blades_two_degrees_off.yaml", "--simengine-output", "pictures")
    counted = result.parseoutcomes()
    assert counted["failed"] > 0
    assert counted["passed"] + counted["failed"] == 10
    text = result.stdout.str()
    result.stdout.fnmatch_lines(
        [
            "FAIL  full throttle climb: full_throttle_rpm",
            "agreed: * rpm within * rpm",
            "found: * rpm",
            "missed by: * rpm",
            "why agreed: the engine's maker allows full power between these",
            "picture: *_blades_two_degrees_off.check.png",
        ]
    )
    assert "Traceback" not in text
    assert ".py:" not in text
    (picture,) = set(re.findall(r"^picture: (.*)$", text, re.MULTILINE))
    assert Path(picture).parent == pytester.path / "pictures"
    assert Path(picture).stat().st_size > 10_000


def test_what_moved_is_told_by_name_with_the_change(pytester, suite):
    changed(suite, "hub: {spring: {washers: 7}}")
    result = run(pytester, suite / "agreed.yaml")
    result.stdout.fnmatch_lines(
        [
            "phase engine check: *: * -> *(*; tolerance *)",
            "changed since the baseline: hub.spring.washers: 6 -> 7",
        ]
    )
    assert result.ret == 1


@pytest.mark.slow
def test_it_works_with_xdist(pytester, suite):
    """Items of one file on both workers, as pytest spreads them by itself."""
    only(suite, "revision_a_first_hub", "_blades_two_degrees_off")
    result = run(pytester, "-n", "2")
    result.assert_outcomes(passed=2 * (10 + 6))
    result.stdout.fnmatch_lines(["*simengine CAUTION*"])


def test_one_item_can_be_chosen(pytester, suite):
    only(suite, "revision_b_five_washers")
    result = run(pytester, "-k", "shift_ceiling and revision_b")
    result.assert_outcomes(passed=1, deselected=2 * 16 - 1)


def test_bad_files_fail_by_name_and_the_rest_still_runs(pytester, suite):
    only(suite)
    (suite / "typo.yaml").write_text("extends: agreed.yaml\nhub: {washes: 5}\n", encoding="utf-8")
    path = baseline_path(suite / "agreed.yaml")
    path.write_bytes(path.read_bytes()[:3000])
    result = run(pytester, "-v")
    result.assert_outcomes(passed=10, failed=2)
    text = result.stdout.str()
    assert "typo.yaml:2: hub.washes: unknown key" in text
    assert "restore it from version control" in text
    assert "Traceback" not in text


def test_without_the_plugin_nothing_is_collected(pytester, suite):
    result = pytester.runpytest_subprocess("-p", "no:simengine", "-p", "no:cacheprovider")
    assert result.ret == pytest.ExitCode.NO_TESTS_COLLECTED


def test_other_tests_are_not_slowed(pytester):
    """With no scenario in sight nothing of the simulation is imported."""
    pytester.makefile(".yaml", other="on: push\njobs: {}\n")
    pytester.makepyfile(
        "import sys\n"
        "def test_light():\n"
        "    assert not {'numpy', 'xarray', 'yaml', 'pydantic', 'numba', 'matplotlib'} & set(sys.modules)\n"
    )
    result = run(pytester, "-p", "no:hypothesispytest", "-p", "no:benchmark")
    result.assert_outcomes(passed=1)
    assert SHORT_CAUTION not in result.stdout.str()
