import json

import numpy as np
import pytest
from synthetic_envelope import CHANGES, FINISH_AT_SEA, synthetic_envelope

from simengine.report.envelope.captions import heights_caption, moments_caption, states_caption, sweep_caption
from simengine.report.envelope.document import envelope_json
from simengine.report.envelope.facts import own, ranked_changes, state_bands
from simengine.report.envelope.terminal import print_envelope
from simengine.report.envelope.text import envelope_conclusion, envelope_sentences
from simengine.results.catalogue import PitchState
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.envelope_catalogue import COORDINATES, TABLES


def with_values(dataset, **values):
    """The same dataset with some variables set to one value."""
    changed = dataset.copy(deep=True)
    for name, value in values.items():
        if isinstance(value, str):
            changed[name] = changed[name].astype(object)  # room for a longer text
        changed[name][...] = value
    return changed


def one_line(text):
    return " ".join(text.split())


def test_the_made_up_envelope_has_the_names_and_dimensions_of_the_catalogue():
    dataset = synthetic_envelope()
    for dimensions, table in TABLES:
        for variable in table:
            assert dataset[variable.name].dims == dimensions, variable.name
            if variable.stored == "number":
                assert dataset[variable.name].attrs["units"] == variable.units, variable.name
    stored = {variable.name for _, table in TABLES for variable in table}
    assert {str(name) for name in dataset.data_vars} == stored
    assert {str(name) for name in dataset.coords} == {variable.name for variable in COORDINATES}


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("always", "YES: the shift finishes below the full-throttle rpm at every height up to 5000 m"),
        ("ceiling", "ONLY UP TO 3750 m (density altitude 3960 m) does the shift finish"),
        ("never", "NO: the shift finishes at no height up to 5000 m"),
    ],
)
def test_the_question_is_answered_first(kind, words):
    first = envelope_sentences(synthetic_envelope(kind))[0]
    assert first.words.startswith(words)
    assert first.warns is (kind != "always")


def test_stall_angle_cause_and_fix_follow():
    words = envelope_conclusion(synthetic_envelope())
    assert (
        "the blades HANG at 10.1° at 3875 m and 10.8° at 5000 m (coarse stop 14.0°, fine stop 10.0°)" in words
    )
    assert "Limiting cause: the air's twist" in words
    best = max(CHANGES, key=CHANGES.__getitem__)
    assert f"What one change fixes it: {best} lifts the ceiling by 1130 m to 4880 m" in words
    assert "so it CAN fly into the 125 m above the shift ceiling" in words
    assert "The lowest shift ceiling computed is 3536 m, at 118 kg all-up, trim" in words


def test_a_ceiling_that_the_machine_does_not_reach_is_no_warning():
    dataset = with_values(synthetic_envelope(), service_ceiling=3000.0)
    sentences = envelope_sentences(dataset)
    assert not sentences[0].warns
    assert "climbs (0.5 m/s) only up to 3000 m and does not get that high" in envelope_conclusion(dataset)


def test_a_ceiling_above_the_heights_computed_is_still_told():
    dataset = with_values(synthetic_envelope("always"), shift_ceiling=5055.0, limiting_cause="power falls")
    words = envelope_conclusion(dataset)
    assert words.startswith("YES")
    assert "the SHIFT CEILING is 5055 m" in words
    assert "Limiting cause: the engine's power falls with height" in words


def test_blades_that_never_leave_the_coarse_stop_are_told_so():
    dataset = with_values(synthetic_envelope("never"), full_throttle_pitch_state=0)
    assert "the blades stay on the coarse stop (14.0°) at full throttle" in envelope_conclusion(dataset)


def test_a_machine_that_does_not_climb_is_told_so():
    dataset = with_values(synthetic_envelope(), service_ceiling=np.nan, climb_rate=0.2)
    assert "the machine climbs only 0.2 m/s" in envelope_conclusion(dataset)


def test_engine_past_its_limit_is_a_warning():
    dataset = with_values(synthetic_envelope("always"), engine_rpm_limit=8000.0)
    told = [sentence for sentence in envelope_sentences(dataset) if "PASSES its limit" in sentence.words]
    assert told[0].warns
    assert "of 8000 rpm by up to 250 rpm, between 0 and 1500 m" in told[0].words


def test_a_hub_without_a_shift_says_so():
    words = envelope_conclusion(synthetic_envelope(hub_kind="fixed"))
    assert words.startswith("This hub has no shift of its own")
    assert "nan" not in words


def test_changes_are_ranked_and_what_leaves_the_search_comes_first():
    dataset = synthetic_envelope()
    assert [change.gain for change in ranked_changes(dataset)] == sorted(CHANGES.values(), reverse=True)
    row = list(CHANGES).index("friction halved")
    dataset["change_gain"][row] = dataset["change_shift_ceiling"][row] = np.nan
    dataset["change_words"] = dataset["change_words"].astype(object)
    dataset["change_words"][row] = "finishes above 8000 m"
    assert ranked_changes(dataset)[0].name == "friction halved"
    assert "What one change fixes it: friction halved (finishes above 8000 m)" in envelope_conclusion(dataset)


