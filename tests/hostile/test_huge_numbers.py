"""Every number of the demo parts far too large or far too small: refused, or flown without a warning."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from seeds import SCENARIOS

from simengine.balance.assembly import assemble
from simengine.errors import SimengineError
from simengine.scenario import load_scenario
from simengine.studies.check.baseline_file import HEAD, KEY, digest, read_baseline
from simengine.studies.check.suite import baseline_path
from simengine.studies.tolerance.measured_hubs import read_hubs

NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])")
PARTS = {
    "parts/propellers/two_blade_130.yaml": "ground_run.yaml",
    "parts/engines/single_200_20kw.yaml": "ground_run.yaml",
    "parts/hubs/coil_14_10.yaml": "ground_run.yaml",
    "parts/wings/touring_26.yaml": "ground_run.yaml",
    "parts/hubs/torsion_14_10.yaml": "torsion_hub.yaml",
}


@pytest.fixture(scope="module")
def scenarios(tmp_path_factory) -> Path:
    """A copy of the demo scenarios to be spoilt."""
    return Path(shutil.copytree(SCENARIOS, tmp_path_factory.mktemp("huge") / "scenarios"))


@pytest.mark.parametrize("value", ["1e300", "1e-300"])
@pytest.mark.parametrize("part", PARTS)
def test_a_number_out_of_all_reason(scenarios, part, value):
    text, refused = (scenarios / part).read_text(), 0
    try:
        for found in NUMBER.finditer(text):
            (scenarios / part).write_text(text[: found.start()] + value + text[found.end() :])
            try:
                assemble(load_scenario(scenarios / PARTS[part]).record)
            except SimengineError:
                refused += 1
    finally:
        (scenarios / part).write_text(text)
    assert refused > 0


def test_a_measured_hub_that_is_a_number_only_in_its_own_unit(tmp_path):
    path = tmp_path / "hubs.csv"
    path.write_text("hub,hub.spring.rate N/mm\none,1e307\n")
    with pytest.raises(SimengineError, match="must be a finite number, got '1e307'"):
        read_hubs(path, load_scenario(SCENARIOS / "batch_of_hubs.yaml").record)


def sealed(path: Path, change: Callable[[str], str]) -> None:
    """Change what a baseline holds, and seal it again."""
    body = change(path.read_text().partition("digest:")[2].partition("\n")[2])
    path.write_text(f"{HEAD}{KEY}: 1\ndigest: {digest(body)}\n{body}")


@pytest.fixture
def agreed(tmp_path) -> Path:
    """A scenario with its baseline."""
    return Path(shutil.copytree(SCENARIOS, tmp_path / "scenarios")) / "revisions" / "agreed.yaml"


@pytest.mark.parametrize("number", ["1e300", "-1e300", "9e15"])
@pytest.mark.parametrize("line", ["  phase_fuel: ", "- [", "    ", "relative_tolerance: "])
def test_a_baseline_whose_digest_fits_holds_no_number_out_of_all_reason(agreed, line, number):
    def change(body: str) -> str:
        pattern = re.compile(rf"^( *{re.escape(line)})[0-9.e+-]+", re.MULTILINE)
        found = pattern.search(body, body.index("computed:"))
        assert found is not None
        return body[: found.start()] + found.group(1) + number + body[found.end() :]

    sealed(baseline_path(agreed), change)
    with pytest.raises(SimengineError, match="does not hold what a baseline holds"):
        read_baseline(agreed)


@pytest.mark.parametrize(
    ("found", "put", "words"),
    [
        (r"(  time: \|\n)( +)(\S+) ", r"\1\2", "traces of different lengths"),
        (r"(  height: \|\n)( +)(\S+) ", r"\1\2", "traces of different lengths"),
        (r"(  time: \|\n)( +)(\S+) (\S+) (\S+)", r"\1\2\3 \5 \4", "times that do not rise"),
    ],
)
def test_a_baseline_whose_digest_fits_holds_traces_of_one_length(agreed, found, put, words):
    sealed(baseline_path(agreed), lambda body: re.sub(found, put, body))
    with pytest.raises(SimengineError, match=words):
        read_baseline(agreed)
