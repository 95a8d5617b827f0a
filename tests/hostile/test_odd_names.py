"""Names, links and texts that once took a reader's breath away."""

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import xarray
from command_line import run
from seeds import SCENARIOS
from synthetic_flight import synthetic_flight

from simengine.errors import OutputError, Problem, ScenarioError, shown
from simengine.report.check.run import files_of
from simengine.report.page import reading
from simengine.report.page.reading import result_files
from simengine.results.netcdf import read_netcdf, write_netcdf
from simengine.scenario import load_scenario
from simengine.scenario.overlay import refuse_foreign
from simengine.scenario.raw_log import is_log
from simengine.scenario.readings import load_readings
from simengine.scenario.waypoint_files import read_waypoints
from simengine.studies.check.baseline_file import read_baseline
from simengine.studies.check.suite import in_suite, suite_files
from simengine.studies.tolerance.measured_hubs import read_hubs

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="pipes and links of POSIX systems")
MOST_SECONDS = 2.0  # of processor time; each took minutes


def refused(function, *arguments):
    """The only problem that comes out."""
    with pytest.raises(ScenarioError) as caught:
        function(*arguments)
    (problem,) = caught.value.problems
    return problem


@POSIX
@pytest.mark.parametrize("read", [load_scenario, load_readings, is_log, read_netcdf])
@pytest.mark.parametrize("kind", ["pipe", "loop", "device", "folder", "nowhere"])
def test_what_is_no_file_is_refused_and_not_waited_for(tmp_path, read, kind):
    path = tmp_path / "input"
    {
        "pipe": lambda: os.mkfifo(path),
        "loop": lambda: path.symlink_to("input"),
        "device": lambda: path.symlink_to("/dev/zero"),
        "folder": path.mkdir,
        "nowhere": lambda: path.symlink_to("gone"),
    }[kind]()
    assert refused(read, path).message


@POSIX
@pytest.mark.parametrize("name", ["loop.csv", "pipe.csv", "out.csv", "folder.csv", "x" * 300 + ".csv"])
def test_waypoints_that_are_no_file(tmp_path, name):
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "secret.csv").write_text("latitude,longitude\n1,2\n3,4\n")
    (folder / "loop.csv").symlink_to("loop.csv")
    (folder / "out.csv").symlink_to("../secret.csv")
    (folder / "folder.csv").mkdir()
    os.mkfifo(folder / "pipe.csv")
    assert refused(read_waypoints, name, folder).message


@POSIX
def test_a_folder_that_leads_round_to_itself(tmp_path):
    (tmp_path / "loop").symlink_to("loop")
    told = refused(load_scenario, tmp_path / "loop" / "a.yaml").message
    assert told in ("is not the name of a file", "no such file")  # up to Python 3.12, and from 3.13


@pytest.mark.parametrize(
    "line",
    [
        'site: {height: "46 a' + " " * 400_000 + 'b"}',
        'title: "' + "\\n" * 200_000 + '"',
        "title: " + "x" * 200_000,
        'site: {height: "46' + " +-" * 100_000 + ' m"}',
        'title: "\\ud800"',
        '"\\udfff": 1',
        "site: {" + ", ".join(f"k{number}: 1" for number in range(10_000)) + "}",
    ],
    ids=[
        "blanks in a unit",
        "title of empty lines",
        "endless title",
        "marks",
        "half a character",
        "half a key",
        "many unknown keys",
    ],
)
def test_texts_that_patterns_choke_on(tmp_path, line):
    shutil.copytree(SCENARIOS, tmp_path, dirs_exist_ok=True)
    path = tmp_path / "a.yaml"
    path.write_text(f"extends: ground_run.yaml\n{line}\n")
    start = time.process_time()
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    assert time.process_time() - start < MOST_SECONDS
    assert len(str(caught.value)) < 100_000


