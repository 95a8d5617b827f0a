"""A comparison in words: what was changed, what moved by how much, what got worse."""

from collections.abc import Sequence
from math import isfinite

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.report.compare.facts import (
    ChangeFacts,
    EventRow,
    Row,
    case_names,
    change_facts,
    event_rows,
    figure_rows,
    told_rows,
)
from simengine.report.facts import time_words
from simengine.report.flight.conclusion import Sentence
from simengine.results.catalogue import EventKind, PitchState
from simengine.results.compare_catalogue import ChangeKind, Verdict

SAME_WORDS = "the same within the error of the solver"
TOLD = 4  # figures in one sentence; the table has them all
CHANGES_TOLD = 3
GONE_TOLD = 8
HARM = (  # worth a warning where it happens here and not in the first case
    EventKind.SHIFT_HANGS,
    EventKind.RPM_LIMIT_PASSED,
    EventKind.FUEL_EMPTY,
    EventKind.FUEL_RESERVE,
    EventKind.CEILING,
    EventKind.OUT_OF_TIME,
    EventKind.GROUND_REACHED,
)
HOPED = (EventKind.SHIFT_FINISHES, EventKind.RETURN_FINISHES, EventKind.HEIGHT_REACHED)


def compare_conclusion(dataset: xarray.Dataset) -> str:
    """Everything in one text."""
    return " ".join(sentence.words for sentence in compare_sentences(dataset))


def compare_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """What each case is against the first; the flights that are not alike are named before all."""
    unlike = str(dataset.attrs.get("unlike", ""))
    told = [Sentence(f"Read with care: {unlike}.", warns=True)] if unlike else []
    for case in range(1, dataset.sizes["case"]):
        told += case_sentences(dataset, case)
    return told


def case_sentences(dataset: xarray.Dataset, case: int) -> list[Sentence]:
    """One case against the first."""
    names = case_names(dataset)
    rows, events = figure_rows(dataset), event_rows(dataset)
    head = f"{names[case]} against {names[0]}"
    if all(row.verdicts[case] in (Verdict.SAME, Verdict.ABSENT) for row in rows):
        return [Sentence(f"{head}: every figure is the same within the error of the solver.")]
    told = [Sentence(f"{head}: {count_words(rows, case)}.")]
    told += harm_sentences(dataset, events, case)
    for verdict, opening in ((Verdict.WORSE, "Worse"), (Verdict.BETTER, "Better")):
        told += moved_sentence([row for row in rows if row.verdicts[case] is verdict], case, opening)
    shifts = [row for row in rows if row.verdicts[case] is Verdict.NEITHER and row.name.endswith("_rpm")]
    told += moved_sentence(shifts, case, "Moved")
    told += gone_sentences(rows, case)
    return [*told, *whole_flight(dataset, case)]


def count_words(rows: Sequence[Row], case: int) -> str:
    """How many figures of which kind; what moved by less than a maker would notice is counted apart."""
    words = (
        (Verdict.WORSE, "worse"),
        (Verdict.BETTER, "better"),
        (Verdict.NEITHER, "moved, neither way better"),
    )
    judged = (Verdict.WORSE, Verdict.BETTER, Verdict.NEITHER)
    little = sum(row.verdicts[case] in judged and not row.noticed(case) for row in rows)
    counts = [
        (sum(row.verdicts[case] is verdict and row.noticed(case) for row in rows), word)
        for verdict, word in words
    ]
    counts.append((little, "moved too little to matter"))
    counts.append((sum(row.verdicts[case] is Verdict.SAME for row in rows), "the same"))
    one_side = sum(row.verdicts[case] in (Verdict.ONLY_FIRST, Verdict.ONLY_HERE) for row in rows)
    counts.append((one_side, "in one of the two only"))
    return f"of {sum(n for n, _ in counts)} figures " + ", ".join(f"{n} {word}" for n, word in counts if n)


def moved_sentence(rows: Sequence[Row], case: int, opening: str) -> list[Sentence]:
    """The figures that moved most, each with both values."""
    worth = told_rows(rows, case)
    if not worth:
        return []
    more = f"; and {len(worth) - TOLD} more" if len(worth) > TOLD else ""
    listed = "; ".join(moved_words(row, case) for row in worth[:TOLD])
    return [Sentence(f"{opening}: {listed}{more}.")]


