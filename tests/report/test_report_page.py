"""Pages made from results: what every kind shows, what is refused, and that no word of a file is obeyed."""

import json
import re
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import xarray
from command_line import run
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox
from one_of_each import KINDS, result_file
from synthetic_flight import synthetic_flight

import simengine
from simengine.report.documents import document_schema
from simengine.report.page import sections
from simengine.report.page.drawings import block_of, svg_of
from simengine.report.page.kinds import KINDS as PAGE_KINDS
from simengine.report.page.reading import later
from simengine.report.page.run import page_path
from simengine.results.catalogue import STUDY
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.netcdf import write_netcdf
from simengine.scenario.loader import scenario_of_text

# Elements that HTML leaves without an end (WHATWG HTML, void elements).
VOID = {"meta", "br", "link", "img", "input", "hr"}
MOST_BYTES = 3_000_000
HOSTILE = (
    """<script>alert("x")</script><img src=http://example.invalid/x onerror=alert(1)> & "two" 'one' $x$ [b]"""
)


class Reader(HTMLParser):
    """Elements of a page with their attributes, its visible text, and whether every element is closed."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.elements, self.words, self.open, self.errors = [], [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.errors.append(f"</{tag}> where another element was open")

    def handle_data(self, data):
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Page of a kind: what was made and its parsed text; each made once."""
    made = {}

    def page(kind):
        if kind not in made:
            built = simengine.report_page(result_file(kind), tmp_path_factory.mktemp(kind))
            made[kind] = (built, built.path.read_text(encoding="utf-8"))
        return made[kind]

    return page


@pytest.fixture
def undrawn(monkeypatch):
    """Drawing takes longest: pages without pictures."""
    monkeypatch.setattr(sections, "pictures_of", lambda result, number: ())


def flight_file(folder, name="flight.nc", **attributes):
    """A made-up flight as a file, some of its attributes replaced."""
    dataset = synthetic_flight().dataset().assign_attrs(attributes)
    return write_netcdf(dataset, folder / name)


