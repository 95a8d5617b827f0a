"""simengine: flight-envelope simulation of self-shifting two-stop pitch hubs.

>>> import simengine
>>> result = simengine.fly("scenarios/ground_run.yaml")  # doctest: +SKIP
>>> result.dataset["engine_rpm"].max()  # doctest: +SKIP
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.report.outputs import run_envelope as envelope
    from simengine.report.outputs import run_fly as fly
    from simengine.scenario import json_schema as schema
    from simengine.scenario import load_scenario

__all__ = ["envelope", "fly", "load_scenario", "schema"]

_HOMES = {
    "envelope": ("simengine.report.outputs", "run_envelope"),
    "fly": ("simengine.report.outputs", "run_fly"),
    "load_scenario": ("simengine.scenario", "load_scenario"),
    "schema": ("simengine.scenario", "json_schema"),
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for: `simengine --help` must not load numpy."""
    if name not in _HOMES:
        raise AttributeError(f"module 'simengine' has no attribute '{name}'")
    from importlib import import_module

    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)
