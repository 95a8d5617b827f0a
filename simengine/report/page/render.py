"""From sections to html."""

from collections.abc import Sequence
from importlib.resources import files

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from simengine.report.cautions import caution_list, short_caution
from simengine.report.page.blocks import Section
from simengine.report.page.drawings import NO_LETTER
from simengine.results.dataset import program_version

HOME = "simengine.report.page"


def page_html(title: str, sections: Sequence[Section], command: str) -> str:
    """The page: self-contained, without scripts, every word of a file escaped."""
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    text = environment.from_string(own_text("page.html.j2")).render(
        title=title,
        sections=sections,
        single=len(sections) == 1,
        style=Markup(own_text("page.css")),  # ours
        drawing=Markup,  # drawn here; its words were escaped when it was written as svg
        caution=short_caution().removeprefix("CAUTION. "),
        cautions=caution_list(),
        version=program_version(),
        command=command,
    )
    return NO_LETTER.sub("\N{REPLACEMENT CHARACTER}", text)


def own_text(name: str) -> str:
    """Text of a file of this package."""
    return files(HOME).joinpath(name).read_text(encoding="utf-8")
