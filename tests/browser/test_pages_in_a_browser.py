"""Pages in a browser without a window: no complaint, no request, nothing wider than the screen, dark, PDF."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from one_of_each import result_file

import simengine
from simengine.report.calibrate.card_page import card_html
from simengine.report.page import sections
from simengine.results.cautions import CAUTIONS
from simengine.results.netcdf import read_netcdf

sys.path.insert(0, str(Path(__file__).parent))
from web_driver import Browser, Driver, missing

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(bool(missing()), reason=f"not installed: {missing()}"),
]

PHONE, DESK = {"width": 390, "height": 844, "phone": True}, {"width": 1280}
TESTS = Path(__file__).parents[1]
SIZES = "return [document.scrollingElement.scrollWidth, window.innerWidth]"
# Every drawing and picture with what stands for it where it cannot be seen.
SPOKEN = """
return Array.from(document.querySelectorAll('svg, img')).map(each =>
  (each.getAttribute('aria-label') || each.getAttribute('alt') || '').trim())
"""
# Words whose box is cut off by the screen although nothing lets them be moved into sight.
CUT = """
const wide = document.documentElement.clientWidth;
return Array.from(document.querySelectorAll('h1,h2,h3,p,li,summary,dd,dt'))
  .filter(each => each.getClientRects().length && !each.closest('.box,.drawing,.skip'))
  .filter(each => each.getBoundingClientRect().right > wide + 0.5).map(each => each.textContent.slice(0, 60))
"""
# WCAG 2.1, relative luminance and contrast ratio, of what is written on the page's own ground.
CONTRAST = """
const light = text => { const c = text.match(/[0-9.]+/g).slice(0, 3).map(v => v / 255)
  .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2]; };
const ground = each => { for (let e = each; e; e = e.parentElement) {
  const c = getComputedStyle(e).backgroundColor; if (!/, 0\\)$|transparent/.test(c)) return c; }
  return 'rgb(255,255,255)'; };
return Array.from(document.querySelectorAll('body *')).filter(each => !each.closest('svg') && each.innerText)
  .map(each => { const a = light(getComputedStyle(each).color), b = light(ground(each));
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05); }).reduce((a, b) => Math.min(a, b), 99)
"""


@pytest.fixture(scope="module")
def driver(tmp_path_factory):
    """One driver for all browsers of this file."""
    running = Driver(tmp_path_factory.mktemp("driver"))
    yield running
    running.stop()


@pytest.fixture(scope="module")
def browse(driver):
    """A browser of a kind, started once."""
    open_ones = {}

    def of(**kind):
        key = tuple(sorted(kind.items()))
        if key not in open_ones:
            open_ones[key] = Browser(driver, **kind)
        return open_ones[key]

    yield of
    for browser in open_ones.values():
        browser.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Files of pages by name."""
    folder = tmp_path_factory.mktemp("pages")
    found = {
        kind: simengine.report_page(result_file(kind), folder / f"{kind}.html").path
        for kind in ("fly", "envelope", "choose", "card")
    }
    with pytest.MonkeyPatch.context() as patch:  # its colours are in its tables; drawing takes longest
        patch.setattr(sections, "pictures_of", lambda result, number: ())
        found["compare"] = simengine.report_page(result_file("compare"), folder / "compare.html").path
    several = [result_file(kind) for kind in ("fly", "card")]
    found["several"] = simengine.report_page(several, folder / "several.html").path
    found["card to print"] = folder / "card_itself.html"
    found["card to print"].write_text(card_html(read_netcdf(result_file("card"))), encoding="utf-8")
    return found


NAMES = ["fly", "envelope", "compare", "choose", "card", "several", "card to print"]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("name", NAMES)
def test_a_page_fits_the_screen_and_is_silent(browse, pages, name, size):
    browser = browse(**size)
    browser.complaints(), browser.foreign_requests()
    browser.open(pages[name])
    wide, screen = browser.run(SIZES)
    assert screen == size["width"]
    assert wide <= screen
    assert browser.run(CUT) == []
    assert browser.complaints() == []
    assert browser.foreign_requests() == []
    assert all(browser.run(SPOKEN))


