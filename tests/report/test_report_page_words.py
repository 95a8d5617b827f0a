"""Words and drawings of a page: whatever stands in a file is shown and never obeyed."""

import re

import numpy as np
import xarray
from html_pages import Reader, flight_file
from synthetic_envelope import synthetic_envelope

import simengine
from simengine.report.page.drawings import block_of, picture_block
from simengine.report.page.kinds import KINDS as PAGE_KINDS
from simengine.results.netcdf import write_netcdf

HOSTILE = (
    """<script>alert("x")</script><img src=http://example.invalid/x onerror=alert(1)> & "two" 'one' $x$ [b]"""
)


def test_words_of_a_file_are_shown_and_never_obeyed(tmp_path):
    scenario = f"title: '{HOSTILE}'  # </pre></details>{HOSTILE}\n"
    attributes = dict.fromkeys(("title", "note", "outcome", "model_limits", "institution"), HOSTILE)
    path = flight_file(tmp_path, simengine_scenario=scenario, history=f"now: {HOSTILE}", **attributes)
    dataset = xarray.load_dataset(path)
    dataset["phase_name"][0], dataset["event_note"][0] = HOSTILE, HOSTILE
    hostile = write_netcdf(dataset, tmp_path / "<b>hostile.nc")
    made = simengine.report_page(hostile, tmp_path / "page.html", title=HOSTILE, command=HOSTILE)
    text = made.path.read_text(encoding="utf-8")
    page = Reader(text)
    assert page.errors == []
    assert not page.all("script")
    assert not page.all("img")
    assert not page.all("b")
    assert not any(name.startswith("on") for _, attributes in page.elements for name in attributes)
    assert page.text.count(HOSTILE) >= 8


def test_characters_that_no_page_may_hold_are_shown_as_such(tmp_path):
    """XML 1.0, 2.2 (Char): no control characters but tab and ends of line."""
    path = flight_file(tmp_path, title="bell \x07 and \x1b[31m")
    dataset = xarray.load_dataset(path)
    dataset["phase_name"][0] = "form\x01feed"
    made = simengine.report_page(write_netcdf(dataset, path), tmp_path)
    text = made.path.read_text(encoding="utf-8")
    assert "bell \N{REPLACEMENT CHARACTER} and \N{REPLACEMENT CHARACTER}[31m" in text
    assert text.count("form\N{REPLACEMENT CHARACTER}feed") >= 2
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f]", text)


def test_names_and_references_within_a_drawing_get_a_prefix():
    """SVG 1.1, 5.6 and 14.3: `href` and `clip-path` point to an `id` of the same document."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9pt">'
        '<metadata>who</metadata><defs><path id="m" d="M 0.123456 1"/><clipPath id="c"/></defs><g id="idle">'
        '<use xlink:href="#m" clip-path="url(#c)"/><text>url(#c) #m 0.123456 &lt;b&gt;</text></g></svg>'
    )
    drawn = block_of("x", "Subject", PAGE_KINDS["card"].sentences(card())[0], (svg, ""), "r1-").svg
    assert '<path id="r1-m" d="M 0.12 1"' in drawn
    assert 'xlink:href="#r1-m"' in drawn
    assert 'clip-path="url(#r1-c)"' in drawn
    assert "url(#c) #m 0.123456 &lt;b&gt;" in drawn
    for gone in ("metadata", 'id="idle"', "width="):
        assert gone not in drawn


def test_a_map_becomes_an_image_within_the_drawing():
    dataset = synthetic_envelope()
    block = picture_block("states", PAGE_KINDS["envelope"].drawers(dataset)["states"], dataset, "r1-")
    for drawn in (block.svg, block.narrow):
        assert "data:image/png;base64," in drawn
        assert len(drawn) < 200_000


def card():
    """A card of one line that does not happen."""
    columns = {name: ("item", ["x"]) for name in ("stage", "action", "look", "item_words", "item_units")}
    numbers = {
        "item_value": ("item", [np.nan]),
        "item_band": ("item", [np.nan]),
        "item_happens": ("item", [0]),
    }
    return xarray.Dataset({**columns, **numbers, "engine_rpm_limit": 8000.0}, coords={"item": ["x: x"]})


def test_a_card_tells_what_does_not_happen():
    sentences = PAGE_KINDS["card"].sentences(card())
    assert [sentence.warns for sentence in sentences] == [True, False, True]
    assert sentences[0].words == "Never above 8000 ENGINE rpm."
    assert "NOT to happen: x (x)" in sentences[-1].words
