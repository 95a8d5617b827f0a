"""Which events a picture marks, and the list beside it."""

from string import ascii_lowercase

from simengine.report.flight.facts import EventFacts
from simengine.results.catalogue import EventKind

MOST_MARKS = 20
MOST_OF_A_KIND = 3  # in one phase; a chatter of one kind tells no more by being marked throughout

# Phase boundaries are drawn as such. The rest in the order in which they give way.
NOT_MARKED = frozenset({EventKind.PHASE_BEGINS, EventKind.PHASE_ENDS})
WEIGHTIEST_FIRST: tuple[EventKind, ...] = (
    EventKind.SHIFT_HANGS,
    EventKind.CEILING,
    EventKind.FUEL_EMPTY,
    EventKind.GROUND_REACHED,
    EventKind.SHIFT_BEGINS,
    EventKind.SHIFT_FINISHES,
    EventKind.RETURN_BEGINS,
    EventKind.RETURN_FINISHES,
    EventKind.RPM_LIMIT_PASSED,
    EventKind.FUEL_RESERVE,
    EventKind.OUT_OF_TIME,
    EventKind.HEIGHT_REACHED,
    EventKind.DISTANCE_REACHED,
    EventKind.ENGINE_TABLE_LEFT,
    EventKind.RPM_LIMIT_REGAINED,
    EventKind.ENGINE_TABLE_REGAINED,
)


def marked_events(events: list[EventFacts]) -> tuple[list[EventFacts], int]:
    """Events to mark, in the order of time, and how many more are not marked.

    The first of its kind in a phase goes before a repetition, a weighty kind before a light one.
    """
    candidates = [event for event in events if event.kind not in NOT_MARKED]
    seen: dict[tuple[int, EventKind], int] = {}
    ranks: list[tuple[bool, int, int, int]] = []
    for place, event in enumerate(candidates):
        repetition = seen.get((event.phase, event.kind), 0)
        seen[event.phase, event.kind] = repetition + 1
        ranks.append((repetition > 0, WEIGHTIEST_FIRST.index(event.kind), repetition, place))
    eligible = sorted(rank for rank in ranks if rank[2] < MOST_OF_A_KIND)
    kept = sorted(rank[-1] for rank in eligible[:MOST_MARKS])
    return [candidates[place] for place in kept], len(candidates) - len(kept)


def event_lines(events: list[EventFacts]) -> list[str]:
    """One line an event: letter, time, what, engine rpm, height."""
    return [
        f"{letter}  {clock(event.time):>8}  {event.words:<24} {event.engine_rpm:>5.0f} rpm  "
        f"{event.height:>5.0f} m"
        for letter, event in zip(ascii_lowercase, events, strict=False)
    ]


def clock(seconds: float) -> str:
    """`m:ss.s` below an hour, `h:mm:ss` above."""
    tenths = round(10 * seconds)
    if tenths < 36000:
        return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"
    whole = round(seconds)
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d}"
