"""What a route says in words: fuel, time, the saving against its uncertainty, what cannot be flown."""

from math import isfinite

import xarray

from simengine.report.facts import number, time_words
from simengine.report.flight.conclusion import Sentence
from simengine.results.route_catalogue import VERDICTS

OWN = 0
LEGS_TOLD = 4  # more are left to the table
# Two fuel readings, each within 1.4 %, tell their difference to 2 % of the fuel: root of the sum of squares.
READING_FLOOR = 2.0  # per cent
MODEL_ONLY = (
    "A band holds the stated inputs only, not what the model itself leaves out: believe a saving once your "
    "own readings show it."
)


def route_conclusion(dataset: xarray.Dataset) -> str:
    """The whole answer in one paragraph."""
    return " ".join(sentence.words for sentence in route_sentences(dataset))


def route_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """The answer sentence by sentence."""
    return [
        *problem_sentences(dataset),
        trip_sentence(dataset),
        *legs_sentence(dataset),
        *(saving_sentence(dataset, row) for row in compared(dataset)),
        *climb_sentence(dataset),
        fuel_sentence(dataset),
        *([Sentence(MODEL_ONLY)] if compared(dataset) else []),
    ]


def compared(dataset: xarray.Dataset) -> range:
    """Rows of the hubs that the own one is compared with."""
    return range(1, dataset.sizes["hub"])


def at(dataset: xarray.Dataset, name: str, row: int) -> float:
    """A figure of one hub."""
    return float(dataset[name].values[row])


def words_at(dataset: xarray.Dataset, name: str, row: int) -> str:
    """Words of one hub."""
    return str(dataset[name].values[row])


def possible(dataset: xarray.Dataset) -> bool:
    """Whether the scenario's own hub can fly every leg as asked."""
    return not any(str(words) for words in dataset["problems"].values[OWN])


def problem_sentences(dataset: xarray.Dataset) -> list[Sentence]:
    """Each leg that cannot be flown, with the reason."""
    names = [str(name) for name in dataset["leg"].values]
    told = zip(names, dataset["problems"].values[OWN], strict=True)
    return [
        Sentence(f"Leg '{name}' CANNOT be flown as asked: {words}.", True) for name, words in told if words
    ]


def trip_sentence(dataset: xarray.Dataset) -> Sentence:
    """Fuel, its band, time."""
    way = float(dataset["leg_distance"].values.sum())
    whole = "" if possible(dataset) else ", as far as it can be flown"
    flow, by_distance = at(dataset, "trip_fuel_flow", OWN), at(dataset, "trip_fuel_per_distance", OWN)
    rates = [f", {value:.{digits}f} {unit}" for value, digits, unit in (
        (flow, 2, "L/h"), (by_distance, 1, "L/100 km")) if isfinite(value)]  # fmt: skip
    return Sentence(
        f"{way:.0f} km with {words_at(dataset, 'hub', OWN)}{whole}: {litres(dataset, OWN)} in "
        f"{time_words(60.0 * at(dataset, 'trip_time', OWN))}{''.join(rates)}."
    )


def litres(dataset: xarray.Dataset, row: int) -> str:
    """Fuel of the trip with its band."""
    low, high = at(dataset, "trip_fuel_low", row), at(dataset, "trip_fuel_high", row)
    ends = f" ({low:.2f} to {high:.2f} L)" if isfinite(low) else ""
    return f"{at(dataset, 'trip_fuel', row):.2f} L{ends}"


def legs_sentence(dataset: xarray.Dataset) -> list[Sentence]:
    """Fuel by leg where they are few."""
    count = dataset.sizes["leg"]
    if not 1 < count <= LEGS_TOLD:
        return []
    told = [
        f"{name} {fuel:.2f} L{leg_band(dataset, place)} in {time_words(60.0 * time)}"
        if time > 0.0
        else f"{name} not flown"
        for place, (name, fuel, time) in enumerate(
            zip(
                dataset["leg"].values,
                dataset["fuel"].values[OWN],
                dataset["time"].values[OWN],
                strict=True,
            )
        )
    ]
    return [Sentence(f"By leg: {'; '.join(told)}.")]


def leg_band(dataset: xarray.Dataset, leg: int) -> str:
    """The band of a leg's fuel."""
    low, high = (float(dataset[name].values[OWN, leg]) for name in ("fuel_low", "fuel_high"))
    return f" ({low:.2f} to {high:.2f})" if isfinite(low) else ""


def saving_sentence(dataset: xarray.Dataset, row: int) -> Sentence:
    """What the own hub saves against one other, and whether that exceeds its uncertainty."""
    name, saving = words_at(dataset, "hub", row), at(dataset, "saving", row)
    verdict = VERDICTS[int(at(dataset, "verdict", row))]
    if verdict == "cannot_be_compared":
        return Sentence(f"Against {name}: no comparison, one of the two cannot fly every leg.", True)
    share = abs(at(dataset, "saving_share", row))
    fact = f"Against {name}: {abs(saving):.2f} L ({share:.1f} %) {'LESS' if saving > 0 else 'MORE'}"
    if verdict == "not_estimated":
        return Sentence(f"{fact}; its uncertainty was not estimated, so it is no claim.")
    ends = (
        f"{signed(at(dataset, 'saving_low', row))} to {signed(at(dataset, 'saving_high', row))} L saved, "
        f"95 % band of the difference"
    )
    small = share < READING_FLOOR
    unseen = f" It is less than the {READING_FLOOR:.0f} % that two fuel readings can show." if small else ""
    return Sentence(
        f"{fact} ({ends}): {VERDICT_WORDS[verdict]}.{unseen}", verdict == "burns_more" and not small
    )


VERDICT_WORDS = {
    "saves": "the saving is larger than its uncertainty",
    "burns_more": "no saving; it burns more, and that is larger than its uncertainty",
    "within_uncertainty": "the difference is SMALLER than its uncertainty: no saving to claim",
}


def signed(value: float) -> str:
    """A number with its sign, nought without."""
    text = f"{value:+.2f}"
    return "0.00" if float(text) == 0.0 else text


def climb_sentence(dataset: xarray.Dataset) -> list[Sentence]:
    """What each hub gives up in the climb for its fuel."""
    told = [
        f"{words_at(dataset, 'hub', row)} {at(dataset, 'climb_out_rate', row):.1f}"
        for row in range(dataset.sizes["hub"])
    ]
    if len(told) < 2:
        return []
    return [Sentence(f"Climb after take-off, m/s, beside it: {'; '.join(told)}.")]


def fuel_sentence(dataset: xarray.Dataset) -> Sentence:
    """Fuel to take against fuel on board."""
    needed, start = at(dataset, "fuel_needed", OWN), number(dataset, "start_fuel")
    left, reserve = at(dataset, "least_fuel_left", OWN), at(dataset, "reserve_wanted", OWN)
    short = needed > start + 1e-9
    words = (
        f"Least on board at a leg's end {left:.2f} L, reserve {reserve:.2f} L; with contingency and reserve "
        f"the longest stretch wants {needed:.2f} L"
    )
    return Sentence(f"{words}, MORE than the {start:.2f} L at the start." if short else f"{words}.", short)
