"""A first scenario: whatever a maker answers within the ranges loads; what was given stays, the rest fits."""

from itertools import product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from simengine.constants import DEGREE, RPM
from simengine.scenario import load_scenario, load_variants
from simengine.scenario.first_questions import AnswerError, questions
from simengine.scenario.first_scenario import first_scenario, read_engine, settled

ENGINE = Path(__file__).parents[2] / "scenarios" / "parts" / "engines" / "single_130_15kw.yaml"


def loaded(folder, **typed):
    """The scenario of some answers, with its variants, read back."""
    path = folder / "mine.yaml"
    path.write_text(first_scenario("mine", settled(typed)), encoding="utf-8")
    return load_variants(path)


def test_without_answers_it_is_the_starter_machine(tmp_path):
    from importlib.resources import files

    starter = load_scenario(str(files("simengine.scenario").joinpath("starter.yaml"))).record
    record = loaded(tmp_path)["mine"].record
    assert record.model_dump(exclude={"title"}) == starter.model_dump(exclude={"title"})


GRID = list(
    product(
        ("55 kg", "130 kg"),
        (("8 kW", "9500 rpm"), ("19.4 kW", "7800 rpm"), ("32 kW", "5500 rpm")),
        ("2", "3"),
        (None, "1000 mm", "1500 mm"),
        ("0", "20"),
    )
)


@pytest.mark.parametrize(("pilot", "engine", "blades", "diameter", "washers"), GRID)
def test_sensible_answers_load(tmp_path, pilot, engine, blades, diameter, washers):
    typed = {"pilot": pilot, "power": engine[0], "power_rpm": engine[1], "blades": blades, "washers": washers}
    scenarios = loaded(tmp_path, **typed, **({"diameter": diameter} if diameter else {}))
    assert list(scenarios) == ["mine", "one_washer_more" if washers == "0" else "one_washer_less", "bolted"]


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_whatever_is_answered_within_the_ranges_loads(tmp_path, data):
    """Each question is answered anywhere between its ends, or left out."""
    typed, values = {}, {}
    for question in questions():
        low, high = (question.in_unit(bound(values)) for bound in (question.lowest, question.highest))
        if data.draw(st.booleans(), label=f"answer {question.name}"):
            number = data.draw(st.integers(int(low), int(high)) if question.whole else st.floats(low, high))
            typed[question.name] = f"{number!r} {question.unit}".strip()
        values[question.name], _ = question.read(
            typed.get(question.name, question.default_text(values)), values
        )
    loaded(tmp_path, **typed)


def test_what_was_given_stands_there_as_typed_and_marked():
    text = first_scenario("mine", settled({"pilot": "210 lb", "washers": "4", "preload": "2 mm"}))
    marked = [line.split(":")[0].strip() for line in text.splitlines() if "# [yours" in line]
    assert marked == ["pilot", "fitted_length", "washers"]
    assert "pilot: 210 lb " in text
    assert "washers: 4 " in text
    assert "fitted_length: 42 mm " in text


def test_origins_tell_given_from_invented(tmp_path):
    scenario = loaded(tmp_path, pilot="95 +- 1 kg, measured", diameter="51 in")["mine"]
    assert scenario.origins["masses.pilot"].mark == "measured"
    assert scenario.origins["propeller.diameter"].mark is None
    assert scenario.record.propeller.diameter == pytest.approx(51 * 0.0254)
    for path in (
        "masses.machine",
        "hub.spring.rate",
        "drive.reduction",
        "engine.curve",
        "propeller.stations",
    ):
        assert scenario.origins[path].mark == "assumed", path


def test_a_number_alone_is_taken_in_the_unit_shown(tmp_path):
    record = loaded(tmp_path, pilot="88", diameter="1250", coarse="15")["mine"].record
    assert record.masses.pilot == 88.0
    assert record.propeller.diameter == 1.25
    assert record.hub.coarse_stop == pytest.approx(15 * DEGREE)


def test_the_engine_gives_the_power_at_the_speed_asked_for(tmp_path):
    curve = loaded(tmp_path, power="15 kW", power_rpm="8600 rpm")["mine"].record.engine.curve
    powers = [speed * torque for speed, torque in zip(curve.engine_speed, curve.torque, strict=True)]
    best = powers.index(max(powers))
    assert max(powers) == pytest.approx(15e3, rel=2e-3)  # torque is written with four digits
    assert curve.engine_speed[best] == pytest.approx(8600 * RPM, rel=1e-4)


