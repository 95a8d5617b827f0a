"""What the tests of the report share."""

import pytest

from simengine.report.page import sections


@pytest.fixture
def undrawn(monkeypatch):
    """Drawing takes longest: pages without pictures."""
    monkeypatch.setattr(sections, "pictures_of", lambda result, number: ())