def test_the_helper_sees_a_request_and_a_complaint(browse, tmp_path):
    """The checks above must be able to fail."""
    page = tmp_path / "bad.html"
    page.write_text(
        "<!DOCTYPE html><title>x</title><img src='http://127.0.0.1:9/x.png'>"
        "<p style='width:2000px'>wide</p><script>console.error('heard')</script>"
    )
    browser = browse(**PHONE)
    browser.open(page)
    wide, _ = browser.run(SIZES)
    assert wide > PHONE["width"]
    assert "http://127.0.0.1:9/x.png" in browser.foreign_requests()
    assert any("heard" in complaint for complaint in browser.complaints())
    assert browser.run(SPOKEN) == [""]


def test_the_policy_of_a_page_holds_even_if_a_foreign_picture_got_in(browse, pages, tmp_path):
    """Content Security Policy level 3: `default-src 'none'` with `img-src data:`."""
    page = tmp_path / "tampered.html"
    text = pages["fly"].read_text(encoding="utf-8")
    foreign = "<img alt='x' src='http://127.0.0.1:9/x.png'><script>document.title = 'run'</script>"
    page.write_text(text.replace("</header>", f"{foreign}</header>"), encoding="utf-8")
    browser = browse(**DESK)
    browser.open(page)
    assert browser.run("return document.title") != "run"
    assert any("Content Security Policy" in complaint for complaint in browser.complaints())


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_words_stand_out_by_day_and_by_night(browse, pages, dark):
    """WCAG 2.1, success criterion 1.4.3: a contrast of 4.5 at least."""
    browser = browse(**PHONE, dark=dark)
    browser.open(pages["compare"])
    ground = browser.run("return getComputedStyle(document.body).backgroundColor")
    assert (ground == "rgb(255, 255, 255)") is not dark
    assert browser.run(CONTRAST) >= 4.5


def test_a_page_needs_no_script(browse, pages, tmp_path):
    browser = browse(**DESK, scripts=False)
    off = tmp_path / "off.html"
    off.write_text("<!DOCTYPE html><title>off</title><script>document.title = 'on'</script>")
    browser.open(off)
    assert browser.ask("GET", "/title") == "off"
    browser.open(pages["fly"])
    body = browser.ask("POST", "/element", {"using": "css selector", "value": "body"})
    (element,) = body.values()
    text = browser.ask("GET", f"/element/{element}/text")
    assert CAUTIONS[1] in text
    browser.ask("POST", f"/element/{details_of(browser)}/click", {})
    assert "simengine: 1" in browser.ask("GET", f"/element/{element}/text")


def details_of(browser):
    """The part that folds the scenario away."""
    found = browser.ask("POST", "/elements", {"using": "css selector", "value": "summary"})
    (element,) = found[-1].values()
    return element


@pytest.mark.parametrize("name", ["fly", "envelope", "card to print"])
def test_a_page_prints(browse, pages, name):
    """PDF 1.7, 7.7.3.3: one object of the type Page for each page."""
    browser = browse(**DESK)
    browser.open(pages[name])
    printed = browser.pdf()
    assert printed.startswith(b"%PDF-")
    count = len(re.findall(rb"/Type\s*/Page\b", printed))
    most = {"card to print": 3}.get(name, 16)
    assert 1 <= count <= most


def test_what_is_folded_away_on_the_screen_is_printed(browse, pages):
    browser = browse(**DESK)
    browser.open(pages["fly"])
    folded = browser.run("return document.querySelector('details').getBoundingClientRect().height")
    browser.command("Emulation.setEmulatedMedia", media="print")
    opened = browser.run("return document.querySelector('details').getBoundingClientRect().height")
    browser.command("Emulation.setEmulatedMedia", media="")
    assert opened > 2.0 * folded


@pytest.fixture(scope="module")
def validation(tmp_path_factory):
    """The page that shows the model beside every open measurement."""
    path = tmp_path_factory.mktemp("validation") / "index.html"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    command = [sys.executable, str(TESTS / "published" / "validation_page.py"), str(path)]
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL)
    return path


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_validation_page_is_silent_too(browse, validation, size):
    browser = browse(**size)
    browser.complaints(), browser.foreign_requests()
    browser.open(validation)
    assert browser.complaints() == []
    assert browser.foreign_requests() == []
    assert all(browser.run(SPOKEN))
    wide, screen = browser.run(SIZES)
    assert wide <= screen
