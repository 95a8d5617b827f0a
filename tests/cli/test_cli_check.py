import json
from xml.etree import ElementTree

import pytest
from command_line import run
from demo_suite import changed, copied_suite, of_the_scenario

import simengine
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.scenario import load_scenario
from simengine.studies.check.baseline_file import read_baseline
from simengine.studies.check.study import changes_of_text, expected_names
from simengine.studies.check.suite import baseline_path


@pytest.fixture
def suite(tmp_path):
    return copied_suite(tmp_path)


@pytest.fixture
def check(monkeypatch, tmp_path, capsys):
    """Run the command; exit code, standard output as one line, standard error."""

    def command(*arguments):
        code = run(monkeypatch, "check", *arguments, "-o", tmp_path / "out")
        out, err = capsys.readouterr()
        return code, " ".join(out.split()), err

    return command


@pytest.mark.usefixtures("all_compiled")
def test_one_file_that_keeps_everything(suite, check, tmp_path):
    code, out, err = check(suite / "agreed.yaml")
    assert code == 0
    assert "10 agreed figures kept; nothing moved from the baseline" in out
    assert SHORT_CAUTION in out
    assert err == ""
    assert not (tmp_path / "out").exists()


def test_a_failure_is_told_by_name_with_room_reason_and_picture(suite, check, tmp_path):
    code, out, _ = check(suite / "_blades_two_degrees_off.yaml")
    assert code == 1
    assert "FAIL full_throttle_rpm full throttle climb" in out
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {"_blades_two_degrees_off.check.png", "_blades_two_degrees_off.check.svg"}


def in_folder(folder, name):
    """The picture's files in a folder."""
    return [folder / f"{name}.check.{form}" for form in ("png", "svg")]


