"""A real machine's route: what does not depend on how well its propeller is modelled."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simengine.balance.assembly import assemble
from simengine.balance.pitch import HUNG
from simengine.balance.trim import REACHED
from simengine.errors import ScenarioError
from simengine.results.route_catalogue import VERDICTS, all_route_variables
from simengine.scenario import load_scenario
from simengine.scenario.variation import rebuilt, with_values
from simengine.studies.route.flight import fly_trip
from simengine.studies.route.hubs import idle_angle
from simengine.studies.route.legs import route_legs, settings_of
from simengine.studies.route.performance import Ask, Speed, performance_of, quick
from simengine.studies.route.policy import SpeedSearch, settled_legs
from simengine.studies.route.study import route

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"
SMALL = {"route.map.heights": 2, "route.map.winds": 2, "route.uncertainty.draws": 6}


def loaded(name="cross_country.yaml", **values):
    """A demo with a small map and few draws."""
    scenario = load_scenario(SCENARIOS / name)
    return replace(scenario, record=with_values(scenario.record, SMALL | values))


@pytest.fixture(scope="module")
def flown():
    return route(loaded())


def test_every_variable_is_there_with_its_unit(flown):
    assert {v.name for v in all_route_variables()} == set(map(str, flown.variables))
    for variable in all_route_variables():
        if variable.stored in ("number", "count"):
            assert flown[variable.name].attrs["units"] == variable.units


def test_legs_add_up_to_the_trip(flown):
    np.testing.assert_allclose(flown["fuel"].sum("leg"), flown["trip_fuel"], rtol=1e-12)
    np.testing.assert_allclose(flown["time"].sum("leg"), flown["trip_time"], rtol=1e-12)
    left = flown["start_fuel"] - flown["trip_fuel"]
    np.testing.assert_allclose(flown["fuel_left"].isel(leg=-1), left, rtol=1e-9)


def test_all_hubs_fly_the_same_airspeed(flown):
    """The same bar and nearly the same mass: only the fuel burnt so far differs."""
    speeds = flown["airspeed"].values
    assert np.ptp(speeds, axis=0).max() < 2e-3 * speeds.min()


def test_own_hub_saves_nothing_over_itself(flown):
    assert flown["saving"].values[0] == 0.0
    assert VERDICTS[int(flown["verdict"].values[0])] == "own_hub"


def test_band_of_the_difference_is_narrower_than_that_of_a_fuel(flown):
    """Common draws: what both hubs share cancels."""
    own = float((flown["trip_fuel_high"] - flown["trip_fuel_low"])[0])
    difference = (flown["saving_high"] - flown["saving_low"]).values[1:]
    assert (difference < 0.5 * own).all()


def test_best_compromise_burns_no_more_than_the_stops_and_climbs_as_asked(flown):
    keys = [str(key) for key in flown["hub_key"].values]
    best, wanted = keys.index("compromise"), 1.5
    assert flown["climb_out_rate"].values[best] >= wanted - 1e-3
    for key in ("fine", "coarse"):
        row = keys.index(key)
        if flown["climb_out_rate"].values[row] >= wanted:
            assert flown["trip_fuel"].values[best] <= flown["trip_fuel"].values[row] + 1e-3


def test_ideal_cruises_on_no_more_than_any_fixed_blade(flown):
    keys = [str(key) for key in flown["hub_key"].values]
    flow = flown["fuel_flow"].values
    ideal = flow[keys.index("governed")]
    for key in ("fine", "coarse", "compromise"):
        # another climb leaves another mass: a litre less on board is half a per cent of it
        assert (ideal <= flow[keys.index(key)] * (1.0 + 2e-3)).all()


def test_defaults_stand_in_for_what_is_not_said():
    found = route(loaded("long_route.yaml", **{"route.uncertainty.draws": 0, "route.legs": first_leg()}))
    origin = dict(zip(found["input"].values, found["input_origin"].values, strict=True))
    assert origin["masses.pilot"] == "scenario"
    assert origin["engine.consumption_factor"] == "default"
    assert origin["wind on every leg"] == "default"
    assert set(found["verdict"].values[1:]) == {VERDICTS.index("not_estimated")}


def first_leg():
    return load_scenario(SCENARIOS / "long_route.yaml").record.route.legs[:1]


def test_equal_seeds_give_equal_bands(flown):
    again = route(loaded())
    np.testing.assert_array_equal(flown["trip_fuel_low"], again["trip_fuel_low"])


def flights(record, *, interpolated):
    """The scenario's own hub on its route, level flight interpolated or not."""
    settings = settings_of(record, record.route)
    masses = (settings.dry_mass, settings.dry_mass + settings.start_fuel) if interpolated else (0.0, 0.0)
    performance = performance_of(assemble(record), *masses)
    legs = settled_legs(
        route_legs(record, record.route, ()), SpeedSearch(performance, settings, idle_angle(performance))
    )
    return fly_trip(legs, performance, settings, idle_angle(performance))


def test_interpolated_cruise_is_that_computed_at_every_step():
    record = loaded().record
    quick, exact = (flights(record, interpolated=way) for way in (True, False))
    assert quick.fuel == pytest.approx(exact.fuel, rel=1e-4)  # the promise is 0.1 %
    assert quick.time == pytest.approx(exact.time, rel=1e-4)


