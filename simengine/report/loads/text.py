"""What load figures show, in a few sentences: pull, root, stops, spring, frequencies, failures, landing."""

from math import inf, isfinite, isinf, sqrt

import numpy as np
import xarray

from simengine.report.facts import number
from simengine.report.flight.conclusion import Sentence
from simengine.report.loads.facts import (
    AS_BUILT,
    NO_MARGIN,
    STRUCTURE_CAUTION,
    Near,
    Row,
    close_modes,
    conditions,
    every_mode,
    failed,
    failures,
    level_held,
    odd_blade,
    passes_limit,
    root_known,
    spring_known,
    state,
    strength_known,
)
from simengine.results.catalogue import PitchState
from simengine.results.yardsticks import OUTSIDE, YARDSTICKS

DOUBLE = "double pull"
MOST_TOLD = 4  # frequencies in the conclusion
ASKED_PULLS = {"141.4 % rpm": 2.0, "126.1 % rpm": 1.59}  # in the rules, over that of the limit


def loads_conclusion(dataset: xarray.Dataset) -> str:
    """Sum load figures up in words. Every rpm is the engine's unless it says propeller."""
    return " ".join(sentence.words for sentence in loads_sentences(dataset))


def loads_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Pull first, then where it hurts, then what fails; the caution on structure last, always."""
    return [
        pull_sentence(dataset),
        root_sentence(dataset),
        *stop_sentences(dataset),
        *spring_sentences(dataset),
        frequency_sentence(dataset),
        *failure_sentences(dataset),
        Sentence(STRUCTURE_CAUTION, warns=True),
    ]


def row_named(dataset: xarray.Dataset, begin: str) -> Row:
    """The condition whose name begins so."""
    return next(row for row in conditions(dataset) if row.name.startswith(begin))


def pull_words(row: Row) -> str:
    """A pull in newtons and kilograms."""
    return f"{row['load_pull']:.0f} N ({row['load_pull_kgf']:.0f} kgf)"


def pull_sentence(dataset: xarray.Dataset) -> Sentence:
    """Pull on each blade at the limit and at twice that."""
    limit, double = row_named(dataset, "engine rpm limit"), row_named(dataset, DOUBLE)
    return Sentence(
        f"Pull on each blade at the limit, {limit['load_engine_rpm']:.0f} engine rpm "
        f"({limit['load_propeller_rpm']:.0f} propeller rpm): {pull_words(limit)}; the one-hour test of 14 "
        f"CFR 35.35 would ask for {pull_words(double)} at {double['load_propeller_rpm']:.0f} propeller rpm."
    )


def root_sentence(dataset: xarray.Dataset) -> Sentence:
    """Largest stress at the root, and what it is set against."""
    if not root_known(dataset):
        words = f"Root: section and material are not given (loads.root), {NO_MARGIN}."
        return Sentence(words, warns=True)
    worst = max(conditions(dataset), key=lambda row: row["load_stress"])
    where = f"{1000 * number(dataset, 'root_radius'):.0f} mm from the shaft"
    words = f"Root section {where}: largest stress {worst['load_stress']:.0f} MPa ({worst.name})"
    if not strength_known(dataset):
        return Sentence(f"{words}; strength of the material not given, {NO_MARGIN}.", warns=True)
    factor = worst["load_strength_factor"]
    return Sentence(
        f"{words}, the strength given is {factor:.2f} times that: mean stresses only, fatigue and notches "
        f"not in it, {NO_MARGIN}.",
        warns=factor < 1.0,
    )


def stop_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Largest moment on either stop up to the overspeed, and where."""
    over = row_named(dataset, "overspeed")["load_engine_rpm"]
    rpm = np.asarray(dataset["stop_rpm"].values)
    seen = rpm <= over + 0.5
    parts = []
    for stop in ("coarse", "fine"):
        moment = np.asarray(dataset[f"{stop}_stop_moment"].values)[seen]
        if np.isfinite(moment).all() and moment.max() > 0.0:
            place = int(np.argmax(moment))
            force = moment[place] / number(dataset, "pin_radius")
            parts.append(
                f"{stop} {moment[place]:.1f} N m ({force:.0f} N on its pin) at {rpm[seen][place]:.0f} rpm"
            )
    if not parts:
        return []
    told = "; ".join(parts)
    return [Sentence(f"Largest stop load of one blade up to the overspeed, far from the shift: {told}.")]


