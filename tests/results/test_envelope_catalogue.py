"""Units of the envelope's catalogue, by Pint's definitions and not by ours."""

import pint
import pytest
from test_catalogue import PINT_UNITS

from simengine.results.catalogue import PitchState
from simengine.results.envelope_catalogue import COORDINATES, LEVEL_STATES, TABLES, all_envelope_variables

NUMBERS = [variable for variable in all_envelope_variables() if variable.stored == "number"]


@pytest.mark.parametrize("variable", NUMBERS, ids=lambda variable: variable.name)
def test_the_factor_takes_si_to_the_stored_unit(variable):
    registry = pint.UnitRegistry()
    stored, si = PINT_UNITS[variable.units]
    assert variable.factor == pytest.approx(registry.Quantity(1.0, si).to(stored).magnitude, rel=1e-12)


def test_dimensions_have_coordinates():
    named = {variable.name for variable in COORDINATES}
    assert {name for dimensions, _ in TABLES for name in dimensions} == named


def test_flag_order_is_kept_for_old_files():
    # Regression guard: files hold these numbers, so members may be added at the end only.
    assert LEVEL_STATES == ("reached", "too_little_power", "too_much_power", "jumps")
    flags = {variable.name: variable.flags for variable in all_envelope_variables() if variable.flags}
    assert flags["full_throttle_pitch_state"] == tuple(str(state) for state in PitchState)
    assert flags["level_status"] == LEVEL_STATES
