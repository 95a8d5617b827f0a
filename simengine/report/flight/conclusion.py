"""What a flight shows, in a few sentences."""

from dataclasses import dataclass
from math import isfinite

import xarray

from simengine.report.facts import moves_by_itself, number
from simengine.report.flight.facts import PhaseFacts, phase_facts
from simengine.results.catalogue import EventKind, PitchState

SAME_AIR = 5.0  # a margin within this of what was flown needs no words on the thinner air [rpm]
RESTLESS_FROM = 3  # leaving a stop this often in one phase is hunting
PHASES_TOLD = 4  # more are left to the table
NOTABLE_ENDS = frozenset(
    {
        EventKind.CEILING,
        EventKind.FUEL_EMPTY,
        EventKind.OUT_OF_TIME,
        EventKind.GROUND_REACHED,
    }
)


@dataclass(frozen=True)
class Sentence:
    """One sentence; `warns` if the maker should act on it."""

    words: str
    warns: bool = False


def flight_conclusion(dataset: xarray.Dataset) -> str:
    """Sum a flight up in words: shift, margin, limits met, fuel. Every rpm is the engine's."""
    return " ".join(sentence.words for sentence in conclusion_sentences(dataset))


def conclusion_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The conclusion sentence by sentence."""
    phases = phase_facts(dataset)
    hub = str(dataset.attrs["hub_kind"])
    told = shift_sentences(dataset, phases) if moves_by_itself(dataset) else speed_sentences(phases, hub)
    return [
        *told,
        *restless_sentences(phases),
        *limit_sentences(phases, number(dataset, "engine_rpm_limit")),
        *reserve_sentences(phases),
        *end_sentences(phases),
        *early_end_sentence(str(dataset.attrs.get("outcome", ""))),
        fuel_sentence(phases),
    ]


def shift_sentences(dataset: xarray.Dataset, phases: list[PhaseFacts]) -> list[Sentence]:
    """One sentence for each phase in which the blades moved or should have."""
    stops = (number(dataset, "coarse_stop"), number(dataset, "fine_stop"))
    told = {
        place: Sentence(f"{capital(phase.place)} {'; '.join(parts)}.", went_wrong(phase))
        for place, phase in enumerate(phases)
        if (parts := [part for part in (shift_words(phase, stops), return_words(phase)) if part])
    }
    if not told:
        return [Sentence(f"The blades stay where they are: {resting_words(phases[-1])}.")]
    # What went wrong is told before what went well, then in the order flown.
    by_weight = sorted(told, key=lambda place: (not told[place].warns, place))
    sentences = [told[place] for place in sorted(by_weight[:PHASES_TOLD])]
    if len(told) > PHASES_TOLD:
        sentences.append(Sentence(f"More phases in which the blades moved: {len(told) - PHASES_TOLD}."))
    if phases[-1].final_pitch_state is not PitchState.COARSE:
        hung = phases[-1].final_pitch_state is PitchState.HUNG
        sentences.append(Sentence(f"At the end the blades are {resting_words(phases[-1])}.", hung))
    return sentences


def went_wrong(phase: PhaseFacts) -> bool:
    """A shift or a return that did not do what it should."""
    unreturned = isfinite(phase.return_begin_rpm) and not isfinite(phase.return_finish_rpm)
    return phase.never_shifted or phase.left_unfinished or unreturned or phase.shift_margin_rpm < 0


def shift_words(phase: PhaseFacts, stops: tuple[float, float]) -> str:
    """What the shift did in one phase; empty if nothing."""
    begins, finishes = isfinite(phase.shift_begin_rpm), isfinite(phase.shift_finish_rpm)
    if begins and finishes:
        speeds = f"begins at {phase.shift_begin_rpm:.0f} and finishes at {phase.shift_finish_rpm:.0f}"
        return f"the shift {speeds} engine rpm{margin_words(phase)}"
    if finishes:
        finish = f"finishes at {phase.shift_finish_rpm:.0f} engine rpm"
        return f"the shift, begun before, {finish}{margin_words(phase)}"
    start = f"the shift begins at {phase.shift_begin_rpm:.0f} engine rpm and " if begins else "the blades "
    if isfinite(phase.hung_at) and not isfinite(phase.return_begin_rpm):
        hang = "HANGS" if begins else "HANG"
        where = f"between coarse {stops[0]:.1f}° and fine {stops[1]:.1f}°"
        return (
            f"{start}{hang} at {phase.hung_at:.1f}°, {where}: it does not finish{full_throttle_words(phase)}"
        )
    if begins:
        return f"{start}does NOT finish{full_throttle_words(phase)}"
    if phase.never_shifted:
        return f"the shift does NOT begin{full_throttle_words(phase)}"
    return ""


def margin_words(phase: PhaseFacts) -> str:
    """How far the finish lies below full throttle, in rpm and in moment.

    The margin is that in the air where full throttle ended, which at the top of a climb is thinner than
    where the shift was flown; then the two do not add up and are told apart.
    """
    margin, full = phase.shift_margin_rpm, phase.full_throttle_rpm
    moment = phase.shift_margin_moment
    in_moment = f" ({moment:+.2f} N m per blade)" if isfinite(moment) else ""
    if not isfinite(margin):
        return in_moment
    if abs(full - phase.shift_finish_rpm - margin) <= SAME_AIR:
        side = "below" if margin >= 0 else "ABOVE"
        return f", {abs(margin):.0f} rpm {side} the full-throttle {full:.0f}{in_moment}"
    kept = (
        f"the shift margin is {margin:.0f} rpm" if margin >= 0 else f"the shift would LACK {-margin:.0f} rpm"
    )
    return f"; at the end of full throttle ({full:.0f} rpm) {kept}{in_moment}"


def full_throttle_words(phase: PhaseFacts) -> str:
    """What full throttle gave, if it was asked for."""
    if not isfinite(phase.full_throttle_rpm):
        return ""
    return f"; full throttle gives {phase.full_throttle_rpm:.0f} rpm"


def return_words(phase: PhaseFacts) -> str:
    """What the return did in one phase; empty if nothing."""
    if not isfinite(phase.return_begin_rpm):
        finished = isfinite(phase.return_finish_rpm)
        return f"the return, begun before, finishes at {phase.return_finish_rpm:.0f}" if finished else ""
    begin = f"the return begins at {phase.return_begin_rpm:.0f}"
    if isfinite(phase.return_finish_rpm):
        return f"{begin} and finishes at {phase.return_finish_rpm:.0f}"
    if isfinite(phase.hung_at):
        return (
            f"{begin}, then the blades HANG between the stops, at {phase.final_blade_angle:.1f}° at the end"
        )
    return f"{begin} but does NOT finish, the phase ends at {phase.final_blade_angle:.1f}°"


def resting_words(phase: PhaseFacts) -> str:
    """Where the blades are at a phase's end."""
    angle = f"{phase.final_blade_angle:.1f}°"
    return {
        PitchState.COARSE: f"on the coarse stop ({angle})",
        PitchState.FINE: f"on the fine stop ({angle})",
        PitchState.HUNG: f"HUNG between the stops at {angle}",
        PitchState.SHIFTING: f"still moving, at {angle}",
    }[phase.final_pitch_state]


