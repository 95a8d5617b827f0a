"""What an envelope shows, in a few sentences: where the shift finishes, where it stalls, what fixes it."""

from math import isfinite

import numpy as np
import xarray

from simengine.report.envelope.facts import (
    Change,
    Own,
    every_point,
    lifts_beyond,
    own,
    ranked_changes,
    stops,
)
from simengine.report.facts import moves_by_itself, number
from simengine.report.flight.conclusion import Sentence, capital
from simengine.results.catalogue import PitchState

SERVICE_CLIMB_RATE = 0.5  # at the service ceiling, as the study has it [m/s]
SERVICE_CLIMB = f"{SERVICE_CLIMB_RATE:g} m/s"
NOTABLE_GAIN = 20.0  # a change that lifts the ceiling by less fixes nothing [m]
CAUSES = {
    "air twist falls": "the air's twist, which helps the shift, falls with the density",
    "power falls": "the engine's power falls with height",
    "friction": "friction holds the blades",
    "power too small": "full throttle does not give the rpm that the shift needs, even at the lowest height",
    "rpm limit": "the engine's rpm limit is below the speed that the shift needs",
}


def envelope_conclusion(dataset: xarray.Dataset) -> str:
    """Sum an envelope up in words. Every rpm is the engine's."""
    return " ".join(sentence.words for sentence in envelope_sentences(dataset))


def envelope_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The answer first, then why, what fixes it, and what else the maker should know."""
    point = own(dataset)
    if not moves_by_itself(dataset):
        return [*still_sentences(point), *limit_sentences(point)]
    sentences = [verdict(point)]
    if not point.finishes.all():
        sentences.append(stall_sentence(point))
    if not point.finishes.all() or isfinite(point.number("shift_ceiling")):
        sentences += [*cause_sentence(point), *fix_sentences(dataset)]
    return [
        *sentences,
        *service_sentence(point),
        *worst_sentence(dataset, point),
        *ground_sentence(point),
        *limit_sentences(point),
    ]


def verdict(point: Own) -> Sentence:
    """Whether the shift finishes below the full-throttle rpm, and up to where."""
    finishes, height = point.finishes, point.height
    top = float(height[-1])
    where = f"({point.place})"
    if finishes.all():
        words = (
            f"YES: the shift finishes below the full-throttle rpm at every height up to {top:.0f} m {where}; "
            f"{margin_words(point)}{above_words(point)}."
        )
        return Sentence(words)
    if not finishes.any():
        return Sentence(f"NO: the shift finishes at no height up to {top:.0f} m {where}.", warns=True)
    ceiling = point.number("shift_ceiling")
    if isfinite(ceiling) and finishes[0]:
        dense = point.density_altitude(ceiling)
        words = (
            f"ONLY UP TO {ceiling:.0f} m (density altitude {dense:.0f} m) does the shift finish below the "
            f"full-throttle rpm {where}; above this SHIFT CEILING it does not{hold_words(point)}."
        )
        return Sentence(words, warns=stalls_within_reach(point))
    told = ", ".join(f"{height[row]:.0f}" for row in np.flatnonzero(finishes)[[0, -1]])
    return Sentence(f"The shift finishes only at some heights, between {told} m {where}.", warns=True)


def hold_words(point: Own) -> str:
    """Up to where friction keeps a blade fine that was fine already: a climb lets go later than it shifts."""
    surplus = point.line("full_throttle_rpm_fine") - point.line("return_begin_rpm")
    falls = np.flatnonzero((surplus[:-1] >= 0.0) & (surplus[1:] < 0.0))
    if not falls.size:
        return ""
    row = falls[0]
    share = surplus[row] / (surplus[row] - surplus[row + 1])
    height = point.height[row] + share * (point.height[row + 1] - point.height[row])
    return f" (blades that shifted lower down are held fine by friction up to about {height:.0f} m)"


def above_words(point: Own) -> str:
    """The shift ceiling, if it is above the heights computed."""
    ceiling = point.number("shift_ceiling")
    return f"; the SHIFT CEILING is {ceiling:.0f} m" if isfinite(ceiling) else ""


def stalls_within_reach(point: Own) -> bool:
    """Whether the shift fails at a height to which the machine climbs."""
    service = point.number("service_ceiling")
    reached = point.height <= service if isfinite(service) else np.full(point.height.size, True)
    return bool(np.any(reached & ~point.finishes))


def margin_words(point: Own) -> str:
    """Where the margin is smallest."""
    margin = point.line("shift_margin_rpm")
    if not np.isfinite(margin).any():
        return "no margin can be given"
    row = int(np.nanargmin(margin))
    moment = point.line("shift_margin_moment")[row]
    in_moment = f", {moment:+.2f} N m per blade" if isfinite(moment) else ""
    return f"its margin is smallest at {point.height[row]:.0f} m: {margin[row]:+.0f} rpm{in_moment}"


def stall_sentence(point: Own) -> Sentence:
    """Where it stalls and at which angle it hangs."""
    coarse, fine = stops(point.dataset)
    unfinished, warns = np.flatnonzero(~point.finishes), stalls_within_reach(point)
    hung = [row for row in unfinished if point.state[row] is PitchState.HUNG]
    if not hung:
        return Sentence(f"There the blades stay on the coarse stop ({coarse:.1f}°) at full throttle.", warns)
    angle, height = point.line("full_throttle_blade_angle"), point.height
    told = " and ".join(f"{angle[row]:.1f}° at {height[row]:.0f} m" for row in sorted({hung[0], hung[-1]}))
    words = (
        f"There it stalls half-way: at full throttle the blades HANG at {told} (coarse stop {coarse:.1f}°, "
    )
    stay = len(hung) < unfinished.size
    others = "; at other heights they stay on the coarse stop" if stay else ""
    return Sentence(f"{words}fine stop {fine:.1f}°){others}.", warns)


def cause_sentence(point: Own) -> list[Sentence]:
    """What limits the ceiling."""
    cause = point.words("limiting_cause")
    return [Sentence(f"Limiting cause: {CAUSES.get(cause, cause)}.")] if cause else []


def fix_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The one change that does most, and the next two."""
    helping = [change for change in ranked_changes(dataset) if helps(change)]
    if not helping:
        return [Sentence("None of the single changes tried lifts the shift ceiling.", warns=True)]
    first = f"What one change fixes it: {helping[0].name} {change_words(helping[0])}"
    rest = "; ".join(f"{change.name} {change_words(change)}" for change in helping[1:3])
    return [Sentence(f"{first}{'; next ' + rest if rest else ''}.")]


