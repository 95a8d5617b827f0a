"""Flights at the edges: light pilots, clutches, other hubs, limits met before the start, phase boundaries."""

from dataclasses import replace
from math import radians

import numpy as np
import pytest
from flights import (
    EventKind,
    climb,
    cruise,
    demo_scenario,
    events,
    ground_run,
    simulate,
    with_hub,
    with_phases,
)

from simengine.balance.assembly import assemble
from simengine.constants import RPM
from simengine.errors import NoSolutionError
from simengine.models.mechanism import counterweight_moment
from simengine.scenario import records


def changed(scenario, part, **values):
    """The scenario with values of one of its parts changed, in SI."""
    record = getattr(scenario.record, part).model_copy(update=values)
    return replace(scenario, record=scenario.record.model_copy(update={part: record}))


def with_other_hub(hub):
    scenario = demo_scenario()
    return replace(scenario, record=scenario.record.model_copy(update={"hub": hub}))


@pytest.mark.parametrize("pilot", [50.0, 70.0])
def test_a_light_pilot_climbs_steeply_and_steadily_in_both_fidelities(pilot):
    # At a fixed lift coefficient alone the phugoid of a climb steeper than about 19 deg grows into loops.
    scenario = with_phases(changed(demo_scenario(), "masses", pilot=pilot), climb(900.0))
    dynamic, steady = (simulate(scenario, fidelity=fidelity) for fidelity in ("dynamic", "steady"))
    assert float(dynamic.path_angle.max()) < 50.0
    assert float(dynamic.mean_climb_rate[0]) == pytest.approx(float(steady.mean_climb_rate[0]), rel=0.01)
    late = dynamic.isel(time=dynamic.time > float(dynamic.time[-1]) - 20.0)
    assert float(late.path_angle.max() - late.path_angle.min()) < 1.0


def test_the_phugoid_swings_and_dies_out():
    result = simulate(with_phases(demo_scenario(), climb(900.0), record_interval=0.25))
    swings = []
    for begin in (6.0, 60.0):
        part = result.isel(time=(result.time > begin) & (result.time < begin + 12.0))
        trend = np.polyfit(part.time.values, part.airspeed.values, 1)
        swings.append(np.ptp(part.airspeed.values - np.polyval(trend, part.time.values)))
    assert swings[0] > 0.2
    assert swings[1] < 0.01 * swings[0]


def test_a_phase_ends_where_its_last_instant_was():
    full = ground_run((0.0, 0.0), (20.0, 1.0), (30.0, 1.0))
    result = simulate(with_phases(demo_scenario(), full, climb(400.0)))
    assert float(result.final_blade_angle[0]) == pytest.approx(10.5, abs=1e-9)
    assert float(result.full_throttle_rpm[0]) > 7500.0
    ends = events(result, EventKind.PHASE_ENDS)
    assert ends[0][1] == pytest.approx(float(result.full_throttle_rpm[0]), abs=5.0)
    assert np.all(np.diff(result.time.values) > 0.0)


def test_counterweights_are_told_from_the_chord_line():
    weight = records.Counterweight(mass=0.025, arm=0.030, angle_from_chord=radians(90.0))
    machine = assemble(with_hub(demo_scenario(), counterweights=(weight,)).record)
    datum = demo_scenario().record.propeller.blade_angle_datum
    chord_angle = radians(14.0) + datum
    rotor_speed = 2500.0 * RPM
    expected = 0.025 * (rotor_speed * 0.030) ** 2 * np.sin(chord_angle) * np.cos(chord_angle)
    assert datum > 0.0
    assert counterweight_moment(machine.hub, radians(14.0), rotor_speed) == pytest.approx(expected, rel=1e-12)