def moved_words(row: Row, case: int) -> str:
    """`fuel in the cruise 2.234 -> 2.351 L (+0.117, +5.2 %)`."""
    where = f" {row.place}" if row.place else ""
    units = f" {row.units}" if row.units else ""
    values = f"{row.label}{where} {row.value_words(0)} -> {row.value_words(case)}{units}"
    if row.words:
        return values
    share = row.share(case)
    per_cent = f", {100.0 * share:+.1f} %" if isfinite(share) and abs(share) < 10.0 else ""
    return f"{values} ({row.difference_words(case)}{per_cent})"


def gone_sentences(rows: Sequence[Row], case: int) -> list[Sentence]:
    """Figures that only one of the two has; with the phase where it is so in some phases only."""
    told = []
    for verdict, opening in ((Verdict.ONLY_FIRST, "Not there"), (Verdict.ONLY_HERE, "Only there")):
        elsewhere = {row.label for row in rows if row.verdicts[case] not in (verdict, Verdict.ABSENT)}
        names = dict.fromkeys(
            f"{row.label} {row.place}" if row.label in elsewhere else row.label
            for row in rows
            if row.verdicts[case] is verdict
        )
        if names:
            more = f" and {len(names) - GONE_TOLD} more" if len(names) > GONE_TOLD else ""
            told.append(Sentence(f"{opening}: {', '.join(list(names)[:GONE_TOLD])}{more}."))
    return told


def harm_sentences(dataset: xarray.Dataset, events: Sequence[EventRow], case: int) -> list[Sentence]:
    """What a maker must not overlook: things that happen here only, and a shift that no longer ends."""
    told = []
    moves = [str(kind) == "two_stop" for kind in dataset["case_hub_kind"].values]
    for event in events:
        first, here = isfinite(event.elapsed[0]), isfinite(event.elapsed[case])
        if event.order > 1 or first == here:
            continue
        if here and event.kind in HARM:
            at = f" at {event.rpm[case]:.0f} ENGINE rpm, {event.blade_angle[case]:.1f}°"
            told.append(Sentence(f"NEW {event.place}: {event.words}{at}.", warns=True))
        if first and event.kind in HOPED and (moves[case] or event.kind is EventKind.HEIGHT_REACHED):
            told.append(Sentence(f"NO LONGER {event.place}: {event.words}.", warns=True))
    hung = [
        row
        for row in figure_rows(dataset)
        if row.name == "final_pitch_state" and row.verdicts[case] is Verdict.WORSE
    ]
    told += [
        Sentence(f"The blades are {PitchState.HUNG} at the end, {row.place}.", warns=True) for row in hung
    ]
    return told


def whole_flight(dataset: xarray.Dataset, case: int) -> list[Sentence]:
    """Fuel and time of both flights, where both flew every phase."""
    fuel = dataset["phase_fuel_volume"].values[[0, case]].sum(axis=1)
    seconds = dataset["phase_duration"].values[[0, case]].sum(axis=1)
    names = case_names(dataset)
    if not isfinite(float(fuel.sum())):
        flown = dataset["case_outcome"].values[[0, case]]
        words = f"One of the two did not fly every phase ({names[0]}: {flown[0]}; {names[case]}: {flown[1]})."
        return [Sentence(words, warns=True)]
    times = [time_words(float(value)) for value in seconds]
    share = 100.0 * (fuel[1] / fuel[0] - 1.0) if fuel[0] > 0.0 else 0.0
    words = (
        f"Whole flight: {fuel[1]:.2f} L in {times[1]} against {fuel[0]:.2f} L in {times[0]} ({share:+.1f} %)."
    )
    return [Sentence(words)]


