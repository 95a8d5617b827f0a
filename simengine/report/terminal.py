"""What every command's print-out shares: where it goes, warnings in red, the caution at its end."""

import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.segment import Segment
from rich.table import Table

from simengine.errors import shown
from simengine.report.cautions import caution_text, short_caution

if TYPE_CHECKING:
    from simengine.report.flight.conclusion import Sentence

PLAIN_WIDTH = 118  # columns, where no terminal says otherwise


class PlainConsole(Console):
    """A console on which titles and file names are only shown: a terminal obeys nothing that is in them."""

    def on_broken_pipe(self) -> None:
        """Nobody reads any more: the program ends as it does for other words, not with rich's exit code 1."""
        raise

    def render(self, renderable: Any, options: Any = None) -> Iterator[Segment]:
        """Pieces of text with their style; only their ends of lines are obeyed."""
        for segment in super().render(renderable, options):
            text, style, control = segment
            if control or plain(text):
                yield segment
            else:
                yield Segment("\n".join(map(shown, text.split("\n"))), style)


def plain(text: str) -> bool:
    """Whether a terminal obeys nothing in a text but ends of lines."""
    return text.isprintable() or text.replace("\n", "").isprintable()


class Speaker:
    """Prints to standard output, words as they are, without reading markup into them.

    Colour only on a terminal, and not with NO_COLOR; piped text is not cut to a terminal's width.
    """

    def __init__(self, plain_width: int = PLAIN_WIDTH) -> None:
        self.console = PlainConsole(width=None if sys.stdout.isatty() else plain_width, highlight=False)

    def line(self, words: str, style: str = "") -> None:
        """One line."""
        self.console.print(words, style=style, markup=False)

    def lines(self, lines: Sequence[str]) -> None:
        """Several lines."""
        for words in lines:
            self.line(words)

    def block(self, heading: str, text: str) -> None:
        """A heading and lines under it; nothing if there are none."""
        if text:
            self.lines(["", heading, *(f"  {words}" for words in text.splitlines())])

    def sentences(self, sentences: "Iterable[Sentence]") -> None:
        """An answer, each sentence a line."""
        for sentence in sentences:
            mark, style = ("!! ", "bold red") if sentence.warns else ("", "")
            self.line(mark + sentence.words, style=style)

    def tables(self, tables: Iterable[Table]) -> None:
        """Tables, one under the other."""
        for table in tables:
            self.console.print(table)

    def caution(self, *, verbose: bool) -> None:
        """The caution that stands at the end of every print-out: one line, or every one of them."""
        if verbose:
            self.block("CAUTION", caution_text())
        else:
            self.lines(["", short_caution()])
