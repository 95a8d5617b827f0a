"""Shell completion, asked as the shells ask, and in the shells themselves where they are installed."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from simengine.cli.completion import cases, result_files, scenarios, variant_names, yaml_files

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TWO_STOP = "scenarios/two_stop_or_fixed.yaml"
VARIANTS = ["fixed_12", "one_washer_less", "second_engine", "invented"]
CODE = "import sys; sys.argv[0] = 'simengine'; from simengine.cli import main; main()"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The demo scenarios in a folder, and a command `simengine` on the path."""
    shutil.copytree(SCENARIOS, tmp_path / "scenarios", ignore=shutil.ignore_patterns("*.json", "*.png"))
    (tmp_path / "outputs").mkdir()
    (tmp_path / "outputs" / "a.nc").write_text("")
    (tmp_path / "bin").mkdir()
    command = tmp_path / "bin" / "simengine"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "{CODE}" "$@"\n')
    command.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}{os.environ['PATH']}")
    for name in ("COMP_WORDS", "COMP_CWORD"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_scenarios_and_folders_but_no_baselines(folder):
    assert yaml_files("scenarios/g") == ["scenarios/ground_run.yaml"]
    assert yaml_files("scenarios/re") == ["scenarios/readings/", "scenarios/revisions/"]
    assert not [name for name in yaml_files("scenarios/revisions/") if "baseline" in name]
    assert result_files("outputs/") == ["outputs/a.nc"]
    assert yaml_files("nowhere/x") == yaml_files("\0") == []


def test_a_folder_alone_is_gone_into(folder):
    """A shell puts a space behind what is offered alone."""
    assert "scenarios/ground_run.yaml" in yaml_files("scen")


def test_variants_after_a_colon(folder):
    assert scenarios(f"{TWO_STOP}:") == [f"{TWO_STOP}:{name}" for name in VARIANTS]
    assert cases(f"{TWO_STOP}:o") == [f"{TWO_STOP}:one_washer_less"]
    assert list(variant_names(Path("scenarios/ground_run.yaml"))) == []
    assert list(variant_names(Path("nowhere.yaml"))) == []


def test_in_bash_a_colon_parts_words(folder, monkeypatch):
    monkeypatch.setenv("COMP_WORDS", f"simengine\ncompare\n{TWO_STOP}\n:\no")
    monkeypatch.setenv("COMP_CWORD", "4")
    assert cases("o") == ["one_washer_less"]
    monkeypatch.setenv("COMP_CWORD", "3")
    assert cases(":") == VARIANTS


def asked_bash(*words):
    """What bash is told for the last word, by the protocol that its script speaks."""
    environment = os.environ | {
        "_SIMENGINE_COMPLETE": "complete_bash",
        "COMP_WORDS": "\n".join(words),
        "COMP_CWORD": str(len(words) - 1),
    }
    done = subprocess.run(["simengine"], env=environment, capture_output=True, text=True, check=False)
    return done.stdout.split()


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("simengine", "env"), ["envelope"]),
        (("simengine", "fly", "scenarios/g"), ["scenarios/ground_run.yaml"]),
        (("simengine", "fly", TWO_STOP, "--variant", "o"), ["one_washer_less"]),
        (("simengine", "fly", "--variant", ""), []),
        (("simengine", "fly", "a.yaml", "--fidelity", ""), ["dynamic", "steady"]),
        (("simengine", "report", "outputs/"), ["outputs/a.nc"]),
    ],
)
def test_the_protocol(folder, words, offered):
    assert asked_bash(*words) == offered


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_script(folder, shell):
    environment = os.environ | {"_SIMENGINE_COMPLETE": f"source_{shell}"}
    done = subprocess.run(["simengine"], env=environment, capture_output=True, text=True, check=False)
    assert f"_SIMENGINE_COMPLETE=complete_{shell}" in done.stdout


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
def test_install_completion_is_found_by_the_next_bash(folder, monkeypatch):
    """In a home of its own; bash is told apart from other shells by the process that calls."""
    monkeypatch.setenv("HOME", str(folder))
    monkeypatch.setenv("SHELL", "/bin/bash")
    subprocess.run(["bash", "-c", "simengine --install-completion; true"], check=True, capture_output=True)
    (written,) = (folder / ".bash_completions").glob("simengine*")
    assert str(written) in (folder / ".bashrc").read_text()
    ask = f". {written}; complete -p simengine"
    done = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, check=True)
    assert "_simengine_completion" in done.stdout


IN_SHELL = {
    "bash": """
eval "$(_SIMENGINE_COMPLETE=source_bash simengine)"
COMP_WORDS=(simengine fly scenarios/g) COMP_CWORD=2
_simengine_completion simengine scenarios/g fly
echo "${COMPREPLY[*]}"
""",
    "fish": """
_SIMENGINE_COMPLETE=source_fish simengine | source
complete -C 'simengine fly scenarios/g'
""",
}


@pytest.mark.parametrize("shell", IN_SHELL)
def test_in_the_shell_itself(folder, shell):
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed")
    done = subprocess.run([shell, "-c", IN_SHELL[shell]], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["scenarios/ground_run.yaml"]


def test_completion_loads_nothing_heavy(folder):
    code = (
        "import sys; from simengine.cli import completion\n"
        "heavy = {'numpy', 'xarray', 'matplotlib', 'numba', 'pydantic', 'yaml', 'scipy'}\n"
        f"completion.scenarios('{TWO_STOP}:')\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
