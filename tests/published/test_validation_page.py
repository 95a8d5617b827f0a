"""A run of the published tests leaves a page that shows the model beside every open measurement."""

import re

import numpy as np
import pytest
from measured_propellers import comparison, open_propellers
from validation_page import curve, relative_errors, write_page

pytestmark = pytest.mark.slow  # every propeller is left out of the fit once


@pytest.fixture(scope="module")
def page() -> str:
    return write_page().read_text(encoding="utf-8")


def test_page_is_complete_and_needs_no_network(page: str) -> None:
    images = re.findall(r'<img src="([^"]{30})', page)
    assert len(images) == len(open_propellers()) + 1 + 2, "propellers, full scale, two sections"
    assert all(image.startswith("data:image/svg+xml;base64,") for image in images)
    assert not re.findall(r'(?:src|href)="(?!data:)|url\(|@import', page), "nothing is loaded from elsewhere"
    for propeller in open_propellers():
        assert f"<td>{propeller.name}</td>" in page
        assert f"<h3>{propeller.name}</h3>" in page
    assert "What is not measured here: the air's twisting moment" in page.replace("&#39;", "'")


def test_errors_on_the_page_are_those_of_the_rows(page: str) -> None:
    # Worked once more by hand for one propeller, from the columns themselves.
    propeller = open_propellers()[0]
    table = comparison(propeller)
    static = table["ct"][table["j"] == 0.0].mean()
    keep = table["ct"] > 0.2 * static
    error = 100.0 * (table["ct_model"][keep] - table["ct"][keep]) / table["ct"][keep]
    worst = error[np.abs(error).argmax()]
    row = page[page.index(f"<td>{propeller.name}</td>") :].split("</tr>")[0]
    assert f"{np.median(np.abs(error)):.1f} / {worst:+.1f} %" in row
    assert f"<td>{keep.sum()}</td>" in row
    assert relative_errors(table, "ct") == pytest.approx(0.01 * error)


def test_rows_at_one_advance_ratio_are_averaged() -> None:
    table = {"j": np.array([0.0, 0.2, 0.0]), "ct": np.array([0.1, 0.05, 0.12])}
    assert curve(table, "ct", np.array([0.0, 0.1])) == pytest.approx([0.11, 0.08])
