"""Typing errors: seeded, at the rate asked for, each one small."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import OSA

from kb.train.noise import ERRORS, mistype

WORDS = "she folds before her back hits the mat and lands on her seat"


def test_rate_nothing_changes_nothing() -> None:
    """No errors without a rate."""
    assert mistype(WORDS, random.Random(1), 0.0) == WORDS


def test_the_same_seed_gives_the_same_errors() -> None:
    """Seeded, and another seed gives others."""
    one, two, other = (mistype(WORDS, random.Random(seed), 0.8) for seed in (1, 1, 2))
    assert one == two != other


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: error.__name__)
@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=4, max_size=12), st.integers(0, 1000))
def test_an_error_is_one_slip_of_the_finger(error: object, word: str, seed: int) -> None:
    """At most one edit as rapidfuzz counts them (a swap of neighbours is one), first letter kept."""
    rng = random.Random(seed)
    wrong = error(word, rng.randrange(1, len(word) - 1), rng)  # type: ignore[operator]
    assert OSA.distance(word, wrong) <= 1
    assert wrong[0] == word[0]


@given(st.lists(st.text("abcdefghij", min_size=1, max_size=9), min_size=1, max_size=20), st.integers(0, 99))
def test_short_words_and_the_number_of_words_stay(words: list[str], seed: int) -> None:
    """Words under four letters are never touched, and none is lost."""
    wrong = mistype(" ".join(words), random.Random(seed), 1.0).split(" ")
    assert len(wrong) == len(words)
    assert [new for new, old in zip(wrong, words, strict=True) if len(old) < 4] == [w for w in words if len(w) < 4]
