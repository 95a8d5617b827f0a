"""A choice in words: what to fit, what it leaves, which target is out of reach and what to relax."""

from math import isnan

import numpy as np
import xarray

from simengine.report.flight.conclusion import Sentence
from simengine.report.tolerance.text import percent

LIFE = "spring life"


def feasible(dataset: xarray.Dataset) -> bool:
    """Whether all targets can be met at once."""
    return str(dataset.attrs["feasible"]) == "yes"


def choose_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The answer, most important first."""
    if not feasible(dataset):
        return [*relaxation_sentences(dataset), nearest_sentence(dataset), tried_sentence(dataset)]
    told = [option_sentence(dataset, 0), robust_sentence(dataset), room_sentence(dataset)]
    return [*(sentence for sentence in told if sentence is not None), tried_sentence(dataset)]


def fitted_words(dataset: xarray.Dataset, row: int) -> str:
    """What an option consists of."""
    has_washers = dataset["washers"].size > 1
    parts = [
        str(dataset["option_spring"].values[row]),
        *([f"{int(dataset['option_washers'].values[row])} washers"] if has_washers else []),
        f"stops {float(dataset['option_coarse_stop'].values[row]):.1f} and "
        f"{float(dataset['option_fine_stop'].values[row]):.1f} deg",
    ]
    weight = float(dataset["option_counterweight"].values[row])
    if weight > 0.0:
        parts.append(f"counterweights of {weight:g} g")
    return ", ".join(parts)


def option_sentence(dataset: xarray.Dataset, row: int) -> Sentence:
    """The first option and what it leaves in the worst place."""
    begin, finish, back, margin = (
        float(dataset[name].values[row])
        for name in ("option_begin_rpm", "option_finish_rpm", "option_return_rpm", "option_margin_rpm")
    )
    words = (
        f"Fit {fitted_words(dataset, row)}: over all {dataset['place'].size} places the shift begins at "
        f"{begin:.0f} ENGINE rpm or above, is done by {finish:.0f} rpm at the latest, {margin:.0f} rpm "
        f"or more below full throttle, and is back by {back:.0f} rpm or above."
    )
    return Sentence(words, warns=False)


def robust_sentence(dataset: xarray.Dataset) -> Sentence:
    """How the first option stands the tolerances."""
    share = float(dataset["option_yield"].values[0])
    count = int(dataset["draws"])
    words = (
        f"With the tolerances of the drawing {percent(share)} of {count} drawn hubs meet all targets "
        "everywhere (simengine tolerance says more)."
    )
    return Sentence(words, warns=share < 0.95)


def room_sentence(dataset: xarray.Dataset) -> Sentence | None:
    """Whether a washer can be put in and taken out; None where both can, or there are no washers."""
    counts = dataset["washers"].values
    if counts.size < 2:
        return None
    own = int(dataset["option_washers"].values[0])
    fits = {
        int(count)
        for count, begin in zip(counts, dataset["shim_begin_rpm"].values, strict=True)
        if np.isfinite(begin).any()
    }
    missing = [
        words for step, words in ((1, "no washer more"), (-1, "no washer less")) if own + step not in fits
    ]
    if not missing:
        return None
    return Sentence(
        f"With it {' and '.join(missing)} is allowed or can be fitted: no way to trim in that direction.",
        warns=True,
    )


def tried_sentence(dataset: xarray.Dataset) -> Sentence:
    """How much was looked at."""
    tried, buildable, good = (
        int(dataset[f"combinations_{name}"]) for name in ("tried", "buildable", "meeting_all")
    )
    words = f"{tried:,} combinations tried, {buildable:,} can be built, {good:,} meet all targets"
    return Sentence(f"{words}.", warns=False)


def relaxation_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Which target is impossible, and what to relax."""
    told = [
        f"'{target}' by {by_words(str(target), float(by))}"
        for target, by in zip(
            dataset["relaxation_target"].values, dataset["relaxation_by"].values, strict=True
        )
    ]
    if dataset["relaxation_alone"].values.any():
        words = "Impossible with what may be fitted, even if nothing else were asked: missed are "
        return [Sentence(f"{words}{', '.join(told)} at best.", warns=True)]
    if dataset["relaxation_enough"].values.all():
        words = f"Not possible together. Relax {told[0]}"
        return [Sentence(words + "".join(f"; or instead {each}" for each in told[1:]) + ".", warns=True)]
    words = f"Not possible together, and no one target is to blame: relax {' and '.join(told)}."
    return [Sentence(words, warns=True)]


def by_words(target: str, by: float) -> str:
    """By how much."""
    return f"a factor of {by:.2f} in stress" if target == LIFE else f"{by:.0f} rpm"


def nearest_sentence(dataset: xarray.Dataset) -> Sentence:
    """What comes nearest."""
    slack = dataset["option_slack"].values[0]
    missed = [
        f"{dataset['target'].values[i]} by {by_words(str(dataset['target'].values[i]), -float(slack[i]))}"
        for i in np.flatnonzero(slack < 0.0)
    ]
    return Sentence(f"Nearest: {fitted_words(dataset, 0)}; it misses {' and '.join(missed)}.", warns=False)


def choose_conclusion(dataset: xarray.Dataset) -> str:
    """All sentences as one text."""
    return " ".join(sentence.words for sentence in choose_sentences(dataset))


def per_washer(dataset: xarray.Dataset) -> str:
    """What one washer does to begin and finish, from the shim table; nothing where it has one row."""
    told = []
    for name, words in (("shim_begin_rpm", "begin"), ("shim_finish_rpm", "finish")):
        column = dataset[name].values[:, 0]
        steps = np.diff(column)
        step = float(np.nanmean(steps)) if steps.size and np.isfinite(steps).any() else np.nan
        if not isnan(step):
            told.append(f"{step:+.0f} rpm of the {words}")
    return f"One washer more: about {' and '.join(told)} ({dataset['shim_place'].values[0]})." if told else ""
