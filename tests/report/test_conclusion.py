from dataclasses import replace
from math import nan

import pytest
from synthetic_flight import event, synthetic_flight

from simengine.constants import RPM
from simengine.report.flight.conclusion import PHASES_TOLD, conclusion_sentences, flight_conclusion
from simengine.results.catalogue import EventKind, PitchState


def with_phase(index, events=None, **changes):
    """The synthetic flight with one phase's figures changed; rotation in rpm here."""
    flight = synthetic_flight()
    changes = {name: value * RPM if name.endswith("_speed") else value for name, value in changes.items()}
    phases = list(flight.phases)
    phases[index] = replace(phases[index], **changes)
    return replace(flight, phases=tuple(phases), events=flight.events if events is None else events)


def told(flight, words):
    """The sentence that holds some words."""
    return next(s for s in conclusion_sentences(flight.dataset()) if words in s.words)


def test_a_flight_in_which_all_goes_well():
    changes = {
        "shift_begin_speed": 5480.0,
        "shift_finish_speed": 7020.0,
        "full_throttle_speed": 7600.0,
        "shift_margin_speed": 580.0,
        "shift_margin_moment": 1.9,
        "return_begin_speed": 6100.0,
        "return_finish_speed": 4200.0,
    }
    sentence = told(with_phase(0, **changes), "On the ground")
    assert sentence.words == (
        "On the ground the shift begins at 5480 and finishes at 7020 engine rpm, 580 rpm below the "
        "full-throttle 7600 (+1.90 N m per blade); the return begins at 6100 and finishes at 4200."
    )
    assert not sentence.warns


def test_fuel_and_time_close_the_conclusion(flight_result):
    litres = float(flight_result["phase_fuel_volume"].sum())
    assert flight_conclusion(flight_result).endswith(f"Used {litres:.2f} L in 62 min.")


def test_a_hang_is_told_with_its_angle_and_warned_of(hung_result):
    sentence = next(s for s in conclusion_sentences(hung_result) if "In the climb" in s.words)
    angle = hung_result["event_blade_angle"].values[hung_result["event_kind"].values == 6][0]
    assert f"HANGS at {angle:.1f}°, between coarse 15.0° and fine 10.5°: it does not finish" in sentence.words
    assert sentence.warns


def test_a_shift_that_does_not_finish_is_never_told_as_nan():
    flight = with_phase(1, shift_finish_speed=nan, shift_margin_speed=nan)
    sentence = told(flight, "In the climb")
    assert "does NOT finish" in sentence.words
    assert sentence.warns
    assert "nan" not in flight_conclusion(flight.dataset())


def test_a_shift_that_does_not_begin_at_full_throttle_is_told():
    flight = with_phase(
        1,
        shift_begin_speed=nan,
        shift_finish_speed=nan,
        shift_margin_speed=nan,
        initial_pitch_state=PitchState.COARSE,
        final_pitch_state=PitchState.COARSE,
    )
    sentence = told(flight, "In the climb")
    assert "does NOT begin; full throttle gives" in sentence.words
    assert sentence.warns


def test_a_negative_margin_is_called_above_and_warned_of():
    changes = {"shift_finish_speed": 7120.0, "full_throttle_speed": 7000.0, "shift_margin_speed": -120.0}
    sentence = told(with_phase(1, **changes), "In the climb")
    assert "120 rpm ABOVE the full-throttle 7000" in sentence.words
    assert sentence.warns


def test_a_return_that_does_not_finish_is_told_with_its_angle():
    flight = with_phase(2, return_finish_speed=nan, final_blade_angle=0.2)
    sentence = told(flight, "In the cruise")
    assert "but does NOT finish, the phase ends at 11.5°" in sentence.words  # 0.2 rad = 11.459 deg
    assert sentence.warns


def test_blades_not_home_at_the_end_are_told():
    assert told(
        with_phase(2, final_pitch_state=PitchState.FINE), "At the end the blades are on the fine stop"
    )
    hung = told(with_phase(2, final_pitch_state=PitchState.HUNG), "At the end the blades are HUNG")
    assert hung.warns


def test_a_passed_engine_limit_is_told():
    sentence = told(with_phase(1, highest_engine_speed=8150.0), "PASSES its limit")
    assert sentence.words == "The engine PASSES its limit of 8000 rpm by 150 rpm in the climb."
    assert sentence.warns


def test_a_ceiling_is_told_in_the_words_of_the_flight():
    flight = synthetic_flight()
    ceiling = event(flight.traces, 1000.0, EventKind.CEILING, 1)
    flight = with_phase(1, events=(*flight.events, ceiling), outcome="ended at its ceiling, 2310 m")
    assert told(flight, "In the climb: ended at its ceiling, 2310 m.").warns


def test_a_fixed_hub_has_no_shift_to_tell():
    words = flight_conclusion(synthetic_flight(hub_kind="fixed").dataset())
    assert words.startswith("Fixed blades: at full throttle ENGINE rpm is ")
    assert "shift" not in words


def test_phases_of_one_kind_are_told_by_name():
    flight = with_phase(1, kind="ground_run", name="second run")
    assert told(flight, "In 'second run' the shift begins")


def test_of_many_phases_those_that_warn_are_told_first():
    flight = synthetic_flight()
    good, bad = flight.phases[0], replace(flight.phases[0], name="bad one", return_finish_speed=nan)
    flight = replace(flight, phases=(*[good] * 6, bad), events=())
    sentences = conclusion_sentences(flight.dataset())
    assert sum("the shift begins" in sentence.words for sentence in sentences) == PHASES_TOLD
    assert any("bad one" in sentence.words for sentence in sentences)
    assert any(sentence.words == "More phases in which the blades moved: 3." for sentence in sentences)


@pytest.mark.parametrize("hub_kind", ["two_stop", "fixed", "two_stop_selected", "governed"])
def test_every_conclusion_is_one_text_without_nan(hub_kind):
    words = flight_conclusion(synthetic_flight(hub_kind=hub_kind).dataset())
    assert "nan" not in words
    assert words.endswith("min.")


def test_a_margin_shrunk_by_thinner_air_is_told_apart_from_the_finish():
    changes = {"shift_finish_speed": 7000.0, "full_throttle_speed": 7600.0, "shift_margin_speed": 210.0}
    words = told(with_phase(1, **changes), "In the climb").words
    assert (
        "finishes at 7000 engine rpm; at the end of full throttle (7600 rpm) the shift margin is 210 rpm"
        in words
    )


def test_a_margin_used_up_by_thinner_air_is_warned_of():
    changes = {"shift_finish_speed": 7000.0, "full_throttle_speed": 7600.0, "shift_margin_speed": -90.0}
    sentence = told(with_phase(1, **changes), "In the climb")
    assert "at the end of full throttle (7600 rpm) the shift would LACK 90 rpm" in sentence.words
    assert sentence.warns
