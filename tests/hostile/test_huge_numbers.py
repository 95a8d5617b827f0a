"""Every number of the demo parts far too large or far too small: refused, or flown without a warning."""

import re
import shutil
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


@pytest.mark.parametrize("number", ["1e300", "-1e300", "9e15"])
@pytest.mark.parametrize("line", ["  phase_fuel: ", "- [", "    ", "relative_tolerance: "])
def test_a_baseline_whose_digest_fits_holds_no_number_out_of_all_reason(scenarios, line, number):
    scenario = scenarios / "revisions" / "agreed.yaml"
    path = baseline_path(scenario)
    text = path.read_text()
    body = text.partition("digest:")[2].partition("\n")[2]
    pattern = re.compile(rf"^( *{re.escape(line)})[0-9.e+-]+", re.MULTILINE)
    found = pattern.search(body, body.index("computed:"))
    assert found is not None
    body = body[: found.start()] + found.group(1) + number + body[found.end() :]
    path.write_text(f"{HEAD}{KEY}: 1\ndigest: {digest(body)}\n{body}")
    try:
        with pytest.raises(SimengineError, match="does not hold what a baseline holds"):
            read_baseline(scenario)
    finally:
        path.write_text(text)
