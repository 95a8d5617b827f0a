"""`simengine compare` as a user meets it, and `--variant` of the other commands."""

import json

import pytest
import xarray
from command_line import failing, run
from comparisons import comparison_folder
from matplotlib.figure import Figure

import simengine
from simengine import cli
from simengine.errors import NoSolutionError
from simengine.results.cautions import SHORT_CAUTION


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return comparison_folder(tmp_path_factory.mktemp("cli"))


@pytest.fixture(autouse=True)
def in_the_folder(folder, monkeypatch):
    monkeypatch.chdir(folder)
    monkeypatch.setattr(cli.program, "compile_missing", lambda quiet: None)


@pytest.fixture
def undrawn(monkeypatch):
    """Pictures take most of the time; the tests of the report draw them all."""
    monkeypatch.setattr("simengine.report.compare.pictures.COMPARE_DRAWERS", {})
    monkeypatch.setattr("simengine.report.flight.picture.flight_picture", lambda _: Figure())


def one_line(text):
    return " ".join(text.split())


def test_compare_writes_prints_and_cautions(folder, monkeypatch, capsys):
    assert run(monkeypatch, "compare", "base.yaml", "-o", "out") == 0
    out, err = capsys.readouterr()
    names = {path.name for path in (folder / "out").iterdir()}
    pictures = {f"base.compare.{p}.{f}" for p in ("traces", "differences", "figures") for f in ("png", "svg")}
    assert names == {"base.compare.nc", *pictures}
    assert err.count("written: ") == 7
    assert out.index("What was changed") < out.index("Worse: ")
    assert SHORT_CAUTION in one_line(out)
    assert "\x1b" not in out
    with xarray.open_dataset(folder / "out/base.compare.nc") as dataset:
        assert dataset.attrs["history"].endswith("simengine compare base.yaml -o out")


def test_json_is_the_only_thing_on_standard_output(undrawn, monkeypatch, capsys):
    assert run(monkeypatch, "compare", "base.yaml", "base.yaml:washer", "--json", "-q", "-o", "out") == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["study"] == "compare"
    assert err == ""


def test_bad_input_ends_with_2_and_no_traceback(folder, monkeypatch, capsys):
    for arguments, words in (
        (["base.yaml", "heavy.yaml"], "heavy.yaml:3: masses.pilot: is 110 kg"),
        (["ground_run.yaml"], "has no variants"),
        (["base.yaml", "none.yaml"], "no such file"),
        (["base.yaml:none"], "no variant 'none'"),
    ):
        assert run(monkeypatch, "compare", *arguments, "-o", "never") == 2
        out, err = capsys.readouterr()
        assert words in err and out == ""
        assert "Traceback" not in err
    assert not (folder / "never").exists()


def test_unlike_flights_if_told(undrawn, monkeypatch, capsys):
    assert run(monkeypatch, "compare", "base.yaml", "heavy.yaml", "--unlike", "-q", "-o", "out") == 0
    assert "!! Read with care" in capsys.readouterr().out


def test_no_solution_ends_with_3_and_names_the_case(monkeypatch, capsys):
    monkeypatch.setattr(
        "simengine.flight.simulate.simulate", lambda *_, **__: failing(NoSolutionError("dry"))()
    )
    assert run(monkeypatch, "compare", "base.yaml", "-o", "out") == 3
    assert capsys.readouterr().err.strip() == "base: dry"


def test_a_result_beside_a_scenario(undrawn, monkeypatch, capsys):
    assert run(monkeypatch, "fly", "base.yaml", "--variant", "washer", "-q", "-o", "flown") == 0
    assert run(monkeypatch, "compare", "flown/base-washer.nc", "base.yaml:washer", "-q", "-o", "out") == 0
    assert "every figure is the same within the error of the solver" in one_line(capsys.readouterr().out)


def test_fidelity(undrawn, monkeypatch, capsys):
    assert run(monkeypatch, "compare", "base.yaml", "--fidelity", "steady", "--json", "-q", "-o", "out") == 0
    assert {case["fidelity"] for case in json.loads(capsys.readouterr().out)["cases"]} == {"steady"}


def test_fly_a_variant(undrawn, folder, monkeypatch, capsys):
    assert run(monkeypatch, "fly", "base.yaml", "--variant", "bolted", "-o", "flown") == 0
    assert "Fixed blades" in capsys.readouterr().out
    assert (folder / "flown/base-bolted.nc").exists()
    assert run(monkeypatch, "fly", "base.yaml", "--variant", "boltd", "-o", "flown") == 2
    assert "nearest: 'bolted'" in capsys.readouterr().err


def test_envelope_of_a_variant_is_asked_for(monkeypatch, capsys):
    asked = []

    def stub(scenario_path, *_):
        asked.append(scenario_path)
        raise NoSolutionError("left out")

    monkeypatch.setattr("simengine.report.envelope.run.ready_scenario", stub)
    assert run(monkeypatch, "envelope", "base.yaml", "--variant", "washer") == 3
    assert [str(path) for path in asked] == ["base.yaml:washer"]


def test_from_python(folder, tmp_path):
    result = simengine.compare([folder / "base.yaml", "base.yaml:washer"], tmp_path, pictures=False)
    assert [path.name for path in result.paths] == ["base-base-washer.compare.nc"]
    assert list(simengine.load_variants(folder / "base.yaml")) == ["base", "bolted", "washer", "other_words"]


def test_the_demo_compares_what_it_says(tmp_path):
    """The repository's own demo: five machines on one flight; their figures are left to the model."""
    from flights import SCENARIOS

    result = simengine.compare([SCENARIOS / "two_stop_or_fixed.yaml"], tmp_path, pictures=False)
    names = ["two_stop_or_fixed", "fixed_12", "one_washer_less", "second_engine", "invented"]
    assert result.dataset["case"].values.tolist() == names
    assert "unlike" not in result.dataset.attrs
