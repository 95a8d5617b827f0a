"""Scenario files: YAML -> layers -> checked records in SI, with errors that name file and line."""

from simengine.scenario.loader import Scenario, load_scenario, load_variant, load_variants
from simengine.scenario.origins import Origin
from simengine.scenario.schema import json_schema

__all__ = ["Origin", "Scenario", "json_schema", "load_scenario", "load_variant", "load_variants"]
