from synthetic_flight import synthetic_flight

from simengine.report.flight.event_marks import (
    MOST_MARKS,
    MOST_OF_A_KIND,
    NOT_MARKED,
    WEIGHTIEST_FIRST,
    clock,
    event_lines,
    marked_events,
)
from simengine.report.flight.facts import EVENT_WORDS, event_facts
from simengine.results.catalogue import EventKind


def test_every_kind_has_words_and_a_weight():
    assert set(EVENT_WORDS) == set(EventKind)
    assert set(WEIGHTIEST_FIRST) | NOT_MARKED == set(EventKind)


def test_few_events_are_all_marked(hung_result):
    marked, left = marked_events(event_facts(hung_result))
    assert left == 0
    assert [event.time for event in marked] == sorted(event.time for event in marked)
    assert EventKind.SHIFT_HANGS in {event.kind for event in marked}


def test_a_chatter_is_thinned_out_and_counted():
    events = event_facts(synthetic_flight(extra_events=60).dataset())
    marked, left = marked_events(events)
    assert len(marked) <= MOST_MARKS
    candidates = [event for event in events if event.kind not in NOT_MARKED]
    assert len(marked) + left == len(candidates)
    limit_passed = [event for event in marked if event.kind is EventKind.RPM_LIMIT_PASSED]
    assert len(limit_passed) == MOST_OF_A_KIND
    shifts = [event for event in candidates if event.kind is EventKind.SHIFT_BEGINS]
    assert all(event in marked for event in shifts)


def test_lines_name_letter_time_and_engine_rpm(flight_result):
    marked, _ = marked_events(event_facts(flight_result))
    first = event_lines(marked)[0]
    assert first.startswith("a")
    assert "0:34.0  shift begins" in first
    assert f"{marked[0].engine_rpm:.0f} rpm" in first


def test_clock():
    assert [clock(seconds) for seconds in (0.0, 9.96, 59.97, 61.5, 3599.96, 3723.0)] == [
        "0:00.0",
        "0:10.0",
        "1:00.0",
        "1:01.5",
        "1:00:00",
        "1:02:03",
    ]
