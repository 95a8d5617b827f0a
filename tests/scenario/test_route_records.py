"""The route block of a scenario."""

from pathlib import Path

import pytest

from simengine.errors import ScenarioError
from simengine.scenario import load_scenario

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"
LEG = "{distance: 10 km, track: 90 deg}"


def loaded(tmp_path, block):
    path = tmp_path / "with_route.yaml"
    path.write_text(f"extends: demo/climb_and_cruise.yaml\ntitle: with a route\nroute:\n{block}")
    if not (tmp_path / "demo").exists():
        (tmp_path / "demo").symlink_to(SCENARIOS, target_is_directory=True)
    return load_scenario(path, root="/")


def problems(tmp_path, block):
    with pytest.raises(ScenarioError) as caught:
        loaded(tmp_path, block)
    return str(caught.value)


@pytest.mark.parametrize("name", ["cross_country.yaml", "long_route.yaml", "triangle.yaml"])
def test_demos_load(name):
    assert load_scenario(SCENARIOS / name).record.route is not None


def test_defaults_are_listed(tmp_path):
    scenario = loaded(tmp_path, f"  cruise: {{height: 500 m}}\n  legs: [{LEG}]\n")
    assert "route.contingency = 10 %" in scenario.defaults
    assert scenario.record.route.comparison.climb_rate == 1.5


@pytest.mark.parametrize(
    ("block", "words"),
    [
        ("  cruise: {height: 500 m}\n", "route.legs: is required: a list of legs; or 'waypoints'"),
        (f"  legs: [{LEG}]\n", "route.legs.0.height: is required here or in 'cruise'"),
        (
            "  cruise: {height: 500 m}\n  legs: [{distance: 10 km}]\n",
            "route.legs.0.track: is required, for example",
        ),
        (
            "  cruise: {height: 500 m}\n  legs: [{to: {latitude: 47 deg, longitude: 8 deg}}]\n",
            "route.start: is required where a leg leads to a place",
        ),
        (
            f"  cruise: {{height: 500 m, height_above_ground: 300 m}}\n  legs: [{LEG}]\n",
            "'height' says it already: leave one out",
        ),
        (
            f"  cruise: {{height_above_ground: 300 m}}\n  legs: [{LEG}]\n",
            "route.cruise.height_above_ground: needs the route's 'terrain'",
        ),
        (
            f"  cruise: {{height: 500 m, policy: trim, bar: 20 %}}\n  legs: [{LEG}]\n",
            "'policy' says it already: leave one out",
        ),
        (
            f"  cruise: {{height: 500 m}}\n  waypoints: a.gpx\n  legs: [{LEG}]\n",
            "route.waypoints: the legs are given already",
        ),
        (
            f"  cruise: {{height: 500 m}}\n  legs: [{LEG}]\n"
            "  terrain: {columns: [distance km, height m], rows: [[1, 0], [2, 0]]}\n",
            "row 1: the terrain begins at distance 0",
        ),
        (
            "  cruise: {height: 500 m}\n  legs: [{distance: 10 km, track: 90 deg, stop_height: 20 m}]\n",
            "route.legs.0.stop_height: is for a stop",
        ),
        (
            f"  cruise: {{height: 500 m, wind: {{speed: 10 km/h}}}}\n  legs: [{LEG}]\n",
            "from_direction: is required",
        ),
        (f"  cruise: {{height: 500 m, polcy: trim}}\n  legs: [{LEG}]\n", "nearest: 'policy'"),
        (
            f"  cruise: {{best_height: {{lowest: 900 m, highest: 300 m}}}}\n  legs: [{LEG}]\n",
            "must lie above lowest",
        ),
        (
            "  start: {latitude: 46 deg, longitude: 180 deg}\n  cruise: {height: 500 m}\n"
            "  legs: [{to: {latitude: 46 deg, longitude: -180 deg}}]\n",
            "route.legs.0.to: is the place where the leg begins",
        ),
    ],
)
def test_what_does_not_fit_is_told(tmp_path, block, words):
    assert words in problems(tmp_path, block)


def test_a_wind_may_be_uncertain(tmp_path):
    from simengine.scenario.variation import uncertain_inputs

    block = (
        "  cruise: {height: 500 m}\n  legs:\n"
        "    - {distance: 10 km, track: 90 deg, wind: {speed: 15 +- 5 km/h, from_direction: 270 deg}}\n"
    )
    found = {item.path: item for item in uncertain_inputs(loaded(tmp_path, block))}
    assert found["route.legs.0.wind.speed"].plus_minus == pytest.approx(5.0 / 3.6)