def spring_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Stress, fatigue factor, class of life, and how often it moves."""
    basis = str(dataset.attrs.get("spring_basis", ""))
    if str(dataset.attrs["hub_kind"]) != "two_stop":
        return []
    per_hour = number(dataset, "shifts_per_hour")
    moved = f"this flight shifts it {per_hour:.1f} times an hour" if isfinite(per_hour) else ""
    if not spring_known(dataset):
        return [Sentence(f"Spring: {basis}; {moved}.", warns=True)]
    low, high = np.asarray(dataset["spring_stress"].values)
    words = f"Spring: {low:.0f} MPa coarse, {high:.0f} MPa fine ({basis})"
    share = number(dataset, "spring_stress_share")
    goodman, strokes = number(dataset, "spring_goodman_factor"), number(dataset, "spring_strokes_allowed")
    if not isfinite(goodman):
        flat = f", {100 * share:.0f} % of what DIN 2093 allows at the middle of rotation"
        return [Sentence(f"{words}{flat}; {moved}.", warns=share > 1.0)]
    told = f"{words}, {100 * share:.0f} % of its tensile strength, Goodman factor {goodman:.2f}"
    return [Sentence(f"{told}: {life_words(dataset)}; {moved}.", warns=strokes < inf)]


def life_words(dataset: xarray.Dataset) -> str:
    """Class of life in words."""
    strokes, hours = number(dataset, "spring_strokes_allowed"), number(dataset, "spring_life")
    if strokes == 0.0:
        return "TAKES A SET"
    if isinf(strokes):
        return "no end of life by this yardstick"
    flown = f", {hours:.0f} h of such flying" if isfinite(hours) else ""
    return f"{strokes:.0e} strokes by this yardstick{flown}"


def frequency_sentence(dataset: xarray.Dataset) -> Sentence:
    """Which frequencies stand near an excitation."""
    close = close_modes(dataset)
    if close:
        told = "; ".join(near_words(near) for near in close[:MOST_TOLD])
        if len(close) > MOST_TOLD:
            told += f"; {len(close) - MOST_TOLD} more in the table"
        return Sentence(f"Frequencies within 10 % of an excitation: {told}.", warns=True)
    known = sorted({near.mode for near in every_mode(dataset)})
    if not known:
        return Sentence("Frequencies: none known; tap the blades and give loads.flap_frequency.", warns=True)
    return Sentence(f"Of the frequencies known ({', '.join(known)}) none is within 10 % of an excitation.")


def near_words(near: Near) -> str:
    """One of them."""
    floating = " of a floating blade" if near.mode == "pitch" else ""
    return (
        f"{near.mode}{floating}, {near.setting} at {near.engine_rpm:.0f} rpm, {near.frequency:.0f}\u00a0Hz: "
        f"{100 * near.separation:+.0f} % of {near.nearest}"
    )


def failure_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Where a broken spring leaves the blades, and the failures from which flight goes wrong."""
    every = failures(dataset)
    found = [broken_spring_sentence(dataset, row) for row in every if row.name == "broken_spring"]
    failing = [row for row in every if row.name != AS_BUILT]
    if passes_limit(every[0]):
        found.append(Sentence("Full throttle passes the rpm limit even as built.", warns=True))
    over = [failed(row) for row in failing if passes_limit(row)]
    if over:
        found.append(Sentence(f"Full throttle passes the rpm limit with: {', '.join(over)}.", warns=True))
    sunk = [failed(row) for row in failing if not level_held(row)]
    if sunk:
        found.append(Sentence(f"Level flight can NOT be held steadily with: {', '.join(sunk)}.", warns=True))
    unfinished = [
        failed(row)
        for row in failing
        if state(row, "failure_pitch_state") is not PitchState.FINE and "stuck" not in row.name
    ]
    if unfinished and state(every[0], "failure_pitch_state") is PitchState.FINE:
        found.append(Sentence(f"The shift no longer finishes with: {', '.join(unfinished)}.", warns=True))
    odd = [row for row in failing if odd_blade(row)]
    if odd:
        worst = max(odd, key=largest_shake)
        found.append(
            Sentence(
                f"{failed(worst).capitalize()} bends the shaft by {largest_shake(worst):.0f} N m once per "
                "turn: throttle to idle, land.",
                warns=True,
            )
        )
    if left_out := str(dataset.attrs.get("failures_left_out", "")).replace("_", " "):
        found.append(Sentence(f"Asked for, but this hub cannot have it: {left_out}.", warns=True))
    if failing and not sunk:
        found.append(Sentence("Power for level flight to a landing is there with every failure listed."))
    return found


