"""The example in each command's help is run as it is typed, in a copy of the demo scenarios.

What `--json` would print of its result keeps to the schema that `simengine schema --json-output` gives.
"""

import importlib
import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
import typer.main
from command_line import run

from simengine import cli
from simengine.report.documents import DOCUMENTS, document_schema
from simengine.results.netcdf import read_netcdf

SCENARIOS = Path(__file__).parents[2] / "scenarios"
PROGRAM = [sys.executable, "-c", "from simengine.cli import main; main()"]
COMMANDS = typer.main.get_command(cli.app).commands
QUICK = {"", "new", "schema"}
LONGEST = 240  # seconds, on a busy machine

# What makes the document of a command, and the result of the command's example.
MAKERS = {
    "fly": ("flight.table", "summary_json", "climb_and_cruise.nc"),
    "envelope": ("envelope.document", "envelope_json", "second_engine.envelope.nc"),
    "compare": ("compare.document", "compare_json", "*.compare.nc"),
    "route": ("route.document", "route_json", "cross_country.route.nc"),
    "calibrate": ("calibrate.document", "calibration_json", "climb_and_cruise.calibrate.nc"),
    "card": ("calibrate.card_page", "card_json", "ground_run.card.nc"),
    "choose": ("choose.document", "choose_json", "choose_spring.choose.nc"),
    "tolerance": ("tolerance.document", "tolerance_json", "batch_of_hubs.tolerance.nc"),
    "loads": ("loads.document", "loads_json", "loads_and_failures.loads.nc"),
}


def marked(name):
    """A command's name as a test parameter; what computes is slow."""
    return pytest.param(name, id=name or "simengine", marks=[] if name in QUICK else pytest.mark.slow)


def example_of(name, monkeypatch, capsys):
    """The example as a user reads it in a terminal of 80 columns."""
    monkeypatch.setenv("COLUMNS", "80")
    assert run(monkeypatch, *filter(None, [name]), "--help") == 0
    lines = [line.strip() for line in capsys.readouterr().out.splitlines() if "Example:" in line]
    assert len(lines) == 1, f"one line 'Example:' in the help of {name or 'simengine'}"
    return lines[0].removeprefix("Example:").strip()


def typed(command, folder):
    """Run one command in a folder; its exit code and what it told."""
    words = shlex.split(command)
    assert words[0] == "simengine"
    environment = {**os.environ, "NO_COLOR": "1", "COLUMNS": "200"}
    return subprocess.run(
        [*PROGRAM, *words[1:]],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=LONGEST,
    )


def keeps_to_schema(document, command):
    """Check a document against the schema of its command."""
    schema = document_schema(command)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(document, schema, cls=jsonschema.Draft202012Validator)


@pytest.mark.parametrize("name", [marked(name) for name in ["", *COMMANDS]])
def test_the_example_in_the_help_works(name, monkeypatch, capsys, tmp_path):
    example = example_of(name, monkeypatch, capsys)
    shutil.copytree(SCENARIOS, tmp_path / "scenarios")
    for command in example.split(" && "):
        done = typed(command, tmp_path)
        assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    if name in MAKERS:
        module, maker, pattern = MAKERS[name]
        (file,) = (tmp_path / "outputs").glob(pattern)
        make = getattr(importlib.import_module(f"simengine.report.{module}"), maker)
        result = read_netcdf(file)
        keeps_to_schema(
            make(result.drop_dims("sample", errors="ignore")), name
        )  # single hubs: in the file only


@pytest.mark.slow
@pytest.mark.parametrize(
    ("command", "code"),
    [
        ("fly scenarios/ground_run.yaml", 0),
        ("card scenarios/ground_run.yaml", 0),
        ("check scenarios/revisions/_blades_two_degrees_off.yaml", 1),
    ],
)
def test_the_document_on_standard_output_keeps_to_its_schema(command, code, tmp_path):
    import json

    shutil.copytree(SCENARIOS, tmp_path / "scenarios")
    done = typed(f"simengine {command} --json", tmp_path)
    assert done.returncode == code, done.stderr
    keeps_to_schema(json.loads(done.stdout), command.split()[0])


def test_every_command_that_prints_json_has_a_schema():
    printing = {
        name
        for name, command in COMMANDS.items()
        if any("--json" in parameter.opts for parameter in command.params)
    }
    assert printing == set(DOCUMENTS)
    for command in DOCUMENTS:
        jsonschema.Draft202012Validator.check_schema(document_schema(command))


@pytest.mark.parametrize("command", ["fly", "check"])
def test_a_document_with_another_key_is_refused(command):
    schema = document_schema(command)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"cautions": [], "surprise": 1}, schema)
    assert "surprise" not in schema["properties"]
    assert schema["additionalProperties"] is False


def test_units_stand_in_the_descriptions():
    phases = document_schema("fly")["properties"]["phases"]["items"]["properties"]
    assert "[rpm]" in phases["shift_begin_rpm"]["description"]
    assert phases["final_pitch_state"]["enum"] == ["coarse", "shifting", "hung", "fine"]
