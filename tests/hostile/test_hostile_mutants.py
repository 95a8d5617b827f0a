"""A few hundred spoiled inputs, always the same ones; `campaign.py` runs thousands."""

from collections import Counter
from pathlib import Path
from random import Random

import pytest
from campaign import run_campaign
from mutants import mutant
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
        spoiled = mutant(SEED, number)
        assert spoiled == mutant(SEED, number)
        path = tmp_path / "in" / spoiled.seed.file
        if not path.exists() or path.suffix == ".nc":
            continue  # made by a run
        once, again = path.read_bytes(), path.read_bytes()
        for mutator in spoiled.mutators:
            once, again = mutator(once, Random(number)), mutator(again, Random(number))
        assert once == again