def largest_shake(row: Row) -> float:
    """Larger of the two moments that bend the shaft [N m]."""
    return max(row["failure_out_of_plane"], row["failure_level_out_of_plane"])


def broken_spring_sentence(dataset: xarray.Dataset, row: Row) -> Sentence:
    """Which stop the blades go to without a spring."""
    begin, finish = row["failure_shift_begin_rpm"], row["failure_shift_finish_rpm"]
    idle, at_full = number(dataset, "engine_rpm_idle"), state(row, "failure_pitch_state")
    if isfinite(finish) and finish <= idle and at_full is PitchState.FINE:
        where = f"the FINE stop and stay there: already below idle, at {finish:.0f} rpm"
    elif at_full is PitchState.FINE:
        where = f"the FINE stop once {finish:.0f} rpm is passed" if isfinite(finish) else "the FINE stop"
    elif at_full is PitchState.COARSE:
        where = "the COARSE stop and stay there at full throttle"
    else:
        where = f"{row['failure_blade_angle']:.1f} deg, BETWEEN the stops, at full throttle"
    begins = f" (they leave coarse at {begin:.0f} rpm)" if isfinite(begin) and begin > idle else ""
    return Sentence(f"With a broken spring the blades go to {where}{begins}.", warns=passes_limit(row))


def landing_words(row: Row) -> str:
    """What is left to the pilot, in words."""
    parts = []
    if odd_blade(row):
        parts.append("Shakes once per turn: throttle to idle, land, do not fly on")
    if passes_limit(row):
        at = row["failure_throttle_at_limit"]
        below = f": keep below {100 * at:.0f} % throttle" if isfinite(at) else ": throttle back"
        parts.append(f"Full throttle passes the rpm limit by {-row['failure_rpm_margin']:.0f} rpm{below}")
    status = int(row["failure_level_status"])
    if status == 0:
        held = (
            f"Level flight at {100 * row['failure_level_throttle']:.0f} % throttle, "
            f"{row['failure_level_rpm']:.0f} rpm, {row['failure_level_fuel_flow']:.1f} L/h: "
        )
        parts.append(held + ("to a near landing" if row.name != AS_BUILT else "as it should be"))
        back = row["failure_return_finish_rpm"]
        if back < row["failure_level_rpm"] and state(row, "failure_level_pitch_state") is PitchState.COARSE:
            parts.append(
                f"After full throttle the blades are back only below {back:.0f} rpm: throttle down first"
            )
    elif status == 1:
        sink = -row["failure_climb_rate"]
        parts.append(f"Sinks at {sink:.1f} m/s at full throttle: glide to a landing, never take off")
    elif status == 2:
        parts.append("Does not sink with the throttle closed: stop the engine to land")
    else:
        parts.append("No throttle holds level: the blades jump across it; climb and glide by turns to land")
    return ". ".join(parts) + "."


def yardstick_lines(dataset: xarray.Dataset) -> list[str]:
    """The rules that the figures are looked at against; that they do not apply comes first."""
    limit = row_named(dataset, "engine rpm limit")
    pull, rpm = limit["load_pull"], limit["load_propeller_rpm"]
    told = [OUTSIDE]
    for clause, words in YARDSTICKS:
        here = ""
        for mark, times in ASKED_PULLS.items():
            if mark in words:
                here = f"; here {times * pull:.0f} N per blade, {sqrt(times) * rpm:.0f} propeller rpm"
        told.append(f"{clause}: {words}{here}")
    return told


def not_checked_lines(dataset: xarray.Dataset) -> list[str]:
    """What is in none of the figures."""
    return str(dataset.attrs["not_checked"]).splitlines()