@pytest.mark.parametrize("bar", [0.0, 0.4, 0.8])
@pytest.mark.parametrize("stop", ["coarse_stop", "fine_stop"])
def test_the_quick_way_finds_the_flights_on_a_stop_and_calls_the_others_hung(bar, stop):
    record = loaded().record
    full = performance_of(assemble(record))
    fast = quick(full)
    held = getattr(full.machine, stop)
    ask = Ask(600.0, 0.0, Speed(bar))
    slow, here = (one.direct(ask, 150.0, held) for one in (full, fast))
    if slow.status == REACHED and slow.pitch_state != HUNG:
        assert here.pitch_state == slow.pitch_state
        assert here.fuel_flow == pytest.approx(slow.fuel_flow, rel=1e-6)
    else:
        assert here.status == slow.status or here.pitch_state == HUNG


@pytest.mark.slow
def test_two_thousand_kilometres_with_hubs_and_map():
    found = route(load_scenario(SCENARIOS / "long_route.yaml"), draws=0)
    assert float(found["leg_distance"].sum()) == pytest.approx(2000.0)


def test_still_air_out_and_back_is_twice_one_way_but_for_the_burnt_mass():
    """Cruise only: the way back is flown lighter, so it takes less, by no more than the mass is less."""
    record = loaded().record
    calm = rebuilt(record.route.cruise, wind=None)
    still = with_values(
        record,
        {"route.cruise": calm, "site.height": 600.0, "route.landing": False, "route.terrain": None},
    )
    out, back = (leg.fuel for leg in flights(still, interpolated=True).legs)
    settings = settings_of(still, still.route)
    lighter = out / (settings.dry_mass + settings.start_fuel)
    assert out * (1.0 - 3.0 * lighter) < back < out


def test_wind_beyond_the_airspeed_keeps_the_other_leg():
    record = loaded().record
    gale = rebuilt(record.route.cruise.wind, speed=40.0)
    legs = (rebuilt(record.route.legs[0], wind=gale), record.route.legs[1])
    found = route(loaded(**{"route.legs": legs, "route.uncertainty.draws": 0}))
    told = [str(words) for words in found["problems"].values[0]]
    assert "stronger than the airspeed" in told[0]
    assert told[1] == ""
    assert found["fuel"].values[0, 1] > 0.0
    assert found.attrs["outcome"] == "some legs cannot be flown as asked"


def test_a_scenario_without_a_route_is_refused():
    with pytest.raises(ScenarioError, match="route: is required"):
        route(load_scenario(SCENARIOS / "climb_and_cruise.yaml"))


def hubs():
    """Every other kind of hub."""
    from simengine.scenario.hub_records import FixedHub, GovernedHub, SelectedHub

    stops = {"coarse_stop": 0.25, "fine_stop": 0.18}
    return [
        FixedHub(kind="fixed", name="a", blade_angle=0.21),
        SelectedHub(kind="two_stop_selected", name="a", **stops),
        GovernedHub(kind="governed", name="a", engine_speed=560.0, **stops),
    ]


@pytest.mark.parametrize("hub", hubs(), ids=lambda hub: hub.kind)
def test_every_kind_of_hub_flies(hub):
    record = loaded(hub=hub).record
    trip = flights(record, interpolated=True)
    assert trip.possible
    assert trip.fuel == pytest.approx(flights(record, interpolated=False).fuel, rel=1e-3)
    climb, cruise = trip.legs[0].path[0], trip.legs[0].cruise
    if hub.kind == "two_stop_selected":
        assert (climb.blade_angle, cruise.blade_angle) == (hub.fine_stop, hub.coarse_stop)
    if hub.kind == "governed":
        assert cruise.engine_speed <= 560.0 * (1.0 + 1e-6)


def test_a_fixed_hub_is_not_compared_with_stops_it_does_not_have():
    found = route(loaded(hub=hubs()[0], **{"route.uncertainty.draws": 0}))
    assert [str(key) for key in found["hub_key"].values] == ["own", "compromise", "governed"]


def test_waypoints_of_a_file_become_legs_and_clear_the_ground():
    """The triangle closes, and its searched heights keep the clearance."""
    from simengine.studies.route.legs import points_of

    scenario = load_scenario(SCENARIOS / "triangle.yaml")
    record = scenario.record
    settings, points = settings_of(record, record.route), points_of(record.route, SCENARIOS)
    asked = route_legs(record, record.route, points)
    assert [leg.name for leg in asked] == ["field to lake", "lake to pass", "pass to field"]
    assert (asked[-1].latitude, asked[-1].longitude) == (points[0].latitude, points[0].longitude)
    performance = performance_of(assemble(record), settings.dry_mass, settings.dry_mass + settings.start_fuel)
    for leg in settled_legs(asked, SpeedSearch(performance, settings, idle_angle(performance))):
        assert leg.height >= settings.ground.highest(leg.start, leg.end)[1] + settings.clearance - 1e-6


def test_places_too_far_apart_are_taken_for_a_slip(tmp_path):
    from shutil import copytree

    folder = Path(copytree(SCENARIOS, tmp_path / "scenarios"))
    points = (folder / "triangle.gpx").read_text()
    (folder / "triangle.gpx").write_text(points.replace('lat="46.950"', 'lat="-46.950"'))
    with pytest.raises(ScenarioError, match=r"leg 'field to lake' is \d+ km long; accepted: up to 3000 km"):
        route(load_scenario(folder / "triangle.yaml"), draws=0)
