"""What a page is made of, as plain words and numbers: no html yet, nothing to escape twice."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from rich.table import Table
from rich.text import Text

from simengine.report.flight.conclusion import Sentence
from simengine.report.flight.table import NOTHING

NARROW = 3  # columns that fit a phone
FEW = 4  # rows that are still read one below the other


class Mark(StrEnum):
    """How a cell is set off; always beside words or signs of its own, never by colour alone."""

    PLAIN = ""
    GOOD = "good"
    BAD = "bad"
    FAINT = "faint"


@dataclass(frozen=True)
class Cell:
    """One cell of a table."""

    words: str
    mark: Mark = Mark.PLAIN

    @property
    def empty(self) -> bool:
        """Whether there is nothing to tell; such cells are left out where a row stands as a list."""
        return self.words.strip() in ("", "-", NOTHING)


@dataclass(frozen=True)
class TableBlock:
    """A table.

    `numbers` tells which columns stand to the right; `listed` whether what counts stands in its last columns,
    so that a phone must not move them out of sight.
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    numbers: tuple[bool, ...]
    listed: bool = False

    @property
    def narrow(self) -> bool:
        """Whether it fits a phone as it is."""
        return len(self.headings) <= NARROW

    @property
    def flows(self) -> bool:
        """Whether a phone shows each row as a list."""
        return not self.narrow and (self.listed or len(self.rows) <= FEW)

    @property
    def wide(self) -> bool:
        """Whether a phone moves it sideways, the first column staying."""
        return not self.narrow and not self.flows


@dataclass(frozen=True)
class WordsBlock:
    """A heading and lines under it."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class PictureBlock:
    """A picture: its name, what is drawn, what it says, and the drawing as svg.

    `narrow` is the same for a phone; empty where only the wide one comes out well.
    """

    name: str
    subject: str
    caption: Sentence
    svg: str
    narrow: str = ""


@dataclass(frozen=True)
class InputsBlock:
    """Inputs of one origin: key path, value as typed, note."""

    origin: str
    meaning: str
    rows: tuple[tuple[str, str, str], ...]

    @property
    def noted(self) -> bool:
        """Whether any of them carries a note."""
        return any(note for _, _, note in self.rows)


@dataclass(frozen=True)
class Section:
    """All of one result."""

    anchor: str
    study: str
    kind: str
    file: str
    title: str
    note: str
    question: str
    answer: tuple[Sentence, ...]
    shown: tuple[TableBlock, ...]
    pictures: tuple[PictureBlock, ...]
    tables: tuple[TableBlock, ...]
    words: tuple[WordsBlock, ...]
    inputs: tuple[InputsBlock, ...]
    inputs_of: str
    limits: tuple[str, ...]
    looked: bool
    not_checked: tuple[str, ...]
    provenance: tuple[tuple[str, str], ...]
    commands: tuple[str, ...]
    again: tuple[str, ...]
    scenario: str

    @property
    def headline(self) -> Sentence:
        """The answer in one sentence: the first that warns, else the first."""
        return next((sentence for sentence in self.answer if sentence.warns), self.answer[0])

    @property
    def unmeasured(self) -> bool:
        """Whether nobody has measured anything that went in."""
        return not any(block.origin in ("measured", "fitted") for block in self.inputs)


def table_block(table: Table, *, listed: bool = False) -> TableBlock:
    """The words of a terminal's table."""
    columns = [[cell_of(cell) for cell in column.cells] for column in table.columns]
    headings = tuple(plain_words(column.header) for column in table.columns)
    return TableBlock(
        title=plain_words(table.title or ""),
        headings=headings,
        rows=tuple(zip(*columns, strict=True)),
        numbers=tuple(column.justify == "right" for column in table.columns),
        listed=listed,
    )


def cell_of(cell: object) -> Cell:
    """Words and mark of a terminal's cell."""
    text = text_of(cell)
    style = f"{text.style} {' '.join(str(span.style) for span in text.spans)}"
    marks = {"red": Mark.BAD, "green": Mark.GOOD, "dim": Mark.FAINT}
    return Cell(text.plain, next((mark for word, mark in marks.items() if word in style), Mark.PLAIN))


def plain_words(cell: object) -> str:
    """Words without a terminal's markup."""
    return text_of(cell).plain


def text_of(cell: object) -> Text:
    """A terminal's text, its markup read."""
    return cell if isinstance(cell, Text) else Text.from_markup(str(cell))


def lines_of(text: object) -> tuple[str, ...]:
    """Lines that are not empty."""
    return tuple(line for line in str(text).splitlines() if line.strip())


def words_blocks(blocks: Sequence[tuple[str, object]]) -> tuple[WordsBlock, ...]:
    """Blocks of words that have any."""
    return tuple(WordsBlock(heading, lines) for heading, text in blocks if (lines := lines_of(text)))
