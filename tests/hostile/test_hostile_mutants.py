"""A few hundred spoiled inputs, always the same ones; `campaign.py` runs thousands."""

from collections import Counter
from pathlib import Path
from random import Random

import pytest
from campaign import run_campaign
from mutants import SWEPT, mutant, sweep
from mutations import NUMBER
from seeds import SEEDS, make_inputs

SEED = 20
MUTANTS = 450


@pytest.mark.slow
def test_spoiled_inputs_are_refused_in_words_or_computed() -> None:
    summary = run_campaign(list(range(MUTANTS)), SEED, 2, way="light")
    told = [f"{each['number']} {each['name']}: {each['defects']} {each['text']}" for each in summary.defects]
    assert not told, "\n\n".join(told)
    kinds = Counter(each["kind"] for each in summary.outcomes)
    assert kinds.keys() == {seed.kind for seed in SEEDS}
    codes = Counter(each["code"] for each in summary.outcomes)
    assert codes[2] > MUTANTS // 3, "hardly anything is refused: are the files spoiled at all?"
    assert codes[-1] + codes[0] > MUTANTS // 10, (
        "hardly anything gets through: nothing is tested behind the readers"
    )


def test_a_mutant_is_the_same_for_the_same_number(tmp_path: Path) -> None:
    make_inputs(tmp_path / "in")
    for number in range(60):
        spoiled = mutant(SEED, number, "light")
        assert spoiled == mutant(SEED, number, "light")
        path = tmp_path / "in" / spoiled.seed.file
        if not path.exists() or path.suffix == ".nc":
            continue  # made by a run
        once, again = path.read_bytes(), path.read_bytes()
        for mutator in spoiled.mutators:
            once, again = mutator(once, Random(number)), mutator(again, Random(number))
        assert once == again


def test_a_sweep_changes_one_number_and_leaves_the_rest(tmp_path: Path) -> None:
    make_inputs(tmp_path / "in")
    every = sweep()
    assert {each.seed.kind for each in every} >= {"scenario", "part", "readings", "polar", "hubs"}
    for spoiled in every[::97]:
        before = (tmp_path / "in" / spoiled.seed.file).read_bytes()
        (other,) = spoiled.mutators
        after = other(before, Random(0))
        old, new = NUMBER.findall(before), NUMBER.findall(after)
        assert len(old) == len(new)
        changed = [place for place, (a, b) in enumerate(zip(old, new, strict=True)) if a != b]
        assert changed in ([], [other.place])  # zero stays zero, whatever it is multiplied by
    assert sum(spoiled.mutators[0].value == "1e300" for spoiled in every) == len(every) / len(SWEPT)