def failing_hub(suite):
    """A file with blades two degrees off, and the text that mends it."""
    hub = suite / "hub.yaml"
    hub.write_text((suite / "_blades_two_degrees_off.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    return hub, (suite / "agreed.yaml").read_text(encoding="utf-8")


def test_the_picture_of_a_failure_goes_when_it_passes_again(suite, check, tmp_path):
    hub, mended = failing_hub(suite)
    assert check(hub)[0] == 1
    pictures = in_folder(tmp_path / "out", "hub")
    others = [tmp_path / "out" / name for name in ("hub.png", "hub.check.nc", "agreed.check.png")]
    for other in others:
        other.write_text("somebody else's")
    hub.write_text(mended, encoding="utf-8")
    simengine.check([hub], tmp_path / "out", pictures=False)
    assert [path.is_file() for path in pictures] == [True, True]
    code, out, _ = check(hub)
    assert code == 0
    assert f"picture of an earlier failure removed: {pictures[0]}, {pictures[1]}" in out
    assert sorted((tmp_path / "out").iterdir()) == sorted(others)
    assert "removed" not in check(hub)[1]


def test_a_picture_of_that_name_which_shows_something_else_stays(suite, check, tmp_path):
    hub, mended = failing_hub(suite)
    other = suite / "parts" / "hub.yaml"  # of the same name, and passes
    other.write_text(mended, encoding="utf-8")
    (suite / "simengine.root").touch()
    assert check(hub, other)[0] == 1
    pictures = in_folder(tmp_path / "out", "hub")
    assert [path.is_file() for path in pictures] == [True, True]
    hub.write_text(mended, encoding="utf-8")
    pictures[0].write_text("drawn by hand")
    aside = pictures[1].rename(tmp_path / "aside.svg")
    pictures[1].symlink_to(aside)
    assert check(hub)[0] == 0
    assert pictures[0].read_text() == "drawn by hand"
    assert pictures[1].is_symlink()


def test_what_moved_is_told_with_what_was_changed(suite, check):
    path = changed(suite, "hub: {spring: {washers: 5}}")
    code, out, _ = check(path, "-q")
    assert code == 1
    assert "changed since the baseline: hub.spring.washers: 6 -> 5" in out
    assert "moved: phase engine check: shift_begin_rpm:" in out
    assert SHORT_CAUTION in out


def test_accepting_needs_a_reason_and_keeps_the_old_figures(suite, check):
    path = changed(suite, "hub: {spring: {washers: 5}}")
    before = read_baseline(path)
    code, _, err = check(path, "--accept")
    assert (code, "needs a reason" in err) == (2, True)
    code, out, _ = check(path, "--accept", "--reason", "one washer less is agreed", "--by", "the maker")
    assert code == 0
    assert "baseline stored" in out
    entry = read_baseline(path).history[-1]
    assert (entry.reason, entry.by) == ("one washer less is agreed", "the maker")
    assert of_the_scenario(entry.changes) == ("hub.spring.washers: 6 -> 5",)
    old = f"{before.figures['engine check']['shift_begin_rpm']:.5g} rpm"
    assert entry.figures["phase engine check: shift_begin_rpm"].startswith(f"{old} -> ")
    assert len(read_baseline(path).history) == len(before.history) + 1
    assert check(path)[0] == 0


def test_accepting_what_did_not_move_changes_nothing(suite, check):
    # With other library versions than the shipped baseline's there is something to take over at first.
    assert check(suite / "agreed.yaml", "--accept", "--reason", "these versions")[0] == 0
    text = baseline_path(suite / "agreed.yaml").read_bytes()
    code, out, _ = check(suite / "agreed.yaml", "--accept", "--reason", "again")
    assert (code, "left as it is" in out) == (0, True)
    assert baseline_path(suite / "agreed.yaml").read_bytes() == text


def test_no_baseline_is_stored_while_an_agreed_figure_fails(suite, check):
    path = suite / "_blades_two_degrees_off.yaml"
    code, out, _ = check(path, "--accept", "--reason", "hope")
    assert code == 1
    assert "baseline NOT stored" in out
    assert not baseline_path(path).exists()


def test_storing_leaves_a_baseline_that_is_there(suite, check):
    path = changed(suite, "hub: {spring: {washers: 5}}")
    text = baseline_path(path).read_bytes()
    assert check(path, "--store")[0] == 1
    assert baseline_path(path).read_bytes() == text
    new = suite / "_blades_two_degrees_off_mended.yaml"
    assert check(new, "--store")[0] == 0
    assert read_baseline(new).history[0].reason == "first stored"


def test_bad_input_and_no_solution_are_told_and_the_others_still_run(suite, check):
    (suite / "typo.yaml").write_text("extends: agreed.yaml\nhub: {spring: {washes: 5}}\n", encoding="utf-8")
    (suite / "heavy.yaml").write_text(
        "extends: agreed.yaml\nmasses: {pilot: 250 kg, machine: 150 kg, equipment: 100 kg}\n"
        "flight: {phases: [{kind: climb, to_height: 1200 m, name: full throttle climb}, "
        "{kind: cruise, duration: 1 min}]}\n",
        encoding="utf-8",
    )
    code, out, _ = check(suite / "typo.yaml", suite / "heavy.yaml", suite / "agreed.yaml")
    assert code == 2
    assert "typo.yaml:2: hub.spring.washes: unknown key" in out
    assert "PASS" in out
    assert "3 scenarios:" in out


@pytest.mark.usefixtures("all_compiled")
def test_exit_code_3_without_a_physical_solution(suite, check, monkeypatch):
    from simengine.errors import NoSolutionError
    from simengine.studies.check import study as module

    def nothing(*_):
        raise NoSolutionError("no balance at 0 m; less drag")

    monkeypatch.setattr(module, "simulate", nothing)
    code, out, err = check(suite / "agreed.yaml")
    assert (code, err) == (3, "")
    assert "NO SOLUTION" in out
    assert "no balance at 0 m" in out


def test_a_corrupt_baseline_is_bad_input(suite, check):
    path = baseline_path(suite / "agreed.yaml")
    path.write_bytes(path.read_bytes()[:3000])
    code, out, _ = check(suite / "agreed.yaml")
    assert code == 2
    assert "agreed.baseline.yaml" in out
    assert "restore it from version control" in out


@pytest.mark.parametrize(
    ("name", "words"), [("none.yaml", "no such file"), ("parts", "holds no scenario with 'expect:'")]
)
def test_paths_that_hold_nothing_are_refused(suite, check, name, words):
    code, _, err = check(suite / name)
    assert (code, words in err) == (2, True)


def test_a_variant_is_refused_with_what_to_do(suite, check):
    code, _, err = check(f"{suite / 'agreed.yaml'}:softer")
    assert (code, "names a variant" in err, "extends: agreed.yaml" in err) == (2, True, True)


def test_a_reason_for_nothing_is_refused(suite, check):
    code, _, err = check(suite / "agreed.yaml", "--reason", "because")
    assert (code, "belongs to --accept or --store" in err) == (2, True)


def test_a_value_in_another_unit_is_no_change(suite, check):
    path = suite / "agreed.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("pilot: 98 kg", "pilot: 98000 g"), encoding="utf-8")
    (report,) = simengine.check([path], pictures=False)
    assert (report.status, of_the_scenario(report.check.changes)) == ("passed", ())


def test_an_older_scenario_that_is_no_longer_read_is_told(suite):
    scenario = load_scenario(suite / "agreed.yaml")
    (told,) = changes_of_text("simengine: 1\nkey_of_old: 1\n", scenario)
    assert "not read by this version" in told


def test_a_scenario_without_anything_agreed_is_refused(suite, check):
    (suite / "a.yaml").write_text("extends: agreed.yaml\nexpect:\n", encoding="utf-8")
    code, out, _ = check(suite / "a.yaml")
    assert (code, "there is nothing to check" in out) == (2, True)


def test_json_and_junit(suite, check, tmp_path, monkeypatch, capsys):
    paths = [suite / "agreed.yaml", suite / "_blades_two_degrees_off.yaml", suite / "typo.yaml"]
    paths[2].write_text("extends: agreed.yaml\nhub: {a: 1}\n", encoding="utf-8")
    junit = tmp_path / "junit.xml"
    assert run(monkeypatch, "check", *paths, "--json", "--junit", junit, "-q", "-o", tmp_path / "out") == 2
    document = json.loads(capsys.readouterr().out)
    assert [file["status"] for file in document["files"]] == ["passed", "failed", "bad_input"]
    assert document["exit_code"] == 2
    assert document["cautions"] == list(CAUTIONS)
    root = ElementTree.parse(junit).getroot()
    failed = str(sum(not verdict["passed"] for verdict in document["files"][1]["expectations"]))
    assert failed != "0"
    assert [suite.get("failures") for suite in root] == ["0", failed, "0"]
    assert (root.get("failures"), root.get("errors")) == (failed, "1")
    names = [case.get("name") for case in root.iter("testcase")]
    agreed = load_scenario(paths[0])
    assert set(expected_names(agreed)) < set(names)
    assert "baseline: events" in names
    failure = next(root.iter("failure"))
    assert "picture: " in failure.text


def test_the_python_face_has_the_same_name(suite):
    (report,) = simengine.check([suite / "agreed.yaml"], pictures=False)
    assert report.status == "passed"


def test_the_help_shows_an_example(monkeypatch, capsys):
    assert run(monkeypatch, "check", "--help") == 0
    assert "simengine check scenarios" in capsys.readouterr().out
