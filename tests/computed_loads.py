"""Load figures of the demo, computed once for all tests of what is said about them."""

from functools import cache
from pathlib import Path

import xarray

from simengine.scenario import load_scenario
from simengine.studies.loads.study import loads

SCENARIOS = Path(__file__).parents[1] / "scenarios"


@cache
def computed(name: str = "loads_and_failures") -> xarray.Dataset:
    """Load figures of one of the demos; copy before changing."""
    return loads(load_scenario(SCENARIOS / f"{name}.yaml"))


def changed(**values: object) -> xarray.Dataset:
    """The demo's figures with some of them replaced."""
    dataset = computed().copy(deep=True)
    for name, value in values.items():
        dataset[name].values[...] = value
    return dataset
