"""A picture as svg that stands inside a page: names of its own, nothing fetched, no more digits than seen."""

import io
import re
from xml.etree import ElementTree

import xarray
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from simengine.report.envelope.page import SUBJECT_LINE, TITLE_ROOM
from simengine.report.flight.conclusion import Sentence, conclusion_sentences
from simengine.report.flight.picture import HEAD_LINE, WIDTH, flight_picture, header_lines
from simengine.report.outputs import Drawer, plain_text
from simengine.report.page.blocks import PictureBlock
from simengine.report.page.narrow import WIDE, legible, narrowed, renderer_of

SVG = "http://www.w3.org/2000/svg"
LINK = "{http://www.w3.org/1999/xlink}href"
WARNS = "!! "
PLACES = frozenset({"d", "points", "x", "y", "x1", "x2", "y1", "y2"})
LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")
APART = re.compile(r"(?<![.,;: ]) {2,}")
# What is no character of XML 1.0, 2.2: the drawing takes over the words of a file as they are.
NO_LETTER = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
REFERENCE = re.compile(r"url\(#([^)]+)\)")
LISTING = "Events:"  # how the list of events begins that the page shows as a table
PANELS = "Throttle, ENGINE and PROPELLER rpm, blade angle and where the blades are, height, fuel flow"
FIXED_PANELS = "Throttle, ENGINE and PROPELLER rpm, blade angle, height, fuel flow"
DOTS_PER_INCH = 144
CAPTION_ROOM = 0.05  # a caption begins so far below the panels [in]


def picture_block(name: str, draw: Drawer, dataset: xarray.Dataset, prefix: str) -> PictureBlock:
    """Draw a picture that lies on a sheet, without the words that the page itself says.

    Parameters
    ----------
    name : str
        What it is called.
    draw : callable
        Its drawer; its sheet carries title, subject, caption and footer in this order.
    dataset : xarray.Dataset
        The result.
    prefix : str
        Put before every name within the drawing, so that pictures of one page do not mix.
    """
    with plain_text():
        figure = draw(dataset)
        title, subject, caption, footer = figure.texts[:4]
        told, words = subject.get_text(), caption.get_text().replace("\n", " ")
        wide, tall = figure.get_size_inches()
        low = caption.get_position()[1] * tall + CAPTION_ROOM
        high = tall - TITLE_ROOM - SUBJECT_LINE * len(told.splitlines())
        for text in (title, subject, caption, footer):
            text.remove()
        svg = svg_of(figure, Bbox([[0.0, low], [wide, high + 0.12]]))
        narrow = svg_of(figure, whole(figure)) if narrowed(figure) else ""
    sentence = Sentence(words.removeprefix(WARNS), words.startswith(WARNS))
    return block_of(name, told.replace("\n", " "), sentence, (svg, narrow), prefix)


def flight_block(dataset: xarray.Dataset, prefix: str) -> PictureBlock:
    """Draw a flight without title, conclusion and list of events: the page tells these itself."""
    sentences = conclusion_sentences(dataset)
    with plain_text():
        svg, narrow = (flight_svg(dataset, sentences, wide) for wide in (WIDTH, WIDE))
    panels = FIXED_PANELS if str(dataset.attrs["hub_kind"]) == "fixed" else PANELS
    caption = next((sentence for sentence in sentences if sentence.warns), sentences[0])
    subject = f"{panels}, all over time, with the events marked by letters"
    return block_of("flight", subject, caption, (svg, narrow), prefix)


def flight_svg(dataset: xarray.Dataset, sentences: list[Sentence], wide: float) -> str:
    """The panels of a flight on a sheet so wide [in]; nothing if it is narrow and words would touch."""
    figure = flight_picture(dataset, wide)
    tall = figure.get_figheight()
    listing = next(text for text in figure.texts if text.get_text().startswith(LISTING))
    low = listing.get_position()[1] * tall + 0.05
    high = tall - 0.5 - HEAD_LINE * len(header_lines(sentences))
    for text in list(figure.texts):
        text.remove()
    if wide < WIDTH:
        figure.draw_without_rendering()
        if not legible(figure, renderer_of(figure)):
            return ""
    return svg_of(figure, Bbox([[0.0, low], [wide, high]]))


def whole(figure: Figure) -> Bbox:
    """All of a figure [in]."""
    wide, tall = figure.get_size_inches()
    return Bbox([[0.0, 0.0], [wide, tall]])


def block_of(name: str, subject: str, caption: Sentence, drawn: tuple[str, str], prefix: str) -> PictureBlock:
    """A drawing, wide and narrow, made ready for a page."""
    told = spaced(subject)
    named = {"role": "img", "aria-label": f"Picture. {told} It shows: {caption.words}"}
    ready = []
    for svg, own in zip(drawn, (prefix, f"{prefix}n"), strict=True):
        if svg:
            root = ElementTree.fromstring(NO_LETTER.sub("\N{REPLACEMENT CHARACTER}", svg))
            root.attrib |= named
        ready.append(embedded(root, own) if svg else "")
    return PictureBlock(name, told, caption, *ready)


def spaced(words: str) -> str:
    """A sentence with its full stop; what stood apart on the sheet is parted by commas."""
    words = re.sub(" +", " ", APART.sub(", ", words.strip()))
    return words if words.endswith((".", "!", "?", ":")) else f"{words}."


def svg_of(figure: Figure, box: Bbox) -> str:
    """The part of a figure within a box [in], as svg; maps as an image within it."""
    file = io.StringIO()
    figure.savefig(
        file, format="svg", bbox_inches=box, pad_inches=0.0, dpi=DOTS_PER_INCH, metadata={"Date": None}
    )
    return file.getvalue()


def embedded(root: ElementTree.Element, prefix: str) -> str:
    """The drawing as an element of html: sizes and style are those of the page."""
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.endswith(("metadata", "style")):
                parent.remove(child)
    used = {name for element in root.iter() for name in names_used(element)}
    for element in root.iter():
        rename(element, used, prefix)
    for size in ("width", "height", "version"):
        root.attrib.pop(size, None)
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", LINK[1 : LINK.index("}")])
    return ElementTree.tostring(root, encoding="unicode")


def names_used(element: ElementTree.Element) -> set[str]:
    """Names of other elements that an element points to."""
    found = {element.attrib[LINK][1:]} if element.attrib.get(LINK, "").startswith("#") else set()
    for value in element.attrib.values():
        found.update(REFERENCE.findall(value))
    return found


def rename(element: ElementTree.Element, used: set[str], prefix: str) -> None:
    """Give the names within one element a prefix, drop those that nothing points to, shorten numbers."""
    for key, value in list(element.attrib.items()):
        if key == "id" and value not in used:
            del element.attrib[key]
        elif key == "id":
            element.attrib[key] = f"{prefix}{value}"
        elif key == LINK and value.startswith("#"):
            element.attrib[key] = f"#{prefix}{value[1:]}"
        elif key in PLACES:
            element.attrib[key] = LONG_NUMBER.sub(lambda found: f"{float(found.group()):.2f}", value)
        else:
            element.attrib[key] = REFERENCE.sub(lambda found: f"url(#{prefix}{found.group(1)})", value)
