"""simengine: flight-envelope simulation of self-shifting two-stop pitch hubs.

>>> import simengine
>>> result = simengine.fly("scenarios/ground_run.yaml", pictures=False)
>>> result.dataset["engine_rpm"].attrs["units"]
'rpm'
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.execution.where import Where
    from simengine.report.calibrate.run import run_calibrate as calibrate
    from simengine.report.calibrate.run_card import run_card as card
    from simengine.report.check.run import run_check as check
    from simengine.report.choose.run import run_choose as choose
    from simengine.report.compare.run import run_compare as compare
    from simengine.report.envelope.run import run_envelope as envelope
    from simengine.report.flight.run import run_fly as fly
    from simengine.report.loads.run import run_loads as loads
    from simengine.report.page.run import run_report as report_page
    from simengine.report.route.run import run_route as route
    from simengine.report.tolerance.run import run_tolerance as tolerance
    from simengine.scenario import json_schema as schema
    from simengine.scenario import load_scenario, load_variants

__all__ = [
    "Where",
    "calibrate",
    "card",
    "check",
    "choose",
    "compare",
    "envelope",
    "fly",
    "load_scenario",
    "load_variants",
    "loads",
    "report_page",
    "route",
    "schema",
    "tolerance",
]

_HOMES = {
    "Where": ("simengine.execution.where", "Where"),
    "calibrate": ("simengine.report.calibrate.run", "run_calibrate"),
    "card": ("simengine.report.calibrate.run_card", "run_card"),
    "check": ("simengine.report.check.run", "run_check"),
    "choose": ("simengine.report.choose.run", "run_choose"),
    "compare": ("simengine.report.compare.run", "run_compare"),
    "envelope": ("simengine.report.envelope.run", "run_envelope"),
    "fly": ("simengine.report.flight.run", "run_fly"),
    "load_scenario": ("simengine.scenario", "load_scenario"),
    "load_variants": ("simengine.scenario", "load_variants"),
    "loads": ("simengine.report.loads.run", "run_loads"),
    "report_page": ("simengine.report.page.run", "run_report"),
    "route": ("simengine.report.route.run", "run_route"),
    "schema": ("simengine.scenario", "json_schema"),
    "tolerance": ("simengine.report.tolerance.run", "run_tolerance"),
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first asked for: `simengine --help` must not load numpy."""
    if name not in _HOMES:
        raise AttributeError(f"module 'simengine' has no attribute '{name}'")
    from importlib import import_module

    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)
