"""What a command loads before it has something to compute: help and bad input must be told at once."""

import os
import subprocess
import sys

import pytest
import typer

from simengine import cli

LIBRARIES = {
    "dask",
    "distributed",
    "geographiclib",
    "gpxpy",
    "jinja2",
    "matplotlib",
    "netCDF4",
    "numba",
    "numpy",
    "pandas",
    "pint",
    "pydantic",
    "rich",
    "scipy",
    "xarray",
    "yaml",
}
# Not in it: numpy, and scipy and dask where they are; Pint, which knows the units, brings them.
TO_COMPUTE_WITH = {
    "distributed",
    "matplotlib",
    "netCDF4",
    "numba",
    "pandas",
    "xarray",
}
COMMANDS = sorted(typer.main.get_command(cli.app).commands)
NO_SCENARIO = {"new", "report", "schema", "warmup"}
EXTRA = {"calibrate": ["readings.csv"]}


def loaded_by(arguments, folder, **variables):
    """Libraries that the program has loaded when it ends, what it said, and its exit code."""
    code = (
        "import sys\nsys.argv[0] = 'simengine'\nfrom simengine import cli\ntry:\n    cli.main()\n"
        "except SystemExit as end:\n    ended = end.code\n"
        "with open('loaded.txt', 'w') as file:\n    print(ended or 0, *sys.modules, file=file)\n"
    )
    environment = os.environ | {"COLUMNS": "120"} | variables
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    code, *modules = (folder / "loaded.txt").read_text().split()
    return set(modules) & LIBRARIES, done.stdout + done.stderr, int(code)


@pytest.mark.parametrize(
    "arguments", [["--help"], ["--version"], [], *([name, "--help"] for name in COMMANDS)], ids=" ".join
)
def test_help_loads_no_library_but_that_of_the_command_line(tmp_path, arguments):
    loaded, said, _ = loaded_by(arguments, tmp_path)
    assert ("Usage: simengine" in said) != (arguments == ["--version"])
    assert loaded == set()


@pytest.mark.parametrize("typed", ["simengine to", "simengine tolerance --he"])
def test_completion_loads_no_more_than_typer_does(tmp_path, typed):
    asked = {"_SIMENGINE_COMPLETE": "complete_bash", "COMP_WORDS": typed, "COMP_CWORD": str(typed.count(" "))}
    loaded, said, _ = loaded_by([], tmp_path, **asked)
    assert said.split() == ["tolerance" if typed.endswith("to") else "--help"]
    assert loaded <= {"pydantic"}  # with which Typer reads options


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in NO_SCENARIO])
def test_a_bad_scenario_loads_nothing_to_compute_with(tmp_path, command):
    (tmp_path / "bad.yaml").write_text("simengine: 1\ntitel: no such key\nmasses: {pilot: 90 mm}\n")
    loaded, said, code = loaded_by([command, "bad.yaml", *EXTRA.get(command, [])], tmp_path)
    assert code == 2
    assert "titel: unknown key" in said and "masses.pilot" in said
    assert loaded & TO_COMPUTE_WITH == set()
