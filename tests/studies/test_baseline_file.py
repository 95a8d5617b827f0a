import os
import signal
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest
import yaml
from demo_suite import REVISIONS, copied_suite

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario
from simengine.studies.check import baseline_file
from simengine.studies.check.baseline import Entry, refuse_loose
from simengine.studies.check.baseline_file import read_baseline, write_baseline
from simengine.studies.check.suite import baseline_path


@pytest.fixture
def suite(tmp_path):
    return copied_suite(tmp_path)


@pytest.fixture
def stored(suite):
    """Scenario and text of its baseline."""
    scenario = suite / "agreed.yaml"
    return scenario, baseline_path(scenario).read_text(encoding="utf-8")


def message(scenario):
    with pytest.raises(ScenarioError) as caught:
        read_baseline(scenario)
    (problem,) = caught.value.problems
    assert problem.file == str(baseline_path(scenario))
    return problem.message


def test_what_is_written_reads_back(suite):
    baseline = read_baseline(suite / "agreed.yaml")
    odd = Entry(
        "2026-01-01 00:00 UTC", "reason: 'quoted' # no comment — ü", "me", ("a: 1 -> 2",), {"x: y": "1 -> 2"}
    )
    again = replace(baseline, history=(*baseline.history, odd))
    write_baseline(again, suite / "agreed.yaml")
    read = read_baseline(suite / "agreed.yaml")
    assert read.history == again.history
    assert (read.figures, read.events, read.envelope) == (again.figures, again.events, again.envelope)
    assert (read.text, read.sha256, read.computed) == (again.text, again.sha256, again.computed)
    for name, values in again.samples.values.items():
        np.testing.assert_array_equal(read.samples.values[name], values)


@pytest.mark.parametrize("path", sorted(REVISIONS.glob("*.baseline.yaml")), ids=lambda path: path.name)
def test_baselines_are_small_plain_yaml_with_provenance(path):
    assert path.stat().st_size < 60_000
    document = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert {"simengine", "versions", "platform", "solver", "seeds", "relative_tolerance"} <= set(
        document["computed"]
    )
    assert "numba" in document["computed"]["versions"]
    assert len(document["scenario"]["sha256"]) == 64
    assert document["history"][0]["reason"]


def test_line_ends_of_another_system_are_no_damage(stored):
    scenario, text = stored
    baseline_path(scenario).write_bytes(text.replace("\n", "\r\n").encode())
    assert read_baseline(scenario).scenario == "agreed.yaml"


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99])
def test_a_file_cut_short_is_told(stored, share):
    scenario, text = stored
    baseline_path(scenario).write_text(text[: int(share * len(text))], encoding="utf-8")
    told = message(scenario)
    assert "damaged" in told
    assert "restore it from version control" in told


def test_one_digit_edited_by_hand_is_told(stored):
    scenario, text = stored
    place = text.index("shift_begin_rpm: ") + len("shift_begin_rpm: ")
    other = "1" if text[place] != "1" else "2"
    baseline_path(scenario).write_text(text[:place] + other + text[place + 1 :], encoding="utf-8")
    assert "edited by hand" in message(scenario)


@pytest.mark.parametrize(
    "content", [b"", b"\x89HDF\r\n\x1a\n", b"a: 1\n", b"- 1\n", b"simengine: 1\ntitle: a scenario\n"]
)
def test_a_foreign_file_is_told(stored, content):
    scenario, _ = stored
    baseline_path(scenario).write_bytes(content)
    assert "UTF-8" in message(scenario) or "is not a baseline of simengine" in message(scenario)


def test_a_newer_format_is_told(stored):
    scenario, text = stored
    baseline_path(scenario).write_text(
        text.replace("simengine_baseline: 1", "simengine_baseline: 2"), encoding="utf-8"
    )
    assert "format 2" in message(scenario)


def test_a_document_that_lacks_something_is_told(stored):
    scenario, text = stored
    body = text.partition("\ndigest:")[2].partition("\n")[2].replace("\ntraces:", "\ntracks:")
    head = f"simengine_baseline: 1\ndigest: {baseline_file.digest(body)}\n"
    baseline_path(scenario).write_text(head + body, encoding="utf-8")
    assert "does not hold what a baseline holds" in message(scenario)


def test_the_baseline_of_another_scenario_is_told_and_can_be_taken_over(stored):
    scenario, _ = stored
    other = scenario.with_name("other.yaml")
    other.write_text("extends: agreed.yaml\n", encoding="utf-8")
    baseline_path(scenario).rename(baseline_path(other))
    assert "is the baseline of 'agreed.yaml', not of 'other.yaml'" in message(other)
    assert read_baseline(other, any_name=True).scenario == "agreed.yaml"


def test_a_loose_flight_gets_no_baseline(suite):
    path = suite / "a.yaml"
    path.write_text("extends: agreed.yaml\nflight: {relative_tolerance: 0.005}\n", encoding="utf-8")
    with pytest.raises(
        ScenarioError, match=r"flight.relative_tolerance: 0.005 is too loose .* 0.001 or less"
    ):
        refuse_loose(load_scenario(path))


KILLED = """
import sys, time
from pathlib import Path
from simengine.results import files
sync = files.sync
def slow(path):
    print("WRITING", flush=True)
    time.sleep(60)
files.sync = slow
sys.argv = ["simengine", "check", sys.argv[1], "--accept", "--reason", "to be killed", "-q"]
from simengine.cli import main
main()
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_killed_check_leaves_the_baseline_whole(stored):
    scenario, text = stored
    scenario.write_text(
        scenario.read_text(encoding="utf-8").replace("{reduction: 2.45}", "{reduction: 2.46}"),
        encoding="utf-8",
    )
    child = subprocess.Popen([sys.executable, "-c", KILLED, str(scenario)], stdout=subprocess.PIPE, text=True)
    assert child.stdout.readline() == "WRITING\n"
    time.sleep(0.05)
    os.kill(child.pid, signal.SIGKILL)
    assert child.wait() == -signal.SIGKILL
    child.stdout.close()
    assert baseline_path(scenario).read_text(encoding="utf-8") == text
    assert read_baseline(scenario).scenario == "agreed.yaml"
