"""Ceilings by root finding, their cause and their words; what one change does to them."""

from math import isnan

import numpy as np
import pytest
from flights import demo_machine, demo_scenario
from machines import STANDARD_DAY, torsion_spring, two_stop_hub

from simengine.balance.aircraft import with_parts
from simengine.balance.pitch import FINE
from simengine.constants import RPM
from simengine.studies.envelope.sensitivity import CHANGES, changed, ranked, sensitivity
from simengine.studies.envelope.shift_ceiling import (
    Column,
    crossings,
    first_loss,
    service_ceiling,
    shift_ceiling,
    zero_between,
)
from simengine.studies.full_throttle import full_throttle
from simengine.studies.machine import machine_of


def column_of(name, mass=130.0, bar=0.0):
    return Column(machine_of(demo_machine(name)), STANDARD_DAY, mass, bar)


@pytest.fixture(scope="module")
def second():
    column = column_of("second_engine")
    return column, shift_ceiling(column, demo_scenario("second_engine").record.engine, 0.0)


def test_a_jump_is_bracketed_too():
    assert zero_between(lambda h: 1.0 if h < 777.0 else -1.0, 0.0, 1000.0, 1.0, -1.0) == pytest.approx(
        777.0, abs=1.0
    )


def test_a_smooth_zero_is_found_within_a_metre():
    def margin(height):
        return np.cos(height / 1000.0)

    assert first_loss(margin, 0.0, 4000.0) == pytest.approx(1000.0 * np.pi / 2.0, abs=1.0)
    found, finishes = crossings(margin, list(np.linspace(0.0, 6000.0, 13)))
    assert finishes
    assert found == pytest.approx([1000.0 * np.pi / 2.0, 1500.0 * np.pi], abs=1.0)


def test_the_shift_finishes_just_below_its_ceiling_and_hangs_just_above(second):
    column, ceiling = second
    below = full_throttle(column.machine, column.at(ceiling.height - 5.0))
    above = full_throttle(column.machine, column.at(ceiling.height + 5.0))
    assert below.pitch_state == FINE
    assert above.pitch_state != FINE
    assert below.margin_moment > 0.0 > above.margin_moment
    assert abs(below.margin_speed) / RPM < 5.0


def test_ceiling_cause_and_words_go_together(second):
    _, ceiling = second
    assert ceiling.words.startswith(f"finishes up to {ceiling.height:.0f} m")
    assert ceiling.cause == "air twist falls"
    assert "air's help is too small" in ceiling.words


def test_more_mass_or_bar_lowers_the_ceiling_of_a_hub_that_the_air_helps(second):
    engine = demo_scenario("second_engine").record.engine
    _, ceiling = second
    heavy = shift_ceiling(column_of("second_engine", mass=150.0), engine, 0.0)
    barred = shift_ceiling(column_of("second_engine", bar=1.0), engine, 0.0)
    assert heavy.height < ceiling.height
    assert barred.height < ceiling.height


def with_torsion(column, preload, rate=10.0, **hub):
    aircraft = column.machine.aircraft
    changed_hub = two_stop_hub(14.0, 10.5, spring=torsion_spring(preload, rate), **hub)
    return Column(machine_of(with_parts(aircraft, hub=changed_hub)), STANDARD_DAY, 130.0, 0.0)


def test_never_and_always_are_said_and_give_no_height(second):
    column, _ = second
    engine = demo_scenario("second_engine").record.engine
    never = shift_ceiling(with_torsion(column, 60.0), engine, 0.0)
    always = shift_ceiling(with_torsion(column, 1.0), engine, 0.0)
    assert isnan(never.height) and never.words.startswith("never finishes")
    assert isnan(always.height) and always.words == "finishes at every height up to 8000 m"
    assert never.cause != "" or "no rotor speed" in never.words


def test_friction_is_named_where_it_alone_stops_the_shift(second):
    column, _ = second
    engine = demo_scenario("second_engine").record.engine
    rough = shift_ceiling(with_torsion(column, 3.0, friction_constant=15.0), engine, 0.0)
    assert rough.cause == "friction"
    assert "without friction" in rough.words


def test_a_fixed_hub_has_no_shift_ceiling_but_a_service_ceiling():
    column = column_of("climb_and_cruise_fixed")
    ceiling = shift_ceiling(column, demo_scenario().record.engine, 0.0)
    assert isnan(ceiling.height)
    assert "not moved by their loads" in ceiling.words
    height = service_ceiling(column, 0.0)
    assert full_throttle(column.machine, column.at(height)).climb_rate == pytest.approx(0.5, abs=0.01)


# --- one change ------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def changes():
    return sensitivity(demo_scenario("second_engine").record, STANDARD_DAY, 0.0)


def gain(changes, name):
    return changes["change_gain"][changes["change"].index(name)]


@pytest.mark.parametrize(
    ("better", "worse"),
    [("one washer less", "one washer more"), ("spring rate -5 %", "spring rate +5 %")],
)
def test_a_softer_spring_raises_the_ceiling_a_harder_one_lowers_it(changes, better, worse):
    assert gain(changes, better) > 0.0 > gain(changes, worse)


@pytest.mark.parametrize(
    "name",
    [
        "friction halved",
        "fine stop 0.5 deg coarser",
        "10 g counterweight at 25 mm driving fine (0 deg)",
        "engine power +5 %",
        "pilot 10 kg lighter",
    ],
)
def test_what_helps_the_shift_raises_the_ceiling(changes, name):
    assert gain(changes, name) > 0.0


def test_every_change_is_there_and_the_ranking_has_the_best_first(changes):
    assert changes["change"] == list(CHANGES)
    lines = ranked(changes).splitlines()
    assert len(lines) == len(CHANGES)
    best = changes["change"][int(np.nanargmax(changes["change_gain"]))]
    assert lines[0].startswith(best)


def test_a_change_that_does_not_apply_or_cannot_be_fitted_is_none():
    torsion, fixed = (demo_scenario(name).record for name in ("torsion_hub", "climb_and_cruise_fixed"))
    assert changed(torsion, CHANGES["one washer less"]) is None
    assert changed(fixed, CHANGES["spring rate -5 %"]) is None
    record = demo_scenario("second_engine").record
    solid = record.hub.spring.model_copy(update={"washers": 18, "solid_length": 0.036})
    tight = record.model_copy(update={"hub": record.hub.model_copy(update={"spring": solid})})
    assert changed(tight, CHANGES["one washer more"]) is None


def test_a_change_leaves_the_rest_of_the_scenario_alone():
    record = demo_scenario("second_engine").record
    for name, change in CHANGES.items():
        after = changed(record, change)
        assert after is not None and after != record, name
        differing = [
            field for field in type(record).model_fields if getattr(after, field) != getattr(record, field)
        ]
        assert len(differing) == 1
