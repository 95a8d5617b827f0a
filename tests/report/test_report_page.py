"""Pages made from results of every kind, and from several: what they hold and how they are built."""

import re
from itertools import pairwise

import pytest
import xarray
from command_line import run
from html_pages import Reader, flight_file
from one_of_each import KINDS, result_file

import simengine
from simengine.report.page.kinds import KINDS as PAGE_KINDS
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.scenario.loader import scenario_of_text

MOST_BYTES = 3_000_000


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


slow = [pytest.param(kind, marks=[] if kind in ("fly", "envelope") else pytest.mark.slow) for kind in KINDS]


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
    told = [picture for picture in section.pictures for svg in (picture.svg, picture.narrow) if svg]
    assert len(drawings) == len(told)
    for picture, drawing in zip(told, drawings, strict=True):
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
