"""The one sentence under each picture of an envelope."""

from math import isfinite

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.report.envelope.facts import STATES, Own, every_point, lifts_beyond, own, ranked_changes
from simengine.report.envelope.text import change_words, helps, stalls_within_reach, still_sentences
from simengine.report.facts import moves_by_itself
from simengine.report.flight.conclusion import Sentence
from simengine.results.catalogue import PitchState

Array = NDArray[np.float64]


def heights_caption(dataset: xarray.Dataset) -> Sentence:
    """Up to where the shift finishes, and how its margin changes with height."""
    point = own(dataset)
    if not moves_by_itself(dataset):
        return still_sentences(point)[0]
    margin, height = point.line("shift_margin_rpm"), point.height
    told = np.flatnonzero(np.isfinite(margin))
    trend = ""
    if told.size:
        low, high = told[0], told[-1]
        trend = (
            f"; the margin goes from {margin[low]:+.0f} rpm at {height[low]:.0f} m to "
            f"{margin[high]:+.0f} rpm at {height[high]:.0f} m"
        )
    return Sentence(f"{reach_words(point)}{trend}.", warns=stalls_within_reach(point))


def reach_words(point: Own) -> str:
    """Up to where the shift finishes, and what the blades do above."""
    finishes, ceiling = point.finishes, point.number("shift_ceiling")
    if finishes.all():
        return f"At full throttle the shift finishes at every height up to {point.height[-1]:.0f} m"
    if not finishes.any():
        return "At full throttle the shift finishes at NO height drawn"
    if not isfinite(ceiling):
        return "At full throttle the shift finishes only outside the hatched heights"
    above = [state for state, done in zip(point.state, finishes, strict=True) if not done]
    what = "hang between the stops" if PitchState.HUNG in above else "stay on the coarse stop"
    return f"At full throttle the shift finishes up to {ceiling:.0f} m, above that the blades {what}"


def states_caption(dataset: xarray.Dataset) -> Sentence:
    """How mass moves the ceiling, and how much of the throttle leaves the blades between the stops."""
    return Sentence(f"{mass_words(dataset)}; {between_words(dataset)}.")


def mass_words(dataset: xarray.Dataset) -> str:
    """Ceiling of the lightest and of the heaviest."""
    point = own(dataset)
    same = [each for each in every_point(dataset) if (each.offset, each.bar) == (point.offset, point.bar)]
    same.sort(key=lambda each: each.all_up_mass)
    ends = same if len(same) < 2 else [same[0], same[-1]]
    return "At full throttle the shift " + ", ".join(
        f"at {each.all_up_mass:.0f} kg {ceiling_words(each)}" for each in ends
    )


def ceiling_words(point: Own) -> str:
    """`finishes up to 3420 m` and the like."""
    ceiling = point.number("shift_ceiling")
    if isfinite(ceiling):
        return f"finishes up to {ceiling:.0f} m"
    if point.finishes.all():
        return f"finishes up to {point.height[-1]:.0f} m and beyond"
    return "never finishes" if not point.finishes.any() else "finishes at some heights"


def between_words(dataset: xarray.Dataset) -> str:
    """Share of the throttle map with blades between the stops."""
    shares = [
        float(np.mean(np.isin(dataset[f"map_pitch_state_{branch}"].values, BETWEEN)))
        for branch in ("opening", "closing")
    ]
    return (
        f"between the stops the blades rest over {100 * shares[0]:.0f} % of the throttle map when opening "
        f"and {100 * shares[1]:.0f} % when closing"
    )


LOW_CLIMB = 1  # its place among the cases of the moment budget
BETWEEN = [STATES.index(PitchState.SHIFTING), STATES.index(PitchState.HUNG)]


def moments_caption(dataset: xarray.Dataset) -> Sentence:
    """Share of the shifting moment that the air's density does not touch."""
    cases = [str(case) for case in dataset["budget_case"].values]
    shares = np.asarray(dataset["budget_air_share"].values, dtype=np.float64)
    row = min(LOW_CLIMB, len(cases) - 1)
    if not isfinite(shares[row]):
        return Sentence("The shift does not finish within these speeds, so no share of the air can be given.")
    air = 100.0 * shares[row]
    if air >= 0:
        words = (
            f"In the {cases[row]} {100 - air:.0f} % of the moment that finishes the shift does not depend on "
            f"the air's density; the other {air:.0f} %, the air's twist, fades with height."
        )
    else:
        words = (
            f"In the {cases[row]} the moment that finishes the shift comes from the blades' own mass alone; "
            f"the air OPPOSES it by {-air:.0f} %, which fades with height and eases the shift."
        )
    return Sentence(words)


def sweep_caption(dataset: xarray.Dataset) -> Sentence:
    """Where the blades move when the throttle opens, where when it closes."""
    throttle = 100.0 * np.asarray(dataset["sweep_throttle"].values, dtype=np.float64)
    opening, closing = (moving_range(dataset, throttle, branch) for branch in ("opening", "closing"))
    if opening is None:
        return Sentence("The blades do not leave their stop at any throttle.", warns=True)
    words = f"Opening the throttle moves the blades fine {range_words(*opening)}"
    if closing is None:
        return Sentence(f"{words}; closing it does NOT bring them back.", warns=True)
    stay = "" if reaches_fine(dataset) else "; even full throttle does NOT put them on the fine stop"
    low, high = min(opening[0], closing[0]), max(opening[1], closing[1])
    either = f"; {range_words(low, high)} the two ways differ" if opening != closing else ""
    return Sentence(
        f"{words}, closing it brings them back {range_words(closing[1], closing[0])}{either}{stay}.",
        warns=bool(stay),
    )


def range_words(first: float, last: float) -> str:
    """`between 45 and 48 %`, or `at 42 %` for a snap."""
    one = f"{first:.0f}" == f"{last:.0f}"
    return f"at {last:.0f} %" if one else f"between {first:.0f} and {last:.0f} %"


def moving_range(dataset: xarray.Dataset, throttle: Array, branch: str) -> tuple[float, float] | None:
    """Throttle [%] between which the blade angle changes; None if it does not."""
    angle = np.asarray(dataset[f"sweep_blade_angle_{branch}"].values, dtype=np.float64)
    moved = np.flatnonzero(np.abs(np.diff(angle)) > 1e-4)
    return (float(throttle[moved[0]]), float(throttle[moved[-1] + 1])) if moved.size else None


def reaches_fine(dataset: xarray.Dataset) -> bool:
    """Whether the sweep ends on the fine stop."""
    end = float(dataset["sweep_blade_angle_opening"].values[-1])
    return abs(end - float(dataset["fine_stop"].values)) < 1e-3


def changes_caption(dataset: xarray.Dataset) -> Sentence:
    """The change that lifts the ceiling most."""
    point = own(dataset)
    if point.finishes.all() and not isfinite(point.number("shift_ceiling")):
        return Sentence("The shift finishes at every height as it is; no change is needed for that.")
    helping = [change for change in ranked_changes(dataset) if helps(change)]
    if helping:
        best = helping[0]
        effect = "puts it above every height searched" if lifts_beyond(best) else change_words(best)
        return Sentence(f"Most for the shift ceiling does: {best.name}; it {effect}.")
    return Sentence("None of these single changes lifts the shift ceiling.", warns=True)
