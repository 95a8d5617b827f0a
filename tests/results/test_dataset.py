import hashlib
from dataclasses import replace

import numpy as np
import pytest
from synthetic_flight import COARSE, FINE, SCENARIO_TEXT, synthetic_flight, without_notes

from simengine.results.catalogue import TRACES, EventKind, all_variables
from simengine.results.cautions import CAUTIONS
from simengine.results.dataset import flight_dataset


def test_every_variable_of_the_catalogue_is_there_in_its_unit(flight_result):
    for variable in all_variables():
        assert variable.name in flight_result.variables
        assert flight_result[variable.name].attrs["long_name"] == variable.long_name
    assert set(flight_result.data_vars) | {"time"} == {variable.name for variable in all_variables()}


def test_values_are_in_stored_units(flight_result):
    # Hand figures: 1 rad/s = 9.549297 rpm (60 / 2 pi); the synthetic stops are given in degrees.
    flight = synthetic_flight()
    assert flight_result["engine_rpm"].values[0] == pytest.approx(flight.traces["engine_rpm"][0] * 9.5492966)
    assert float(flight_result["coarse_stop"]) == pytest.approx(COARSE)
    assert float(flight_result["fine_stop"]) == pytest.approx(FINE)
    assert float(flight_result["engine_rpm_limit"]) == pytest.approx(8000.0)


def test_flags_have_the_type_of_their_values(flight_result):
    for name in ("pitch_state", "event_kind", "final_pitch_state"):
        variable = flight_result[name]
        assert variable.dtype == np.int8
        assert variable.attrs["flag_values"].dtype == np.int8
        assert len(variable.attrs["flag_meanings"].split()) == len(variable.attrs["flag_values"])


def test_event_kinds_are_stored_by_their_place_in_the_list(flight_result):
    meanings = flight_result["event_kind"].attrs["flag_meanings"].split()
    first_shift = int(np.flatnonzero(flight_result["event_time"].values == 34.0)[0])
    assert meanings[int(flight_result["event_kind"].values[first_shift])] == EventKind.SHIFT_BEGINS


def test_provenance_is_whole(flight_result):
    attributes = flight_result.attrs
    assert attributes["Conventions"] == "CF-1.11"
    assert attributes["simengine_scenario"] == SCENARIO_TEXT
    assert attributes["simengine_scenario_sha256"] == hashlib.sha256(SCENARIO_TEXT.encode()).hexdigest()
    assert attributes["history"].endswith(": simengine fly demo.yaml")
    assert all(name in attributes["versions"] for name in ("python", "numpy", "numba", "xarray", "netCDF4"))
    assert attributes["comment"].splitlines() == list(CAUTIONS)
    for name in ("title", "source", "references", "outcome", "defaults_used", "model_limits", "solver_steps"):
        assert attributes[name]


def test_no_attribute_that_netcdf_refuses_or_readers_trip_on():
    for dataset in (synthetic_flight().dataset(), without_notes(synthetic_flight()).dataset()):
        for value in dataset.attrs.values():
            assert value is not None
            assert not isinstance(value, bool | np.bool_ | dict)
            assert value != ""


def test_missing_and_unknown_traces_are_named():
    flight = synthetic_flight()
    traces = {name: values for name, values in flight.traces.items() if name != "thrust"}
    traces["thrrust"] = flight.traces["thrust"]
    with pytest.raises(ValueError, match=r"missing: thrust; unknown: thrrust"):
        flight_dataset(traces, flight.events, flight.phases, flight.provenance, flight.setup)


def test_traces_of_another_length_are_named():
    flight = synthetic_flight()
    traces = flight.traces | {"bar": np.zeros(3)}
    with pytest.raises(ValueError, match="length: bar"):
        flight_dataset(traces, flight.events, flight.phases, flight.provenance, flight.setup)


def test_of_two_rows_at_one_instant_the_later_is_kept():
    flight = synthetic_flight()
    traces = {variable.name: np.zeros(4) for variable in TRACES} | {"time": np.array([0.0, 1.0, 1.0, 2.0])}
    traces["throttle"] = np.array([0.0, 0.1, 0.9, 1.0])
    dataset = flight_dataset(traces, flight.events, flight.phases, flight.provenance, flight.setup)
    assert dataset["time"].values.tolist() == [0.0, 1.0, 2.0]
    assert dataset["throttle"].values.tolist() == [0.0, 0.9, 1.0]


@pytest.mark.parametrize("time", [[0.0, 2.0, 1.0], [0.0, np.nan, 1.0], []])
def test_time_must_not_run_back(time):
    flight = synthetic_flight()
    traces = {variable.name: np.zeros(len(time)) for variable in TRACES} | {"time": np.array(time)}
    with pytest.raises(ValueError, match="never run back"):
        flight_dataset(traces, flight.events, flight.phases, flight.provenance, flight.setup)


def test_no_events_is_a_result_too():
    flight = replace(synthetic_flight(), events=())
    assert flight.dataset().sizes["event"] == 0