def helps(change: Change) -> bool:
    """Whether a change lifts the ceiling by more than a trifle."""
    return (
        lifts_beyond(change)
        or change.gain > NOTABLE_GAIN
        or (isfinite(change.ceiling) and not isfinite(change.gain))
    )


def change_words(change: Change) -> str:
    """What a change does to the ceiling."""
    if isfinite(change.gain):
        verb = "lifts" if change.gain >= 0 else "lowers"
        return f"{verb} the ceiling by {abs(change.gain):.0f} m to {change.ceiling:.0f} m"
    if isfinite(change.ceiling):
        return f"gives a ceiling of {change.ceiling:.0f} m"
    return f"({change.words})"


def service_sentence(point: Own) -> list[Sentence]:
    """Whether the machine gets to where the shift stalls."""
    service, ceiling = point.number("service_ceiling"), point.number("shift_ceiling")
    if not isfinite(service):
        climbs = float(point.line("climb_rate")[0]) >= SERVICE_CLIMB_RATE
        if climbs and isfinite(ceiling):
            words = f"The machine climbs ({SERVICE_CLIMB}) at every height looked at: it CAN fly above that."
            return [Sentence(words, warns=True)]
        return weak_climb(point)
    if not isfinite(ceiling):
        return [Sentence(f"The machine itself climbs ({SERVICE_CLIMB}) up to {service:.0f} m.")]
    if service <= ceiling:
        words = f"The machine climbs ({SERVICE_CLIMB}) only up to {service:.0f} m and does not get that high."
        return [Sentence(words)]
    words = (
        f"The machine climbs ({SERVICE_CLIMB}) up to {service:.0f} m, so it CAN fly into the "
        f"{service - ceiling:.0f} m above the shift ceiling."
    )
    return [Sentence(words, warns=True)]


