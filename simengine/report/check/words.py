"""What a check found, in words: for terminals, pictures, JUnit files and pytest alike."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.studies.check.baseline_comparison import Comparison
    from simengine.studies.check.study import Check, Verdict

MOST_CHANGES = 8


def headline(checked: "Check") -> str:
    """The outcome in one line."""
    failed, moved = len(checked.failed), len(checked.moved)
    if failed:
        of = f"{failed} of {len(checked.verdicts)} agreed figures " + ("FAIL" if failed > 1 else "FAILS")
        return f"{of}; {moved} things moved from the baseline" if moved else of
    if moved:
        return f"{count(moved, 'thing')} moved from the baseline"
    kept = f"{count(len(checked.verdicts), 'agreed figure')} kept" if checked.verdicts else ""
    same = "nothing moved from the baseline" if checked.baseline else ""
    return "; ".join(words for words in (kept, same) if words) or "flown; nothing is agreed"


def count(number: int, noun: str) -> str:
    """`1 thing`, `2 things`."""
    return f"{number} {noun}" + ("" if number == 1 else "s")


def verdict_line(verdict: "Verdict") -> str:
    """An agreed figure with what was found."""
    margin = f", {verdict.margin} of room" if verdict.margin else ""
    missed = f", missed by {verdict.margin.lstrip('-+')}" if verdict.margin else ""
    room = margin if verdict.passed else missed
    reason = f" ({verdict.reason})" if verdict.reason else ""
    return f"{verdict.name}: found {verdict.found}{room}{reason}"


def verdict_report(verdict: "Verdict") -> str:
    """An agreed figure that fails, one thing a line."""
    lines = [
        f"FAIL  {verdict.where}: {verdict.figure}",
        f"agreed: {verdict.bound}",
        f"found: {verdict.found}",
    ]
    lines += [f"missed by: {verdict.margin.lstrip('-+')}"] if verdict.margin else []
    return "\n".join([*lines, *([f"why agreed: {verdict.reason}"] if verdict.reason else [])])


def moved_line(comparison: "Comparison") -> str:
    """What moved, from what to what, against what is allowed."""
    change = f"{comparison.before} -> {comparison.now}" if comparison.before else comparison.now
    apart = ""
    if comparison.difference:
        apart = f" ({comparison.difference}; tolerance {comparison.tolerance})"
    return f"{comparison.group}: {comparison.name}: {change}{apart}"


def moved_lines(checked: "Check") -> list[str]:
    """What moved since the baseline, and what was changed, largest change of its kind first."""
    moved = sorted(checked.moved, key=lambda c: (rank(c), -c.share))
    lines = [f"moved: {moved_line(comparison)}" for comparison in moved]
    return [*change_lines(checked), *lines] if moved else []


def rank(comparison: "Comparison") -> int:
    """Figures first, traces last."""
    from simengine.studies.check.baseline_comparison import EVENTS, TRACES

    return ("phase", "envelope", EVENTS, TRACES).index(comparison.group.split()[0])


def change_lines(checked: "Check") -> list[str]:
    """What differs in the scenario and the program since the baseline was stored."""
    if not checked.changes:
        return ["changed since the baseline: nothing in the scenario or the program's version"]
    shown = list(checked.changes[:MOST_CHANGES])
    more = len(checked.changes) - len(shown)
    return [f"changed since the baseline: {change}" for change in shown] + (
        [f"changed since the baseline: and {count(more, 'more key')}"] if more else []
    )
