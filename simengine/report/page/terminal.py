"""What a page says, in short, on the terminal."""

from simengine.report.page.run import ReportPage
from simengine.report.terminal import Speaker


def print_page(page: ReportPage, *, quiet: bool = False) -> None:
    """Print title and answer of every result; the caution is always part of it."""
    say = Speaker()
    for place, section in enumerate(page.sections):
        if place:
            say.line("")
        say.line(f"{section.kind}: {section.title}", style="bold")
        if not quiet:
            say.line(section.question)
        say.sentences(section.answer)
    say.caution(verbose=False)