def test_a_slipping_clutch_burns_the_same_in_both_fidelities():
    clutch = records.Clutch(engage_speed=4000.0 * RPM)
    scenario = with_phases(
        changed(demo_scenario(), "engine", clutch=clutch), ground_run((0.0, 0.15), (60.0, 0.15))
    )
    dynamic, steady = (simulate(scenario, fidelity=fidelity) for fidelity in ("dynamic", "steady"))
    assert float(dynamic.engine_rpm[-1]) >= 4000.0 - 1e-6
    assert float(steady.fuel_used[-1]) == pytest.approx(float(dynamic.fuel_used[-1]), rel=5e-3)


def test_a_flight_that_breaks_off_is_an_error_and_not_a_result():
    spring = records.TorsionSpring(kind="torsion", rate=1e9, preload_angle=0.0)
    with pytest.raises(NoSolutionError, match=r"events on one leg|steps became too small"):
        simulate(with_phases(with_hub(demo_scenario(), spring=spring), climb(400.0)))


def test_limits_passed_before_the_start_are_told():
    low_fuel = changed(demo_scenario(), "fuel", start=0.0005)
    result = simulate(with_phases(low_fuel, ground_run((0.0, 0.0), (5.0, 0.0))))
    assert [e[0] for e in events(result, EventKind.FUEL_RESERVE)] == [0.0]
    fine = with_other_hub(records.FixedHub(kind="fixed", name="flat", blade_angle=radians(3.0)))
    result = simulate(with_phases(fine, ground_run((0.0, 1.0), (5.0, 1.0))))
    assert [e[0] for e in events(result, EventKind.RPM_LIMIT_PASSED)] == [0.0]


def test_fuel_runs_out_and_ends_the_flight():
    result = simulate(
        with_phases(changed(demo_scenario(), "fuel", start=0.0015), climb(3000.0), cruise(60.0))
    )
    assert len(events(result, EventKind.FUEL_RESERVE)) == 1
    assert len(events(result, EventKind.FUEL_EMPTY)) == 1
    assert (
        "fuel ran out" in result.attrs["outcome"] and "1 phase after it not flown" in result.attrs["outcome"]
    )
    assert float(result.fuel_used[-1]) == pytest.approx(0.0015 * 745.0, rel=1e-6)


def test_running_out_of_time_is_an_event():
    result = simulate(with_phases(demo_scenario(), climb(3000.0, time_limit=30.0)))
    assert [e[0] for e in events(result, EventKind.OUT_OF_TIME)] == [30.0]


def test_a_climb_beyond_the_ceiling_ends_there_and_says_so():
    scenario = changed(changed(demo_scenario(), "installation", drag_area=2.9), "fuel", start=0.04)
    result = simulate(with_phases(scenario, climb(8000.0, time_limit=40000.0), record_interval=10.0))
    assert len(events(result, EventKind.CEILING)) == 1
    assert "ceiling" in str(result.phase_outcome.values[0])
    late = result.isel(time=result.time > float(result.time[-1]) - 60.0)
    assert 0.1 < float(late.vertical_speed.mean()) < 0.3


def test_a_drifting_blade_is_said_to_drift():
    result = simulate(with_phases(demo_scenario("second_engine"), climb(3000.0)))
    hung = int(np.flatnonzero(result.event_kind.values == list(EventKind).index(EventKind.SHIFT_HANGS))[-1])
    assert "drifts between the stops from 10.5" in str(result.event_note.values[hung])


def test_governed_hub_holds_its_engine_speed_in_climb_and_cruise():
    hub = records.GovernedHub(
        kind="governed",
        name="governed",
        coarse_stop=radians(20.0),
        fine_stop=radians(9.0),
        engine_speed=7600.0 * RPM,
    )
    scenario = with_phases(with_other_hub(hub), climb(600.0))
    for fidelity in ("dynamic", "steady"):
        result = simulate(scenario, fidelity=fidelity)
        late = result.isel(time=result.time > 30.0)
        assert late.engine_rpm.values == pytest.approx(7600.0, abs=2.0)
        assert 9.0 < float(late.blade_angle.min()) <= float(late.blade_angle.max()) < 20.0


