"""What a caller from outside uses tells its arguments, what it returns and what it raises."""

import importlib
import inspect
import re

import pytest

import simengine

ENTRANCES = (
    "simengine.flight.simulate.simulate",
    "simengine.results.figures.flight_figures",
    "simengine.results.netcdf.read_netcdf",
    "simengine.results.netcdf.write_netcdf",
    "simengine.studies.calibrate.study.calibrate",
    "simengine.studies.check.study.check",
    "simengine.studies.choose.study.choose",
    "simengine.studies.compare.study.compare",
    "simengine.studies.envelope.study.envelope",
    "simengine.studies.loads.study.loads",
    "simengine.studies.route.study.route",
    "simengine.studies.tolerance.study.tolerance",
    "simengine.units.accepted_unit",
    "simengine.units.conversion",
    "simengine.units.from_si",
    "simengine.units.readable",
    "simengine.units.to_si",
)
PUBLIC = [f"simengine.{name}" for name in simengine.__all__] + list(ENTRANCES)


def function_of(name):
    module, _, attribute = name.rpartition(".")
    return getattr(importlib.import_module(module), attribute)


def section(text, heading):
    """The lines under a heading of numpydoc, or nothing."""
    found = re.search(
        rf"^{heading}\n-{{{len(heading)}}}\n(.*?)(?=^\w+\n---|\Z)", text, re.MULTILINE | re.DOTALL
    )
    return found[1] if found else ""


def arguments_told(text):
    """Names that stand at the left edge of `Parameters`; several may share a line."""
    lines = re.findall(r"^(\w[\w, ]*?)(?: : .*)?$", section(text, "Parameters"), re.MULTILINE)
    return [name.strip() for line in lines for name in line.split(",")]


@pytest.mark.parametrize("name", PUBLIC)
def test_arguments_result_and_errors_are_told(name):
    function = function_of(name)
    text, signature = inspect.getdoc(function), inspect.signature(function)
    assert re.match(r"[A-Z`].*[.:]\n", text + "\n"), "the first line is no sentence"
    assert arguments_told(text) == list(signature.parameters)
    if signature.return_annotation not in (None, "None"):
        assert section(text, "Returns").strip()
    if "simengine.units" not in name and signature.parameters:
        assert section(text, "Raises").strip()


@pytest.mark.parametrize("name", PUBLIC)
def test_arrays_tell_their_shape(name):
    function = function_of(name)
    for argument in inspect.signature(function).parameters.values():
        if "NDArray" in str(argument.annotation):
            told = section(inspect.getdoc(function), "Parameters")
            assert re.search(rf"^{argument.name} : .*shape \(", told, re.MULTILINE), argument.name
