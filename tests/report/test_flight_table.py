import io
import json
from dataclasses import replace
from math import nan

import pytest
from rich.console import Console
from synthetic_flight import synthetic_flight

from simengine.report.flight.table import flight_table, outcome_lines, summary_json
from simengine.results.catalogue import PHASES, PitchState
from simengine.results.cautions import CAUTIONS


def flight_text(dataset, width=118):
    """The tables as plain text, without colour."""
    text = io.StringIO()
    console = Console(file=text, width=width, color_system=None, force_terminal=False)
    for table in flight_table(dataset):
        console.print(table)
    lines = [line.rstrip() for line in text.getvalue().splitlines()]
    return "\n".join([*lines, *outcome_lines(dataset), ""])


def row_of(text, phase):
    """The first row of a phase, in the first table."""
    return next(line for line in text.splitlines() if line.strip().startswith(phase))


def test_a_two_stop_hub_has_a_table_of_its_shift(flight_result):
    text = flight_text(flight_result)
    assert "Shift and return: ENGINE rpm" in text
    row = row_of(text, "ground run").split()
    expected = ("shift_begin_rpm", "shift_finish_rpm", "return_begin_rpm", "return_finish_rpm")
    assert row[2:6] == [f"{flight_result[name].values[0]:.0f}" for name in expected]
    assert row[-2:] == ["+1.90", "coarse"]


def test_what_did_not_happen_is_told_in_words(hung_result):
    text = flight_text(hung_result)
    assert "nan" not in text.lower()
    assert "hangs at" in row_of(text, "climb")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"shift_finish_speed": nan}, "did not finish"),
        (
            {
                "shift_begin_speed": nan,
                "shift_finish_speed": nan,
                "initial_pitch_state": PitchState.COARSE,
                "final_pitch_state": PitchState.COARSE,
            },
            "did not begin",
        ),
        ({"return_begin_speed": 600.0}, "did not finish"),
    ],
)
def test_each_way_of_failing_has_its_words(changes, words):
    flight = synthetic_flight()
    phases = (flight.phases[0], replace(flight.phases[1], **changes), flight.phases[2])
    text = flight_text(replace(flight, phases=phases).dataset(), width=200)
    assert words in row_of(text, "climb")


def test_a_fixed_hub_shows_no_shift():
    dataset = synthetic_flight(hub_kind="fixed").dataset()
    assert len(flight_table(dataset)) == 1
    assert "shift" not in flight_text(dataset)


def test_plain_text_is_plain(flight_result):
    text = flight_text(flight_result)
    assert "\x1b" not in text
    assert "…" not in text
    assert max(map(len, text.splitlines())) <= 118


def test_the_document_has_the_names_and_units_of_the_file(hung_result):
    document = summary_json(hung_result)
    assert document["simengine_result"] == 1
    assert set(document["phases"][0]) == {variable.name for variable in PHASES}
    assert document["units"]["shift_begin_rpm"] == "rpm"
    assert document["phases"][1]["shift_finish_rpm"] is None
    assert document["phases"][1]["final_pitch_state"] == "hung"
    assert "shift_hangs" in {event["event_kind"] for event in document["events"]}
    assert document["cautions"] == list(CAUTIONS)
    assert document["defaults_used"][0].startswith("installation.inflow_factor")
    assert json.loads(json.dumps(document, allow_nan=False)) == document