def test_bands_of_height_meet_at_the_shift_ceiling():
    bands = state_bands(own(synthetic_envelope()))
    assert [state for *_, state in bands] == [PitchState.FINE, PitchState.HUNG]
    assert bands[0][1] == bands[1][0] == pytest.approx(3750.0)
    assert (bands[0][0], bands[1][1]) == (0.0, 5000.0)


@pytest.mark.parametrize("kind", FINISH_AT_SEA)
@pytest.mark.parametrize("caption", [heights_caption, states_caption, moments_caption, sweep_caption])
def test_a_caption_is_one_sentence(kind, caption):
    words = caption(synthetic_envelope(kind)).words
    assert words.endswith(".")
    assert ". " not in words
    assert "nan" not in words


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.18, "82 % of the moment that finishes the shift does not depend on the air's density"),
        (-0.1, "the air OPPOSES it by 10 %"),
        (np.nan, "no share of the air can be given"),
    ],
)
def test_the_share_that_density_does_not_touch_is_told(share, words):
    dataset = with_values(synthetic_envelope(), budget_air_share=share)
    assert words in moments_caption(dataset).words


def test_the_loop_is_told():
    dataset = synthetic_envelope()
    words = sweep_caption(dataset).words
    assert "moves the blades fine between 62 and 74 %" in words
    assert "brings them back between 62 and 50 %" in words
    assert sweep_caption(with_values(dataset, sweep_blade_angle_closing=10.0)).warns
    assert (
        "do not leave their stop" in sweep_caption(with_values(dataset, sweep_blade_angle_opening=14.0)).words
    )


# --- terminal and document -------------------------------------------------------------------------
def test_the_terminal_shows_question_tables_words_and_caution(capsys):
    print_envelope(synthetic_envelope())
    out = capsys.readouterr().out
    assert "Does the shift finish below the full-throttle rpm at every height?" in out
    for heading in (
        "Shift in the full-throttle climb, 133 kg all-up, trim: ENGINE rpm",
        "Climb at full throttle and level flight",
        "Standing on the ground at that height",
        "Ceilings",
        "What one change does to the shift ceiling",
        "Balances of rotor and blades:",
        "Limits of the model that were met:",
    ):
        assert heading in out
    assert "hunts at 40 % throttle" in out
    assert "133 kg, trim: finishes up to 3750 m" in one_line(out.replace(" all-up", ""))
    assert SHORT_CAUTION in one_line(out)
    assert "nan" not in out
    assert "\x1b" not in out
    assert max(map(len, out.splitlines())) <= 118


def test_figures_of_the_table_are_those_of_the_dataset(capsys):
    dataset = synthetic_envelope()
    print_envelope(dataset)
    row = next(line for line in capsys.readouterr().out.splitlines() if line.startswith(" 3000"))
    point = dataset.sel(height=3000.0, mass=133.0, bar=0.0).isel(temperature_offset=0)
    names = ("density_altitude", "shift_begin_rpm", "shift_finish_rpm", "full_throttle_rpm")
    assert row.split()[1:5] == [f"{float(point[name]):.0f}" for name in names]
    assert row.split()[5:8] == ["+210", "+0.63", "fine"]


def test_quiet_keeps_answer_and_caution_only(capsys):
    print_envelope(synthetic_envelope(), quiet=True)
    out = capsys.readouterr().out
    assert "ONLY UP TO 3750 m" in out
    assert "Ceilings" not in out
    assert SHORT_CAUTION in one_line(out)


def test_verbose_prints_every_caution(capsys):
    print_envelope(synthetic_envelope(), verbose=True)
    out = one_line(capsys.readouterr().out)
    assert all(caution in out for caution in CAUTIONS)
    assert "installation.inflow_factor: 0.85" in out


def test_a_hub_without_a_shift_has_no_table_of_it(capsys):
    print_envelope(synthetic_envelope(hub_kind="fixed"))
    out = capsys.readouterr().out
    assert "Climb at full throttle and level flight" in out
    assert "shift begins" not in out
    assert "Does the shift finish" not in out
    assert "nan" not in out


@pytest.mark.parametrize("hub_kind", ["two_stop", "fixed"])
def test_the_document_is_plain_json_with_units_and_cautions(hub_kind):
    dataset = synthetic_envelope(hub_kind=hub_kind)
    document = envelope_json(dataset)
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    assert document["cautions"] == list(CAUTIONS)
    assert document["units"]["shift_ceiling"] == "m"
    assert document["dimensions"]["shift_finish_rpm"] == ["temperature_offset", "mass", "bar", "height"]
    assert np.shape(document["figures"]["full_throttle_rpm"]) == (1, 3, 2, 41)
    assert document["figures"]["full_throttle_pitch_state"][0][1][0][0] == "fine"
    assert document["own"] == {"mass": 133.0, "bar": 0.0}
    assert document["finishes_at_every_height"] is (False if hub_kind == "two_stop" else None)


def test_no_ceiling_is_null_in_the_document():
    assert envelope_json(synthetic_envelope("never"))["figures"]["shift_ceiling"] == [[[None] * 2] * 3]