def test_a_row_without_end_is_one_problem(tmp_path):
    shutil.copytree(SCENARIOS, tmp_path, dirs_exist_ok=True)
    path = tmp_path / "parts" / "polars" / "cambered_12.csv"
    lines = path.read_text().splitlines()
    path.write_text("\n".join([*lines[:-1], lines[-1] + "," * 700_000]))
    start = time.process_time()
    assert "cells; at most" in refused(load_scenario, tmp_path / "own_polar.yaml").message
    assert time.process_time() - start < 2.0 * MOST_SECONDS


@pytest.mark.parametrize("uses", [1, 40])
def test_a_part_that_cannot_be_read_costs_its_time_once(tmp_path, uses):
    part = "".join(f"k{number}: {{a: 1}}\n" for number in range(4_000)) + "deep: " + "[" * 100
    (tmp_path / "part.yaml").write_text(part)
    path = tmp_path / "a.yaml"
    path.write_text("".join(f"k{number}: {{use: part.yaml}}\n" for number in range(uses)))
    start = time.process_time()
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    assert time.process_time() - start < MOST_SECONDS  # forty times would take ten seconds
    told = [problem for problem in caught.value.problems if "nested deeper" in problem.message]
    assert [problem.line for problem in told] == [4_001]


def test_many_parts_that_cannot_be_read_are_not_all_looked_at(tmp_path):
    part = "# " + "x" * 600_000 + "\ndeep: " + "[" * 100  # two of them are more than one file may hold
    for number in range(8):
        (tmp_path / f"part_{number}.yaml").write_text(part)
    path = tmp_path / "a.yaml"
    path.write_text("".join(f"k{number}: {{use: part_{number}.yaml}}\n" for number in range(8)))
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    told = [problem.file for problem in caught.value.problems if "nested deeper" in problem.message]
    assert len(told) == 2


def test_parts_of_very_many_values_are_not_all_pulled_in(tmp_path):
    part = f"a: [{', '.join(['1'] * 3_000)}]\n"
    (tmp_path / "part.yaml").write_text(part)
    path = tmp_path / "a.yaml"
    path.write_text("".join(f"k{number}: {{use: part.yaml}}\n" for number in range(100)))
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    told = [problem for problem in caught.value.problems if "keys and values" in problem.message]
    assert [(problem.line, problem.key) for problem in told] == [(50, "k49.use")]


def test_a_measured_hub_far_from_the_drawing_is_refused(tmp_path):
    record = load_scenario(SCENARIOS / "batch_of_hubs.yaml").record
    path = tmp_path / "hubs.csv"
    path.write_text("hub,propeller.blade_angle_datum deg,blade_angle_1 deg\none,-430,0.2\ntwo,0.1,-12\n")
    with pytest.raises(ScenarioError) as caught:
        read_hubs(path, record)
    told = [(problem.line, problem.key) for problem in caught.value.problems]
    assert told == [(2, "propeller.blade_angle_datum deg"), (3, "blade_angle_1 deg")]
    assert all("within 11.5 deg of the drawing's" in str(problem) for problem in caught.value.problems)


@pytest.mark.parametrize("read", [load_readings, is_log])
def test_headings_without_end(tmp_path, read):
    path = tmp_path / "a.csv"
    path.write_text("time s,what,value,unit" + "," * 1_000_000 + "\n1,2,3,4\n")
    start = time.process_time()
    assert "cells; at most" in refused(read, path).message
    assert time.process_time() - start < MOST_SECONDS