def refused(monkeypatch, capsys, *arguments):
    """What the command says of an input that cannot be used."""
    assert run(monkeypatch, "report", *arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    return err


slow = [pytest.param(kind, marks=[] if kind in ("fly", "envelope") else pytest.mark.slow) for kind in KINDS]


# --- what is on every page ------------------------------------------------------------------------
def test_every_kind_of_result_has_its_page():
    assert {kind.command for kind in PAGE_KINDS.values()} == set(KINDS)


@pytest.mark.parametrize("kind", slow)
def test_a_page_answers_first_and_holds_everything(pages, kind):
    made, text = pages(kind)
    page, (section,) = Reader(text), made.sections
    assert page.errors == []
    assert page.open == []
    words = page.text
    places = [words.index(section.question)]
    places += [
        words.index(" ".join(sentence.words.replace(" -> ", " → ").split()))
        for sentence in section.answer[:1]
    ]
    order = ["Figures", "Inputs, by where they come from", "Limits of the model that were met", "Not checked"]
    order += ["Cautions", "Where this comes from", "To repeat it"]
    headings = re.findall(r"<h2>(.*?)</h2>", text)
    found = [
        next(place for place, heading in enumerate(headings) if heading.startswith(name)) for name in order
    ]
    assert found == sorted(found)
    assert headings[0] == "Answer"
    assert words.index(SHORT_CAUTION) < places[0] < places[1]
    assert all(caution in words for caution in CAUTIONS)
    for line in (*section.limits, *section.not_checked, section.scenario, *section.commands):
        assert " ".join(line.split()) in words
    assert len(text.encode()) < MOST_BYTES


@pytest.mark.parametrize("kind", slow)
def test_a_page_asks_for_nothing_and_speaks_for_its_pictures(pages, kind):
    made, text = pages(kind)
    page, (section,) = Reader(text), made.sections
    assert not page.all("script")
    assert not page.all("link")
    policy = next(each["content"] for each in page.all("meta") if "http-equiv" in each)
    assert policy.startswith("default-src 'none'")
    for tag, attributes in page.elements:
        for name in ("src", "href", "xlink:href", "action", "data"):
            assert attributes.get(name, "#").startswith(("#", "data:")), (tag, name)
        assert not any(name.startswith("on") for name in attributes)
    drawings = page.all("svg")
    assert len(drawings) == len(section.pictures)
    for picture, drawing in zip(section.pictures, drawings, strict=True):
        assert drawing["role"] == "img"
        assert picture.caption.words in drawing["aria-label"]
        assert picture.subject in drawing["aria-label"]


@pytest.mark.parametrize("kind", slow)
def test_names_within_a_page_are_its_own_and_lead_somewhere(pages, kind):
    _, text = pages(kind)
    page = Reader(text)
    names = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(names) == len(set(names))
    pointed = {attributes.get("href", attributes.get("xlink:href", "")) for _, attributes in page.elements}
    pointed = {each[1:] for each in pointed if each.startswith("#")} | set(
        re.findall(r"url\(#([^)]+)\)", text)
    )
    assert pointed <= set(names)


@pytest.mark.parametrize("kind", slow)
def test_headings_come_in_order_under_one_title(pages, kind):
    _, text = pages(kind)
    levels = [int(tag[1]) for tag, _ in Reader(text).elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_the_scenario_comes_out_of_the_result_again(kind, monkeypatch, tmp_path, capsys):
    out = tmp_path / "again.yaml"
    assert run(monkeypatch, "report", result_file(kind), "--scenario-out", out) == 0
    assert capsys.readouterr().err.splitlines()[-1] == f"written: {out}"
    with xarray.open_dataset(result_file(kind)) as data:
        assert out.read_text(encoding="utf-8") == data.attrs["simengine_scenario"]
    if kind not in ("fly", "envelope"):  # these two are made up, and their scenarios no scenarios
        assert scenario_of_text(out.read_text(encoding="utf-8"), "again.yaml").sha256


@pytest.mark.slow
def test_inputs_are_told_by_their_origin(pages):
    made, text = pages("calibrate")
    inputs = {block.origin: block for block in made.sections[0].inputs}
    assert set(inputs) == {"assumed", "typed", "default"}
    assert ("masses.machine", "29 kg, assumed", "") in inputs["assumed"].rows
    assert "hub.spring.rate" in [path for path, _, _ in inputs["typed"].rows]
    assert "No input is marked as measured" in text


# --- several results ----------------------------------------------------------------------------
def test_several_results_make_one_page_with_contents(tmp_path):
    paths = [
        flight_file(tmp_path, "a.nc"),
        result_file("envelope"),
        flight_file(tmp_path, "b.nc", title="second"),
    ]
    made = simengine.report_page(paths, tmp_path / "out", title="Both & more")
    assert made.path == tmp_path / "out" / "report.html"
    text = made.path.read_text(encoding="utf-8")
    page = Reader(text)
    assert page.errors == []
    assert "<h1>Both &amp; more</h1>" in text
    assert re.findall(r'<a href="#(result-\d)">', text) == ["result-1", "result-2", "result-3"]
    names = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(names) == len(set(names))
    assert sum(page.text.count(caution) for caution in CAUTIONS[1:2]) == 1
    assert page.text.count(SHORT_CAUTION) == 1 + len(paths)


def test_a_folder_is_read_but_for_what_is_not_ours(tmp_path, undrawn):
    flight_file(tmp_path, "ours.nc")
    xarray.Dataset({"x": ("y", [1.0])}).to_netcdf(tmp_path / "foreign.nc")
    (tmp_path / ".ours.nc.part").write_bytes(b"")
    made = simengine.report_page(tmp_path, tmp_path)
    assert [section.file for section in made.sections] == ["ours.nc"]
    assert made.path.name == "ours.report.html"


def test_a_pattern_that_the_shell_left_alone_is_read(tmp_path, undrawn):
    flight_file(tmp_path, "one.nc")
    flight_file(tmp_path, "two.nc")
    made = simengine.report_page([f"{tmp_path}/*.nc", tmp_path / "one.nc"], tmp_path / "page.html")
    assert [section.file for section in made.sections] == ["one.nc", "two.nc"]
    assert made.path == tmp_path / "page.html"


# --- hostile words --------------------------------------------------------------------------------
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
    drawn = block_of("x", "Subject", PAGE_KINDS["card"].sentences(card())[0], svg, "r1-").svg
    assert '<path id="r1-m" d="M 0.12 1"' in drawn
    assert 'xlink:href="#r1-m"' in drawn
    assert 'clip-path="url(#r1-c)"' in drawn
    assert "url(#c) #m 0.123456 &lt;b&gt;" in drawn
    for gone in ("metadata", 'id="idle"', "width="):
        assert gone not in drawn


@pytest.mark.parametrize(("across", "image"), [(40, False), (200, True)])
def test_a_map_of_very_many_fields_becomes_an_image_within_the_drawing(across, image):
    figure = Figure(figsize=(4, 4))
    figure.add_axes((0.1, 0.1, 0.8, 0.8)).pcolormesh(np.arange(across**2).reshape(across, across))
    svg = svg_of(figure, Bbox([[0.0, 0.0], [4.0, 4.0]]))
    drawn = block_of("x", "Map", PAGE_KINDS["card"].sentences(card())[0], svg, "r1-").svg
    assert ("data:image/png;base64," in drawn) is image
    assert len(drawn) < 500_000


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


# --- what is refused --------------------------------------------------------------------------------
def test_what_is_no_result_is_named_and_refused(monkeypatch, tmp_path, capsys):
    (tmp_path / "text.nc").write_text("no NetCDF")
    xarray.Dataset({"x": ("y", [1.0])}).to_netcdf(tmp_path / "foreign.nc")
    whole = flight_file(tmp_path).read_bytes()
    (tmp_path / "cut.nc").write_bytes(whole[: len(whole) // 2])
    for name in ("text", "foreign", "cut", "missing"):
        err = refused(monkeypatch, capsys, tmp_path / f"{name}.nc", "-o", tmp_path / "out")
        assert f"{name}.nc: " in err
        assert "accepted: results of simengine fly, envelope, compare" in err
    assert not (tmp_path / "out").exists()
    told = refused(monkeypatch, capsys, tmp_path / "text.nc", tmp_path / "foreign.nc")
    assert "text.nc" in told
    assert "foreign.nc" in told


def test_a_kind_that_is_not_known_names_those_that_are(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path, **{STUDY: "weather"})
    err = refused(monkeypatch, capsys, path)
    assert "of the kind 'weather'" in err
    assert all(kind in err for kind in KINDS)


def test_a_result_of_a_later_version_is_refused(monkeypatch, tmp_path, capsys):
    err = refused(monkeypatch, capsys, flight_file(tmp_path, simengine_version="99.0.0"))
    assert "written by simengine 99.0.0, later than this one" in err


@pytest.mark.parametrize(
    ("version", "than", "expected"),
    [
        ("0.2.0", "0.1.9", True),
        ("0.1.9", "0.1.0", False),
        ("1.0", "0.9.1", True),
        ("unknown", "0.1.0", False),
    ],
)
def test_versions_are_compared_by_their_first_two_numbers(version, than, expected):
    assert later(version, than) is expected


def test_missing_variables_are_named(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path)
    whole = xarray.load_dataset(path)
    write_netcdf(whole.drop_vars(["shift_begin_rpm", "height"]), path)
    err = refused(monkeypatch, capsys, path)
    assert "no whole result of `simengine fly`: height, shift_begin_rpm missing" in err


def test_values_without_sense_are_refused(monkeypatch, tmp_path, capsys, undrawn):
    path = flight_file(tmp_path)
    dataset = xarray.load_dataset(path)
    dataset["event_kind"].values[:] = 99
    write_netcdf(dataset, path)
    err = refused(monkeypatch, capsys, path, "-o", tmp_path / "out")
    assert "cannot tell (IndexError" in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["page.txt", "result.nc"])
def test_a_page_does_not_take_another_kind_of_name(monkeypatch, tmp_path, capsys, name):
    path = flight_file(tmp_path, "result.nc")
    before = path.read_bytes()
    assert "ends in .html" in refused(monkeypatch, capsys, path, "-o", tmp_path / name)
    assert path.read_bytes() == before


def test_where_the_page_goes(tmp_path):
    (tmp_path / "taken.report.html").mkdir()
    assert page_path(tmp_path, [Path("a/flight.nc")]) == tmp_path / "flight.report.html"
    assert page_path(tmp_path / "new", [Path("a.nc"), Path("b.nc")]) == tmp_path / "new" / "report.html"
    assert page_path(tmp_path / "x.HTML", [Path("a.nc")]) == tmp_path / "x.HTML"
    with pytest.raises(simengine.errors.OutputError, match="is a folder"):
        page_path(tmp_path, [Path("taken.nc")])


def test_a_scenario_is_not_written_over_a_file(monkeypatch, tmp_path, capsys):
    path, out = flight_file(tmp_path), tmp_path / "mine.yaml"
    out.write_text("mine")
    assert "is there already" in refused(monkeypatch, capsys, path, "--scenario-out", out)
    assert out.read_text() == "mine"


# --- the command ------------------------------------------------------------------------------------
def test_the_command_tells_the_answer_and_where_the_page_is(monkeypatch, tmp_path, capsys, undrawn):
    path = flight_file(tmp_path, title="Made up")
    assert run(monkeypatch, "report", path, "-o", tmp_path) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Flight: Made up\nWhen do the blades shift")
    assert SHORT_CAUTION in " ".join(out.split())
    assert err == f"written: {tmp_path / 'flight.report.html'}\n"
    assert run(monkeypatch, "report", path, "-o", tmp_path, "-q") == 0
    out, err = capsys.readouterr()
    assert SHORT_CAUTION in " ".join(out.split())
    assert err == ""


def test_json_is_the_page_without_its_drawings(monkeypatch, tmp_path, capsys):
    path = flight_file(tmp_path, title="Made up")
    assert run(monkeypatch, "report", path, "-o", tmp_path, "--json", "-q") == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, document_schema("report"), cls=jsonschema.Draft202012Validator)
    assert document["cautions"] == list(CAUTIONS)
    (told,) = document["results"]
    assert told["kind"] == "fly"
    assert told["title"] == "Made up"
    assert told["conclusion"]
    assert {len(row) for table in told["tables"] for row in table["rows"]} >= {7}
    assert told["pictures"][0]["name"] == "flight"
    assert told["again"][1] == "simengine fly again.yaml"
