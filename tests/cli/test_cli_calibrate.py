"""`simengine calibrate` and `simengine card` as a maker meets them."""

import json
import re
import shutil
from html.parser import HTMLParser

import pytest
import xarray
from command_line import run
from flights import SCENARIOS, demo_scenario
from synthetic_readings import SHIFTS, reading, with_truth

from simengine.constants import RPM
from simengine.errors import OutputError
from simengine.report.cautions import caution_list, short_caution
from simengine.scenario import load_scenario
from simengine.scenario.overlay import overlay_path, overlay_text, refuse_foreign
from simengine.scenario.reading_kinds import KINDS
from simengine.scenario.readings import QUANTITIES, WORDS
from simengine.studies.calibrate.forward import predicted
from simengine.studies.calibrate.subject import subject_of


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The demo scenarios with readings that this version of the model gives for a known machine."""
    place = tmp_path_factory.mktemp("maker")
    shutil.copytree(SCENARIOS, place / "scenarios", ignore=shutil.ignore_patterns("*.fitted.yaml"))
    truth = with_truth(
        demo_scenario(), {"hub.friction.bearing_coefficient": 0.004, "engine.torque_factor": 1.02}
    )
    wanted = [reading(name, 1.0, "ground") for name in (*SHIFTS, "full_throttle_rpm")]
    wanted += [reading("shift_finish_rpm", 1.0, "climb", height=500.0)]
    values = predicted(subject_of(truth.record), wanted) / RPM
    lines = ["what, value, unit, +-, phase, height m"]
    for item, value in zip(wanted, values, strict=True):
        lines.append(f"{item.kind.name}, {value:.1f}, rpm, 60, {item.phase}, {item.where.get('height', '')}")
    (place / "run.csv").write_text("\n".join(lines) + "\n")
    (place / "bad.csv").write_text(
        "\n".join([*lines, f"shift_begin_rpm, {values[0] + 1000:.0f}, rpm, 60, ground, "])
    )
    return place


@pytest.fixture(scope="module")
def done(folder):
    """One calibration with the climb held out; its exit code and printed text."""
    patch, printed = pytest.MonkeyPatch(), []
    patch.chdir(folder)
    patch.setattr("typer.echo", lambda text="", **_: printed.append(str(text)))
    code = run(
        patch,
        "calibrate",
        "scenarios/climb_and_cruise.yaml",
        "run.csv",
        "--hold-out",
        "7",
        "--json",
        "-q",
        "-o",
        "out",
    )
    patch.undo()
    return code, "\n".join(printed)


def test_a_calibration_answers_in_json(done):
    code, text = done
    document = json.loads(text)
    assert code == 0
    assert document["study"] == "calibrate" and document["contradiction"] is False
    assert "Held out and predicted: 1 of 1" in document["conclusion"]
    assert document["cautions"] == list(caution_list())
    assert len(document["figures"]["reading_value"]) == 6
    assert any("but not both" in line for line in document["identifiability"])


def test_its_files_open_and_the_fitted_scenario_loads_with_its_bands(done, folder):
    with xarray.open_dataset(folder / "out" / "climb_and_cruise.calibrate.nc") as dataset:
        assert dataset.attrs["study"] == "calibrate"
        assert float(dataset.parameter_band.min()) >= 0.0
        band = float(dataset.parameter_band.sel(parameter="hub.friction.bearing_coefficient"))
    for name in ("readings", "correlation", "next"):
        assert (folder / "out" / f"climb_and_cruise.calibrate.{name}.png").stat().st_size > 10_000
    fitted = load_scenario(folder / "scenarios" / "climb_and_cruise.fitted.yaml")
    origin = fitted.origins["hub.friction.bearing_coefficient"]
    assert origin.mark == "fitted" and origin.plus_minus == pytest.approx(band, rel=1e-3)
    assert fitted.record.calibration.readings == "run.csv"
    assert len(fitted.record.calibration.parameters) == len(fitted.record.calibration.correlation)


def test_the_fitted_scenario_gives_a_card_that_keeps_the_correlation(done, folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    assert (
        run(monkeypatch, "card", "scenarios/climb_and_cruise.fitted.yaml", "-o", "out", "--height", "1200 m")
        == 0
    )
    printed = capsys.readouterr().out
    assert short_caution() in printed and "ENGINE rpm" in printed and "1200 m" in printed
    with xarray.open_dataset(folder / "out" / "climb_and_cruise.fitted.card.nc") as dataset:
        begin = dataset.sel(item="2 Tied down, throttle slowly up, full, slowly down: shift begins")
        assert float(begin.item_band) < 75.0  # of a reading of +- 60: independent inputs would give far more
        assert "correlation kept" in dataset.attrs["band_basis"]


def test_a_card_stands_on_one_page_of_html_with_the_cautions_on_top(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    assert run(monkeypatch, "card", "scenarios/second_engine.yaml", "-o", "out", "-q") == 0
    assert short_caution() in capsys.readouterr().out
    page = (folder / "out" / "second_engine.card.html").read_text()
    HTMLParser().feed(page)
    assert "<script" not in page and "http" not in page
    assert page.index("CAUTION") < page.index("<h1>")
    stages = re.findall(r"<h2>(\d) ", page)
    assert stages == ["1", "2", "3", "4", "5", "6"]
    assert "usual uncertainties, nothing typed or measured" in page
    text = (folder / "out" / "second_engine.card.txt").read_text()
    assert all(caution in text for caution in caution_list())


def test_a_fixed_hub_has_a_card_without_lights(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    assert run(monkeypatch, "card", "scenarios/climb_and_cruise_fixed.yaml", "-o", "out", "--json", "-q") == 0
    document = json.loads(capsys.readouterr().out)
    assert not any("light" in look for look in document["figures"]["look"])
    assert all(value is not None for value in document["figures"]["item_value"])


def test_a_contradiction_ends_in_exit_code_1_and_is_told(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    assert run(monkeypatch, "calibrate", "scenarios/ground_run.yaml", "bad.csv", "-q", "-o", "out") == 1
    printed = capsys.readouterr().out
    assert "CONTRADICTION: shift begins, ground (row 8)" in printed
    assert short_caution() in " ".join(printed.split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["nothing.csv"], "nothing.csv: no such file"),
        (["run.csv", "--hold-out", "99"], "no reading stands in row 99"),
        (["run.csv", "--question", "shift_celing"], "nearest: 'shift_ceiling'"),
        (["wrong.csv"], "wrong.csv:2: unit"),
    ],
)
def test_bad_input_ends_in_exit_code_2_without_a_traceback(folder, monkeypatch, capsys, arguments, words):
    monkeypatch.chdir(folder)
    (folder / "wrong.csv").write_text("what,value,unit\nshift_begin_rpm,5500,kg\n")
    assert run(monkeypatch, "calibrate", "scenarios/torsion_hub.yaml", *arguments, "-o", "none") == 2
    told = capsys.readouterr()
    assert words in told.err and "Traceback" not in told.err
    assert not (folder / "none").exists()


def test_a_fitted_scenario_of_another_hand_is_not_overwritten(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    mine = folder / "scenarios" / "torsion_hub.fitted.yaml"
    mine.write_text("# by hand\n")
    assert run(monkeypatch, "calibrate", "scenarios/torsion_hub.yaml", "run.csv", "-o", "none") == 2
    assert "was not written by a calibration" in capsys.readouterr().err
    assert mine.read_text() == "# by hand\n"


def test_a_fitted_scenario_changed_by_hand_is_kept(tmp_path):
    text = overlay_text("hub.yaml", "Hub", {"fuel.level": "5 L"}, "run.csv", ["fuel.level"], [[1.0]], None)
    file = overlay_path(tmp_path / "hub.yaml")
    file.write_text(text)
    refuse_foreign(file)  # as written: may be written again
    file.write_text(text.replace("5 L", "6 L"))
    with pytest.raises(OutputError, match="changed by hand"):
        refuse_foreign(file)


def test_readings_are_counted_once(folder, done, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    fitted = "scenarios/climb_and_cruise.fitted.yaml"
    assert run(monkeypatch, "calibrate", fitted, "run.csv", "-o", "none") == 2
    assert "run.csv: this scenario is already fitted to a file of that name" in capsys.readouterr().err
    shutil.copy(folder / "run.csv", folder / "copy.csv")
    assert (
        run(monkeypatch, "calibrate", "scenarios/ground_run.yaml", "run.csv", "copy.csv", "-o", "none") == 2
    )
    assert "copy.csv:2: is the same as row 2 of run.csv" in capsys.readouterr().err
    assert not (folder / "none").exists()


def test_a_row_to_hold_out_must_stand_in_one_file(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    (folder / "more.csv").write_text("what,value,unit,note\nshift_begin_rpm,5400,rpm,again\n")
    arguments = ["scenarios/ground_run.yaml", "run.csv", "more.csv", "--hold-out", "2", "-o", "none"]
    assert run(monkeypatch, "calibrate", *arguments) == 2
    assert "row 2 stands in more.csv and run.csv" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--height", "--level-time"])
def test_an_option_without_a_unit_is_told(folder, monkeypatch, capsys, option):
    monkeypatch.chdir(folder)
    assert run(monkeypatch, "card", "scenarios/torsion_hub.yaml", option, "1500") == 2
    assert "a unit is required" in capsys.readouterr().err


def test_the_help_names_every_kind_and_column_of_readings(monkeypatch, capsys):
    assert run(monkeypatch, "calibrate", "--help") == 0
    told = capsys.readouterr().out
    assert [name for name in (*KINDS, *QUANTITIES, *WORDS) if name not in told] == []


@pytest.mark.parametrize("command", ["calibrate", "card"])
def test_help_has_an_example(monkeypatch, capsys, command):
    assert run(monkeypatch, command, "--help") == 0
    assert f"Example:  simengine {command}" in capsys.readouterr().out
