"""The page as one document of stable keys: what it says, without its drawings."""

from collections.abc import Sequence

from simengine.report.cautions import caution_list
from simengine.report.document_shapes import PageDocument, PageInput, PageResult, PageTable
from simengine.report.flight.table import DOCUMENT_VERSION
from simengine.report.page.blocks import Section, TableBlock


def page_json(title: str, sections: Sequence[Section], path: str) -> PageDocument:
    """Title, file, and one entry a result."""
    return {
        "simengine_result": DOCUMENT_VERSION,
        "study": "report",
        "title": title,
        "page": path,
        "results": [section_json(section) for section in sections],
        "cautions": list(caution_list()),
    }


def section_json(section: Section) -> PageResult:
    """One result."""
    return {
        "kind": section.study,
        "file": section.file,
        "title": section.title,
        "question": section.question,
        "conclusion": " ".join(sentence.words for sentence in section.answer),
        "warnings": [sentence.words for sentence in section.answer if sentence.warns],
        "tables": [table_json(table) for table in (*section.shown, *section.tables)],
        "pictures": [
            {"name": picture.name, "subject": picture.subject, "caption": picture.caption.words}
            for picture in section.pictures
        ],
        "words": {block.heading: list(block.lines) for block in section.words},
        "inputs": {block.origin: [input_json(*row) for row in block.rows] for block in section.inputs},
        "model_limits": list(section.limits),
        "not_checked": list(section.not_checked),
        "provenance": dict(section.provenance),
        "commands": list(section.commands),
        "again": list(section.again),
    }


def input_json(path: str, value: str, note: str) -> PageInput:
    """One input; a note only if there is one."""
    return {"key": path, "value": value, "note": note} if note else {"key": path, "value": value}


def table_json(table: TableBlock) -> PageTable:
    """A table in words, as the page shows it."""
    return {
        "title": table.title,
        "headings": list(table.headings),
        "rows": [[cell.words for cell in row] for row in table.rows],
    }
