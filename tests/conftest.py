"""Fixtures that tests of results, report and command line share; also puts this folder on the import path."""

import os

import pytest
import xarray
from hypothesis import settings
from synthetic_flight import synthetic_flight

# Chance cases are found at a developer's desk; what must be green before it lands is the same every time.
settings.register_profile("landing", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("landing")


@pytest.fixture(scope="session")
def flight_result() -> xarray.Dataset:
    """A made-up flight in which every shift finishes; do not change it in place."""
    return synthetic_flight().dataset()


@pytest.fixture(scope="session")
def hung_result() -> xarray.Dataset:
    """The same with a shift that hangs in the climb."""
    return synthetic_flight(hangs=True).dataset()