def test_a_folder_of_scenarios_is_looked_through_at_once(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text("extends: a" + " " * 190_000 + '"x\n')
    start = time.process_time()
    assert not in_suite(path)
    assert time.process_time() - start < MOST_SECONDS


NOBODY = 65534


@pytest.fixture
def shut() -> Iterator[Path]:
    """A folder of one scenario, looked at by somebody who is not root."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "scenarios"
        shutil.copytree(SCENARIOS / "revisions", folder)
        for path in (Path(name), folder):
            path.chmod(0o777)
        privileged = os.geteuid() == 0
        try:
            if privileged:
                os.seteuid(NOBODY)
            yield folder
        finally:
            if privileged:
                os.seteuid(0)
            folder.chmod(0o777)


@POSIX
@pytest.mark.parametrize("way", ["no names", "no files", "one file", "one link"])
def test_what_cannot_be_looked_at_is_not_taken_for_checked(shut, way):
    path = shut / "agreed.yaml"
    euid = os.geteuid()
    os.seteuid(os.getuid())
    if way == "one link":
        path.unlink()
        path.symlink_to(shut / "closed" / "agreed.yaml")
        (shut / "closed").mkdir(mode=0o000)
    else:
        mode = {"no names": 0o333, "no files": 0o444, "one file": 0o000}[way]
        (path if way == "one file" else shut).chmod(mode)
    os.seteuid(euid)
    message = refused(lambda: list(suite_files(shut))).message
    assert message == "cannot be read: Permission denied"


@POSIX
def test_a_folder_of_results_or_points_that_cannot_be_looked_into(shut):
    euid = os.geteuid()
    os.seteuid(os.getuid())
    (shut / "closed").mkdir(mode=0o000)
    os.seteuid(euid)
    denied = "cannot be read: Permission denied"
    assert refused(result_files, [shut / "closed"]).message == denied
    assert refused(files_of, [shut / "closed" / "agreed.yaml"]).message == denied
    assert refused(read_waypoints, "closed/points.csv", shut).message == denied


@POSIX
@pytest.mark.parametrize("command", ["fly", "check", "compare", "report", "loads"])
@pytest.mark.parametrize(
    "name", ["x" * 254 + ".yaml", "x/" * 3000 + "a.yaml", "new\nline.yaml", "esc\x1b[2J.yaml"]
)
def test_names_that_no_system_takes_and_that_terminals_obey(tmp_path, monkeypatch, capfd, command, name):
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, command, name, *([name] if command == "compare" else [])) == 2
    told = "".join(capfd.readouterr())
    assert told.strip()
    assert all(line.isprintable() for line in told.split("\n")), told
    assert "Traceback" not in told


def test_a_message_is_one_line_of_what_can_be_shown():
    problem = Problem("a\nb\x1b[2J.yaml", 3, "k\u202e", "m" * 5000)
    assert str(problem).isprintable()
    assert len(str(problem)) < 1000
    assert shown("\udcff\0") == "\\udcff\\x00"
    assert str(OutputError("one\x07\ntwo")) == "one\\x07\ntwo"


def test_an_error_of_very_many_problems_is_not_printed_whole():
    error = ScenarioError([Problem("a", number, "", "bad") for number in range(10_000)])
    assert len(str(error).splitlines()) < 300
    assert "more problems" in str(error)
    assert len(error.problems) == 10_000


def test_a_fitted_scenario_that_cannot_be_read_is_not_written_over(tmp_path, monkeypatch):
    path = tmp_path / "a.fitted.yaml"
    path.write_text("mine")

    def closed(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", closed)
    with pytest.raises(OutputError, match="cannot be read: Permission denied"):
        refuse_foreign(path)


@POSIX
@pytest.mark.parametrize("target", ["../outside.yaml", "a.baseline.yaml"])
def test_a_baseline_that_is_a_link_out_of_the_folder_is_not_read(tmp_path, target):
    (tmp_path / "outside.yaml").write_text("simengine_baseline: 1\n")
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.yaml").write_text("simengine: 1\n")
    (tmp_path / "in" / "a.baseline.yaml").symlink_to(target)
    told = refused(read_baseline, tmp_path / "in" / "a.yaml").message
    round_to_itself = target == "a.baseline.yaml" and sys.version_info >= (3, 13)
    assert ("no such file" if round_to_itself else "leads outside") in told


def test_waypoints_with_very_many_namespaces(tmp_path):
    names = " ".join(f'xmlns:a{number}="u{number}"' for number in range(40_000))
    (tmp_path / "a.gpx").write_text(f"<gpx {names}/>")
    start = time.process_time()
    assert "namespaces" in refused(read_waypoints, "a.gpx", tmp_path).message
    assert time.process_time() - start < MOST_SECONDS


def test_measured_hubs_none_of_which_shifts(tmp_path, monkeypatch, capfd):
    """The picture once complained that it has nothing to name."""
    path = tmp_path / "hubs.csv"
    path.write_text("hub,hub.spring.rate N/mm\none,0\n")
    batch = SCENARIOS / "batch_of_hubs.yaml"
    assert run(monkeypatch, "tolerance", batch, "--hubs", path, "-o", tmp_path) == 0
    assert "Warning" not in "".join(capfd.readouterr())


@POSIX
@pytest.mark.parametrize("target", ["../outside.yaml", "nowhere"])
def test_a_fitted_scenario_that_is_a_link_is_neither_read_nor_written_over(tmp_path, target):
    (tmp_path / "outside.yaml").write_text("# written by simengine calibrate\n")
    (tmp_path / "in").mkdir()
    fitted = tmp_path / "in" / "a.fitted.yaml"
    fitted.symlink_to(target)
    with pytest.raises(OutputError, match="is a link"):
        refuse_foreign(fitted)


NO_TEXT = os.fsdecode(b"a\xff")


@POSIX
@pytest.mark.parametrize(
    "arguments", [("fly", "FILE"), ("compare", "FILE"), ("new", "FILE"), ("fly", "GOOD", "-o", "FILE")]
)
def test_a_name_that_is_no_text_is_refused_before_anything_is_written(
    tmp_path, monkeypatch, capfd, arguments
):
    odd = tmp_path / f"{NO_TEXT}.yaml"
    if arguments[0] != "new" and "-o" not in arguments:
        shutil.copy(SCENARIOS / "ground_run.yaml", odd)
    before = sorted(tmp_path.iterdir())
    given = {"FILE": odd, "GOOD": SCENARIOS / "ground_run.yaml"}
    typed = [given.get(word, word) for word in arguments]
    assert run(monkeypatch, *typed, *(["--yes"] if arguments[0] == "new" else [])) == 2
    assert "no text (UTF-8)" in capfd.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


@POSIX
def test_a_working_folder_whose_name_is_no_text(tmp_path, monkeypatch, capfd):
    (tmp_path / NO_TEXT).mkdir()
    monkeypatch.chdir(tmp_path / NO_TEXT)
    assert run(monkeypatch, "fly", SCENARIOS / "ground_run.yaml", "-o", "out") == 2
    assert "no text (UTF-8)" in capfd.readouterr().err
    assert list(Path().iterdir()) == []


def test_a_result_tells_names_that_are_no_text(tmp_path):
    values = np.array([NO_TEXT, "b"], dtype=object)
    odd = xarray.Dataset(
        {"file": ("case", values, {"about": NO_TEXT})}, attrs={"readings": NO_TEXT, "count": 2}
    )
    write_netcdf(odd.assign_coords(case=["a", NO_TEXT]), tmp_path / "a.nc")
    with xarray.open_dataset(tmp_path / "a.nc") as found:
        assert (
            found["file"].values.tolist() == ["a\\udcff", "b"] and found["file"].attrs["about"] == "a\\udcff"
        )
        assert found["case"].values.tolist() == ["a", "a\\udcff"] and found.attrs["readings"] == "a\\udcff"
    assert odd.attrs["readings"] == NO_TEXT  # what was given is left as it is


@POSIX
def test_a_pipe_among_results_is_refused_and_not_waited_for(tmp_path, monkeypatch):
    tried = []
    monkeypatch.setattr(reading, "can_be_read", lambda paths: tried.append(paths) or True)
    write_netcdf(synthetic_flight().dataset(), tmp_path / "a.nc")
    write_netcdf(synthetic_flight().dataset(), tmp_path / "b.nc")
    os.mkfifo(tmp_path / "pipe.nc")
    message = refused(reading.read_results, [tmp_path]).message
    assert message.startswith("is not a regular file")
    assert tried == [[tmp_path / "a.nc", tmp_path / "b.nc"]]