def speed_sentences(phases: list[PhaseFacts], hub_kind: str) -> list[Sentence]:
    """Full-throttle speeds of a hub without a shift of its own."""
    speeds = [
        f"{phase.full_throttle_rpm:.0f} {phase.place}"
        for phase in phases
        if isfinite(phase.full_throttle_rpm)
    ][:PHASES_TOLD]
    if not speeds:
        return []
    hub = "Fixed blades" if hub_kind == "fixed" else "Blades moved by the pilot or a governor"
    return [Sentence(f"{hub}: at full throttle ENGINE rpm is {', '.join(speeds)}.")]


def limit_sentences(phases: list[PhaseFacts], limit: float) -> list[Sentence]:
    """Where the engine was driven past its limit."""
    over = [phase for phase in phases if phase.highest_engine_rpm > limit * (1 + 1e-6)]
    if not over:
        return []
    worst = max(over, key=lambda phase: phase.highest_engine_rpm)
    excess = worst.highest_engine_rpm - limit
    words = f"The engine PASSES its limit of {limit:.0f} rpm by {excess:.0f} rpm {worst.place}."
    return [Sentence(words, warns=True)]


def restless_sentences(phases: list[PhaseFacts]) -> list[Sentence]:
    """Phases in which the blades go to and fro, or in which no throttle is level."""
    told = []
    for phase in phases:
        leaves = sum(
            event.kind in (EventKind.SHIFT_BEGINS, EventKind.RETURN_BEGINS) for event in phase.events
        )
        if leaves >= RESTLESS_FROM:
            words = f"{capital(phase.place)} the blades go to and fro: they leave a stop {leaves} times."
            told.append(Sentence(words, warns=True))
        elif "hunts" in phase.outcome:
            told.append(Sentence(f"{capital(phase.place)}: {phase.outcome}.", warns=True))
    return told


def reserve_sentences(phases: list[PhaseFacts]) -> list[Sentence]:
    """When the fuel came down to its reserve."""
    return [
        Sentence(f"The fuel reserve is reached after {event.time / 60.0:.0f} min, {phase.place}.", warns=True)
        for phase in phases
        for event in phase.events
        if event.kind is EventKind.FUEL_RESERVE
    ]


def end_sentences(phases: list[PhaseFacts]) -> list[Sentence]:
    """Phases that did not end as planned."""
    return [
        Sentence(f"{capital(phase.place)}: {phase.outcome.rstrip('.')}.", warns=True)
        for phase in phases
        if phase.outcome and any(event.kind in NOTABLE_ENDS for event in phase.events)
    ]


def early_end_sentence(outcome: str) -> list[Sentence]:
    """A flight that ended before its last phase was done: what follows is of the part that was flown."""
    if not outcome.startswith("ended in phase"):
        return []
    return [Sentence(f"The flight {outcome}.", warns=True)]


def fuel_sentence(phases: list[PhaseFacts]) -> Sentence:
    """Fuel and time of the whole flight."""
    litres = sum(phase.fuel_volume for phase in phases)
    seconds = sum(phase.duration for phase in phases)
    time = f"{seconds / 60.0:.0f} min" if seconds >= 120.0 else f"{seconds:.0f} s"
    return Sentence(f"Used {litres:.2f} L in {time}.")


def capital(words: str) -> str:
    """With a capital first letter, the rest as it is."""
    return words[:1].upper() + words[1:]