def headline(dataset: xarray.Dataset, case: int) -> Sentence:
    """One case in one line for a picture: what must not be overlooked, or what moved most each way."""
    name = case_names(dataset)[case]
    rows, harm = figure_rows(dataset), harm_sentences(dataset, event_rows(dataset), case)
    parts = [sentence.words.rstrip(".") for sentence in harm[:1]]
    for verdict, word in ((Verdict.WORSE, "worse"), (Verdict.BETTER, "better")):
        worth = told_rows([row for row in rows if row.verdicts[case] is verdict], case)
        parts += [f"{word}: {short_words(row, case)}" for row in worth[:1]]
    if not parts:
        same = all(row.verdicts[case] in (Verdict.SAME, Verdict.ABSENT) for row in rows)
        parts = [SAME_WORDS if same else "nothing better or worse to speak of"]
    return Sentence(f"{name}: {'; '.join(parts)}.", bool(harm))


def short_words(row: Row, case: int) -> str:
    """`fuel in the cruise +0.117 L`."""
    where = f" {row.place}" if row.place else ""
    if row.words:
        return f"{row.label}{where} {row.words[case]}"
    return f"{row.label}{where} {row.difference_words(case)} {row.units}".rstrip()


def change_lines(dataset: xarray.Dataset) -> list[str]:
    """What was changed, one key a line under the name of its case."""
    names, changes = case_names(dataset), change_facts(dataset)
    lines = [f"{names[0]} is what the others are held against."]
    for case, name in list(enumerate(names))[1:]:
        own = [change for change in changes if change.case == case]
        lines.append(f"{name}:" if own else f"{name}: nothing that a flight depends on")
        lines += [f"    {change.words}{mark(change)}" for change in own]
    return lines


def mark(change: ChangeFacts) -> str:
    """A word behind a change that is none of the machine's."""
    return {
        ChangeKind.MACHINE: "",
        ChangeKind.FLIGHT: "   (NOT THE SAME FLIGHT)",
        ChangeKind.SOLVER: "   (setting of the solver)",
    }[change.kind]


def short_changes(dataset: xarray.Dataset, case: int) -> str:
    """What was changed in a case, in one line for a picture; a part with another name stands for its keys."""
    own = [change for change in change_facts(dataset) if change.case == case]
    renamed = {change.key.removesuffix(".name"): change for change in own if change.key.endswith(".name")}
    told = [f"{part}: {change.first} -> {change.here}" for part, change in renamed.items()]
    told += [change.words for change in own if not change.key.startswith(tuple(f"{p}." for p in renamed))]
    more = [f"and {len(told) - CHANGES_TOLD} more"] if len(told) > CHANGES_TOLD else []
    return "; ".join([*told[:CHANGES_TOLD], *more]) or "nothing changed"


def overall(dataset: xarray.Dataset) -> Sentence:
    """All cases in one or two sentences: what does not work, who uses least fuel, who has most margin."""
    names, events = case_names(dataset), event_rows(dataset)
    others = range(1, len(names))
    harmed = [names[case] for case in others if harm_sentences(dataset, events, case)]
    wrong = f"something goes wrong there that does not in {names[0]}"
    parts = [f"LOOK FIRST at {', '.join(harmed)}: {wrong}."] if harmed else []
    if all(headline(dataset, case).words.endswith(SAME_WORDS + ".") for case in others):
        return Sentence("Every figure is the same within the error of the solver.")
    fuel = dataset["phase_fuel_volume"].values.sum(axis=1)
    margin = least_margin(dataset)
    for values, words, best, units in (
        (fuel, "Least fuel", np.nanargmin, ".2f"),
        (margin, "Most shift margin", np.nanargmax, ".0f"),
    ):
        if np.isfinite(values).any():
            case = int(best(values))
            unit = "L" if words == "Least fuel" else "ENGINE rpm"
            first = f", {names[0]} {values[0]:{units}}" if case and isfinite(float(values[0])) else ""
            parts.append(f"{words}: {names[case]} ({values[case]:{units}} {unit}{first}).")
    return Sentence(" ".join(parts), bool(harmed))


def least_margin(dataset: xarray.Dataset) -> NDArray[np.float64]:
    """Least shift margin of each case's phases [ENGINE rpm]; NaN for a hub without a shift."""
    margins = dataset["shift_margin_rpm"].values
    return np.where(np.isfinite(margins).any(axis=1), np.fmin.reduce(margins, axis=1), np.nan)
