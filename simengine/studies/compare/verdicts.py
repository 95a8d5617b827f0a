"""Whether a figure got better, worse, or stayed the same within the error of the solver."""

from collections.abc import Sequence
from math import isnan

import numpy as np
from numpy.typing import NDArray

from simengine.results.catalogue import PitchState, Variable
from simengine.results.compare_catalogue import Verdict
from simengine.results.figures import merit
from simengine.results.tolerances import difference_tolerance

Array = NDArray[np.float64]

VERDICTS = tuple(Verdict)


def verdict_of(
    variable: Variable, first: float, here: float, tolerance: float, phase_kind: str = ""
) -> Verdict:
    """What became of one figure.

    Parameters
    ----------
    variable : Variable
        The figure; a state in words is its flag value.
    first, here : float
        In the stored unit; NaN where it did not happen.
    tolerance : float
        Largest difference that is none, in the stored unit.
    phase_kind : str
        Kind of the phase; empty for a figure of the envelope.
    """
    if isnan(first) or isnan(here):
        if isnan(first) and isnan(here):
            return Verdict.ABSENT
        return Verdict.ONLY_FIRST if isnan(here) else Verdict.ONLY_HERE
    if variable.flags:
        return state_verdict(variable.flags[int(first)], variable.flags[int(here)])
    if abs(here - first) <= tolerance:
        return Verdict.SAME
    way = merit(variable.name, phase_kind)
    if way == "neither":
        return Verdict.NEITHER
    return Verdict.BETTER if (here > first) == (way == "more") else Verdict.WORSE


def state_verdict(first: str, here: str) -> Verdict:
    """Blades that hang between their stops are worse than blades on either of them."""
    if first == here:
        return Verdict.SAME
    if here == PitchState.HUNG:
        return Verdict.WORSE
    return Verdict.BETTER if first == PitchState.HUNG else Verdict.NEITHER


def verdicts(
    variable: Variable, values: Array, relative_tolerances: Sequence[float], kinds: Sequence[str] = ()
) -> NDArray[np.int8]:
    """Verdict of a figure in every case against the first, as flag values.

    Parameters
    ----------
    variable : Variable
        The figure.
    values : array, shape (cases,) or (cases, phases)
        In stored units.
    relative_tolerances : sequence of float, shape (cases,)
        Those that the flights were solved with.
    kinds : sequence of str, shape (phases,)
        Kind of each phase; none for figures of the envelope.
    """
    result = np.empty(values.shape, np.int8)
    for case, relative in enumerate(relative_tolerances):
        allowed = difference_tolerance(variable.name, relative_tolerances[0], relative)
        for place in np.ndindex(values.shape[1:]):
            first, here = float(values[(0, *place)]), float(values[(case, *place)])
            kind = kinds[place[0]] if place else ""
            result[(case, *place)] = VERDICTS.index(verdict_of(variable, first, here, allowed, kind))
    return result
