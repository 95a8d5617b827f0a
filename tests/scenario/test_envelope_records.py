"""The envelope block of a scenario."""

from pathlib import Path

import pytest

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"


def loaded(tmp_path, block):
    """A demo scenario with an envelope block."""
    path = tmp_path / "with_block.yaml"
    text = f"extends: demo/second_engine.yaml\ntitle: with an envelope block\n{block}"
    path.write_text(text)
    if not (tmp_path / "demo").exists():
        (tmp_path / "demo").symlink_to(SCENARIOS, target_is_directory=True)
    return load_scenario(path, root="/")


def test_left_out_it_means_the_scenario_s_own_day_and_masses():
    scenario = load_scenario(SCENARIOS / "second_engine.yaml")
    block = scenario.record.envelope
    assert (block.temperature_offsets, block.masses, block.bars) == ((), (), ())
    assert (block.heights_to, block.heights_count) == (5000.0, 41)
    assert "envelope.heights_to = 5000 m" in scenario.defaults


def test_quantities_carry_units(tmp_path):
    block = (
        "envelope:\n  heights_to: 9000 ft\n  masses: [110 kg, 120 kg]\n  bars: [0 %, 50 %]\n"
        "  temperature_offsets: [-5 K, 15 K]\n"
    )
    scenario = loaded(tmp_path, block)
    found = scenario.record.envelope
    assert found.heights_to == pytest.approx(2743.2)
    assert found.masses == (110.0, 120.0)
    assert found.bars == (0.0, 0.5)
    assert found.temperature_offsets == (-5.0, 15.0)
    assert scenario.origins["envelope.masses"].text == "110 kg, 120 kg"


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("envelope: {masses: [120 kg, 110 kg]}", "must rise"),
        ("envelope: {masses: [120]}", "unit"),
        ("envelope: {bars: [0 %, 150 %]}", "bars"),
        ("envelope: {heights_to: 20 km}", "heights_to"),
        ("envelope: {temperature_offsets: [15 degC]}", "difference"),
        ("envelope: {height_to: 3000 m}", "heights_to"),
    ],
)
def test_what_does_not_fit_is_refused_in_words(tmp_path, block, words):
    with pytest.raises(ScenarioError, match=words):
        loaded(tmp_path, block + "\n")