def test_a_larger_propeller_keeps_its_shape(tmp_path):
    small, large = (
        loaded(tmp_path, diameter=d)["mine"].record.propeller.stations for d in ("1300 mm", "1560 mm")
    )
    for a, b in zip(small.chord, large.chord, strict=True):
        assert b == pytest.approx(1.2 * a, rel=0.01)  # written with three digits
    for a, b in zip(small.mass_per_length, large.mass_per_length, strict=True):
        assert b == pytest.approx(1.44 * a, rel=0.01)
    assert large.blade_angle == small.blade_angle


def test_a_part_stands_in_place_of_the_engine(tmp_path):
    (tmp_path / "engine.yaml").write_text(ENGINE.read_text(encoding="utf-8"), encoding="utf-8")
    engine = read_engine(tmp_path / "engine.yaml")
    path = tmp_path / "mine.yaml"
    path.write_text(first_scenario("mine", settled({}, engine), "engine.yaml"), encoding="utf-8")
    record = load_scenario(path).record
    assert record.engine.name == engine.name
    propeller_rpm = 8400 / record.drive.reduction  # the part's best power is at 8400 rpm
    assert propeller_rpm == pytest.approx(7800 / 2.45, rel=0.01)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"pilot": "250 kg"}, "--pilot: '250 kg' is not accepted here; accepted: 40 to 200 kg"),
        ({"pilot": "95 mm"}, "'mm' is the unit of a length"),
        (
            {"power": "strong"},
            "--power: 'strong': must be a power, for example '18 kW'; accepted: 4 to 60 kW",
        ),
        ({"blades": "2.5"}, "accepted: a whole number, 2 to 4"),
        ({"fine": "12", "coarse": "11"}, "--coarse: '11' is not accepted here; accepted: 12.5 to 27 deg"),
        ({"pilot": ""}, "--pilot"),
        ({"pilot": "nan"}, "--pilot"),
        ({"pilot": "1e999 kg"}, "--pilot"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_accepted(typed, words):
    with pytest.raises(AnswerError) as caught:
        settled(typed)
    assert words in str(caught.value)


def test_all_that_is_wrong_is_told_at_once():
    with pytest.raises(AnswerError) as caught:
        settled({"pilot": "1 kg", "reduction": "99", "blades": "7"})
    assert len(str(caught.value).splitlines()) == 3


def test_coarse_alone_brings_the_fine_stop_with_it():
    for coarse in ("8 deg", "14 deg", "22 deg", "30 deg"):
        answers = settled({"coarse": coarse})
        assert answers.values["fine"] < answers.values["coarse"]


@pytest.mark.slow
@pytest.mark.parametrize(
    "typed",
    [
        {"pilot": "55 kg", "power": "11 kW", "power_rpm": "7500 rpm"},
        {"pilot": "130 kg", "machine": "38 kg"},
        {"power": "15 kW", "power_rpm": "8400 rpm", "reduction": "3", "diameter": "1250 mm"},
        {"blades": "4", "diameter": "1150 mm"},
        {"spring_rate": "60 N/mm", "lever_arm": "25 mm", "washers": "2"},
    ],
    ids=["light", "heavy", "small engine", "four blades", "another spring"],
)
def test_what_was_left_out_gives_a_hub_that_shifts(tmp_path, typed):
    """The propeller takes up the engine's power; the shift finishes in the climb, and cruise is coarse."""
    from simengine.flight.simulate import simulate

    path = tmp_path / "mine.yaml"
    answers = settled(typed)
    path.write_text(first_scenario("mine", answers), encoding="utf-8")
    scenario = load_scenario(path)
    flown = simulate(scenario, fidelity="steady")
    climb, cruise = 1, 2
    states = flown["final_pitch_state"].attrs["flag_meanings"].split()
    assert states[int(flown["final_pitch_state"][climb])] == "fine"
    assert states[int(flown["final_pitch_state"][cruise])] == "coarse"
    full = float(flown["full_throttle_rpm"][climb])
    assert full == pytest.approx(answers.values["power_rpm"] / RPM, rel=0.06)
    assert float(flown["highest_engine_rpm"].max()) < scenario.record.engine.speed_limit / RPM
    assert float(flown["initial_climb_rate"][climb]) > 1.0
