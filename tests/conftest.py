"""Fixtures that tests of results, report and command line share; also puts this folder on the import path."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
import xarray
from hypothesis import settings
from synthetic_flight import synthetic_flight

# Chance cases are found at a developer's desk; what must be green before it lands is the same every time.
settings.register_profile("landing", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("landing")

VALIDATION_PAGE = Path(__file__).parent.parent / "outputs" / "validation" / "index.html"
STARTED = time.time()


def pytest_terminal_summary(terminalreporter: "pytest.TerminalReporter") -> None:
    """Tell where the validation page is, if this run has written it."""
    if VALIDATION_PAGE.exists() and VALIDATION_PAGE.stat().st_mtime >= STARTED - 1.0:
        terminalreporter.write_line(f"Propeller model against measurements: {VALIDATION_PAGE}")


@pytest.fixture(scope="session")
def flight_result() -> xarray.Dataset:
    """A made-up flight in which every shift finishes; do not change it in place."""
    return synthetic_flight().dataset()


@pytest.fixture(scope="session")
def hung_result() -> xarray.Dataset:
    """The same with a shift that hangs in the climb."""
    return synthetic_flight(hangs=True).dataset()


@pytest.fixture(scope="session")
def all_compiled() -> None:
    """Every kernel compiled: what a later run prints tells nothing of it."""
    command = [sys.executable, "-c", "from simengine.cli import main; main()", "warmup", "-q"]
    subprocess.run(command, check=True, capture_output=True)