def test_selected_hub_goes_where_the_pilot_puts_it_at_its_own_rate():
    hub = records.SelectedHub(
        kind="two_stop_selected",
        name="selected",
        coarse_stop=radians(14.0),
        fine_stop=radians(10.5),
        pitch_rate=0.02,
    )
    result = simulate(with_phases(with_other_hub(hub), climb(500.0), cruise(60.0)))
    assert result.final_blade_angle.values == pytest.approx([10.5, 14.0], abs=0.01)
    assert np.abs(np.gradient(np.radians(result.blade_angle.values), result.time.values)).max() < 0.021


def test_lost_motion_lets_the_blade_go_before_the_spring_and_still_counts_as_coarse():
    free = radians(0.5)
    result = simulate(
        with_phases(
            with_hub(demo_scenario(), lost_motion=free),
            ground_run((0.0, 0.0), (5.0, 0.0), (45.0, 1.0), (50.0, 1.0)),
            record_interval=0.25,
        )
    )
    ((_, began, angle),) = events(result, EventKind.SHIFT_BEGINS)
    idle = result.sel(time=slice(0.0, 8.0))
    assert angle == pytest.approx(13.5, abs=0.01)
    assert np.all(idle.pitch_state.values == 0)
    assert float(result.blade_angle.sel(time=10.0, method="nearest")) < 13.99
    assert began == pytest.approx(float(simulate(demo_scenario("ground_run")).shift_begin_rpm[0]), rel=0.06)


def test_tailwind_and_headwind_change_the_distance_only():
    results = []
    for wind in (0.0, 4.0):
        scenario = changed(demo_scenario(), "atmosphere", tailwind=wind)
        results.append(simulate(with_phases(scenario, climb(500.0), cruise(300.0))))
    still, windy = results
    extra = windy.phase_distance.values - still.phase_distance.values
    assert extra == pytest.approx(4.0 * still.phase_duration.values, rel=1e-6)
    assert windy.phase_fuel.values == pytest.approx(still.phase_fuel.values, rel=1e-9)


def test_a_distance_against_too_strong_a_wind_has_no_solution():
    scenario = changed(demo_scenario(), "atmosphere", tailwind=-20.0)
    with pytest.raises(NoSolutionError, match="would not arrive"):
        simulate(with_phases(scenario, cruise(None, distance=5000.0)))


def test_an_airspeed_the_wing_does_not_fly_has_no_solution():
    with pytest.raises(NoSolutionError, match="outside what this wing flies level"):
        simulate(with_phases(demo_scenario(), cruise(60.0, airspeed=30.0)))


def test_unlinked_blades_are_named_as_a_limit_of_the_model():
    run = ground_run((0.0, 0.0), (5.0, 0.0))
    linked = simulate(with_phases(demo_scenario(), run))
    unlinked = simulate(with_phases(with_hub(demo_scenario(), blades_linked=False), run))
    assert "not linked" not in linked.attrs.get("model_limits", "")
    assert "not linked" in unlinked.attrs["model_limits"]


def test_a_dense_record_loses_no_row_where_its_blocks_meet():
    # 300 s at 10 ms: more rows than one block holds, with steps of seconds in the quiet cruise.
    result = simulate(with_phases(demo_scenario(), cruise(300.0), record_interval=0.01))
    gaps = np.diff(result.time.values)
    assert result.sizes["time"] > 30_000
    assert gaps.max() < 0.0101


def test_a_path_no_paraglider_flies_has_no_solution():
    featherweight = changed(demo_scenario(), "masses", pilot=25.0, machine=8.0, wing=3.0, equipment=0.0)
    with pytest.raises(NoSolutionError, match="steeper than 60 deg"):
        simulate(with_phases(featherweight, climb(2500.0)))


def test_phases_that_cannot_be_flown_are_in_the_conclusion():
    from simengine.report.flight.conclusion import flight_conclusion

    result = simulate(with_phases(demo_scenario(), climb(400.0), climb(300.0), cruise(60.0)))
    assert "cannot begin" in flight_conclusion(result)
    assert "1 phase after it not flown" in flight_conclusion(result)
