"""A check for other programs: one JSON document, or JUnit XML for a build server."""

from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from xml.etree import ElementTree

from simengine.report.cautions import caution_list
from simengine.report.check.run import FileReport
from simengine.report.check.words import change_lines, moved_line, verdict_line
from simengine.report.document_shapes import CheckDocument, CheckedFile, Moved, VerdictEntry
from simengine.results.dataset import program_version
from simengine.results.files import write_text
from simengine.studies.check.baseline_comparison import Comparison
from simengine.studies.check.study import Check, Verdict

# XML 1.0 (W3C, fifth edition, 2.2) accepts no other characters below a space.
XML_CONTROLS = "\t\n\r"


def check_json(reports: Sequence[FileReport], code: int) -> CheckDocument:
    """Everything found, as one document."""
    return {
        "study": "check",
        "simengine": program_version(),
        "exit_code": code,
        "files": [file_document(report) for report in reports],
        "cautions": list(caution_list()),
    }


def file_document(report: FileReport) -> CheckedFile:
    """One file."""
    checked = report.check
    return {
        "path": str(report.path),
        "status": report.status,
        "error": report.error,
        "note": report.note,
        "pictures": [str(path) for path in report.pictures],
        "expectations": [verdict_document(verdict) for verdict in checked.verdicts] if checked else [],
        "moved": [comparison_document(comparison) for comparison in checked.moved] if checked else [],
        "compared": len(checked.comparisons) if checked else 0,
        "changes": list(checked.changes) if checked else [],
        "scenario_sha256": checked.scenario.sha256 if checked else None,
    }


def verdict_document(verdict: Verdict) -> VerdictEntry:
    """One agreed figure."""
    return {
        "figure": verdict.figure,
        "where": verdict.where,
        "bound": verdict.bound,
        "found": verdict.found,
        "margin": verdict.margin,
        "reason": verdict.reason,
        "passed": verdict.passed,
    }


def comparison_document(comparison: Comparison) -> Moved:
    """One thing that moved; JSON knows no infinity."""
    return {
        "group": comparison.group,
        "name": comparison.name,
        "before": comparison.before,
        "now": comparison.now,
        "share": comparison.share if isfinite(comparison.share) else None,
        "difference": comparison.difference,
        "tolerance": comparison.tolerance,
    }


def write_junit(reports: Sequence[FileReport], path: Path) -> Path:
    """Write JUnit XML, one suite a file and one case an agreed figure or a group of the baseline.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    root = ElementTree.Element("testsuites", name="simengine check")
    for report in reports:
        root.append(suite(report))
    for kind in ("tests", "failures", "errors"):
        root.set(kind, str(sum(int(child.get(kind, "0")) for child in root)))
    ElementTree.indent(root)
    write_text(path, ElementTree.tostring(root, encoding="unicode", xml_declaration=False) + "\n")
    return path


def suite(report: FileReport) -> ElementTree.Element:
    """One file."""
    element = ElementTree.Element("testsuite", name=xml_text(str(report.path)))
    checked = report.check
    if checked is None:
        case = ElementTree.SubElement(
            element, "testcase", classname=xml_text(str(report.path)), name="scenario"
        )
        told = ElementTree.SubElement(
            case, "error", message=xml_text(report.error.splitlines()[0]), type=report.status
        )
        told.text = xml_text(report.error)
    else:
        for name, failure in cases(checked):
            case = ElementTree.SubElement(
                element, "testcase", classname=xml_text(str(report.path)), name=xml_text(name)
            )
            if failure:
                told = ElementTree.SubElement(case, "failure", message=xml_text(failure.splitlines()[0]))
                told.text = xml_text("\n".join([failure, *(f"picture: {path}" for path in report.pictures)]))
    element.set("tests", str(len(element)))
    element.set("failures", str(len(element.findall("testcase/failure"))))
    element.set("errors", str(len(element.findall("testcase/error"))))
    return element


def cases(checked: Check) -> list[tuple[str, str]]:
    """Name of each case, and what fails in it."""
    found = [(verdict.name, "" if verdict.passed else verdict_line(verdict)) for verdict in checked.verdicts]
    return found + [(f"baseline: {group}", failure) for group, failure in baseline_cases(checked)]


def baseline_cases(checked: Check) -> list[tuple[str, str]]:
    """Each group of the baseline, and what moved in it."""
    groups = dict.fromkeys(comparison.group for comparison in checked.comparisons)
    return [(group, group_failure(checked, group)) for group in groups]


def group_failure(checked: Check, group: str) -> str:
    """What moved in one group of the baseline, one line each; empty if nothing did."""
    moved = [comparison for comparison in checked.moved if comparison.group == group]
    if not moved:
        return ""
    first = sorted(moved, key=lambda comparison: -comparison.share)
    return "\n".join([*(moved_line(comparison) for comparison in first), *change_lines(checked)])


def xml_text(words: str) -> str:
    """Words without the characters that XML refuses."""
    return "".join(c for c in words if c in XML_CONTROLS or (c >= " " and c not in "\ufffe\uffff"))
