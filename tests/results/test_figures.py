from math import isnan

import pytest
from synthetic_envelope import synthetic_envelope

from simengine.results.figures import LESS, MORE, ONLY_IN, flight_figures, merit


def test_every_figure_of_every_phase(flight_result):
    figures = flight_figures(flight_result)
    names = {figure.name for figure in figures}
    assert {"shift_finish_rpm", "phase_fuel_volume", "final_pitch_state"} <= names
    assert len(figures) == len(names) * flight_result.sizes["phase"]
    for figure in figures:
        row = list(flight_result["phase_name"].values).index(figure.phase)
        stored = float(flight_result[figure.name].values[row])
        assert figure.words or figure.value == pytest.approx(stored, nan_ok=True)
        assert figure.units == flight_result[figure.name].attrs.get("units", figure.units)


def test_states_are_words(flight_result):
    states = [figure for figure in flight_figures(flight_result) if figure.name == "final_pitch_state"]
    assert all(
        isnan(state.value) and state.words in ("coarse", "shifting", "hung", "fine") for state in states
    )


def test_merits_name_real_variables(flight_result):
    known = {*flight_result.variables, *synthetic_envelope().variables}
    assert set(MORE) | set(LESS) <= known
    assert set(ONLY_IN) <= {*MORE, *LESS}


@pytest.mark.parametrize(
    ("name", "kind", "way"),
    [
        ("highest_engine_rpm", "climb", "neither"),
        ("full_throttle_rpm", "climb", "neither"),
        ("phase_fuel_volume", "cruise", "less"),
        ("phase_fuel_volume", "ground_run", "neither"),
        ("phase_fuel_volume", "descend", "neither"),
        ("phase_fuel_flow", "climb", "neither"),
        ("highest_thrust", "cruise", "neither"),
        ("mean_climb_rate", "descend", "neither"),
        ("mean_climb_rate", "climb", "more"),
        ("shift_margin_rpm", "ground_run", "more"),
        ("shift_ceiling", "", "more"),
    ],
)
def test_a_figure_is_better_one_way_only_where_that_helps_a_maker(name, kind, way):
    assert merit(name, kind) == way