def weak_climb(point: Own) -> list[Sentence]:
    """A machine that does not even climb at the lowest height."""
    climb = float(point.line("climb_rate")[0])
    if not climb < SERVICE_CLIMB_RATE:
        return []
    moves = f"climbs only {climb:.1f}" if climb >= 0.0 else f"sinks {-climb:.1f}"
    words = f"At {point.height[0]:.0f} m the machine {moves} m/s at full throttle: it has no service ceiling."
    return [Sentence(words, warns=True)]


def worst_sentence(dataset: xarray.Dataset, point: Own) -> list[Sentence]:
    """The lowest shift ceiling of all masses, bar positions and temperatures, if it is not the own one."""
    never = [each for each in every_point(dataset) if not each.finishes.any()]
    if never and point.finishes.any():
        several = dataset.sizes["temperature_offset"] > 1
        told = ", ".join(f"{each.place}{offset_words(each) if several else ''}" for each in never[:3])
        more = f" and {len(never) - 3} more" if len(never) > 3 else ""
        return [Sentence(f"The shift finishes at NO height at {told}{more}.", warns=True)]
    ceilings = [(each.number("shift_ceiling"), each) for each in every_point(dataset)]
    found = [pair for pair in ceilings if isfinite(pair[0])]
    if not found:
        return []
    lowest, worst = min(found, key=lambda pair: pair[0])
    if (worst.offset, worst.mass, worst.bar) == (point.offset, point.mass, point.bar):
        return []
    warm = offset_words(worst) if dataset.sizes["temperature_offset"] > 1 else ""
    return [
        Sentence(f"The lowest shift ceiling computed is {lowest:.0f} m, at {worst.place}{warm}.", warns=True)
    ]


def offset_words(point: Own) -> str:
    """Temperature against the standard."""
    offset = float(point.dataset["temperature_offset"].values[point.offset])
    return f", air {offset:+.0f} K against the standard"


def ground_sentence(point: Own) -> list[Sentence]:
    """What a ground run at the lowest height shows, beside the climb there."""
    begin, finish = point.line("ground_shift_begin_rpm")[0], point.line("ground_shift_finish_rpm")[0]
    margin, climb = point.line("ground_shift_margin_rpm")[0], point.line("shift_margin_rpm")[0]
    if not (isfinite(finish) and isfinite(margin) and isfinite(climb)):
        return []
    words = (
        f"on the ground at {point.height[0]:.0f} m the shift begins at {begin:.0f} and finishes at "
        f"{finish:.0f} engine rpm, margin {margin:+.0f}; in the climb there the margin is {climb:+.0f}"
    )
    return [Sentence(f"{capital(words)}.", warns=bool(margin < 0 <= climb or climb < 0 <= margin))]


def limit_sentences(point: Own) -> list[Sentence]:
    """Where full throttle passes the engine's limit."""
    limit = number(point.dataset, "engine_rpm_limit")
    over = point.line("full_throttle_rpm") > limit * (1 + 1e-6)
    if not over.any():
        return []
    rows = np.flatnonzero(over)
    excess = float(np.nanmax(point.line("full_throttle_rpm"))) - limit
    words = (
        f"At full throttle in the climb the engine PASSES its limit of {limit:.0f} rpm by up to "
        f"{excess:.0f} rpm, between {point.height[rows[0]]:.0f} and {point.height[rows[-1]]:.0f} m."
    )
    return [Sentence(words, warns=True)]


def still_sentences(point: Own) -> list[Sentence]:
    """A hub without a shift of its own."""
    rpm, height = point.line("full_throttle_rpm"), point.height
    words = (
        f"This hub has no shift of its own: there is no shift ceiling to find. At full throttle in the climb "
        f"the engine turns {rpm[0]:.0f} rpm at {height[0]:.0f} m and {rpm[-1]:.0f} at {height[-1]:.0f} m "
        f"({point.place})."
    )
    return [Sentence(words), *service_sentence(point)]
