"""A tolerance study in words: how many are in, which limit throws the rest out, what helps."""

from math import isnan

import numpy as np
import xarray

from simengine.report.flight.conclusion import Sentence

GOOD_YIELD = 0.98  # below it the maker is warned: more than one hub in fifty goes back to the bench
WORTH_HALVING = 0.002  # gain of yield that is told


def percent(share: float) -> str:
    """A share for reading: never 100 % where one of the hubs is out, never 0 % where one is in."""
    shown = f"{100.0 * share:.1f}"
    if share < 1.0 and shown == "100.0":
        return "above 99.9 %"
    if share > 0.0 and shown == "0.0":
        return "below 0.1 %"
    return f"{shown} %"


def places(dataset: xarray.Dataset) -> list[str]:
    """Names of the places."""
    return [str(name) for name in dataset["place"].values]


def measured(dataset: xarray.Dataset) -> bool:
    """Whether the hubs were measured and not drawn."""
    return bool((dataset["input_origin"].values == "measured").all()) if dataset["input"].size else False


def tolerance_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The answer, most important first."""
    found = [yield_sentence(dataset), worst_limit(dataset), washers_sentence(dataset)]
    if not measured(dataset):
        found += [matters_sentence(dataset), halving_sentence(dataset)]
    return [sentence for sentence in found if sentence is not None]


def yield_sentence(dataset: xarray.Dataset) -> Sentence:
    """How many hubs are in, by place and together."""
    count = int(dataset["hubs_counted"])
    together = float(dataset["yield_together"])
    each = ", ".join(
        f"{percent(float(share))} in the {name}"
        if name.startswith("climb")
        else f"{percent(float(share))} on the {name}"
        for name, share in zip(places(dataset), dataset["yield"].values, strict=True)
    )
    if measured(dataset):
        inside = round(together * count)
        words = f"{inside} of {count} measured hubs are inside all limits everywhere ({each})"
    else:
        low, high = float(dataset["yield_together_low"]), float(dataset["yield_together_high"])
        words = (
            f"Of {count:,} hubs {percent(together)} are inside all limits everywhere "
            f"(95 % band {100 * low:.1f} to {100 * high:.1f} %): {each}"
        )
    return Sentence(f"{words}.", warns=together < GOOD_YIELD)


def worst_limit(dataset: xarray.Dataset) -> Sentence | None:
    """Which limit throws most hubs out, and where; None if none does."""
    met = dataset["limit_met"].values
    if np.isnan(met).all() or np.nanmin(met) >= 1.0:
        return None
    limit, place = np.unravel_index(np.nanargmin(met), met.shape)
    out = 1.0 - float(met[limit, place])
    name = str(dataset["limit"].values[limit])
    words = f"Most hubs are thrown out by '{name}' ({places(dataset)[place]}): {percent(out)} of them."
    return Sentence(words, warns=out > 1.0 - GOOD_YIELD)


def washers_sentence(dataset: xarray.Dataset) -> Sentence | None:
    """What re-shimming brings."""
    if int(dataset["own_washers"]) < 0:
        return None
    reshim, rejects = float(dataset["reshim_share"]), float(dataset["reject_share"])
    if reshim == 0.0 and rejects == 0.0:
        return None
    if reshim == 0.0:
        return Sentence(f"No number of washers brings in the {percent(rejects)} that are out.", warns=True)
    words = f"Other washers than the drawing's bring {percent(reshim)} of all hubs in"
    if rejects > 0.0:
        return Sentence(f"{words}; no number of washers brings in {percent(rejects)}.", warns=True)
    return Sentence(f"{words}; then all are.", warns=False)


def matters_sentence(dataset: xarray.Dataset) -> Sentence | None:
    """Which tolerance moves the finish of the shift most."""
    shares = dataset["first_order"].sel(ranked_figure="shift_finish_rpm").isel(place=0)
    if not np.isfinite(shares.values).any():
        return None
    order = np.argsort(-np.nan_to_num(shares.values, nan=-1.0))[:2]
    told = " and ".join(
        f"{input_words(dataset, int(i))} ({100 * float(shares.values[i]):.0f} % of the variance)"
        for i in order
    )
    spread = float(dataset["shift_finish_rpm_deviation"][0])
    where = f"The rpm at which the shift finishes ({places(dataset)[0]})"
    words = f"{where} scatters by ± {2 * spread:.0f} rpm (95 %), mostly by {told}."
    return Sentence(words, warns=False)


def halving_sentence(dataset: xarray.Dataset) -> Sentence | None:
    """Which one tolerance, halved, helps most."""
    own = float(dataset["yield_together_on_first_draws"])
    halved = dataset["halved_yield_together"].values
    if isnan(own) or halved.size == 0:
        return None
    best = int(np.nanargmax(halved))
    gain = float(halved[best]) - own
    if gain < WORTH_HALVING:
        return Sentence("No single tolerance, halved, brings more than 0.2 % of yield.", warns=False)
    words = (
        f"Halving one tolerance helps most with {input_words(dataset, best)}: "
        f"yield from {percent(own)} to {percent(float(halved[best]))}."
    )
    return Sentence(words, warns=False)


def input_words(dataset: xarray.Dataset, place: int) -> str:
    """Name of an input with its half-width."""
    return f"{dataset['input'].values[place]} {dataset['input_width_text'].values[place]}"


def tolerance_conclusion(dataset: xarray.Dataset) -> str:
    """All sentences as one text."""
    return " ".join(sentence.words for sentence in tolerance_sentences(dataset))
